// The part without WebGL: three fixed views on plain canvases, triangles from the back to the
// front. Slower and plainer, with the same values.
import { channels, colourAt } from "./colours.ts";
import type { Vec } from "./mesh.ts";
import { Orbit } from "./orbit.ts";
import type { Coat } from "./picture.ts";

export const views = [
  { says: "from above", from: (o: Orbit) => o.above() },
  { says: "from the side", from: (o: Orbit) => o.back() },
  { says: "from below", from: (o: Orbit) => o.below() },
] as const;

/** paint draws a coat as it is seen in one of the views; ink is the colour of patterns. */
export function paint(canvas: HTMLCanvasElement, c: Coat, view: number, blue: string): void {
  const g = canvas.getContext("2d");
  if (!g) return;
  const o = new Orbit(() => {});
  o.round(c.mesh.shape.box, c.mesh.about.up);
  views[view]!.from(o);
  const e = o.eye(0.1);
  const s = c.mesh.shape;
  const n = s.corner.length;
  const size = Math.min(canvas.width, canvas.height) / (2.04 * o.radius);
  const x = new Float32Array(n), y = new Float32Array(n), z = new Float32Array(n);
  for (let i = 0; i < n; i++) {
    const p: Vec = [s.position[3 * i]! - e.target[0], s.position[3 * i + 1]! - e.target[1], s.position[3 * i + 2]! - e.target[2]];
    x[i] = canvas.width / 2 + size * dot(p, e.right);
    y[i] = canvas.height / 2 - size * dot(p, e.up);
    z[i] = dot(p, e.back);
  }
  const nt = s.index.length / 3;
  const deep = new Float32Array(nt);
  const seen: number[] = [];
  for (let t = 0; t < nt; t++) {
    const [i, j, k] = [s.index[3 * t]!, s.index[3 * t + 1]!, s.index[3 * t + 2]!];
    if ((x[j]! - x[i]!) * (y[k]! - y[i]!) - (x[k]! - x[i]!) * (y[j]! - y[i]!) >= 0) continue; // it looks away
    deep[t] = z[i]! + z[j]! + z[k]!;
    seen.push(t);
  }
  seen.sort((a, b) => deep[a]! - deep[b]!);
  g.clearRect(0, 0, canvas.width, canvas.height);
  const lines = patterns(g);
  const lamp: Vec = [-0.76, 0.52, 0.39];
  const [br, bg, bb] = channels(/^#[0-9a-f]{6}$/i.test(blue) ? blue : "#1c3f86");
  for (const t of seen) {
    const [i, j, k] = [s.index[3 * t]!, s.index[3 * t + 1]!, s.index[3 * t + 2]!];
    const nw = [0, 1, 2].map((q) => (s.normal[3 * i + q]! + s.normal[3 * j + q]! + s.normal[3 * k + q]!) / 3) as Vec;
    const nv: Vec = [dot(nw, e.right), dot(nw, e.up), dot(nw, e.back)];
    const light = 0.42 + 0.28 * (0.5 + 0.5 * nv[1]) + 0.34 * Math.max(0, dot(nv, lamp));
    let rgb: number[] = c.metal.map((v) => 255 * v * light);
    const value = (c.value[i]! + c.value[j]! + c.value[k]!) / 3;
    if (c.kind === "values" && Number.isFinite(value)) rgb = colourAt(c.high > c.low ? (value - c.low) / (c.high - c.low) : 0).map((v) => v * (0.55 + 0.5 * light));
    if (c.kind === "zones" && c.tone[i] === 0) rgb = [br, bg, bb].map((v, q) => 0.55 * rgb[q]! + 0.45 * v * (0.4 + light));
    g.fillStyle = g.strokeStyle = `rgb(${rgb.map((v) => Math.round(Math.min(255, v))).join(" ")})`;
    g.beginPath();
    g.moveTo(x[i]!, y[i]!);
    g.lineTo(x[j]!, y[j]!);
    g.lineTo(x[k]!, y[k]!);
    g.closePath();
    g.fill();
    g.stroke();
    const pattern = c.kind === "zones" ? lines[c.tone[i]!] : c.kind === "values" && !Number.isFinite(value) ? lines[3] : null;
    if (pattern) {
      g.fillStyle = pattern;
      g.fill();
    }
  }
}

function patterns(g: CanvasRenderingContext2D): (CanvasPattern | null)[] {
  const make = (draw: (t: CanvasRenderingContext2D) => void) => {
    const c = document.createElement("canvas");
    c.width = c.height = 12;
    const t = c.getContext("2d")!;
    t.strokeStyle = t.fillStyle = "#12181b";
    draw(t);
    return g.createPattern(c, "repeat");
  };
  const slant = (t: CanvasRenderingContext2D) => (t.moveTo(-1, 13), t.lineTo(13, -1), t.stroke());
  return [null, make(slant), make((t) => (slant(t), t.moveTo(-1, -1), t.lineTo(13, 13), t.stroke())), make((t) => t.fillRect(5, 5, 2, 2))];
}

const dot = (a: Vec, b: Vec) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
