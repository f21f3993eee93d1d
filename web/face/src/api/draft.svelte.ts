// What is being typed, kept in the browser until the shop has it.
const prefix = "fettle.draft.";

/**
 * Draft holds the fields of one form under a name ("run/JOB/STEP"). What is typed stays
 * through a lost connection, a restart of the shop, a closed page.
 */
export class Draft<T extends object> {
  fields: T = $state({} as T);
  /** kept is true where there was something from before. */
  readonly kept: boolean;
  readonly #name: string;
  readonly #blank: T;

  constructor(name: string, blank: T) {
    this.#name = prefix + name;
    this.#blank = blank;
    let old: Partial<T> | null = null;
    try {
      old = JSON.parse(localStorage.getItem(this.#name) ?? "null");
    } catch {
      // a browser that keeps nothing, or something that is not ours
    }
    this.kept = old !== null;
    this.fields = { ...structuredClone(blank), ...(old ?? {}) };
  }

  /** keep is called in an effect of the form: it reads every field. */
  keep(): void {
    const text = JSON.stringify(this.fields);
    try {
      if (text === JSON.stringify(this.#blank)) localStorage.removeItem(this.#name);
      else localStorage.setItem(this.#name, text);
    } catch {
      // full or forbidden: the page itself still has it
    }
  }

  /** clear forgets it: the shop has it now. */
  clear(): void {
    this.fields = structuredClone(this.#blank);
    try {
      localStorage.removeItem(this.#name);
    } catch {
      // as above
    }
  }
}
