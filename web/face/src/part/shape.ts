// What drawing needs beside the mesh: normals that are smooth on a face and broken at its
// edges, and the edges themselves as lines. Worked out once, away from the page.

export interface Raw {
  position: Float32Array;
  triangle: Uint32Array;
  /** What must not be smoothed over, for each triangle; empty: nothing but angles. */
  label: Int32Array;
}

export interface Shape {
  /** For each drawn corner the corner of the mesh that it is, and one of its triangles. */
  corner: Uint32Array;
  owner: Uint32Array;
  position: Float32Array;
  normal: Float32Array;
  index: Uint32Array;
  /** Ends of edge lines, three numbers each. */
  lines: Float32Array;
  box: [number, number, number, number, number, number];
}

/** Edges that turn by more than this are drawn; corners are smoothed up to a little more. */
const edgeCos = Math.cos((25 * Math.PI) / 180);
const smoothCos = Math.cos((40 * Math.PI) / 180);

export function shapeOf({ position, triangle, label }: Raw): Shape {
  const nt = triangle.length / 3;
  const nv = position.length / 3;
  const flat = new Float32Array(3 * nt); // normals of triangles, as long as twice their area
  for (let t = 0; t < nt; t++) {
    const a = 3 * triangle[3 * t]!, b = 3 * triangle[3 * t + 1]!, c = 3 * triangle[3 * t + 2]!;
    const ux = position[b]! - position[a]!, uy = position[b + 1]! - position[a + 1]!, uz = position[b + 2]! - position[a + 2]!;
    const vx = position[c]! - position[a]!, vy = position[c + 1]! - position[a + 1]!, vz = position[c + 2]! - position[a + 2]!;
    flat[3 * t] = uy * vz - uz * vy;
    flat[3 * t + 1] = uz * vx - ux * vz;
    flat[3 * t + 2] = ux * vy - uy * vx;
  }
  const unit = unitOf(flat);

  // Each corner of the mesh becomes one drawn corner for each smooth piece that meets there.
  const start = new Uint32Array(nv + 1);
  for (let i = 0; i < triangle.length; i++) start[triangle[i]! + 1]!++;
  for (let v = 0; v < nv; v++) start[v + 1]! += start[v]!;
  const at = start.slice();
  const around = new Uint32Array(triangle.length);
  for (let i = 0; i < triangle.length; i++) around[at[triangle[i]!]!++] = i;

  const index = new Uint32Array(triangle.length);
  const corner: number[] = [], owner: number[] = [], sum: number[] = [];
  for (let v = 0; v < nv; v++) {
    const first = corner.length;
    for (let k = start[v]!; k < start[v + 1]!; k++) {
      const i = around[k]!;
      const t = (i / 3) | 0;
      const nx = unit[3 * t]!, ny = unit[3 * t + 1]!, nz = unit[3 * t + 2]!;
      let g = first;
      for (; g < corner.length; g++) {
        const o = owner[g]!;
        if (label.length && label[o] !== label[t]) continue;
        if (nx * unit[3 * o]! + ny * unit[3 * o + 1]! + nz * unit[3 * o + 2]! > smoothCos) break;
      }
      if (g === corner.length) {
        corner.push(v);
        owner.push(t);
        sum.push(0, 0, 0);
      }
      sum[3 * g]! += flat[3 * t]!;
      sum[3 * g + 1]! += flat[3 * t + 1]!;
      sum[3 * g + 2]! += flat[3 * t + 2]!;
      index[i] = g;
    }
  }
  const places = new Float32Array(3 * corner.length);
  const box: Shape["box"] = [Infinity, Infinity, Infinity, -Infinity, -Infinity, -Infinity];
  for (let g = 0; g < corner.length; g++) {
    for (let k = 0; k < 3; k++) {
      const x = position[3 * corner[g]! + k]!;
      places[3 * g + k] = x;
      if (x < box[k]!) box[k] = x;
      if (x > box[k + 3]!) box[k + 3] = x;
    }
  }
  return {
    corner: Uint32Array.from(corner), owner: Uint32Array.from(owner), position: places, normal: unitOf(Float32Array.from(sum)), index,
    lines: linesOf(position, triangle, unit), box,
  };
}

function unitOf(v: Float32Array): Float32Array {
  const out = new Float32Array(v.length);
  for (let i = 0; i < v.length; i += 3) {
    const l = Math.hypot(v[i]!, v[i + 1]!, v[i + 2]!) || 1;
    out[i] = v[i]! / l;
    out[i + 1] = v[i + 1]! / l;
    out[i + 2] = v[i + 2]! / l;
  }
  return out;
}

/** linesOf finds edges between triangles that turn sharply, and borders of the mesh. */
function linesOf(position: Float32Array, triangle: Uint32Array, unit: Float32Array): Float32Array {
  const open = new Map<number, number>();
  const nv = position.length / 3;
  const out: number[] = [];
  const put = (a: number, b: number) => out.push(position[3 * a]!, position[3 * a + 1]!, position[3 * a + 2]!, position[3 * b]!, position[3 * b + 1]!, position[3 * b + 2]!);
  for (let i = 0; i < triangle.length; i++) {
    const t = (i / 3) | 0;
    const a = triangle[i]!, b = triangle[3 * t + ((i + 1) % 3)]!;
    const other = open.get(b * nv + a);
    if (other === undefined) {
      open.set(a * nv + b, t);
      continue;
    }
    open.delete(b * nv + a);
    if (unit[3 * t]! * unit[3 * other]! + unit[3 * t + 1]! * unit[3 * other + 1]! + unit[3 * t + 2]! * unit[3 * other + 2]! < edgeCos) put(a, b);
  }
  for (const k of open.keys()) put(Math.floor(k / nv), k % nv);
  return Float32Array.from(out);
}
