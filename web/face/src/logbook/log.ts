// The logbook as the page has it: runs with their readings, what is chosen of them, and how
// they are written out.
import type { Estimate, Kept, Reading, Run } from "../api/types.ts";
import type { Quantity } from "../shelf/quantity.ts";
import type { Say } from "../say/units.ts";
import { minutes, sig } from "../say/units.ts";

export interface Entry {
  run: Kept<Run>;
  readings: Kept<Reading>[];
  /** The job's title; empty where it was done without one. */
  job: string;
}

export interface ReadingSort {
  kind: string;
  says: string;
  q: Quantity;
  help?: string;
  of: ("tumble" | "rub")[];
}

/** What can be read, in the shop's words. */
export const sorts: ReadingSort[] = [
  { kind: "ra", says: "Ra, across the lay", q: "height", of: ["tumble", "rub"] },
  { kind: "rz", says: "Rz", q: "height", of: ["tumble", "rub"] },
  { kind: "sq", says: "Sq, of an area", q: "height", of: ["tumble", "rub"] },
  { kind: "grade", says: "grade on a comparison plate", q: "grade", help: "N 1 to 12.", of: ["tumble", "rub"] },
  { kind: "gloss", says: "gloss", q: "gloss", of: ["tumble", "rub"] },
  { kind: "grams", says: "lost by one piece since it began", q: "grams", of: ["tumble"] },
  { kind: "micrometer", says: "lost across two faces since it began", q: "fine", of: ["tumble"] },
  { kind: "mark gone", says: "mark gone?", q: "plain", help: "1 gone, 0 still there.", of: ["tumble"] },
  { kind: "jammed", says: "pieces that held media", q: "pieces", of: ["tumble"] },
  { kind: "minutes", says: "minutes by hand, a piece", q: "minutes", of: ["rub"] },
];

export const sortOf = (kind: string): ReadingSort => sorts.find((s) => s.kind === kind) ?? { kind, says: kind, q: "plain", of: [] };

/** said is a reading in a few words: "Ra 0.52 µm at 4 h". */
export function said(r: Reading, say: Say): string {
  const when = r.at_h ? ` at ${minutes(r.at_h * 60)}` : r.kind === "minutes" ? "" : " at the start";
  switch (r.kind) {
    case "ra": return `Ra ${say.height(r.value)}${when}`;
    case "rz": return `Rz ${say.height(r.value)}${when}`;
    case "sq": return `Sq ${say.height(r.value)}${when}`;
    case "grade": return `grade N${r.value}${when}`;
    case "gloss": return `gloss ${sig(r.value, 3)}${when}`;
    case "grams": return `${say.mass(r.value)} lost${when}`;
    case "micrometer": return `${say.fine(r.value)} off two faces${when}`;
    case "mark gone": return `mark${r.depth_um ? ` of ${say.fine(r.depth_um)}` : ""} ${r.value ? "gone" : "still there"}${when}`;
    case "jammed": return `${r.value} jammed${r.place ? ` in ${r.place}` : ""}${when}`;
    case "minutes": return `${minutes(r.value)} a piece`;
    default: return `${r.kind} ${r.value}${when}`;
  }
}

/** between is an estimate whose numbers a function shows with one unit: "2.1 µm (1.7–2.6)". */
export function between(e: Estimate, show: (v: number) => string): string {
  const value = show(e.value), tail = value.slice(value.indexOf(" "));
  const low = show(e.low), high = show(e.high);
  const plain = (t: string) => (t.endsWith(tail) ? t.slice(0, -tail.length) : t);
  return low === high ? value : low.endsWith(tail) && high.endsWith(tail) ? `${value} (${plain(low)}–${plain(high)})` : `${value} (${low}–${high})`;
}

/** did is what a run was, in a few words. */
export function did(r: Run): string {
  switch (r.kind) {
    case "tumble": return `${r.media || "media"} in ${r.vessel || "a vessel"}${r.tone ? `, ${r.tone}` : ""}`;
    case "rub": return `by hand, ${r.grit || "a grit"}`;
    default: return r.step || r.kind;
  }
}

/** ran is how many hours a run took, by what was noted of it. */
export const ran = (e: Entry): number => e.run.body.hours_run || Math.max(0, ...e.readings.map((r) => r.body.at_h));

export interface Choice {
  job: string;
  kind: string;
  media: string;
  vessel: string;
  metal: string;
  from: string;
}

export const noChoice: Choice = { job: "", kind: "", media: "", vessel: "", metal: "", from: "" };

/** asAddress and fromAddress keep what is chosen in the address of the page: "kind=tumble&from=2026-03-01". */
export function asAddress(c: Partial<Choice>): string {
  const p = new URLSearchParams(Object.entries(c).filter(([, v]) => v) as [string, string][]);
  return p.toString() || "all";
}

export function fromAddress<T extends object>(text: string | undefined, none: T): T {
  const p = new URLSearchParams(text === "all" ? "" : (text ?? ""));
  return Object.fromEntries(Object.entries(none).map(([k, v]) => [k, p.get(k) ?? v])) as T;
}

export function chosen(all: Entry[], c: Choice): Entry[] {
  return all.filter(({ run: { body: r, links } }) =>
    (!c.job || (c.job === "none" ? !links?.job : links?.job === c.job)) && (!c.kind || r.kind === c.kind) && (!c.media || r.media === c.media) &&
    (!c.vessel || r.vessel === c.vessel) && (!c.metal || r.material === c.metal) && (!c.from || r.day >= c.from));
}

/** newest first: by day, then by when it was noted. */
export const byDay = (a: Entry, b: Entry): number => b.run.body.day.localeCompare(a.run.body.day) || b.run.id.localeCompare(a.run.id);

/** values are those that stand in the log, each once, in order. */
export const values = (all: Entry[], of: (r: Run) => string | undefined): string[] => [...new Set(all.map((e) => of(e.run.body) ?? "").filter(Boolean))].sort();

const heads = ["run", "day", "job", "part", "material", "kind", "step", "media", "vessel", "tone", "grit", "area_mm2", "size_mm", "pieces", "started", "ended", "hours_run", "notes", "reading", "reading_kind", "at_h", "value", "spread", "depth_um", "place"] as const;

/** table is the log for a spreadsheet: a line for each reading, one for a run without; metric. */
export function table(all: Entry[]): (string | number)[][] {
  const line = (e: Entry, r?: Kept<Reading>): (string | number)[] => {
    const b = e.run.body;
    return [e.run.id, b.day, e.job, b.part ?? "", b.material, b.kind, b.step ?? "", b.media ?? "", b.vessel ?? "", b.tone ?? "", b.grit ?? "", b.area_mm2 ?? "", b.size_mm ?? "", b.pieces ?? "", b.started ?? "", b.ended ?? "", b.hours_run ?? "", b.notes ?? "",
      r?.id ?? "", r?.body.kind ?? "", r?.body.at_h ?? "", r?.body.value ?? "", r?.body.spread ?? "", r?.body.depth_um ?? "", r?.body.place ?? ""];
  };
  return [[...heads], ...all.flatMap((e) => (e.readings.length ? e.readings.map((r) => line(e, r)) : [line(e)]))];
}

/** cut is a sentence of the shop in pieces: the ids of runs, and what stands between them. */
export function cut(text: string): { says: string; run?: string }[] {
  return text.split(/([0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12})/).filter(Boolean).map((t) => (/^[0-9a-f]{8}-[0-9a-f-]{27}$/.test(t) ? { says: t, run: t } : { says: t }));
}
