// What is right, in words.
import type { AcceptLimit, Acceptance, FirstArticle, Reading } from "../../api/types.ts";
import { sig, type Say } from "../../say/units.ts";

const names: { [kind: string]: string } = {
  ra: "Ra", rz: "Rz", sq: "Sq", grade: "grade on the comparison plate", gloss: "gloss at 60°", grams: "grams lost by a piece",
  micrometer: "lost across two faces", "mark gone": "older marks", jammed: "pieces that hold media", minutes: "minutes a piece",
};
/** kindName is a kind of reading as a person names it. */
export const kindName = (kind: string): string => names[kind] ?? kind;

/** limitValue is a value of a limit or a reading with its unit. */
export function limitValue(kind: string, v: number | undefined, say: Say, unit = ""): string {
  if (v === undefined) return "";
  switch (kind) {
    case "ra": case "rz": case "sq":
      return say.height(v);
    case "micrometer":
      return say.fine(v);
    case "grade":
      return "N" + Math.round(v);
    case "mark gone":
      return v >= 1 ? "gone" : "still there";
    case "gloss":
      return sig(v, 2) + " GU";
    case "grams":
      return v === 0 ? "0 g" : say.mass(v);
    case "minutes":
      return sig(v, 2) + " min";
    case "jammed":
      return String(v);
  }
  return [sig(v, 3), unit].filter(Boolean).join(" ");
}

/** reads says what was read: "Ra 0.41 µm, 0.46 µm; older marks gone". */
export function reads(rs: readonly Reading[], say: Say): string {
  const by = new Map<string, string[]>();
  for (const r of rs) by.set(r.kind, [...(by.get(r.kind) ?? []), limitValue(r.kind, r.value, say)]);
  return [...by].map(([k, v]) => `${kindName(k)} ${v.join(", ")}`).join("; ");
}

/** sampleWords is what the sample read of a limit. */
export const sampleWords = (l: AcceptLimit, say: Say): string => (l.n > 0 ? limitValue(l.kind, l.sample, say, l.unit) + (l.n > 1 ? ` (mean of ${l.n})` : "") : "not read");

/** Verdict is how a line of the first article stands. */
export function lineWord(f: FirstArticle): { word: string; kind: "" | "done" | "wrong" | "waits" } {
  if (f.measured === undefined) return { word: "to measure", kind: "waits" };
  if (f.right === true) return { word: "right", kind: "done" };
  if (f.right === false) return { word: "wrong", kind: "wrong" };
  return { word: "by the drawing", kind: "" };
}

/** firstWords sums the first article up: "3 of 16 lines measured, 1 of them wrong". */
export function firstWords(a: Acceptance): string {
  const lines = a.first_article ?? [];
  const done = lines.filter((l) => l.measured !== undefined);
  const wrong = done.filter((l) => l.right === false).length;
  return `${done.length} of ${lines.length} lines measured${done.length ? `, ${wrong === 0 ? "none of them wrong" : `${wrong} of them wrong`}` : ""}`;
}

/** typed reads a number as people type it, with a comma or a point; null for none. */
export function typed(text: string): number | null {
  const t = text.trim().replace(",", ".");
  if (!/^[-+]?(\d+\.?\d*|\.\d+)(e[-+]?\d+)?$/i.test(t)) return null;
  const v = Number(t);
  return Number.isFinite(v) ? v : null;
}
