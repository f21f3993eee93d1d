// Where one is: the part of the address behind the #.
class Way {
  parts: string[] = $state([]);

  constructor() {
    this.#read();
    addEventListener("hashchange", () => this.#read());
  }

  #read() {
    this.parts = location.hash.replace(/^#\/?/, "").split("/").map(decodeURIComponent).filter(Boolean);
  }

  get place(): string {
    return this.parts[0] ?? "bench";
  }
}

export const way = new Way();

/** to is the address of a place: to("job", id). */
export const to = (...parts: (string | number)[]): string => "#/" + parts.map((p) => encodeURIComponent(String(p))).join("/");

/** go there. */
export function go(...parts: (string | number)[]): void {
  location.hash = to(...parts);
}
