// A brief and its changes in words.
import type { Brief, Job, Kept } from "../../api/types.ts";
import { day } from "../../say/units.ts";
import type { Say } from "../../say/units.ts";

/** The six ways a part can lie, as the directions of its model; the first lets the shop choose. */
export const ways: { key: string; up: [number, number, number]; says: string }[] = [
  { key: "", up: [0, 0, 0], says: "let the shop propose it" },
  { key: "0 0 1", up: [0, 0, 1], says: "the model's top (+Z)" },
  { key: "0 0 -1", up: [0, 0, -1], says: "the model's underside (−Z)" },
  { key: "1 0 0", up: [1, 0, 0], says: "the model's right side (+X)" },
  { key: "-1 0 0", up: [-1, 0, 0], says: "the model's left side (−X)" },
  { key: "0 1 0", up: [0, 1, 0], says: "the model's back (+Y)" },
  { key: "0 -1 0", up: [0, -1, 0], says: "the model's front (−Y)" },
];

export const upKey = (up: Brief["up"]): string => (up && up.some((v) => v !== 0) ? up.join(" ") : "");
export const upSays = (up: Brief["up"]): string => ways.find((w) => w.key === upKey(up))?.says ?? `the direction ${up?.map((v) => v.toFixed(2)).join(", ")}`;

export const aims: { [aim: string]: string } = { "": "least money", "least money": "least money", soonest: "soonest ready", surest: "surest to come out right" };
export const tones: { [tone: string]: string } = { "": "as the finish has it", brighter: "brighter", darker: "darker" };

const named: { [key: string]: string } = {
  material: "material", finish: "finish", lot: "pieces", aim: "aim", tone: "tone", ra_max_um: "Ra at most", rz_max_um: "Rz at most", edge_max_um: "edge radius at most", tolerance_um: "CAM tolerance",
  model_units: "unit of the model", body: "body of the file", up: "side that shows", notes: "notes", contact: "contact", language: "language", title: "title on paper", shop: "shop's name",
  show: "zones that show", plain: "plain zones", hidden: "hidden zones", steps: "wishes for steps", set_aside: "rules set aside", learning: "learning by hand", display: "units on paper",
};

function inWords(key: string, v: unknown, say: Say): string {
  if (v === undefined || v === null || v === "" || v === 0 || (Array.isArray(v) && !v.length)) return "none";
  switch (key) {
    case "ra_max_um":
    case "rz_max_um":
      return say.height(v as number);
    case "edge_max_um":
    case "tolerance_um":
      return say.fine(v as number);
    case "up":
      return upSays(v as Brief["up"]);
    case "aim":
      return aims[v as string] ?? String(v);
    case "steps":
      return (v as { step: string; do: string }[]).map((s) => `${s.do} ${s.step}`).join(", ");
  }
  if (Array.isArray(v)) return v.join(", ");
  const text = String(v);
  return text.length > 60 ? text.slice(0, 57) + "…" : text;
}

const same = (a: unknown, b: unknown) => JSON.stringify(a ?? null) === JSON.stringify(b ?? null);

/** changed says what one revision of a job changed of the one before. */
export function changed(was: Job, now: Job, say: Say): string[] {
  const out: string[] = [];
  if (was.title !== now.title) out.push(`title: ${now.title}`);
  if (was.state !== now.state) out.push(`${was.state} → ${now.state}`);
  if ((was.due ?? "") !== (now.due ?? "")) out.push(now.due ? `wanted by ${day(now.due)}` : "no day any more");
  if ((was.notes ?? "") !== (now.notes ?? "")) out.push("notes of the job");
  const a = was.brief as unknown as Record<string, unknown>;
  const b = now.brief as unknown as Record<string, unknown>;
  for (const k of Object.keys(named)) {
    if (same(a[k], b[k])) continue;
    const from = inWords(k, a[k], say);
    const to = inWords(k, b[k], say);
    if (from !== to) out.push(`${named[k]}: ${from} → ${to}`);
  }
  if (!same(was.acceptance, now.acceptance)) out.push("what is right");
  if ((was.checks?.length ?? 0) !== (now.checks?.length ?? 0)) out.push("a lot was looked at");
  return out;
}

/** Event is one revision in words. */
export interface Event {
  rev: number;
  at: string;
  by: string;
  says: string[];
}

/** events of a job, the newest first. */
export function events(history: Kept<Job>[], say: Say): Event[] {
  return history
    .map((r, i) => {
      const was = history[i - 1];
      const says = !was ? ["brought in"] : r.deleted && !was.deleted ? ["taken away"] : !r.deleted && was.deleted ? ["brought back"] : changed(was.body, r.body, say);
      return { rev: r.rev, at: r.changed, by: r.by, says: says.length ? says : ["kept anew"] };
    })
    .reverse();
}

/** number reads a field; empty is 0. NaN where it is none. */
export const number = (text: string): number => (text.trim() === "" ? 0 : Number(text.trim().replace(",", ".")));
