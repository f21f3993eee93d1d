// The set-up that a program is held against: the form's fields, what the plan fills in, and
// the document that is sent.
import type { Plan, Shelf, Span } from "../../../api/types.ts";

type Three = [number, number, number];

export interface ToolField {
  number: string;
  cutter: string;
  flutes: number | null;
  stickOut: number | null;
  holder: number | null;
  rpm: number | null;
  feed: number | null;
}

/** Fields of the form; lengths are in mm, null for what is not known. */
export interface Fields {
  mill: string;
  material: string;
  offset: string;
  zero: Three;
  up: Three;
  turn: number | null;
  /** over are the allowances over the part: x-, x+, y-, y+, z-, z+. All null: no stock. */
  over: (number | null)[];
  saw: number | null;
  jaws: string;
  axis: "x" | "y";
  opening: number | null;
  jawTop: number | null;
  machineZero: (number | null)[];
  safe: number | null;
  tolerance: number | null;
  tools: ToolField[];
  /** The task of the last proof and the file that it was of. */
  task: string;
  file: string;
}

export interface Box {
  lo: Three;
  hi: Three;
}

const cross = (a: Three, b: Three): Three => [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
const dot = (a: Three, b: Three): number => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
const unit = (a: Three): Three => {
  const n = Math.hypot(...a);
  return n > 0 ? [a[0] / n, a[1] / n, a[2] / n] : [0, 0, 1];
};

/**
 * partBox is the box of a part's box in program coordinates: at no turn the program's X lies
 * along the model's X, or along its Y where up is X. Of a part that is turned by other than
 * quarter turns it is a little large.
 */
export function partBox(box: Span, f: Pick<Fields, "zero" | "up" | "turn">): Box {
  const z = unit(f.up);
  let x: Three = Math.abs(z[0]) > 0.9 ? [0, 1, 0] : [1, 0, 0];
  const along = dot(x, z);
  x = unit([x[0] - along * z[0], x[1] - along * z[1], x[2] - along * z[2]]);
  const y = cross(z, x);
  const a = ((f.turn ?? 0) * Math.PI) / 180;
  const [c, s] = [Math.cos(a), Math.sin(a)];
  const lo: Three = [Infinity, Infinity, Infinity];
  const hi: Three = [-Infinity, -Infinity, -Infinity];
  for (const px of box.x ?? [0, 0])
    for (const py of box.y ?? [0, 0])
      for (const pz of box.z ?? [0, 0]) {
        const p: Three = [px - f.zero[0], py - f.zero[1], pz - f.zero[2]];
        const [u, v] = [dot(p, x), dot(p, y)];
        [c * u - s * v, s * u + c * v, dot(p, z)].forEach((q, k) => {
          lo[k] = Math.min(lo[k]!, q);
          hi[k] = Math.max(hi[k]!, q);
        });
      }
  return { lo, hi };
}

/** stockBox is the blank as ordered, and as sawn; null where it is not given. */
export function stockBox(part: Box, f: Pick<Fields, "over" | "saw">): { nominal: Box; sawn: Box } | null {
  if (f.over.every((v) => v === null)) return null;
  const grown = (b: Box, o: readonly number[]): Box => ({
    lo: [b.lo[0] - o[0]!, b.lo[1] - o[2]!, b.lo[2] - o[4]!],
    hi: [b.hi[0] + o[1]!, b.hi[1] + o[3]!, b.hi[2] + o[5]!],
  });
  const nominal = grown(part, f.over.map((v) => v ?? 0));
  const w = f.saw ?? 0;
  const long = nominal.hi[0] - nominal.lo[0] >= nominal.hi[1] - nominal.lo[1];
  return { nominal, sawn: grown(nominal, long ? [w, w, 0, 0, 0, 0] : [0, 0, w, w, 0, 0]) };
}

const round = (v: number): number => Math.round(v * 1000) / 1000;

/** leftOver and faced are starting guesses: what a saw leaves beyond the length, what is faced off the top. */
const sawLeaves = 1;
const faced = 0.5;
const gripped = 3;

/** filled is the form as the plan has it; what it does not know is left open. */
export function filled(plan: Plan, step: number): Fields {
  const up = (plan.brief.up?.some((v) => v !== 0) ? plan.brief.up : [0, 0, 1]) as Three;
  const f: Fields = {
    mill: plan.mill.name, material: plan.material.name, offset: "G54", zero: [0, 0, 0], up, turn: null,
    over: [null, null, null, null, null, null], saw: sawLeaves, jaws: "", axis: "y", opening: null, jawTop: null,
    machineZero: [null, null, null], safe: null, tolerance: null, tools: [], task: "", file: "",
  };
  const box = plan.survey.box_mm;
  const part = partBox(box, f);
  const size = plan.stock.size_mm;
  const level = up.filter((v) => Math.abs(v) > 1e-9).length === 1; // along an axis of the model
  if (size && level) {
    // The blank's sides along the program's axes, from those along the model's.
    const stood = partBox({ x: [0, size[0]], y: [0, size[1]], z: [0, size[2]] }, { zero: [0, 0, 0], up, turn: null });
    const spare = [0, 1, 2].map((k) => stood.hi[k]! - stood.lo[k]! - (part.hi[k]! - part.lo[k]!));
    if (spare.every((v) => v > -1e-6)) {
      const above = Math.min(faced, spare[2]!);
      f.over = [spare[0]! / 2, spare[0]! / 2, spare[1]! / 2, spare[1]! / 2, spare[2]! - above, above].map(round);
      const stock = stockBox(part, f)!.nominal;
      f.opening = round(stock.hi[1] - stock.lo[1]);
      f.jawTop = round(stock.lo[2] + Math.min(gripped, stock.hi[2] - stock.lo[2]));
    }
  }
  const used = new Map<string, number>();
  (plan.route ?? []).forEach((s, i) => {
    const p = s.pass;
    if (!p || used.has(p.cutter)) return;
    used.set(p.cutter, i);
  });
  // The step's own cutter first: it is most likely to be T1 of its program.
  const mine = plan.route?.[step]?.pass?.cutter;
  const order = [...used].sort(([a, i], [b, k]) => (a === mine ? -1 : b === mine ? 1 : i - k));
  f.tools = order.map(([cutter, i], n) => {
    const p = plan.route![i]!.pass!;
    return { number: `T${n + 1}`, cutter, flutes: null, stickOut: null, holder: null, rpm: p.spindle_rpm ? Math.round(p.spindle_rpm) : null, feed: null };
  });
  return f;
}

/** middleOfTop is the point of the model in the middle of the part, on its top. */
export function middleOfTop(box: Span, up: Three): Three {
  const z = unit(up);
  const mid: Three = [0, 1, 2].map((k) => (([box.x, box.y, box.z][k]?.[0] ?? 0) + ([box.x, box.y, box.z][k]?.[1] ?? 0)) / 2) as Three;
  const b = partBox(box, { zero: mid, up, turn: null });
  return mid.map((m, k) => round(m + z[k]! * b.hi[2])) as Three;
}

/** setupOf is the set-up as it is sent: what is not known is left out. */
export function setupOf(f: Fields): Record<string, unknown> {
  const s: Record<string, unknown> = { zero_mm: f.zero, up: f.up };
  const put = (k: string, v: unknown) => v !== null && v !== "" && v !== undefined && (s[k] = v);
  put("mill", f.mill);
  put("material", f.material);
  put("offset", f.offset.trim());
  put("turn_deg", f.turn);
  if (f.over.some((v) => v !== null)) s.stock = { over_mm: f.over.map((v) => v ?? 0), ...(f.saw ? { saw_cut_mm: f.saw } : {}) };
  if (f.jaws && f.opening !== null && f.jawTop !== null) s.jaws = { name: f.jaws, axis: f.axis, opening_mm: f.opening, top_mm: f.jawTop };
  if (f.machineZero.every((v) => v !== null)) s.machine_zero_mm = f.machineZero;
  put("safe_z_mm", f.safe);
  put("tolerance_mm", f.tolerance);
  const tools: Record<string, unknown> = {};
  for (const t of f.tools) {
    if (!t.number.trim() || !t.cutter) continue;
    const one: Record<string, unknown> = { cutter: t.cutter };
    for (const [k, v] of [["flutes", t.flutes], ["stick_out_mm", t.stickOut], ["holder_mm", t.holder], ["rpm", t.rpm], ["feed_mm_min", t.feed]] as const) if (v !== null) one[k] = v;
    tools[t.number.trim()] = one;
  }
  if (Object.keys(tools).length) s.tools = tools;
  return s;
}

/** lacking says what of the set-up is half given, in words for a person. */
export function lacking(f: Fields): string[] {
  const out: string[] = [];
  if (f.jaws && (f.opening === null || f.jawTop === null)) out.push("The jaws need their opening and the height of their top; without them nothing is checked against the jaws.");
  const z = f.machineZero.filter((v) => v !== null).length;
  if (z > 0 && z < 3) out.push("Where the zero lies in the mill's travel needs all three numbers; without them only the size of the motion is checked.");
  if (f.tools.some((t) => t.number.trim() && !t.cutter)) out.push("A tool without a cutter is left out.");
  const names = f.tools.map((t) => t.number.trim().toUpperCase()).filter(Boolean);
  if (new Set(names).size < names.length) out.push("Two tools have the same number; only the last of them is taken.");
  return out;
}

/** cuttersOf are the names of the shelf's cutters. */
export const cuttersOf = (s: Shelf | null): string[] => (s?.cutters ?? []).map((c) => c.name);
