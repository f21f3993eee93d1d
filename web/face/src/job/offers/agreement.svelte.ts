// What was offered, answered and promised of one job: the records that hang on it, with
// the revisions that a change has to name.
import { all, get, Problem } from "../../api/ask.ts";
import type { Kept, Photo, Promise as Promised, Proposal } from "../../api/types.ts";
import type { OpenJob } from "../open.svelte.ts";

export class Agreement {
  readonly open: OpenJob;
  /** The newest first. */
  offers: Kept<Proposal>[] = $state.raw([]);
  photos: Kept<Photo>[] = $state.raw([]);
  /** What stands promised; null for nothing. */
  promised: Kept<Promised> | null = $state.raw(null);
  /** What could be promised now, and why there is nothing where there is nothing. */
  reckoned: Promised | null = $state.raw(null);
  whyNot = $state("");
  /** From when work may begin, RFC 3339; empty: now. */
  from = $state("");
  read = $state(false);
  #turn = 0;

  constructor(open: OpenJob) {
    this.open = open;
  }

  /** load reads all of it anew. */
  async load(): Promise<void> {
    const turn = ++this.#turn;
    const of = `role=job&target=${this.open.id}`;
    const [offers, photos, promises] = await Promise.all([all<Kept<Proposal>>(`offers?${of}`), all<Kept<Photo>>(`photos?${of}`), all<Kept<Promised>>(`promises?${of}`)]);
    if (turn !== this.#turn) return;
    this.offers = offers.reverse();
    this.photos = photos.reverse();
    this.promised = promises.at(-1) ?? null;
    this.read = true;
    await this.reckon();
  }

  /** reckon asks when it could be ready, around all that is promised to others. */
  async reckon(): Promise<void> {
    const turn = this.#turn;
    if (!this.open.sheet) {
      this.reckoned = null;
      this.whyNot = "";
      return;
    }
    try {
      const p = await get<Promised>(`jobs/${this.open.id}/promise${this.from ? `?from=${encodeURIComponent(this.from)}` : ""}`);
      if (turn !== this.#turn) return;
      this.reckoned = p;
      this.whyNot = "";
    } catch (e) {
      if (!(e instanceof Problem) || e.lost) throw e;
      if (turn !== this.#turn) return;
      this.reckoned = null;
      this.whyNot = e.message;
    }
  }

  /** again reads the job and what hangs on it after something was done. */
  async again(): Promise<void> {
    const before = this.mark;
    await this.open.load();
    if (this.mark === before) await this.load(); // else the page does it, as for every other change
  }

  /** mark is another where the days may be others: another revision of the job, another plan. */
  get mark(): string {
    return `${this.open.job?.rev ?? 0} ${this.open.sheet?.id ?? ""}`;
  }
}
