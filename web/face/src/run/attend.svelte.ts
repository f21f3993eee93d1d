// How the page calls a person: a sound and a shake, only where they were switched on, and
// the screen that stays on while a step runs.
const place = "fettle.call";

class Attend {
  on = $state(false);
  #audio: AudioContext | null = null;
  #lock: { release(): Promise<void> } | null = null;
  #wanted = false;

  constructor() {
    try {
      this.on = localStorage.getItem(place) === "on";
    } catch {
      // nothing was kept: silent
    }
    // A browser takes the lock away when the page is hidden.
    document.addEventListener("visibilitychange", () => this.#wanted && document.visibilityState === "visible" && void this.awake(true));
  }

  /** turn switches it; it must be called by a press, or browsers make no sound. */
  turn(on: boolean): void {
    this.on = on;
    try {
      localStorage.setItem(place, on ? "on" : "off");
    } catch {
      // for this page then
    }
    if (on) this.#beep(0.15);
  }

  /** call sounds and shakes. */
  call(): void {
    if (!this.on) return;
    navigator.vibrate?.([300, 150, 300, 150, 300]);
    this.#beep(0.9);
  }

  #beep(seconds: number): void {
    try {
      this.#audio ??= new AudioContext();
      const a = this.#audio;
      void a.resume();
      const tone = a.createOscillator();
      const loud = a.createGain();
      tone.frequency.value = 880;
      loud.gain.setValueAtTime(0.0001, a.currentTime);
      loud.gain.exponentialRampToValueAtTime(0.4, a.currentTime + 0.03);
      loud.gain.exponentialRampToValueAtTime(0.0001, a.currentTime + seconds);
      tone.connect(loud).connect(a.destination);
      tone.start();
      tone.stop(a.currentTime + seconds);
    } catch {
      // no sound here; the title and the page say it
    }
  }

  /** awake keeps the screen on, where the browser can. */
  async awake(wanted: boolean): Promise<void> {
    this.#wanted = wanted;
    const lock = (navigator as { wakeLock?: { request(kind: "screen"): Promise<{ release(): Promise<void> }> } }).wakeLock;
    try {
      if (!wanted) {
        await this.#lock?.release();
        this.#lock = null;
      } else if (lock && document.visibilityState === "visible") this.#lock = await lock.request("screen");
    } catch {
      // low battery or not allowed: it sleeps as the phone is set
    }
  }
}

export const attend = new Attend();
