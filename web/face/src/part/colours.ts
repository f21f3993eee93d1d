// A scale of colours that is even to the eye and to one that tells red from green badly:
// cividis (Nuñez, Anderton and Renslow, "Optimizing colormaps with consideration for color
// vision deficiency", PLoS ONE 13, 2018), at ten places, straight in between.
export const scale: readonly string[] = ["#00204d", "#00336f", "#39486b", "#575c6d", "#707173", "#8a8779", "#a69d75", "#c4b56c", "#e4cf5b", "#ffea46"];

export const channels = (hex: string): [number, number, number] => [1, 3, 5].map((i) => parseInt(hex.slice(i, i + 2), 16)) as [number, number, number];

/** colourAt is the colour at 0 to 1, beyond which it stays as it is at the end. */
export function colourAt(x: number): [number, number, number] {
  const s = Math.min(Math.max(x, 0), 1) * (scale.length - 1);
  const i = Math.min(Math.floor(s), scale.length - 2);
  const a = channels(scale[i]!), b = channels(scale[i + 1]!);
  return a.map((v, k) => v + (b[k]! - v) * (s - i)) as [number, number, number];
}

/** lightness is L* of CIE 1976, 0 to 100. */
export function lightness(c: readonly number[]): number {
  const [r, g, b] = c.map((v) => (v / 255 <= 0.04045 ? v / 255 / 12.92 : ((v / 255 + 0.055) / 1.055) ** 2.4)) as [number, number, number];
  const y = 0.2126 * r + 0.7152 * g + 0.0722 * b;
  return y <= 0.008856 ? 903.3 * y : 116 * Math.cbrt(y) - 16;
}

/** What a class of zones looks like on the part: a colour, and a pattern that tells without it. */
export const classes = {
  show: { number: 0, says: "show", pattern: "plain, no lines" },
  plain: { number: 1, says: "plain", pattern: "slanted lines" },
  hidden: { number: 2, says: "hidden", pattern: "crossed lines" },
} as const;
export type Class = keyof typeof classes;
export const isClass = (c: string): c is Class => c in classes;

/** metal is the colour of a class of material, for its shading. */
export function metal(name: string): [number, number, number] {
  if (/brass/.test(name)) return [0.83, 0.71, 0.43];
  if (/bronze/.test(name)) return [0.76, 0.59, 0.4];
  if (/copper/.test(name)) return [0.83, 0.55, 0.42];
  if (/titan/.test(name)) return [0.66, 0.65, 0.63];
  if (/alumin/.test(name)) return [0.8, 0.82, 0.83];
  return [0.72, 0.74, 0.75];
}
