import assert from "node:assert/strict";
import test from "node:test";
import type { Plan } from "../../../api/types.ts";
import { filled, lacking, middleOfTop, partBox, setupOf, stockBox, type Fields } from "./setup.ts";

const box = { x: [-21, 21], y: [-34, 34], z: [0, 7] } as const;
const span = { x: [...box.x], y: [...box.y], z: [...box.z] } as Plan["survey"]["box_mm"];
const plan = {
  brief: { up: [0, 0, 1] }, mill: { name: "bench mill" }, material: { name: "naval brass" },
  survey: { box_mm: span }, stock: { size_mm: [50, 72, 12] },
  route: [
    { pass: { cutter: "bull-6", spindle_rpm: 8000 } }, { pass: { cutter: "ball-6", spindle_rpm: 10000 } }, { pass: { cutter: "bull-6", spindle_rpm: 8000 } }, {},
  ],
} as unknown as Plan;

test("the part lies in the program as the set-up says", () => {
  // Top of the part is zero: it hangs 7 mm below.
  assert.deepEqual(partBox(span, { zero: [0, 0, 7], up: [0, 0, 1], turn: null }), { lo: [-21, -34, -7], hi: [21, 34, 0] });
  // A quarter turn anticlockwise brings X to Y.
  const q = partBox(span, { zero: [0, 0, 0], up: [0, 0, 1], turn: 90 });
  assert.deepEqual([q.lo, q.hi].flat().map((v) => Math.round(v * 1e9) / 1e9), [-34, -21, 0, 34, 21, 7]);
  // X up: the program's X lies along the model's Y, its Y along Z.
  assert.deepEqual(partBox(span, { zero: [0, 0, 0], up: [1, 0, 0], turn: 0 }), { lo: [-34, 0, -21], hi: [34, 7, 21] });
});

test("the plan fills in stock, jaws and tools, the step's own cutter first", () => {
  const f = filled(plan, 1);
  assert.deepEqual(f.over, [4, 4, 2, 2, 4.5, 0.5]);
  assert.equal(f.opening, 72);
  assert.equal(f.jawTop, -1.5); // 3 mm above the stock's underside at −4.5
  assert.deepEqual(f.tools.map((t) => [t.number, t.cutter, t.rpm]), [["T1", "ball-6", 10000], ["T2", "bull-6", 8000]]);
  // Sawn at both ends of the longer side.
  const s = stockBox(partBox(span, f), f)!;
  assert.deepEqual([s.nominal.lo, s.nominal.hi], [[-25, -36, -4.5], [25, 36, 7.5]]);
  assert.deepEqual([s.sawn.lo[1], s.sawn.hi[1], s.sawn.lo[0]], [-37, 37, -25]);
});

test("a set-up holds only what is known", () => {
  const f: Fields = filled(plan, 1);
  assert.deepEqual(setupOf({ ...f, over: [null, null, null, null, null, null], tools: [], offset: " " }), { zero_mm: [0, 0, 0], up: [0, 0, 1], mill: "bench mill", material: "naval brass" });
  const s = setupOf({ ...f, jaws: "soft-100", machineZero: [150, 90, null] });
  assert.deepEqual(s.jaws, { name: "soft-100", axis: "y", opening_mm: 72, top_mm: -1.5 });
  assert.equal("machine_zero_mm" in s, false);
  assert.equal(lacking({ ...f, machineZero: [150, 90, null] }).length, 1);
  assert.equal(lacking(f).length, 0);
});

test("the middle of the top is on the side that looks up", () => {
  assert.deepEqual(middleOfTop(span, [0, 0, 1]), [0, 0, 7]);
  assert.deepEqual(middleOfTop(span, [-1, 0, 0]), [-21, 0, 3.5]);
});
