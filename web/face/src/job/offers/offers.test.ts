import assert from "node:assert/strict";
import { test } from "node:test";
import type { Estimate, FirstArticle, Kept, Offer, PlanSheet, PromiseStep, Proposal } from "../../api/types.ts";
import { Say } from "../../say/units.ts";
import { days, fromTo, openOn, wall, who } from "./days.ts";
import { chanceWords, fileName, finishes, inDays, ladder, letter, sentence, when } from "./finishes.ts";
import { limitValue, lineWord, reads, typed } from "./right.ts";

const est = (value: number): Estimate => ({ value, low: value, high: value, basis: "" });
const cost = (minor: number) => ({ value: { minor, currency: "USD" }, low: { minor, currency: "USD" }, high: { minor, currency: "USD" }, basis: "" });
const offer = (look: string, minor: number, more: Partial<Offer> = {}): Offer => ({
  look, title: look, asked: false, each: cost(minor), attended_h: est(1), alone_h: est(1), ra_um: est(0.4), meets: true, chance: 0.65, ready_h: est(11), says: "", steps: [], ...more,
});
const rung = (lot: number, minor: number) => ({ lot, each: cost(minor), price: cost(minor * lot) });

test("the finish that is asked for comes first, its other ways with it", () => {
  const all = [offer("satin", 6806, { asked: true }), offer("satin", 6810, { aim: "soonest" }), offer("stone-wash", 6377), offer("bright", 7272)];
  const f = finishes(all, "Stone Wash");
  assert.deepEqual(f.map((x) => [x.look, x.asked, x.others.length]), [["stone-wash", true, 0], ["satin", false, 1], ["bright", false, 0]]);
  // A brief that names it in words the shelf does not have: the plan knows.
  assert.equal(finishes(all, "a soft sheen")[0]?.look, "satin");
});

test("a chance is said in lots, and never as certain", () => {
  assert.match(chanceWords(0.6485), /^65 of 100/);
  assert.match(chanceWords(0.997), /^almost all/);
  assert.match(chanceWords(0.001), /^almost no/);
});

test("the day that stands promised wins over the one reckoned, and that over the one offered", () => {
  const [satin, bright] = finishes([offer("satin", 1, { asked: true }), offer("bright", 1)], "satin");
  const sheet = { id: "p" } as Kept<PlanSheet>;
  const sent = [{ links: { plan: "p" }, body: { offers: [offer("bright", 1, { day: "2026-12-04" })] } }] as unknown as Kept<Proposal>[];
  assert.equal(when(satin!, "2026-12-03", "2026-12-05", sent, sheet).kind, "promised");
  assert.equal(when(satin!, "", "2026-12-05", sent, sheet).kind, "reckoned");
  assert.equal(when(bright!, "2026-12-03", "2026-12-05", sent, sheet).kind, "offered");
  assert.equal(when(bright!, "2026-12-03", "", sent, { id: "another plan" } as Kept<PlanSheet>).says, "about 11 h by the clock");
});

test("the ladder has the lots that every finish has, and this one", () => {
  const f = finishes([offer("satin", 6806, { ladder: [rung(1, 44691), rung(100, 4086)] }), offer("bright", 7272, { ladder: [rung(1, 58353)] })], "satin");
  assert.deepEqual(ladder(f, 12).map((r) => r.lot), [1, 12]);
  assert.equal(ladder(f, 12)[1]?.cells[1]?.each.value.minor, 7272);
});

test("the words for an e-mail name prices and days, not the shop's bounds, and nothing that cannot be met", () => {
  const wide = { ...cost(6806), low: { minor: 2723, currency: "USD" }, high: { minor: 17362, currency: "USD" } };
  const p: Proposal = { offers: [offer("Satin", 6806, { each: wide, day: "2026-12-03", asked: true }), offer("Mirror", 1, { meets: false })], until: "2026-12-30", words: "Thank you." };
  const l = letter(p, { title: "Escutcheon plate", lot: 12 });
  assert.match(l, /- Satin: USD 68\.06 a piece, ready on Thu,? 3 Dec 2026\./);
  assert.match(l, /For 12 pieces of “Escutcheon plate”/);
  assert.doesNotMatch(l, /Mirror|173/);
});

test("names of files are plain, days are counted over the end of a year", () => {
  assert.equal(fileName("offer", "Türschild, 3. Größe", "2026-11-30", "html"), "offer-turschild-3-gro-e-2026-11-30.html");
  assert.equal(inDays("2026-12-15", 30), "2027-01-14");
  assert.equal(sentence("look at all 12"), "Look at all 12.");
});

const step = (from: string, to: string, resource = "person", more: Partial<PromiseStep> = {}): PromiseStep => ({ step: 0, key: "k", name: "work", resource, from, to, looks: [], waits: "", ...more });

test("the shop's clock is read where it hangs", () => {
  assert.equal(new Date(wall("2026-12-01T14:05:00+01:00")).toISOString(), "2026-12-01T14:05:00.000Z");
  assert.match(fromTo(step("2026-12-01T08:00:00-05:00", "2026-12-01T14:05:00-05:00")), /^Tue,? 1 Dec, 08:00 to 14:05$/);
  assert.equal(who("mill bench mill"), "bench mill");
  assert.equal(who("vessel tumbler", 1), "tumbler, number 2");
});

test("steps lie over whole days, a lane for each that works", () => {
  const d = days([step("2026-12-04T08:00:00Z", "2026-12-04T12:00:00Z"), step("2026-12-04T12:00:00Z", "2026-12-07T06:00:00Z", "vessel barrel", { looks: ["2026-12-05T12:00:00Z"] })]);
  assert.deepEqual(d.days.map((x) => x.label), ["Fri 4", "Sat 5", "Sun 6", "Mon 7"]);
  assert.equal(d.lanes.length, 2);
  assert.equal(d.lanes[0]?.bars[0]?.x, 8 / 96);
  assert.equal(d.lanes[1]?.bars[0]?.width, 66 / 96);
  assert.equal(d.lanes[1]?.bars[0]?.looks[0], 36 / 96);
  assert.deepEqual(d.days[1]?.closed, [{ x: 0.25, width: 0.25 }]); // a Saturday is closed whole
  assert.equal(d.days[0]?.closed.length, 2); // before eight and after four
});

test("who is in when: closed days and spans, both ends in them", () => {
  const c = { nights: true, weekends: false, week: [{ day: "sat", from: "09:00", to: "12:00" }], closed: ["2026-12-24/2027-01-02"] };
  assert.deepEqual(openOn("2026-12-19", c), [[0.375, 0.5]]);
  assert.deepEqual(openOn("2026-12-26", c), []);
  assert.deepEqual(openOn("2027-01-02", c), []);
  assert.equal(openOn("2027-01-09", c).length, 1);
});

test("limits read as their kind does", () => {
  const mm = new Say("metric"), inch = new Say("inch");
  assert.equal(limitValue("ra", 0.24, mm), "0.24 µm");
  assert.equal(limitValue("ra", 0.8, inch), "31 µin"); // 0.8 / 0.0254 = 31.496; one microinch is 0.0254 µm
  assert.equal(limitValue("mark gone", 1, mm), "gone");
  assert.equal(limitValue("jammed", 0, mm), "0");
  assert.equal(reads([{ kind: "ra", at_h: 1, value: 0.41 }, { kind: "ra", at_h: 1, value: 0.46 }, { kind: "mark gone", at_h: 1, value: 1 }], mm), "Ra 0.41 µm, 0.46 µm; older marks gone");
});

test("a line of the first article is right, wrong, or for the drawing to say", () => {
  const f: FirstArticle = { number: 1, what: "Diameter", wanted: "4.000 mm", unit: "mm" };
  assert.equal(lineWord(f).word, "to measure");
  assert.equal(lineWord({ ...f, measured: 4.01 }).word, "by the drawing");
  assert.equal(lineWord({ ...f, measured: 4.01, right: false }).word, "wrong");
});

test("numbers are read with a comma or a point, and nothing else is", () => {
  assert.equal(typed(" 4,02 "), 4.02);
  assert.equal(typed("-0.5"), -0.5);
  for (const t of ["", "4.0.2", "1,234.5", "four", "0x10", "1e999"]) assert.equal(typed(t), null);
});
