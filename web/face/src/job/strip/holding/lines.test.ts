import assert from "node:assert/strict";
import test from "node:test";
import type { PlanEdge } from "../../../api/types.ts";
import { around, bar, path, swept } from "./lines.ts";

// A quarter of a circle of radius 10 about the zero, from +X to +Y: anticlockwise in plan.
const quarter: PlanEdge = { from_mm: [10, 0], to_mm: [0, 10], centre_mm: [0, 0], radius_mm: 10, left: true };
const near = (a: number, b: number) => assert.ok(Math.abs(a - b) < 1e-9, `${a}, want ${b}`);

test("an arc runs the way it says", () => {
  near(swept(quarter), Math.PI / 2);
  near(swept({ ...quarter, left: false }), (3 * Math.PI) / 2);
  near(swept({ ...quarter, to_mm: [10, 0] }), 2 * Math.PI);
});

// SVG 1.1, 8.3.8: sweep-flag 1 is a positive angle, which on a page whose Y runs down is
// clockwise. Anticlockwise in plan is anticlockwise on the page, so the flag is 0.
test("paths turn as the plan does", () => {
  assert.equal(path([[quarter]]), "M10 0A10 10 0 0 0 0 -10Z");
  assert.equal(path([[{ ...quarter, left: false }]]), "M10 0A10 10 0 1 1 0 -10Z");
  assert.equal(path([[{ from_mm: [0, 0], to_mm: [4, -3] }]]), "M0 0L4 3Z");
});

test("a whole circle is drawn as two halves", () => {
  assert.equal(path([[{ ...quarter, to_mm: [10, 0] }]]), "M10 0A10 10 0 0 0 -10 0A10 10 0 0 0 10 0Z");
});

test("a box holds the bulge of an arc", () => {
  // From 45° to 135° over the top: the ends are at 7.07, the top at 10.
  const h = 10 * Math.SQRT1_2;
  const b = around([[{ from_mm: [h, h], to_mm: [-h, h], centre_mm: [0, 0], radius_mm: 10, left: true }]])!;
  near(b.y1, 10);
  near(b.y0, h);
  near(b.x1, h);
  assert.equal(around([]), null);
});

test("a scale bar is round in the shop's own unit", () => {
  assert.equal(bar(37, false), 20);
  assert.equal(bar(51, false), 50);
  near(bar(37, true), 25.4);
  near(bar(25, true), 12.7);
});
