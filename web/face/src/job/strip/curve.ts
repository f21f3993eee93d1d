// The curves of a pass: minutes a piece against the height of the cusps.
import type { Curve, CurvePoint } from "../../api/types.ts";

/** Tries are the curves that a handle can be dragged along: those that fit and have more than one point. */
export const tries = (curves: Curve[] | null | undefined, zone: string): Curve[] => (curves ?? []).filter((c) => c.zone === zone && c.fits && (c.points ?? []).length > 1);

/** barred are the cutters that do not fit, with why. */
export const barred = (curves: Curve[] | null | undefined, zone: string): Curve[] => (curves ?? []).filter((c) => c.zone === zone && !c.fits);

/** level are the cutters that leave no cusps, each with the one way it is used. */
export const level = (curves: Curve[] | null | undefined, zone: string): Curve[] => (curves ?? []).filter((c) => c.zone === zone && c.fits && (c.points ?? []).length === 1);

const ln = Math.log;

/** between is how far v lies from a to b on a scale of ratios. */
const between = (v: number, a: number, b: number): number => (a === b ? 0 : (ln(v) - ln(a)) / (ln(b) - ln(a)));
const mix = (a: number, b: number, t: number): number => (a > 0 && b > 0 ? Math.exp(ln(a) + t * (ln(b) - ln(a))) : a + t * (b - a));

/**
 * along reads a curve at one of its measures. Between two points all measures go as
 * powers of each other: cusps with the square of the stepover, minutes with its inverse.
 */
export function along(points: CurvePoint[], by: "stepover_mm" | "cusp_um", v: number): CurvePoint {
  const first = points[0]!;
  const last = points[points.length - 1]!;
  if (!(v < first[by])) return first;
  if (!(v > last[by])) return last;
  let i = 0;
  while (points[i + 1]![by] > v) i++;
  const a = points[i]!;
  const b = points[i + 1]!;
  const t = between(v, a[by], b[by]);
  return { stepover_mm: mix(a.stepover_mm, b.stepover_mm, t), cusp_um: mix(a.cusp_um, b.cusp_um, t), ra_um: mix(a.ra_um, b.ra_um, t), minutes: mix(a.minutes, b.minutes, t) };
}

/** round is a stepover that a person would enter: to 5 µm, below a tenth to 1 µm. */
export function round(mm: number): number {
  const step = mm >= 0.1 ? 0.005 : 0.001;
  return Number((Math.round(mm / step) * step).toFixed(3));
}

/** held keeps a stepover on the curve. */
export function held(points: CurvePoint[], mm: number): number {
  const most = points[0]!.stepover_mm;
  const least = points[points.length - 1]!.stepover_mm;
  return Math.min(most, Math.max(least, round(mm)));
}

/** nudged is the stepover that a key leads to; undefined where the key is none of ours. */
export function nudged(points: CurvePoint[], mm: number, key: string): number | undefined {
  const step = mm > 0.1 ? 0.005 : 0.001;
  const marks = points.map((p) => p.stepover_mm);
  switch (key) {
    case "ArrowRight": // finer lies to the right
    case "ArrowUp":
      return held(points, mm - step);
    case "ArrowLeft":
    case "ArrowDown":
      return held(points, mm + (mm >= 0.1 ? 0.005 : 0.001));
    case "PageUp":
      return marks.find((m) => m < mm - 1e-9) ?? marks.at(-1)!;
    case "PageDown":
      return marks.findLast((m) => m > mm + 1e-9) ?? marks[0]!;
    case "Home":
      return marks[0]!;
    case "End":
      return marks.at(-1)!;
  }
  return undefined;
}

/** Scale is an axis of ratios: from, at pixel a, to, at pixel b. */
export interface Scale {
  from: number;
  to: number;
  a: number;
  b: number;
}

export const at = (s: Scale, v: number): number => s.a + between(v, s.from, s.to) * (s.b - s.a);
export const back = (s: Scale, px: number): number => mix(s.from, s.to, (px - s.a) / (s.b - s.a));

/** ticks are round values of an axis of ratios: 1, 2, 5 of each decade, or decades alone where there are many or little room. */
export function ticks(lo: number, hi: number, few = false): number[] {
  const out: number[] = [];
  const decades = Math.log10(hi / lo);
  for (let e = Math.floor(Math.log10(lo)); e <= Math.ceil(Math.log10(hi)); e++) {
    for (const m of few || decades > 3.4 ? [1] : [1, 2, 5]) {
      const v = Number((m * 10 ** e).toPrecision(1));
      if (v >= lo * 0.999 && v <= hi * 1.001) out.push(v);
    }
  }
  return out;
}

/** spread moves labels apart so that none covers another; the order stays. */
export function spread(y: number[], gap: number, lo: number, hi: number): number[] {
  const order = y.map((_, i) => i).sort((a, b) => y[a]! - y[b]! || a - b);
  const out = [...y];
  let last = lo - gap;
  for (const i of order) last = out[i] = Math.max(out[i]!, last + gap);
  let next = hi + gap;
  for (const i of order.toReversed()) next = out[i] = Math.min(out[i]!, next - gap);
  return out;
}

/** window is the part of the curves that is shown: cusps that one finishes with, around the chosen one, and all minutes that they take. */
export function window(curves: Curve[], about: CurvePoint): { cusp: [number, number]; minutes: [number, number] } {
  const all = curves.flatMap((c) => c.points ?? []);
  const lo = Math.max(Math.min(...all.map((p) => p.cusp_um)), Math.min(0.1, about.cusp_um / 3));
  const hi = Math.min(Math.max(...all.map((p) => p.cusp_um)), Math.max(30, about.cusp_um * 3));
  const seen = curves.flatMap((c) => [along(c.points!, "cusp_um", lo), along(c.points!, "cusp_um", hi)]).map((p) => p.minutes);
  return { cusp: [lo, hi], minutes: [Math.min(...seen) / 1.1, Math.max(...seen) * 1.05] };
}
