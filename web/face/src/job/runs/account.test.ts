import assert from "node:assert/strict";
import { test } from "node:test";
import type { StepToDo } from "../../api/types.ts";
import type { Shown } from "../../run/overlay.ts";
import { concerns, dots, ending, lines, middle, scale, verdict } from "./account.ts";

const run = (number: number, hours: number, ...readings: [string, number, number][]): Shown => ({
  id: `r${number}-${hours}`, rev: 1, number, by: "", waits: false, body: { id: "", day: "", kind: "", material: "", readings: [], ended: hours ? "x" : "", hours_run: hours },
  readings: readings.map(([kind, at_h, value], i) => ({ id: `${i}`, rev: 1, made: "", by: "", body: { kind, at_h, value } })),
});

test("readings of roughness, by instrument and by plate", () => {
  const d = dots([run(1, 2, ["ra", 1, 0.9], ["grade", 2, 5], ["grams", 2, 0.1], ["ra", 2, 0.5])]);
  assert.deepEqual(d.map((x) => x.um), [0.9, 0.4, 0.5]); // N5 is 0.4 µm
  assert.deepEqual(ending(d).map((x) => x.um), [0.4, 0.5]);
  assert.ok(Math.abs(middle([0.4, 0.9]) - 0.6) < 1e-12);
});

test("measured beside predicted", () => {
  const e = { value: 0.44, low: 0.22, high: 1.7, basis: "" };
  assert.equal(verdict(e, 0.2), "smoother than predicted");
  assert.equal(verdict(e, 0.5), "as predicted");
  assert.equal(verdict(e, 1.8), "rougher than predicted");
});

test("a charge of two loads is over after both", () => {
  const step = { number: 1, loads: 2, kind: "tumble", media: "cob-2" } as unknown as StepToDo;
  assert.equal(lines([step], [run(1, 20)])[0]!.over, false);
  assert.equal(lines([step], [run(1, 20), run(1, 0)])[0]!.over, false);
  const l = lines([step], [run(1, 20), run(1, 19)])[0]!;
  assert.deepEqual([l.over, l.hours], [true, 39]);
  assert.ok(concerns({ name: "time constant", media: "cob-2", says: "" }, [step]));
  assert.ok(!concerns({ name: "time constant", media: "cob-1", says: "" }, [step]));
});

test("the chart's scale is of factors and holds all values", () => {
  const s = scale([0.22, 1.7], 190, 10);
  assert.deepEqual(s.ticks, [0.2, 0.5, 1, 2]);
  assert.ok(Math.abs(s.at(0.2) - 190) < 1e-9 && Math.abs(s.at(2) - 10) < 1e-9);
  assert.ok(Math.abs(s.at(0.5) + s.at(0.8) - s.at(1) - s.at(0.4)) < 1e-9);
});
