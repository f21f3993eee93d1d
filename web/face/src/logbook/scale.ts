// Scales of our charts: where a number stands, and which numbers to write at the edge.

/** Scale says where a value stands, and which values get a mark. */
export interface Scale {
  at: (v: number) => number;
  ticks: number[];
}

/** even is a linear scale from a (at p) to b (at q) with about n marks at round numbers. */
export function even(a: number, b: number, p: number, q: number, n = 5): Scale {
  const span = b - a || 1;
  const raw = span / n, mag = 10 ** Math.floor(Math.log10(raw));
  const step = [1, 2, 5, 10].map((m) => m * mag).find((s) => s >= raw * 0.999)!;
  const ticks: number[] = [];
  for (let i = Math.ceil(a / step - 1e-9); i * step <= b + 1e-9 * span; i++) ticks.push(Number((i * step).toPrecision(12)));
  return { at: (v) => p + ((v - a) / span) * (q - p), ticks };
}

/** ratios is a logarithmic scale round 1, as far as it must go either way, in doublings. */
export function ratios(most: number, p: number, q: number): Scale {
  const n = Math.max(1, Math.ceil(Math.log2(Math.max(most, 1.01)) - 1e-9));
  const step = n > 4 ? Math.ceil(n / 4) : 1;
  const top = Math.ceil(n / step) * step;
  const ticks: number[] = [];
  for (let i = -top; i <= top; i += step) ticks.push(2 ** i);
  return { at: (v) => p + ((Math.log2(Math.min(Math.max(v, 2 ** -top), 2 ** top)) + top) / (2 * top)) * (q - p), ticks };
}

/** mark is the outline of a sign of a chart, so that kinds differ by shape too. */
export function mark(shape: number, x: number, y: number, r = 5): string {
  const p = (pts: [number, number][]) => "M" + pts.map(([a, b]) => `${(x + a * r).toFixed(1)} ${(y + b * r).toFixed(1)}`).join("L") + "Z";
  switch (shape % 5) {
    case 1: return p([[-0.9, -0.9], [0.9, -0.9], [0.9, 0.9], [-0.9, 0.9]]);
    case 2: return p([[0, -1.15], [1.1, 0.85], [-1.1, 0.85]]);
    case 3: return p([[0, -1.25], [1.25, 0], [0, 1.25], [-1.25, 0]]);
    case 4: return p([[0, 1.15], [1.1, -0.85], [-1.1, -0.85]]);
    default: return `M${(x - r).toFixed(1)} ${y.toFixed(1)}a${r} ${r} 0 1 0 ${2 * r} 0a${r} ${r} 0 1 0 ${-2 * r} 0Z`;
  }
}

/** mult is a ratio as people say it: "2 ×", "½". */
export function mult(v: number): string {
  if (v >= 1) return `${Number(v.toPrecision(3))} ×`;
  return `1/${Number((1 / v).toPrecision(3))}`;
}
