// The steps of a job as they stand at the machine: what the shop knows, and over it what
// was done here and still waits to be sent.
import { get, Problem } from "../api/ask.ts";
import { onArrived, outbox, type Letter } from "../api/outbox.svelte.ts";
import type { Kept, Reading, Run, RunKept, Steps, StepToDo } from "../api/types.ts";
import { clock } from "./clock.svelte.ts";
import { overlay, type Shown } from "./overlay.ts";
import { uuid7 } from "./time.ts";

export type { Shown } from "./overlay.ts";

export class AtMachine {
  readonly job: string;
  sheet: Steps | null = $state.raw(null);
  /** kept is true where the sheet is an older one, because the shop does not answer. */
  kept = $state(false);
  fault = $state("");
  readonly #off: () => void;

  constructor(job: string) {
    this.job = job;
    try {
      this.sheet = JSON.parse(localStorage.getItem(this.#place) ?? "null");
      this.kept = this.sheet !== null;
    } catch {
      // nothing was kept
    }
    this.#off = onArrived(() => void this.load());
  }

  get #place(): string {
    return `fettle.steps.${this.job}`;
  }

  async load(): Promise<void> {
    const asked = Date.now();
    try {
      const s = await get<Steps>(`jobs/${this.job}/steps`);
      clock.set(s.at, asked);
      this.sheet = s;
      this.kept = false;
      this.fault = "";
      try {
        localStorage.setItem(this.#place, JSON.stringify(s));
      } catch {
        // full: the page has it
      }
    } catch (e) {
      if (e instanceof Problem && e.lost) {
        if (!this.sheet) this.fault = e.message;
        this.kept = true;
      } else if (e instanceof Problem) this.fault = e.message;
      else throw e;
    }
  }

  close(): void {
    this.#off();
  }

  step(number: number): StepToDo | undefined {
    return this.sheet?.steps?.[number - 1];
  }

  /** runs are all runs of the job, the oldest first, with what waits laid over them. */
  get runs(): Shown[] {
    return overlay(this.sheet?.runs ?? [], outbox.letters, this.job);
  }

  /** of are the runs of one step. */
  of(number: number): Shown[] {
    return this.runs.filter((r) => r.number === number);
  }

  async start(step: StepToDo): Promise<void> {
    const now = clock.exact();
    const id = uuid7(now);
    const body = { id, step: step.key, step_number: step.number, started: new Date(now).toISOString() };
    const kept = await inOrder<Kept<Run>>("POST", `jobs/${this.job}/runs`, body, `start of “${step.name}”`, () => false);
    if (kept) this.#know({ id: kept.id, rev: kept.rev, number: step.number, by: kept.by, body: kept.body, readings: [] });
  }

  async end(run: Shown, hours: number | undefined): Promise<void> {
    const body = { ended: new Date(clock.exact()).toISOString(), ...(hours === undefined ? {} : { hours }) };
    const kept = await inOrder<Kept<Run>>("POST", `runs/${run.id}/end`, body, "end of the run", waitsFor(run.id));
    if (kept) this.#know({ ...run, rev: kept.rev, body: kept.body });
  }

  async look(run: Shown): Promise<void> {
    const h = (clock.exact() - Date.parse(run.body.started ?? "")) / 3.6e6;
    const kept = await inOrder<Kept<Run>>("POST", `runs/${run.id}/looked`, { at_h: Math.max(0, h) }, "a look at the run", waitsFor(run.id));
    if (kept) this.#know({ ...run, rev: kept.rev, body: kept.body });
  }

  async read(run: Shown, reading: Reading, says: string): Promise<Kept<Reading> | undefined> {
    const kept = await inOrder<Kept<Reading>>("POST", `runs/${run.id}/readings`, reading, says, waitsFor(run.id));
    if (kept) void this.load();
    return kept;
  }

  /** #know lays an answer over the sheet, before it is read anew. */
  #know(run: RunKept): void {
    if (!this.sheet) return;
    const others = (this.sheet.runs ?? []).filter((r) => r.id !== run.id);
    this.sheet = { ...this.sheet, runs: [...others, { ...run }].sort((a, b) => (a.id < b.id ? -1 : 1)) };
    void this.load();
  }
}

const waitsFor = (run: string) => (l: Letter) => !l.refused && (l.body as { id?: string } | undefined)?.id === run;

/**
 * inOrder posts what needs an earlier letter to have arrived: the run that it is of may
 * have been begun while the shop was away.
 */
async function inOrder<T>(method: string, path: string, body: unknown, says: string, before: (l: Letter) => boolean): Promise<T | undefined> {
  for (let tries = 0; ; tries++) {
    if (outbox.letters.some(before)) await outbox.push();
    const waited = outbox.letters.some(before);
    try {
      return await outbox.post<T>(method, path, body, says);
    } catch (e) {
      if (!(e instanceof Problem && e.status === 404 && waited && tries < 8)) throw e;
      await new Promise((done) => setTimeout(done, 500)); // the shop came back between the two
    }
  }
}
