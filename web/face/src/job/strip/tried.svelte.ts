// A pass that is tried: its close-up while the handle moves, and what the real
// simulation says of it once the handle rests.
import { bytes, get, Problem } from "../../api/ask.ts";
import type { TriedPass } from "../../api/types.ts";

export interface Ask {
  zone: string;
  cutter: string;
  stepover_mm: number;
  crossed: boolean;
}

export const query = (a: Ask): string => `zone=${encodeURIComponent(a.zone)}&cutter=${encodeURIComponent(a.cutter)}&stepover_mm=${a.stepover_mm}&crossed=${a.crossed}`;

const rests = 350; // ms after which a handle is taken to rest

/** Tried follows one handle. Of what is asked while an answer is on its way only the last is asked. */
export class Tried {
  /** What the pass leaves, simulated; null until that is known. */
  found: TriedPass | null = $state.raw(null);
  /** The address of the close-up, and of which pass it is. */
  picture = $state("");
  pictured = $state("");
  simulating = $state(false);
  why = $state("");
  readonly #plan: string;
  #want: Ask | null = null;
  #busy = false;
  #timer = 0;
  #stop: AbortController | null = null;

  constructor(plan: string) {
    this.#plan = plan;
  }

  /** try a pass; now skips the wait for a handle that may move on. */
  try(a: Ask, now = false): void {
    this.#stop?.abort();
    this.simulating = false;
    if (this.found && query(a) !== this.#asked) this.found = null;
    this.#want = a;
    this.why = "";
    void this.#sketch();
    clearTimeout(this.#timer);
    this.#timer = window.setTimeout(() => void this.#simulate(a), now ? 0 : rests);
  }

  #asked = "";

  async #sketch(): Promise<void> {
    if (this.#busy) return;
    this.#busy = true;
    try {
      while (this.#want) {
        const q = query(this.#want);
        this.#want = null;
        await this.#show(q, `/api/plans/${this.#plan}/pass/picture?${q}`);
      }
    } catch (e) {
      this.why = e instanceof Problem ? e.message : "";
    } finally {
      this.#busy = false;
    }
  }

  /** show swaps the picture only when it is there, so that nothing flickers. */
  async #show(q: string, address: string, stop?: AbortSignal): Promise<void> {
    const data = await bytes(address.replace(/^\/api\//, ""), stop);
    const url = URL.createObjectURL(new Blob([data], { type: "image/png" }));
    const old = this.picture;
    this.picture = url;
    this.pictured = q;
    if (old) URL.revokeObjectURL(old);
  }

  async #simulate(a: Ask): Promise<void> {
    const stop = new AbortController();
    this.#stop = stop;
    this.simulating = true;
    const q = query(a);
    try {
      const t = await get<TriedPass>(`plans/${this.#plan}/pass?${q}`, stop.signal);
      this.found = t;
      this.#asked = q;
      if (t.picture) await this.#show(q, t.picture, stop.signal);
    } catch (e) {
      if (stop.signal.aborted) return;
      this.why = e instanceof Problem ? e.message : "The close-up could not be made.";
    } finally {
      if (this.#stop === stop) this.simulating = false;
    }
  }

  close(): void {
    clearTimeout(this.#timer);
    this.#stop?.abort();
    if (this.picture) URL.revokeObjectURL(this.picture);
  }
}
