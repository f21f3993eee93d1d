import assert from "node:assert/strict";
import { test } from "node:test";
import type { Curve, CurvePoint } from "../../api/types.ts";
import { along, at, back, barred, held, level, nudged, round, spread, ticks, tries, window } from "./curve.ts";

// A ball of radius r on a level face leaves cusps of s²/(8r) (the textbook's parabola) and
// takes minutes that go with 1/s: both are powers, so what lies between two points is exact.
const ball = (r: number): CurvePoint[] =>
  [1, 0.5, 0.25, 0.1].map((s) => ({ stepover_mm: s, cusp_um: (1000 * s * s) / (8 * r), ra_um: (256.6 * s * s) / (8 * r), minutes: 2 / s }));

test("a curve is read between its points", () => {
  const p = ball(5);
  for (const s of [0.9, 0.5, 0.31, 0.17, 0.1]) {
    const q = along(p, "stepover_mm", s);
    assert.ok(Math.abs(q.cusp_um / ((1000 * s * s) / 40) - 1) < 1e-9, `cusps at ${s}`);
    assert.ok(Math.abs(q.minutes / (2 / s) - 1) < 1e-9, `minutes at ${s}`);
    assert.ok(Math.abs(along(p, "cusp_um", q.cusp_um).stepover_mm - s) < 1e-9, `back at ${s}`);
  }
  assert.equal(along(p, "stepover_mm", 7), p[0]);
  assert.equal(along(p, "stepover_mm", 0.001), p[3]);
});

test("a handle moves in steps that a person would enter", () => {
  const p = ball(5);
  assert.equal(round(0.31234), 0.31);
  assert.equal(round(0.0317), 0.032);
  assert.equal(held(p, 3), 1);
  assert.equal(held(p, 0.01), 0.1);
  assert.equal(nudged(p, 0.3, "ArrowRight"), 0.295);
  assert.equal(nudged(p, 0.3, "ArrowLeft"), 0.305);
  assert.equal(nudged(p, 0.3, "PageUp"), 0.25);
  assert.equal(nudged(p, 0.3, "PageDown"), 0.5);
  assert.equal(nudged(p, 0.3, "Home"), 1);
  assert.equal(nudged(p, 0.3, "End"), 0.1);
  assert.equal(nudged(p, 1, "ArrowLeft"), 1);
  assert.equal(nudged(p, 0.3, "x"), undefined);
});

test("an axis of ratios", () => {
  const s = { from: 50, to: 0.1, a: 60, b: 560 };
  for (const v of [50, 7, 0.1]) assert.ok(Math.abs(back(s, at(s, v)) / v - 1) < 1e-9);
  assert.ok(at(s, 1) > at(s, 10)); // finer to the right
  assert.deepEqual(ticks(0.9, 22), [1, 2, 5, 10, 20]);
  assert.deepEqual(ticks(0.9, 22, true), [1, 10]);
  assert.deepEqual(ticks(0.1, 1000), [0.1, 1, 10, 100, 1000]);
});

test("labels keep their order and their distance", () => {
  const y = spread([100, 101, 102, 300], 17, 0, 320);
  assert.deepEqual([...y].sort((a, b) => a - b), y);
  for (let i = 1; i < y.length; i++) assert.ok(y[i]! - y[i - 1]! >= 17 - 1e-9);
  const low = spread([318, 319, 320], 17, 0, 320);
  assert.ok(Math.max(...low) <= 320);
});

test("which curves can be tried", () => {
  const c = (cutter: string, points: CurvePoint[], fits = true): Curve => ({ zone: "show", cutter, points, fits, reach: 1, why: "" });
  const all = [c("ball-10", ball(5)), c("flat-6", [], false), c("bull-12", [ball(1)[0]!]), { ...c("ball-1", ball(0.5)), zone: "back" }];
  assert.deepEqual(tries(all, "show").map((k) => k.cutter), ["ball-10"]);
  assert.deepEqual(barred(all, "show").map((k) => k.cutter), ["flat-6"]);
  assert.deepEqual(level(all, "show").map((k) => k.cutter), ["bull-12"]);
  const w = window(tries(all, "show"), ball(5)[2]!);
  for (const p of ball(5)) if (p.cusp_um >= w.cusp[0] && p.cusp_um <= w.cusp[1]) assert.ok(p.minutes >= w.minutes[0] && p.minutes <= w.minutes[1]);
});
