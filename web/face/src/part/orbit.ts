// Turning the part: by finger, mouse and key. The part stands still, the eye goes round it.
import type { Vec } from "./mesh.ts";

export interface Eye {
  at: Vec;
  right: Vec;
  up: Vec;
  back: Vec;
  target: Vec;
}

const most = Math.PI / 2;
const [near, distant] = [0.25, 3];
const start = { yaw: -0.5, pitch: 0.95, far: 1, x: 0, y: 0 };

export class Orbit {
  #s = { ...start };
  /** The part's up, and two directions square to it. */
  #z: Vec = [0, 0, 1];
  #x: Vec = [1, 0, 0];
  #y: Vec = [0, 1, 0];
  #centre: Vec = [0, 0, 0];
  radius = 1;
  readonly #changed: () => void;

  constructor(changed: () => void) {
    this.#changed = changed;
  }

  /** round sets what it goes round: a box and which way is up. */
  round(box: readonly number[], up: Vec): void {
    this.#centre = [0, 1, 2].map((k) => (box[k]! + box[k + 3]!) / 2) as Vec;
    this.radius = Math.hypot(box[3]! - box[0]!, box[4]! - box[1]!, box[5]! - box[2]!) / 2 || 1;
    this.#z = up;
    const x: Vec = Math.abs(up[0]) > 0.9 ? [0, 1, 0] : [1, 0, 0];
    const lean = x[0] * up[0] + x[1] * up[1] + x[2] * up[2];
    this.#x = unit([x[0] - lean * up[0], x[1] - lean * up[1], x[2] - lean * up[2]]);
    this.#y = cross(up, this.#x);
  }

  #set(s: Partial<typeof start>): void {
    this.#s = { ...this.#s, ...s };
    this.#s.pitch = Math.min(most, Math.max(-most, this.#s.pitch));
    this.#s.far = Math.min(distant, Math.max(near, this.#s.far));
    this.#s.x = Math.min(1, Math.max(-1, this.#s.x));
    this.#s.y = Math.min(1, Math.max(-1, this.#s.y));
    this.#changed();
  }

  turn(dx: number, dy: number): void {
    this.#set({ yaw: this.#s.yaw + dx, pitch: this.#s.pitch + dy });
  }
  /** nearer by a factor above 1, farther below. */
  nearer(by: number): void {
    this.#set({ far: this.#s.far / by });
  }
  /** shift by shares of the part's radius on the screen. */
  shift(dx: number, dy: number): void {
    this.#set({ x: this.#s.x + dx, y: this.#s.y + dy });
  }
  back(): void {
    this.#set({ ...start });
  }
  above(): void {
    this.#set({ ...start, yaw: 0, pitch: most });
  }
  below(): void {
    this.#set({ ...start, yaw: 0, pitch: -most });
  }
  side(): void {
    this.#set({ ...start, yaw: 0, pitch: 0.12 });
  }
  /** face looks at a place whose outward direction is n, a little from aside. */
  face(n: Vec): void {
    const up = dot(n, this.#z), x = dot(n, this.#x), y = dot(n, this.#y);
    const level = Math.hypot(x, y);
    this.#set({ pitch: Math.min(1.2, Math.max(-1.2, Math.asin(Math.max(-1, Math.min(1, up))) + (level > 0.3 ? 0.25 : 0))), yaw: level > 0.1 ? Math.atan2(x, -y) + 0.3 : this.#s.yaw, x: 0, y: 0 });
  }

  /** eye is where one looks from; lens is the tangent of half the narrower angle of view. */
  eye(lens: number): Eye {
    const { yaw, pitch, far, x, y } = this.#s;
    const [sy, cy, sp, cp] = [Math.sin(yaw), Math.cos(yaw), Math.sin(pitch), Math.cos(pitch)];
    const mix = (a: number, b: number, c: number): Vec => [0, 1, 2].map((k) => a * this.#x[k]! + b * this.#y[k]! + c * this.#z[k]!) as Vec;
    const back = mix(sy * cp, -cy * cp, sp);
    const right = mix(cy, sy, 0);
    const up = mix(-sy * sp, cy * sp, cp);
    const target = [0, 1, 2].map((k) => this.#centre[k]! - this.radius * (x * right[k]! + y * up[k]!)) as Vec;
    const d = (0.92 * this.radius * Math.sqrt(1 + lens * lens) * far) / lens;
    return { at: [0, 1, 2].map((k) => target[k]! + d * back[k]!) as Vec, right, up, back, target };
  }
}

/** hold makes an element turn an orbit; tapped is a touch that turned nothing. What comes back lets go. */
export function hold(el: HTMLElement, o: Orbit, tapped: (x: number, y: number) => void): () => void {
  const down = new Map<number, { x: number; y: number }>();
  let went = 0;
  let since = 0;
  const stop = new AbortController();
  const on = <K extends keyof HTMLElementEventMap>(name: K, f: (e: HTMLElementEventMap[K]) => void, more: AddEventListenerOptions = {}) => el.addEventListener(name, f, { signal: stop.signal, ...more });

  on("pointerdown", (e) => {
    if (!down.size) [went, since] = [0, e.timeStamp];
    down.set(e.pointerId, { x: e.clientX, y: e.clientY });
    el.setPointerCapture(e.pointerId);
  });
  on("pointermove", (e) => {
    const was = down.get(e.pointerId);
    if (!was) return;
    const [dx, dy] = [e.clientX - was.x, e.clientY - was.y];
    const size = Math.min(el.clientWidth, el.clientHeight) || 1;
    went += Math.hypot(dx, dy);
    if (down.size === 2) {
      const other = [...down].find(([id]) => id !== e.pointerId)![1];
      const apart = (p: { x: number; y: number }) => Math.hypot(p.x - other.x, p.y - other.y) || 1;
      o.nearer(apart({ x: e.clientX, y: e.clientY }) / apart(was));
      o.shift(dx / size, -dy / size); // half of a way that both go together
    } else if (down.size === 1 && went > 4) {
      if (e.shiftKey || e.buttons === 2) o.shift((2 * dx) / size, (-2 * dy) / size);
      else o.turn((-4 * dx) / size, (4 * dy) / size);
    }
    was.x = e.clientX;
    was.y = e.clientY;
  });
  const up = (e: PointerEvent) => {
    if (!down.delete(e.pointerId) || down.size || e.type !== "pointerup") return;
    if (went < 6 && e.timeStamp - since < 700) tapped(e.clientX, e.clientY);
  };
  on("pointerup", up);
  on("pointercancel", up);
  on("contextmenu", (e) => e.preventDefault());
  // The wheel belongs to the page until the part was pressed or gone to.
  on("wheel", (e) => {
    if (document.activeElement !== el && !e.ctrlKey) return;
    e.preventDefault();
    o.nearer(Math.exp(-e.deltaY * (e.deltaMode ? 0.04 : 0.0012)));
  }, { passive: false });
  return () => stop.abort();
}

/** press turns by key; true where the key was one of ours. */
export function press(o: Orbit, key: string): boolean {
  const step = Math.PI / 18;
  const does: { [key: string]: () => void } = {
    ArrowLeft: () => o.turn(-step, 0), ArrowRight: () => o.turn(step, 0), ArrowUp: () => o.turn(0, step), ArrowDown: () => o.turn(0, -step),
    "+": () => o.nearer(1.2), "=": () => o.nearer(1.2), "-": () => o.nearer(1 / 1.2), "0": () => o.back(),
  };
  does[key]?.();
  return key in does;
}

const dot = (a: Vec, b: Vec) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
const cross = (a: Vec, b: Vec): Vec => [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
function unit(a: Vec): Vec {
  const l = Math.hypot(...a) || 1;
  return [a[0] / l, a[1] / l, a[2] / l];
}
