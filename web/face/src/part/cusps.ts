// How high the cusps of a pass stand at each place: what docs/physics.md has for a surface
// that bends and leans, with the slope and the bend of that very place.
import type { Mesh, Vec } from "./mesh.ts";
import { floats } from "./buffer.ts";

/**
 * heightOn is the height of the cusps that a nose of radius r leaves on a surface that bends by
 * k across the passes (1/mm, bulging above zero, hollow below), with neighbouring contact points
 * s apart: NaN where the nose does not get in or the passes do not meet.
 */
export function heightOn(r: number, k: number, s: number): number {
  if (!(r > 0) || !(s > 0)) return NaN;
  if (Math.abs(k) * s < 1e-7) return s > 2 * r ? NaN : r - Math.sqrt(r * r - (s * s) / 4);
  const rho = 1 / Math.abs(k);
  if (s > 2 * rho) return NaN;
  const turn = Math.asin(s / (2 * rho));
  if (k < 0 && rho <= r) return NaN;
  const c = k > 0 ? rho + r : rho - r;
  const under = r * r - (c * Math.sin(turn)) ** 2;
  if (under < 0) return NaN;
  return k > 0 ? c * Math.cos(turn) - Math.sqrt(under) - rho : rho - c * Math.cos(turn) - Math.sqrt(under);
}

export interface Lines {
  nose: number;
  stepover: number;
  /** The zone's up, and the direction that its passes run in. */
  up: Vec;
  along: Vec;
}

/** passFrame is which way passes run on a zone: along its longer side, seen from its up. */
export function passFrame(up: Vec, points: Iterable<Vec>): Vec {
  const x0: Vec = Math.abs(up[0]) > Math.cos(Math.PI / 180) ? [0, 1, 0] : [1, 0, 0];
  const lean = dot(x0, up);
  const x = unit([x0[0] - lean * up[0], x0[1] - lean * up[1], x0[2] - lean * up[2]]);
  const y = cross(up, x);
  let [xl, xh, yl, yh] = [Infinity, -Infinity, Infinity, -Infinity];
  for (const p of points) {
    const a = dot(p, x), b = dot(p, y);
    xl = Math.min(xl, a);
    xh = Math.max(xh, a);
    yl = Math.min(yl, b);
    yh = Math.max(yh, b);
  }
  return yh - yl > xh - xl ? y : x;
}

/** cuspAt is the height in µm where the normal is n and the surface bends by most toward a direction and least square to it. */
export function cuspAt(l: Lines, n: Vec, most: number, least: number, toward: Vec): number {
  const on = dot(n, l.along);
  const across: Vec = [n[0] - on * l.along[0], n[1] - on * l.along[1], n[2] - on * l.along[2]];
  const cos = dot(across, l.up) / (Math.hypot(...across) || 1);
  if (cos < 0.05) return NaN; // a wall: it is not cut in such passes
  const c = unit(cross(l.along, n));
  const share = Math.min(1, dot(c, toward) ** 2);
  return 1000 * heightOn(l.nose, most * share + least * (1 - share), l.stepover / cos);
}

/** cusps are the heights at each drawn corner, NaN off the zones that have such passes. */
export function cusps(m: Mesh, of: Map<number, Lines>): Float32Array {
  const { corner, owner, normal } = m.shape;
  const bend = floats(m.buffer, "bend"), toward = floats(m.buffer, "toward");
  const out = new Float32Array(corner.length).fill(NaN);
  for (let g = 0; g < corner.length; g++) {
    const l = of.get(m.zone[owner[g]!] ?? -1);
    if (!l) continue;
    const v = corner[g]!;
    const n: Vec = [normal[3 * g]!, normal[3 * g + 1]!, normal[3 * g + 2]!];
    out[g] = cuspAt(l, n, bend[2 * v] ?? 0, bend[2 * v + 1] ?? 0, [toward[3 * v] ?? 0, toward[3 * v + 1] ?? 0, toward[3 * v + 2] ?? 0]);
  }
  return fromInside(m, out);
}

/**
 * fromInside gives corners on an edge, where a bend may be that of the face beyond, what
 * their neighbours inside of the same face have.
 */
function fromInside(m: Mesh, values: Float32Array): Float32Array {
  const { corner, index } = m.shape;
  const pieces = new Uint8Array(m.position.length / 3);
  for (const v of corner) pieces[v] = Math.min(2, pieces[v]! + 1);
  const sum = new Float64Array(corner.length), n = new Uint32Array(corner.length);
  for (let i = 0; i < index.length; i++) {
    const g = index[i]!;
    if (pieces[corner[g]!]! < 2) continue;
    for (let k = 1; k < 3; k++) {
      const o = index[i - (i % 3) + ((i + k) % 3)]!;
      if (pieces[corner[o]!] !== 1) continue;
      if (!Number.isFinite(values[o]!)) continue;
      sum[g]! += values[o]!;
      n[g]!++;
    }
  }
  return values.map((v, g) => (n[g] ? sum[g]! / n[g]! : v));
}

const dot = (a: Vec, b: Vec) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
const cross = (a: Vec, b: Vec): Vec => [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
function unit(a: Vec): Vec {
  const l = Math.hypot(...a) || 1;
  return [a[0] / l, a[1] / l, a[2] / l];
}
