// Outlines in plan as the page draws them: X to the right, Y up the page, millimetres.
import type { PlanEdge } from "../../../api/types.ts";

export type Point = readonly [number, number];

export interface Box {
  x0: number;
  y0: number;
  x1: number;
  y1: number;
}

const n = (v: number): string => String(Math.round(v * 1e4) / 1e4);

/** swept is the angle that an arc runs through, above 0 and up to a full turn. */
export function swept(e: PlanEdge): number {
  const [cx, cy] = e.centre_mm ?? [0, 0];
  const at = (p: Point) => Math.atan2(p[1] - cy, p[0] - cx);
  const a = at(e.from_mm!);
  const b = at(e.to_mm!);
  const turn = ((e.left ? b - a : a - b) + 4 * Math.PI) % (2 * Math.PI);
  return turn < 1e-9 ? 2 * Math.PI : turn;
}

/**
 * path is the d of an SVG path for loops of lines and true arcs. The page's Y runs down,
 * so an arc that runs anticlockwise in plan has the sweep flag 0.
 */
export function path(loops: readonly (readonly PlanEdge[])[]): string {
  let d = "";
  for (const loop of loops) {
    loop.forEach((e, i) => {
      const from = e.from_mm!;
      const to = e.to_mm!;
      if (i === 0) d += `M${n(from[0])} ${n(-from[1])}`;
      const r = e.radius_mm ?? 0;
      if (r <= 0) {
        d += `L${n(to[0])} ${n(-to[1])}`;
        return;
      }
      const turn = swept(e);
      const flag = e.left ? 0 : 1;
      const arc = (large: number, p: Point) => (d += `A${n(r)} ${n(r)} 0 ${large} ${flag} ${n(p[0])} ${n(-p[1])}`);
      if (turn > 1.9 * Math.PI) {
        // One arc cannot be told from none where its ends meet: two halves.
        const [cx, cy] = e.centre_mm ?? [0, 0];
        arc(0, [2 * cx - from[0], 2 * cy - from[1]]);
        arc(0, to);
      } else arc(turn > Math.PI ? 1 : 0, to);
    });
    if (loop.length) d += "Z";
  }
  return d;
}

/** around is the box of some loops, arcs taken by their whole circle where they bulge. */
export function around(loops: readonly (readonly PlanEdge[])[]): Box | null {
  const b: Box = { x0: Infinity, y0: Infinity, x1: -Infinity, y1: -Infinity };
  const add = (x: number, y: number) => {
    b.x0 = Math.min(b.x0, x);
    b.x1 = Math.max(b.x1, x);
    b.y0 = Math.min(b.y0, y);
    b.y1 = Math.max(b.y1, y);
  };
  for (const loop of loops)
    for (const e of loop) {
      add(...e.from_mm!);
      add(...e.to_mm!);
      const r = e.radius_mm ?? 0;
      if (r <= 0) continue;
      const [cx, cy] = e.centre_mm ?? [0, 0];
      const begin = Math.atan2(e.from_mm![1] - cy, e.from_mm![0] - cx);
      const turn = swept(e);
      for (let q = -4; q <= 4; q++) {
        const along = e.left ? (q * Math.PI) / 2 - begin : begin - (q * Math.PI) / 2;
        if (along > 0 && along < turn) add(cx + r * Math.cos((q * Math.PI) / 2), cy + r * Math.sin((q * Math.PI) / 2));
      }
    }
  return b.x0 <= b.x1 ? b : null;
}

/** bar is the length of a scale bar: the longest round one that is no longer than most, in mm. */
export function bar(most: number, inch: boolean): number {
  const unit = inch ? 25.4 : 1;
  let best = unit * 0.001;
  for (let p = -3; p <= 3; p++) for (const m of [1, 2, 5]) if (m * 10 ** p * unit <= most) best = Math.max(best, m * 10 ** p * unit);
  return best;
}
