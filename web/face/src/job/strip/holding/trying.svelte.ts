// The pocket that is shown, and the one that is asked for.
import { ask, Problem } from "../../../api/ask.ts";
import { over, Watched } from "../../../api/task.svelte.ts";
import type { Jaws, Kept, Task, TriedPocket } from "../../../api/types.ts";

const isTask = (v: unknown): v is Task => typeof v === "object" && v !== null && "state" in v && "attempt" in v;

/** Trying asks the shop for pockets; only the last question counts. */
export class Trying {
  tried: TriedPocket | null = $state.raw(null);
  /** What is being worked out. */
  working: Watched | null = $state.raw(null);
  /** Why there is no answer to the last question. */
  fault = $state("");
  /** asking is true until the last question is answered. */
  asking = $state(false);
  readonly #job: string;
  #turn = 0;
  #asked: string | null = null;

  constructor(job: string) {
    this.#job = job;
  }

  /** ask for a pocket; what was asked before is stopped. Fresh asks the same once more. */
  async ask(query: string, fresh = false): Promise<void> {
    if (query === this.#asked && !fresh) return;
    this.#asked = query;
    const turn = ++this.#turn;
    this.asking = true;
    this.fault = "";
    this.#drop();
    try {
      const got = await this.#wait<TriedPocket>(turn, () => ask("GET", `jobs/${this.#job}/pocket${query && "?" + query}`));
      if (got && turn === this.#turn) this.tried = got;
    } catch (e) {
      if (turn === this.#turn) {
        this.fault = e instanceof Problem ? e.message : "The page made a mistake; load it again.";
        this.#asked = null; // so that the same can be asked again
        if (!(e instanceof Problem)) console.error(e);
      }
    } finally {
      if (turn === this.#turn) {
        this.asking = false;
        this.working = null;
      }
    }
  }

  /** cut has the pair remember the pocket that is shown. */
  async cut(): Promise<Kept<Jaws> | null> {
    const t = this.tried;
    if (!t) return null;
    const turn = ++this.#turn;
    try {
      return await this.#wait<Kept<Jaws>>(turn, () => ask("POST", `jobs/${this.#job}/pocket/cut`, { pocket: t.pocket.id, wish: t.wish }));
    } finally {
      if (turn === this.#turn) this.working = null;
    }
  }

  /** wait asks until the answer is there, and watches the task that makes it. */
  async #wait<T>(turn: number, put: () => Promise<unknown>): Promise<T | null> {
    for (let i = 0; i < 4; i++) {
      const got = await put();
      if (!isTask(got)) return got as T;
      if (turn !== this.#turn) {
        void ask("POST", `tasks/${got.id}/stop`).catch(() => {});
        return null;
      }
      const end = await new Promise<Task>((done) => (this.working = new Watched(got, done)));
      if (turn !== this.#turn) return null;
      if (end.state === "stopped") throw new Problem("It was stopped; what is shown is the pocket before.", 409, "stopped");
      if (end.state !== "done") throw new Problem(end.why || "The pocket could not be worked out; try it again.", 422, end.state);
    }
    throw new Problem("The shelf changes faster than a pocket is worked out; try it again in a moment.", 409, "conflict");
  }

  #drop() {
    const w = this.working;
    this.working = null;
    if (!w) return;
    w.close();
    if (!over(w.task)) void ask("POST", `tasks/${w.task.id}/stop`).catch(() => {});
  }

  close(): void {
    this.#turn++;
    this.#drop();
  }
}
