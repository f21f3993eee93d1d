// What was done here and still waits to be sent, laid over what the shop knows.
import type { Letter } from "../api/outbox.svelte.ts";
import type { Reading, RunKept } from "../api/types.ts";

/** Shown is a run as it is shown; waits is true while the shop has not heard all of it. */
export interface Shown extends RunKept {
  waits: boolean;
}

/** overlay lays letters that wait over the runs that the shop knows. */
export function overlay(runs: readonly RunKept[], letters: readonly Letter[], job: string): Shown[] {
  const out: Shown[] = runs.map((r) => ({ ...r, readings: [...(r.readings ?? [])], waits: false }));
  for (const l of letters) {
    if (l.refused) continue;
    const body = (l.body ?? {}) as Record<string, unknown>;
    if (l.path === `jobs/${job}/runs` && !out.some((r) => r.id === body.id)) {
      const started = String(body.started ?? l.at);
      out.push({
        id: String(body.id), rev: 0, number: Number(body.step_number ?? 0), by: "", readings: [], waits: true,
        body: { id: String(body.id), day: started.slice(0, 10), kind: "", material: "", readings: [], started, step: String(body.step ?? "") },
      });
      continue;
    }
    const [, id, what] = /^runs\/([^/]+)\/(end|readings|looked)$/.exec(l.path) ?? [];
    const i = out.findIndex((r) => r.id === id);
    if (i < 0) continue;
    const r = out[i]!;
    if (what === "looked") out[i] = { ...r, waits: true, body: { ...r.body, looked_h: Math.max(r.body.looked_h ?? 0, Number(body.at_h) || 0) } };
    else if (what === "end" && !r.body.ended) {
      const ended = String(body.ended ?? l.at);
      const hours = Number(body.hours ?? (Date.parse(ended) - Date.parse(r.body.started ?? ended)) / 3.6e6);
      out[i] = { ...r, waits: true, body: { ...r.body, ended, hours_run: hours } };
    } else if (what === "readings") {
      out[i] = { ...r, waits: true, readings: [...(r.readings ?? []), { id: "", rev: 0, made: l.at, by: "", body: l.body as Reading }] };
    }
  }
  return out;
}
