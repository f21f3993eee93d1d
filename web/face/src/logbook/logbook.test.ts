import assert from "node:assert/strict";
import { test } from "node:test";
import { Say } from "../say/units.ts";
import { asAddress, byDay, chosen, fromAddress, noChoice, said, table, type Entry } from "./log.ts";
import { even, mult, ratios } from "./scale.ts";

const entry = (id: string, day: string, more: object = {}, links: Record<string, string> = {}, readings: object[] = []): Entry =>
  ({ run: { id, links, body: { id: "", day, kind: "tumble", material: "naval brass", readings: [], ...more } }, readings: readings.map((b, i) => ({ id: `${id}${i}`, body: b })), job: links.job ? "Plate" : "" }) as unknown as Entry;
const log = [
  entry("a", "2026-02-01", { media: "fine-5", vessel: "bowl" }, { job: "j" }, [{ kind: "ra", at_h: 4, value: 0.5 }, { kind: "grams", at_h: 4, value: 0.3 }]),
  entry("b", "2026-03-01", { kind: "rub", grit: "P400" }),
  entry("c", "2026-03-01", { media: "fine-5", vessel: "barrel", part: "=odd" }),
];

test("what is chosen stands in the address and is read from it", () => {
  const c = { ...noChoice, media: "fine & 5", from: "2026-02-01" };
  assert.deepEqual(fromAddress(asAddress(c), noChoice), c);
  assert.equal(asAddress(noChoice), "all");
  assert.deepEqual(fromAddress("all", noChoice), noChoice);
  assert.deepEqual(fromAddress(undefined, noChoice), noChoice);
});

test("runs are chosen by what they were", () => {
  const ids = (c: object) => chosen(log, { ...noChoice, ...c }).map((e) => e.run.id).join("");
  assert.equal(ids({}), "abc");
  assert.equal(ids({ job: "j" }), "a");
  assert.equal(ids({ job: "none" }), "bc");
  assert.equal(ids({ media: "fine-5", from: "2026-02-02" }), "c");
  assert.equal(ids({ kind: "rub" }), "b");
  assert.equal(log.toSorted(byDay).map((e) => e.run.id).join(""), "cba");
});

test("a table has a line for each reading, and one for a run without", () => {
  const t = table(log);
  assert.equal(t.length, 1 + 2 + 1 + 1);
  assert.ok(t.every((l) => l.length === t[0]!.length));
  assert.deepEqual(t[2]!.slice(-7), ["a1", "grams", 4, 0.3, "", "", ""]);
});

test("readings are said in the shop's units", () => {
  const r = { kind: "ra", at_h: 4, value: 0.508 } as never;
  assert.equal(said(r, new Say("metric")), "Ra 0.51 µm at 4 h");
  assert.equal(said(r, new Say("inch")), "Ra 20 µin at 4 h"); // 0.508 µm are 20 µin
  assert.equal(said({ kind: "mark gone", at_h: 8, value: 1, depth_um: 2.5 } as never, new Say("metric")), "mark of 2.5 µm gone at 8.0 h");
});

test("a scale of ratios has 1 in its middle and doublings at equal steps", () => {
  const s = ratios(3.5, 100, 0);
  assert.deepEqual(s.ticks, [0.25, 0.5, 1, 2, 4]);
  assert.equal(s.at(1), 50);
  assert.equal(s.at(4), 0);
  assert.equal(s.at(2) - s.at(4), s.at(0.25) - s.at(0.5));
  assert.equal(s.at(1000), 0); // what is past its end stands at it
  assert.deepEqual(even(0, 10, 0, 100).ticks, [0, 2, 4, 6, 8, 10]);
  assert.equal(even(0, 10, 20, 120).at(5), 70);
  assert.equal(mult(0.25), "1/4");
});
