// Predicted against measured, step by step.
import type { Estimate, Plan, StepToDo } from "../../api/types.ts";
import type { Shown } from "../../run/at.svelte.ts";
import { grades } from "../../run/kinds.ts";

/** Dot is a reading that is a roughness, in Ra. */
export interface Dot {
  um: number;
  atH: number;
  kind: string;
}

/** Line is one step with what was done of it. */
export interface Line {
  step: StepToDo;
  runs: Shown[];
  dots: Dot[];
  /** Hours that it really ran, all loads; 0 for not yet. */
  hours: number;
  begun: boolean;
  over: boolean;
}

/** dots are the readings of Ra, by instrument and by plate. */
export const dots = (runs: readonly Shown[]): Dot[] =>
  runs.flatMap((r) =>
    (r.readings ?? []).flatMap(({ body: v }) => {
      const um = v.kind === "ra" ? v.value : v.kind === "grade" ? grades[v.value - 1]?.ra : undefined;
      return um ? [{ um, atH: v.at_h, kind: v.kind }] : [];
    }),
  );

export function lines(steps: readonly StepToDo[], runs: readonly Shown[]): Line[] {
  return steps.map((step) => {
    const of = runs.filter((r) => r.number === step.number);
    return {
      step, runs: of, dots: dots(of), hours: of.reduce((h, r) => h + (r.body.hours_run ?? 0), 0),
      begun: of.length > 0, over: of.length >= (step.loads || 1) && of.every((r) => r.body.ended),
    };
  });
}

/** last dots of a run are its end: those of the last hour that was read. */
export function ending(d: readonly Dot[]): Dot[] {
  const at = Math.max(...d.map((x) => x.atH));
  return d.filter((x) => x.atH >= at - 1e-9);
}

/** middle is the geometric mean, as roughness scatters by factors. */
export const middle = (v: readonly number[]): number => Math.exp(v.reduce((s, x) => s + Math.log(x), 0) / v.length);

/** verdict compares a measured middle with what was predicted, in words. */
export function verdict(e: Estimate, um: number): string {
  if (um < e.low) return "smoother than predicted";
  return um > e.high ? "rougher than predicted" : "as predicted";
}

/** Log scale of a chart: whole decades' thirds around all values. */
export function scale(values: readonly number[], from: number, to: number): { at: (v: number) => number; ticks: number[] } {
  const nice = [0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50];
  const low = nice.findLast((n) => n <= Math.min(...values)) ?? nice[0]!;
  const high = nice.find((n) => n >= Math.max(...values)) ?? nice.at(-1)!;
  const k = (to - from) / Math.log(Math.max(high / low, 2));
  return { at: (v) => from + k * Math.log(Math.max(v, low) / low), ticks: nice.filter((n) => n >= low && n <= Math.max(high, 2 * low)) };
}

/** Moved is how a prediction went from one plan to the next. */
export interface Moved {
  what: string;
  was: Estimate;
  now: Estimate;
  as: "height" | "hours";
}

export function moved(was: Plan, now: Plan): Moved[] {
  const ra = (p: Plan) => p.route?.at(-1)?.ra_um;
  const out: Moved[] = [];
  const a = ra(was);
  const b = ra(now);
  if (a && b) out.push({ what: "Ra at the end", was: a, now: b, as: "height" });
  out.push({ what: "Hours at it", was: was.price.attended_h, now: now.price.attended_h, as: "hours" });
  out.push({ what: "Hours on its own", was: was.price.alone_h, now: now.price.alone_h, as: "hours" });
  return out;
}

/** concerns tells whether a learned number is of something that this job uses. */
export function concerns(p: { name: string; media?: string; says: string }, steps: readonly StepToDo[]): boolean {
  if (p.media) return steps.some((s) => s.media === p.media);
  return p.name.startsWith("pace by hand") && steps.some((s) => s.kind === "rub");
}
