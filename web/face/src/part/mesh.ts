// A mesh to look at, and what can be asked of it.
import { counts, floats, open, whole, type About, type Buffer } from "./buffer.ts";
import { shapeOf, type Shape } from "./shape.ts";

export type Vec = [number, number, number];

export interface Mesh {
  about: About;
  buffer: Buffer;
  position: Float32Array;
  triangle: Uint32Array;
  /** For each triangle; empty where the mesh has none. */
  face: Int32Array;
  opening: Int32Array;
  zone: Int32Array;
  shape: Shape;
}

/** labelsOf numbers what must not be smoothed over: faces, where zones meet on one too. */
export function labelsOf(face: Int32Array, zone: Int32Array): Int32Array {
  if (zone.length !== face.length) return face;
  return face.map((f, t) => f * 16 + zone[t]!);
}

/** meshOf takes a buffer's bytes; they are worked on away from the page where that goes. */
export async function meshOf(bytes: ArrayBuffer, signal?: AbortSignal): Promise<Mesh> {
  let shape: Shape;
  [bytes, shape] = await away(bytes, signal);
  const b = open(bytes);
  return {
    about: b.about, buffer: b, position: floats(b, "position"), triangle: counts(b, "triangle"),
    face: whole(b, "face"), opening: whole(b, "opening"), zone: whole(b, "zone"), shape,
  };
}

function away(bytes: ArrayBuffer, signal?: AbortSignal): Promise<[ArrayBuffer, Shape]> {
  const here = (): [ArrayBuffer, Shape] => {
    const b = open(bytes);
    return [bytes, shapeOf({ position: floats(b, "position"), triangle: counts(b, "triangle"), label: labelsOf(whole(b, "face"), whole(b, "zone")) })];
  };
  return new Promise((done, fail) => {
    let w: Worker;
    try {
      w = new Worker(new URL("./shape.worker.ts", import.meta.url), { type: "module" });
    } catch {
      return done(here());
    }
    const end = () => w.terminate();
    signal?.addEventListener("abort", () => {
      end();
      fail(signal.reason);
    });
    w.onerror = () => {
      end();
      fail(new Error("the mesh could not be prepared for drawing"));
    };
    w.onmessage = (e: MessageEvent<{ bytes: ArrayBuffer; shape?: Shape; wrong?: string }>) => {
      end();
      if (e.data.shape) done([e.data.bytes, e.data.shape]);
      else fail(new Error(e.data.wrong));
    };
    w.postMessage(bytes, [bytes]);
  });
}

export interface Hit {
  triangle: number;
  /** Weights of the second and the third corner. */
  u: number;
  v: number;
  far: number;
  at: Vec;
}

/** meet is the first triangle that a ray meets (Möller and Trumbore, 1997). */
export function meet(m: Pick<Mesh, "position" | "triangle">, o: Vec, d: Vec): Hit | null {
  const p = m.position, tri = m.triangle;
  let best: Hit | null = null;
  for (let i = 0; i < tri.length; i += 3) {
    const a = 3 * tri[i]!, b = 3 * tri[i + 1]!, c = 3 * tri[i + 2]!;
    const ax = p[a]!, ay = p[a + 1]!, az = p[a + 2]!;
    const ex = p[b]! - ax, ey = p[b + 1]! - ay, ez = p[b + 2]! - az;
    const fx = p[c]! - ax, fy = p[c + 1]! - ay, fz = p[c + 2]! - az;
    const px = d[1] * fz - d[2] * fy, py = d[2] * fx - d[0] * fz, pz = d[0] * fy - d[1] * fx;
    const det = ex * px + ey * py + ez * pz;
    if (Math.abs(det) < 1e-14) continue;
    const sx = o[0] - ax, sy = o[1] - ay, sz = o[2] - az;
    const u = (sx * px + sy * py + sz * pz) / det;
    if (u < 0 || u > 1) continue;
    const qx = sy * ez - sz * ey, qy = sz * ex - sx * ez, qz = sx * ey - sy * ex;
    const v = (d[0] * qx + d[1] * qy + d[2] * qz) / det;
    if (v < 0 || u + v > 1) continue;
    const far = (fx * qx + fy * qy + fz * qz) / det;
    if (far > 0 && (!best || far < best.far)) best = { triangle: i / 3, u, v, far, at: [o[0] + far * d[0], o[1] + far * d[1], o[2] + far * d[2]] };
  }
  return best;
}

export interface Stop {
  face: number;
  triangle: number;
  at: Vec;
  normal: Vec;
}

/** stops are a place on each face: the middle of its triangle nearest to its middle. */
export function stops(m: Mesh): Stop[] {
  const n = m.face.reduce((a, f) => Math.max(a, f), -1) + 1;
  const sum = new Float64Array(4 * n);
  const middle = (t: number): Vec => {
    const out: Vec = [0, 0, 0];
    for (let k = 0; k < 9; k++) out[k % 3]! += m.position[3 * m.triangle[3 * t + ((k / 3) | 0)]! + (k % 3)]! / 3;
    return out;
  };
  const area = new Float32Array(m.face.length);
  for (let t = 0; t < m.face.length; t++) {
    const f = m.face[t]!;
    if (f < 0) continue;
    area[t] = Math.hypot(...cross(m, t));
    const at = middle(t);
    for (let k = 0; k < 3; k++) sum[4 * f + k]! += at[k]! * area[t]!;
    sum[4 * f + 3]! += area[t]!;
  }
  const best = new Float64Array(n).fill(Infinity);
  const out: (Stop | undefined)[] = Array.from({ length: n });
  for (let t = 0; t < m.face.length; t++) {
    const f = m.face[t]!;
    if (f < 0 || !sum[4 * f + 3]) continue;
    const at = middle(t);
    const w = sum[4 * f + 3]!;
    const off = Math.hypot(at[0] - sum[4 * f]! / w, at[1] - sum[4 * f + 1]! / w, at[2] - sum[4 * f + 2]! / w) - 1e-3 * Math.sqrt(area[t]!);
    if (off < best[f]!) {
      best[f] = off;
      const c = cross(m, t), l = Math.hypot(...c) || 1;
      out[f] = { face: f, triangle: t, at, normal: [c[0] / l, c[1] / l, c[2] / l] };
    }
  }
  return out.filter((s) => s !== undefined);
}

function cross(m: Mesh, t: number): Vec {
  const p = m.position, a = 3 * m.triangle[3 * t]!, b = 3 * m.triangle[3 * t + 1]!, c = 3 * m.triangle[3 * t + 2]!;
  const ex = p[b]! - p[a]!, ey = p[b + 1]! - p[a + 1]!, ez = p[b + 2]! - p[a + 2]!;
  const fx = p[c]! - p[a]!, fy = p[c + 1]! - p[a + 1]!, fz = p[c + 2]! - p[a + 2]!;
  return [ey * fz - ez * fy, ez * fx - ex * fz, ex * fy - ey * fx];
}
