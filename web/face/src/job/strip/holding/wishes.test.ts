import assert from "node:assert/strict";
import test from "node:test";
import { blank, fieldsOf, mounted, open, query } from "./wishes.ts";

test("what is left open is not asked for, and a zero is", () => {
  assert.equal(query(blank), "");
  assert.ok(open(blank));
  assert.equal(query({ ...blank, pair: "soft-100", shift: 0, turn: 0, fixed: "end for end" }), "pair=soft-100&fixed=end+for+end&turn_deg=0&shift_mm=0");
});

test("a pocket that is cut lies where it lies", () => {
  assert.equal(query({ ...blank, reuse: "ab12", pair: "soft-100", grip: 4, shift: 1.5 }), "reuse=ab12&shift_mm=1.5");
});

test("a place that was tried can be asked for", () => {
  const pose = { fixed_jaw: "upside down", moving_jaw: "as new", swapped: true, shift_mm: -12.5 };
  const f = fieldsOf("soft-150", pose, { ...blank, grip: 4, reuse: "ab12" });
  assert.equal(query(f), "pair=soft-150&fixed=upside+down&moving=as+new&places=swapped&shift_mm=-12.5&grip_mm=4");
  assert.equal(mounted(pose), "the fixed side's jaw upside down, the moving side's as new, each in the other's place");
});
