import assert from "node:assert/strict";
import { test } from "node:test";
import type { Letter } from "../api/outbox.svelte.ts";
import { Say } from "../say/units.ts";
import { grades, inWords, kindOf, wrong } from "./kinds.ts";
import { overlay } from "./overlay.ts";
import { hms, next, short, uuid7 } from "./time.ts";

const mm = new Say("metric");
const inch = new Say("inch");

test("a clock counts hours past a day", () => {
  assert.equal(hms(0), "0:00:00");
  assert.equal(hms(5 * 3.6e6 + 30 * 6e4 + 12_900), "5:30:12");
  assert.equal(hms(31 * 3.6e6), "31:00:00");
  assert.equal(hms(-5000), "0:00:00"); // a clock that is ahead of the shop's
});

test("hours to go as people say them", () => {
  assert.equal(short(0.005), "under a minute");
  assert.equal(short(25 / 60), "25 min");
  assert.equal(short(1 + 59.8 / 60), "2 h"); // and not 1 h 60 min
  assert.equal(short(-1.25), "1 h 15 min");
});

test("a look stays due until it was had", () => {
  const looks = [6, 12, 20];
  assert.deepEqual(next(looks, 5.5), { inH: 0.5, atH: 6, last: false, late: false });
  assert.equal(next(looks, 13)?.atH, 6); // seven hours late, not silent
  assert.equal(next(looks, 13)?.late, true);
  assert.equal(next(looks, 5.9, 5.8)?.atH, 12); // a little early counts
  assert.equal(next(looks, 5.9, 5)?.atH, 6); // an hour early does not
  assert.equal(next(looks, 12, 12)?.last, true);
  assert.equal(next(looks, 21, 20.1), null);
  assert.equal(next([], 3), null);
});

test("ids are UUIDs of version 7 and sort by when they were made", () => {
  // RFC 9562, appendix A.6: 017F22E2-79B0-7… is of 22 February 2022, 2:22:22.000 PM GMT-05:00.
  const id = uuid7(Date.UTC(2022, 1, 22, 19, 22, 22));
  assert.match(id, /^017f22e2-79b0-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$/);
  assert.ok(uuid7(1e12) < uuid7(1e12 + 1));
});

test("grades are those of ISO 1302:1992", () => {
  assert.equal(grades.length, 12);
  assert.equal(grades[0]!.ra, 0.025);
  assert.equal(grades[6]!.ra, 1.6); // N7
  assert.equal(grades[11]!.ra, 50);
  for (let i = 1; i < 12; i++) assert.ok(Math.abs(grades[i]!.ra / grades[i - 1]!.ra - 2) < 0.04); // R10/3
});

test("readings in words and in the shop's units", () => {
  assert.equal(inWords({ kind: "ra", value: 0.52 }, mm), "Ra 0.52 µm");
  assert.equal(inWords({ kind: "ra", value: 0.8 }, inch), "Ra 31 µin"); // 0.8 / 0.0254 = 31.5
  assert.equal(inWords({ kind: "jammed", value: 1, place: "slot-1" }, mm), "1 piece stuck at slot-1");
  const ra = kindOf("ra")!;
  assert.ok(Math.abs(ra.from(inch, 32) - 0.8128) < 1e-12);
  assert.equal(wrong(ra, 0.5, mm), "");
  assert.match(wrong(ra, 500, mm), /between 0.0010 µm and 100 µm/);
  assert.match(wrong(kindOf("jammed")!, 1.5, mm), /whole/);
  assert.match(wrong(ra, NaN, mm), /number/);
});

test("what waits to be sent is laid over what the shop knows", () => {
  const letter = (path: string, body: unknown, refused?: string): Letter => ({ key: path + JSON.stringify(body), method: "POST", path, body, says: "", at: "2026-04-01T10:00:00Z", ...(refused ? { refused } : {}) });
  const id = uuid7(1e12);
  const start = letter("jobs/J/runs", { id, step: "tumble", step_number: 2, started: "2026-04-01T08:00:00Z" });
  const read = letter(`runs/${id}/readings`, { kind: "ra", at_h: 1, value: 0.5 });
  const look = letter(`runs/${id}/looked`, { at_h: 1.5 });
  const end = letter(`runs/${id}/end`, { ended: "2026-04-01T10:00:00Z" });
  const [one, ...rest] = overlay([], [start, read, look, end], "J");
  assert.equal(rest.length, 0);
  assert.equal(one!.number, 2);
  assert.equal(one!.waits, true);
  assert.equal(one!.readings?.length, 1);
  assert.equal(one!.body.looked_h, 1.5);
  assert.equal(one!.body.hours_run, 2);
  assert.equal(overlay([], [start], "another job").length, 0);
  assert.equal(overlay([], [{ ...start, refused: "no" }], "J").length, 0);
  // Once the shop has the run, the letter that is on its way still adds no second one.
  assert.equal(overlay([{ ...one!, body: { ...one!.body, ended: "" }, readings: [] }], [start, read], "J").length, 1);
});
