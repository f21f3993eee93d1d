// What was sent and has not arrived yet: kept in the browser, sent again until the
// shop has it, each once (Idempotency-Key).
import { ask, freshKey, onHeard, Problem } from "./ask.ts";

export interface Letter {
  key: string;
  method: string;
  path: string;
  body?: unknown;
  /** What it is, for people: "Ra 0.52 µm on the second step". */
  says: string;
  at: string; // RFC 3339
  /** Why the shop does not want it, where it said so. */
  refused?: string;
}

const place = "fettle.outbox";

class Outbox {
  letters: Letter[] = $state([]);
  #busy = false;
  /** Those that are being sent by post itself. */
  #flying = new Set<string>();
  #timer = 0;

  constructor() {
    try {
      this.letters = JSON.parse(localStorage.getItem(place) ?? "[]");
    } catch {
      // nothing was kept
    }
    onHeard((heard) => heard && this.letters.some((l) => !l.refused && !this.#flying.has(l.key)) && void this.push());
    if (typeof addEventListener === "function") addEventListener("online", () => void this.push());
    if (this.letters.length) void this.push();
  }

  #keep() {
    try {
      localStorage.setItem(place, JSON.stringify(this.letters));
    } catch {
      // the page has it as long as it is open
    }
  }

  /**
   * post keeps a question and sends it. Answers what the shop said, or undefined where the
   * shop was not heard: then it is sent again by itself. Throws a Problem where the
   * shop does not want it; it is not kept then.
   */
  async post<T>(method: string, path: string, body: unknown, says: string): Promise<T | undefined> {
    const letter: Letter = { key: freshKey(), method, path, body: $state.snapshot(body), says, at: new Date().toISOString() };
    this.letters.push(letter);
    this.#keep();
    this.#flying.add(letter.key);
    try {
      const v = await ask<T>(method, path, letter.body, { key: letter.key });
      this.#drop(letter.key);
      return v;
    } catch (e) {
      if (e instanceof Problem && (e.lost || e.status === 401 || e.status === 429)) {
        this.#later();
        return undefined;
      }
      this.#drop(letter.key);
      throw e;
    } finally {
      this.#flying.delete(letter.key);
    }
  }

  #drop(key: string) {
    this.letters = this.letters.filter((l) => l.key !== key);
    this.#keep();
  }

  #later() {
    clearTimeout(this.#timer);
    this.#timer = window.setTimeout(() => void this.push(), 3000);
  }

  /** push sends what waits, in the order in which it was made. */
  async push(): Promise<void> {
    if (this.#busy) return;
    this.#busy = true;
    try {
      for (const l of [...this.letters]) {
        if (l.refused || this.#flying.has(l.key)) continue;
        try {
          await ask(l.method, l.path, l.body, { key: l.key });
          this.#drop(l.key);
          arrived.forEach((tell) => tell(l));
        } catch (e) {
          if (e instanceof Problem && !e.lost && e.status !== 401 && e.status !== 429) {
            this.letters = this.letters.map((x) => (x.key === l.key ? { ...x, refused: e.message } : x));
            this.#keep();
            continue;
          }
          this.#later();
          return;
        }
      }
    } finally {
      this.#busy = false;
    }
  }

  /** forget takes away one that was refused. */
  forget(key: string): void {
    this.#drop(key);
  }
}

const arrived = new Set<(l: Letter) => void>();

/** onArrived tells of letters that the shop took later, so that a page reads again. */
export function onArrived(tell: (l: Letter) => void): () => void {
  arrived.add(tell);
  return () => arrived.delete(tell);
}

export const outbox = new Outbox();
