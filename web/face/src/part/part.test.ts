import assert from "node:assert/strict";
import { test } from "node:test";
import { open } from "./buffer.ts";
import { colourAt, lightness } from "./colours.ts";
import { cuspAt, heightOn, passFrame } from "./cusps.ts";
import { meet, type Vec } from "./mesh.ts";
import { shapeOf } from "./shape.ts";

test("cusps on a plane are r − √(r² − s²/4), and near s²/8·(1/r ± 1/ρ) where it bends", () => {
  // The parabola is low by under 1.6 % up to s/r = 0.5: Qu and Shih, Machining Science and
  // Technology 7 (2003) 281.
  const r = 6, s = 0.6;
  assert.ok(Math.abs(heightOn(r, 0, s) - (r - Math.sqrt(r * r - (s * s) / 4))) < 1e-12);
  for (const k of [0.02, 1 / 62, -0.05, -1 / 8]) {
    const near = ((s * s) / 8) * (1 / r + k);
    assert.ok(Math.abs(heightOn(r, k, s) / near - 1) < 0.016, `k = ${k}: ${heightOn(r, k, s)} against ${near}`);
  }
  assert.ok(Number.isNaN(heightOn(6, -1 / 5, 0.3)), "a nose of 6 does not get into a hollow of 5");
  assert.ok(Number.isNaN(heightOn(1, 0, 2.5)), "passes that do not meet leave a ridge");
});

test("on a slope across the passes they stand s / cos apart, along them not", () => {
  const up: Vec = [0, 0, 1], lean = Math.PI / 6;
  const l = { nose: 6, stepover: 0.3, up, along: [1, 0, 0] as Vec };
  const across = cuspAt(l, [0, Math.sin(lean), Math.cos(lean)], 0, 0, [1, 0, 0]);
  const along = cuspAt(l, [Math.sin(lean), 0, Math.cos(lean)], 0, 0, [0, 1, 0]);
  assert.ok(Math.abs(across - 1000 * heightOn(6, 0, 0.3 / Math.cos(lean))) < 1e-9);
  assert.ok(Math.abs(along - 1000 * heightOn(6, 0, 0.3)) < 1e-9);
});

test("only the bend across the passes counts (Euler's theorem)", () => {
  const l = { nose: 6, stepover: 0.3, up: [0, 0, 1] as Vec, along: [1, 0, 0] as Vec };
  const round = (toward: Vec) => cuspAt(l, [0, 0, 1], 0.05, 0, toward);
  assert.ok(Math.abs(round([0, 1, 0]) - 1000 * heightOn(6, 0.05, 0.3)) < 1e-9, "a cylinder along the passes");
  assert.ok(Math.abs(round([1, 0, 0]) - 1000 * heightOn(6, 0, 0.3)) < 1e-9, "a cylinder across them");
});

test("passes run along the longer side", () => {
  assert.deepEqual(passFrame([0, 0, 1], [[0, 0, 0], [5, 9, 1]]), [0, 1, 0]);
  assert.deepEqual(passFrame([0, 0, 1], [[0, 0, 0], [9, 5, 1]]), [1, 0, 0]);
});

test("the scale of colours climbs evenly in lightness", () => {
  const l = Array.from({ length: 21 }, (_, i) => lightness(colourAt(i / 20)));
  for (let i = 1; i < l.length; i++) {
    const step = l[i]! - l[i - 1]!;
    assert.ok(step > 1.5 && step < 7, `from ${l[i - 1]} to ${l[i]}`);
  }
});

// A cube of unit size, 12 triangles.
const corners = Array.from({ length: 8 }, (_, i) => [i & 1, (i >> 1) & 1, (i >> 2) & 1]);
const cube = {
  position: Float32Array.from(corners.flat()),
  triangle: Uint32Array.from([0, 2, 3, 0, 3, 1, 4, 5, 7, 4, 7, 6, 0, 1, 5, 0, 5, 4, 2, 6, 7, 2, 7, 3, 0, 4, 6, 0, 6, 2, 1, 3, 7, 1, 7, 5]),
  label: new Int32Array(0),
};

test("a cube has 12 edges, 24 drawn corners, and normals square to its sides", () => {
  const s = shapeOf(cube);
  assert.equal(s.lines.length, 12 * 6);
  assert.equal(s.corner.length, 24);
  assert.deepEqual(s.box, [0, 0, 0, 1, 1, 1]);
  for (let i = 0; i < s.normal.length; i += 3) assert.equal(Math.abs(s.normal[i]!) + Math.abs(s.normal[i + 1]!) + Math.abs(s.normal[i + 2]!), 1);
});

test("a ray meets the near side of a cube, and nothing beside it", () => {
  const hit = meet(cube, [0.25, 0.5, 5], [0, 0, -1]);
  assert.deepEqual(hit?.at, [0.25, 0.5, 1]);
  assert.ok(hit!.triangle === 2 || hit!.triangle === 3);
  assert.equal(meet(cube, [2, 2, 5], [0, 0, -1]), null);
});

test("a buffer is laid open without copying, and a broken one is refused", () => {
  const head = JSON.stringify({ about: { file: "a" }, arrays: [{ name: "position", type: "f32", width: 3, count: 1, at_byte: 136 }] }).padEnd(120);
  const bytes = new ArrayBuffer(152);
  new Uint8Array(bytes).set(new TextEncoder().encode("FETTLE1\n"));
  new DataView(bytes).setUint32(8, 120, true);
  new Uint8Array(bytes, 16).set(new TextEncoder().encode(head));
  new DataView(bytes).setFloat32(140, 2.5, true);
  const b = open(bytes);
  assert.equal(b.arrays.get("position")!.of[1], 2.5);
  assert.equal(b.arrays.get("position")!.of.buffer, bytes);
  assert.throws(() => open(bytes.slice(0, 140)), /outside/);
  assert.throws(() => open(new ArrayBuffer(20)), /no buffer/);
});
