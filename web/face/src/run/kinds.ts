// What can be read on a run, in words, and how it is entered.
import type { Reading, StepToDo } from "../api/types.ts";
import { sig, type Say } from "../say/units.ts";

export interface Kind {
  kind: string;
  says: string;
  /** How a value is given: one of some, a number, yes or no. */
  how: "grade" | "number" | "yes";
  /** Where it says something: in a charge, by hand. */
  of: ("tumble" | "rub")[];
  unit: (s: Say) => string;
  /** to and from turn the shop's metric number into that of a field and back. */
  to: (s: Say, v: number) => number;
  from: (s: Say, v: number) => number;
  least: number;
  most: number;
  hint?: string;
}

const both: Kind["of"] = ["tumble", "rub"];
const same = (_: Say, v: number) => v;
const height = { unit: (s: Say) => s.heightUnit, to: (s: Say, v: number) => s.toHeight(v), from: (s: Say, v: number) => s.fromHeight(v) };
const plain = (unit: string) => ({ unit: () => unit, to: same, from: same });

/** The bounds are those of the shop, so that most slips are caught before they are sent. */
export const kinds: Kind[] = [
  { kind: "grade", says: "Comparison plate", how: "grade", of: both, ...plain(""), least: 1, most: 12 },
  { kind: "ra", says: "Ra, measured", how: "number", of: both, ...height, least: 0.001, most: 100, hint: "across the lay" },
  { kind: "mark gone", says: "Marks gone?", how: "yes", of: both, ...plain(""), least: 0, most: 1 },
  { kind: "grams", says: "Grams lost", how: "number", of: both, ...plain("g"), least: 0, most: 1e5, hint: "by one piece since it began" },
  { kind: "micrometer", says: "Micrometer", how: "number", of: both, unit: (s) => (s.system === "inch" ? "thou" : "µm"), to: (s, v) => (s.system === "inch" ? v / 25.4 : v), from: (s, v) => (s.system === "inch" ? v * 25.4 : v), least: 0, most: 4000, hint: "lost across two faces since it began" },
  { kind: "jammed", says: "Pieces stuck", how: "number", of: ["tumble"], ...plain("pieces"), least: 0, most: 1e6, hint: "that held media" },
  { kind: "minutes", says: "Minutes by hand", how: "number", of: ["rub"], ...plain("min"), least: 0.01, most: 6000, hint: "for one piece" },
  { kind: "gloss", says: "Gloss", how: "number", of: both, ...plain("GU"), least: 0, most: 2000, hint: "at 60°" },
  { kind: "rz", says: "Rz, measured", how: "number", of: both, ...height, least: 0.001, most: 1000, hint: "across the lay" },
];

export const kindOf = (name: string): Kind | undefined => kinds.find((k) => k.kind === name);

/** teaches tells whether readings say something of such a step. */
export const teaches = (kind: string): kind is "tumble" | "rub" => kind === "tumble" || kind === "rub";

/** fitting are the kinds that can be read on a step. */
export const fitting = (step: Pick<StepToDo, "kind">): Kind[] => kinds.filter((k) => (k.of as string[]).includes(step.kind));

/** Roughness grades of ISO 1302:1992, annex E: N1 is Ra 0.025 µm, each above it twice as rough. */
export const grades = [0.025, 0.05, 0.1, 0.2, 0.4, 0.8, 1.6, 3.2, 6.3, 12.5, 25, 50].map((ra, i) => ({ n: i + 1, ra }));

/** inWords is a reading as a sentence: "Ra 0.52 µm", "N6: Ra 0.80 µm". */
export function inWords(r: Pick<Reading, "kind" | "value" | "place">, say: Say): string {
  switch (r.kind) {
    case "grade": {
      const g = grades[r.value - 1];
      return g ? `N${r.value} on the plate: Ra ${say.height(g.ra)}` : `N${r.value}`;
    }
    case "ra":
      return `Ra ${say.height(r.value)}`;
    case "rz":
      return `Rz ${say.height(r.value)}`;
    case "sq":
      return `Sq ${say.height(r.value)}`;
    case "mark gone":
      return r.value ? "marks gone" : "marks still there";
    case "grams":
      return `${sig(r.value, 3)} g lost`;
    case "micrometer":
      return `${say.fine(r.value)} lost across two faces`;
    case "jammed":
      return `${r.value} ${r.value === 1 ? "piece" : "pieces"} stuck${r.place && r.place !== "face" ? " at " + r.place : ""}`;
    case "minutes":
      return `${sig(r.value, 3)} min a piece by hand`;
    case "gloss":
      return `gloss ${sig(r.value, 3)} GU`;
    default:
      return `${r.kind} ${r.value}`;
  }
}

/** wrong says what cannot be about a value; empty where it can. It is in the shop's units. */
export function wrong(kind: Kind, value: number, say: Say): string {
  if (!Number.isFinite(value)) return "Type a number.";
  if (value >= kind.least && value <= kind.most) return kind.kind === "jammed" && !Number.isInteger(value) ? "Pieces are whole." : "";
  const show = (v: number) => `${sig(kind.to(say, v), 2)} ${kind.unit(say)}`.trim();
  return `It must lie between ${show(kind.least)} and ${show(kind.most)}.`;
}
