// The shop's own time, kept by the second. A phone's clock may be wrong by minutes; what
// was begun is counted by the shop's.
const place = "fettle.clock";

class Clock {
  #here = $state(Date.now());
  #off = $state(0); // the shop's time less this browser's
  #users = 0;
  #timer = 0;

  constructor() {
    try {
      this.#off = Number(localStorage.getItem(place)) || 0;
    } catch {
      // nothing was kept
    }
  }

  get now(): number {
    return this.#here + this.#off;
  }

  /** set takes the time from an answer that was asked for at `asked` (of this browser). */
  set(at: string, asked: number): void {
    const got = Date.now();
    // The answer was on its way for half of the time that it took. What is off by less
    // than that cannot be told.
    const off = Date.parse(at) - (asked + got) / 2;
    if (Math.abs(off - this.#off) > (got - asked) / 2 + 500) this.#off = off;
    this.#here = got;
    try {
      localStorage.setItem(place, String(this.#off));
    } catch {
      // as above
    }
  }

  /** exact is the time now, not that of the last tick. */
  exact(): number {
    return Date.now() + this.#off;
  }

  /** run has it tick; what comes back stops it. Made for $effect. */
  run(): () => void {
    if (this.#users++ === 0) this.#timer = window.setInterval(() => (this.#here = Date.now()), 1000);
    return () => {
      if (--this.#users === 0) clearInterval(this.#timer);
    };
  }
}

export const clock = new Clock();
