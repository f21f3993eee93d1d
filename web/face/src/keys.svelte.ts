import { untrack } from "svelte";

// Keys of the page that is open. A place adds its own while it is open; "?" lists all.
export interface Key {
  /** As event.key has it: "j", "?", "ArrowLeft"; two after one another: "g j". */
  key: string;
  says: string;
  do: () => void;
}

class Keys {
  all: Key[] = $state.raw([]);
  #first = "";
  #at = 0;

  constructor() {
    addEventListener("keydown", (e) => this.#press(e));
  }

  #press(e: KeyboardEvent) {
    if (e.defaultPrevented || e.ctrlKey || e.metaKey || e.altKey) return;
    const t = e.target as HTMLElement;
    if (t.closest?.("input:not([type=checkbox]):not([type=radio]):not([type=range]), select, textarea, [contenteditable], dialog[open]")) return;
    const two = Date.now() - this.#at < 1500 ? `${this.#first} ${e.key}` : "";
    const found = this.all.findLast((k) => k.key === two) ?? this.all.findLast((k) => k.key === e.key);
    this.#first = e.key;
    this.#at = Date.now();
    if (!found) return;
    e.preventDefault();
    this.#first = "";
    found.do();
  }

  /** add some; what comes back takes them away. Made for $effect. */
  add(keys: Key[]): () => void {
    untrack(() => (this.all = [...this.all, ...keys]));
    return () => untrack(() => (this.all = this.all.filter((k) => !keys.includes(k))));
  }
}

export const keys = new Keys();
