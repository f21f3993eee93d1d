// What is wished of a pocket, as the form keeps it, and the question that it makes.

/** Fields of the form. Lengths are in mm; null and "" leave it to the shop. */
export interface Fields {
  pair: string;
  fixed: string;
  moving: string;
  places: "" | "own" | "swapped";
  turn: number | null;
  shift: number | null;
  grip: number | null;
  reuse: string;
}

export const blank: Fields = { pair: "", fixed: "", moving: "", places: "", turn: null, shift: null, grip: null, reuse: "" };

/** turns are the ways to mount a jaw, as the shop names them. */
export const turns = ["as new", "end for end", "upside down", "upside down and end for end"] as const;

/** query is the question to the shop; what is left open is not in it. */
export function query(f: Fields): string {
  const q = new URLSearchParams();
  const text = (k: string, v: string) => v && q.set(k, v);
  const number = (k: string, v: number | null) => v !== null && Number.isFinite(v) && q.set(k, String(v));
  if (f.reuse) {
    // A pocket that is there lies where it lies; only the part may be shifted.
    text("reuse", f.reuse);
    number("shift_mm", f.shift);
    return q.toString();
  }
  text("pair", f.pair);
  text("fixed", f.fixed);
  text("moving", f.moving);
  text("places", f.places);
  number("turn_deg", f.turn);
  number("shift_mm", f.shift);
  number("grip_mm", f.grip);
  return q.toString();
}

/** open tells that nothing is wished: the shop chooses all. */
export const open = (f: Fields): boolean => query(f) === "";

/** mounted says how the jaws stand, in words. */
export function mounted(p: { fixed_jaw: string; moving_jaw: string; swapped?: boolean }): string {
  const how = p.fixed_jaw === p.moving_jaw ? `both jaws ${p.fixed_jaw}` : `the fixed side's jaw ${p.fixed_jaw}, the moving side's ${p.moving_jaw}`;
  return p.swapped ? `${how}, each in the other's place` : how;
}

/** fieldsOf is the form that asks for a place that was tried. */
export function fieldsOf(pair: string, p: { fixed_jaw: string; moving_jaw: string; swapped?: boolean; shift_mm: number }, was: Fields): Fields {
  return { ...was, reuse: "", pair, fixed: p.fixed_jaw, moving: p.moving_jaw, places: p.swapped ? "swapped" : "own", shift: p.shift_mm };
}

