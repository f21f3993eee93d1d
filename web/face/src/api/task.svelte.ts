// Heavy work, watched while it is done.
import { ask, get, Problem } from "./ask.ts";
import type { Task } from "./types.ts";

export const over = (t: Task): boolean => t.state !== "waiting" && t.state !== "running";

/**
 * Watched is a task as it is now. It follows the shop's events and, where the stream
 * breaks, comes back until the task is over or close was called.
 */
export class Watched {
  task: Task = $state()!;
  /** away is true while nothing is heard of the shop. */
  away = $state(false);
  #source: EventSource | null = null;
  #timer = 0;
  #closed = false;
  readonly #ended: (t: Task) => void;

  constructor(task: Task, ended: (t: Task) => void = () => {}) {
    this.task = task;
    this.#ended = ended;
    if (over(task)) ended(task);
    else this.#open();
  }

  #open() {
    if (this.#closed) return;
    const s = new EventSource(`/api/tasks/${this.task.id}/events`);
    this.#source = s;
    s.addEventListener("task", (e) => this.#is(JSON.parse((e as MessageEvent<string>).data)));
    s.onerror = () => {
      s.close();
      this.away = true;
      clearTimeout(this.#timer);
      this.#timer = window.setTimeout(() => void this.#again(), 1500);
    };
  }

  #is(t: Task) {
    this.away = false;
    this.task = t;
    if (!over(t)) return;
    this.close();
    this.#ended(t);
  }

  async #again() {
    if (this.#closed) return;
    try {
      this.#is(await get<Task>(`tasks/${this.task.id}`));
      if (!this.#closed) this.#open();
    } catch (e) {
      if (e instanceof Problem && !e.lost) return this.close();
      this.#timer = window.setTimeout(() => void this.#again(), 2500);
    }
  }

  async stop(): Promise<void> {
    this.#is(await ask<Task>("POST", `tasks/${this.task.id}/stop`));
  }

  close(): void {
    this.#closed = true;
    this.#source?.close();
    clearTimeout(this.#timer);
  }
}

/** finished waits for a task; rejects with its reason where it did not come out. */
export function finished(task: Task, seen: (w: Watched) => void = () => {}): Promise<Task> {
  return new Promise((done, fail) => {
    const w = new Watched(task, (t) => (t.state === "done" ? done(t) : fail(new Problem(t.why || (t.state === "stopped" ? "It was stopped." : "It did not come out; try it again."), 422, t.state))));
    seen(w);
  });
}

/**
 * worked asks for an answer that may still have to be worked out (202 with the task) and
 * waits for it: survey, mesh, reach.
 */
export async function worked(path: string, seen: (w: Watched) => void = () => {}): Promise<Response> {
  for (let i = 0; ; i++) {
    let a: Response;
    try {
      a = await fetch("/api/" + path);
    } catch {
      throw new Problem("The shop does not answer; it is asked again as soon as it is back.");
    }
    if (a.status === 200) return a;
    const v = await a.json().catch(() => ({}));
    if (a.status !== 202 || i > 3) throw new Problem(v.detail ?? "It could not be worked out; try again.", a.status, v.code ?? "internal");
    await finished(v as Task, seen);
  }
}
