// What every place needs to know of the shop: who is here, its units, whether it is heard.
import { all, ask, get, onHeard, Problem } from "./api/ask.ts";
import type { Kept, Me, Rates, Shelf } from "./api/types.ts";
import { Say, type System } from "./say/units.ts";

/** Note is said at the foot of the page for a while, with a way back where there is one. */
export interface Note {
  says: string;
  wrong?: boolean;
  /** Takes back what was done. */
  undo?: () => Promise<void>;
  /** Words of the button; "Undo" where left out. */
  undoSays?: string;
}

class Shop {
  me: Me | null = $state(null);
  rates: Kept<Rates> | null = $state(null);
  /** heard is false while the shop does not answer. */
  heard = $state(true);
  note: Note | null = $state(null);
  #shelf: Promise<Shelf> | null = null;
  #timer = 0;

  constructor() {
    onHeard((heard) => (this.heard = heard));
  }

  get owner(): boolean {
    return this.me?.role === "owner";
  }

  get say(): Say {
    return new Say((this.rates?.body.display as System) || "metric");
  }

  async begin(): Promise<void> {
    this.me = await get<Me>("session");
    if (this.me.role !== "nobody") this.rates = (await all<Kept<Rates>>("shelf/rates"))[0] ?? null;
  }

  /** shelf as it is; fresh asks again. */
  shelf(fresh = false): Promise<Shelf> {
    if (!this.#shelf || fresh) {
      this.#shelf = get<Shelf>("shelf");
      this.#shelf.catch(() => (this.#shelf = null));
    }
    return this.#shelf;
  }

  /** read switches the whole shop to other units. */
  async read(system: System): Promise<void> {
    const r = this.rates;
    if (!r) return;
    this.rates = await ask<Kept<Rates>>("PUT", `shelf/rates/${r.id}`, { links: r.links ?? {}, body: { ...r.body, display: system } }, { rev: r.rev });
  }

  tell(note: Note | string): void {
    this.note = typeof note === "string" ? { says: note } : note;
    clearTimeout(this.#timer);
    this.#timer = window.setTimeout(() => (this.note = null), this.note.undo ? 20_000 : 8000);
  }

  /** wrong says what went wrong; it is no stack trace. */
  wrong(e: unknown): void {
    if (e instanceof DOMException && e.name === "AbortError") return;
    if (!(e instanceof Problem)) console.error(e);
    this.tell({ says: e instanceof Problem ? e.message : "This page made a mistake; load it again. Nothing that was sent is lost.", wrong: true });
  }

  /** changed tells of a change to a record that can be taken back. */
  changed(says: string, path: string, rev: number, after: () => void = () => {}): void {
    this.tell({
      says,
      undo: async () => {
        await ask("POST", `${path}/undo`, undefined, { rev });
        after();
      },
    });
  }
}

export const shop = new Shop();
