// The form of a brief: its fields as they are typed, in the shop's units, and back.
import type { Brief, Job } from "../../api/types.ts";
import type { Say } from "../../say/units.ts";
import { number, upKey, ways } from "./words.ts";

export interface Typed {
  title: string;
  material: string;
  finish: string;
  lot: string;
  due: string;
  aim: string;
  tone: string;
  ra: string;
  rz: string;
  edge: string;
  tolerance: string;
  units: string;
  up: string;
  notes: string;
  contact: string;
  language: string;
}

const show = (v: number | undefined, to: (v: number) => number): string => (v ? String(Number(to(v).toPrecision(6))) : "");

/** Fine lengths, such as an edge's radius, are read in µm or in thousandths of an inch. */
const toFine = (say: Say) => (um: number) => (say.system === "inch" ? um / 25.4 : um);
const fromFine = (say: Say) => (v: number) => (say.system === "inch" ? v * 25.4 : v);
export const fineUnit = (say: Say): string => (say.system === "inch" ? "thou" : "µm");

export function typed(job: Job, say: Say): Typed {
  const b = job.brief;
  const height = (um: number) => say.toHeight(um);
  return {
    title: job.title, material: b.material, finish: b.finish, lot: String(b.lot), due: job.due ?? "", aim: b.aim ?? "", tone: b.tone ?? "",
    ra: show(b.ra_max_um, height), rz: show(b.rz_max_um, height), edge: show(b.edge_max_um, toFine(say)), tolerance: show(b.tolerance_um, toFine(say)),
    units: b.model_units ?? "", up: upKey(b.up), notes: b.notes ?? "", contact: b.contact ?? "", language: b.language ?? "",
  };
}

/** faults of what was typed, by field. */
export function faults(t: Typed): Partial<Record<keyof Typed, string>> {
  const out: Partial<Record<keyof Typed, string>> = {};
  if (!t.title.trim()) out.title = "Give it a title.";
  const lot = number(t.lot);
  if (!(Number.isInteger(lot) && lot >= 1 && lot <= 1e6)) out.lot = "A whole number from 1 to 1000000.";
  for (const k of ["ra", "rz", "edge", "tolerance"] as const) if (!(number(t[k]) >= 0)) out[k] = "A number, or nothing where the drawing does not say.";
  return out;
}

/** put lays what was typed over a job. A field that was not touched keeps its exact value. */
export function put(job: Job, t: Typed, say: Say): void {
  const was = typed(job, say);
  const b: Brief = job.brief;
  const set = <K extends keyof Brief>(key: K, v: Brief[K] | undefined) => {
    if (v === undefined || v === "" || v === 0) delete b[key];
    else b[key] = v;
  };
  if (t.title.trim() !== was.title) {
    if (!b.title || b.title === job.title) b.title = t.title.trim(); // what the papers call it
    job.title = t.title.trim();
  }
  if (t.due) job.due = t.due;
  else delete job.due;
  b.material = t.material;
  b.finish = t.finish;
  b.lot = number(t.lot);
  set("aim", t.aim);
  set("tone", t.tone);
  if (t.ra !== was.ra) set("ra_max_um", say.fromHeight(number(t.ra)));
  if (t.rz !== was.rz) set("rz_max_um", say.fromHeight(number(t.rz)));
  if (t.edge !== was.edge) set("edge_max_um", fromFine(say)(number(t.edge)));
  if (t.tolerance !== was.tolerance) set("tolerance_um", fromFine(say)(number(t.tolerance)));
  set("model_units", t.units);
  if (t.up !== was.up) {
    const way = ways.find((w) => w.key === t.up);
    if (!way || !t.up) delete b.up;
    else b.up = way.up;
  }
  set("notes", t.notes.trim());
  set("contact", t.contact.trim());
  set("language", t.language.trim());
}
