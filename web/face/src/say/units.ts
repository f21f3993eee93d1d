// Numbers as the shop reads them. What is stored and sent is always metric; the rules
// are those of the papers, so that a number reads the same on both.
import type { Cost, Estimate, Money } from "../api/types.ts";

export type System = "metric" | "inch";

/** sig rounds to n significant figures without an exponent and keeps significant zeros. */
export function sig(v: number, n: number): string {
  if (v === 0 || !Number.isFinite(v)) return v === 0 ? "0" : "–";
  let mag = Math.floor(Math.log10(Math.abs(v)));
  if (Math.abs(Math.round(v / 10 ** (mag - n + 1))) >= 10 ** n) mag++;
  const digits = n - 1 - mag;
  if (digits > 0) return v.toFixed(digits);
  const p = 10 ** (mag - n + 1);
  return (Math.round(v / p) * p).toFixed(0);
}

const inch = 25.4;

/** Say shows numbers in one system. */
export class Say {
  readonly system: System;
  constructor(system: System) {
    this.system = system;
  }
  get #in(): boolean {
    return this.system === "inch";
  }
  length(mm: number): string {
    return this.#in ? (mm / inch).toFixed(3) + " in" : mm.toFixed(2) + " mm";
  }
  small(mm: number): string {
    return this.#in ? (mm / inch).toFixed(4) + " in" : mm.toFixed(3) + " mm";
  }
  fine(um: number): string {
    return this.#in ? sig(um / inch, 2) + " thou" : sig(um, 2) + " µm";
  }
  height(um: number): string {
    return this.#in ? sig(um / 0.0254, 2) + " µin" : sig(um, 2) + " µm";
  }
  /** range is a texture height with its bounds: "0.80 µm (0.50–1.3)". */
  range(e: Estimate): string {
    const k = this.#in ? 1 / 0.0254 : 1;
    const value = `${sig(e.value * k, 2)} ${this.#in ? "µin" : "µm"}`;
    return e.low === e.high ? value : `${value} (${sig(e.low * k, 2)}–${sig(e.high * k, 2)})`;
  }
  area(mm2: number): string {
    return this.#in ? sig(mm2 / inch ** 2, 3) + " in²" : sig(mm2 / 100, 3) + " cm²";
  }
  volume(mm3: number): string {
    return this.#in ? sig(mm3 / inch ** 3, 3) + " in³" : sig(mm3 / 1000, 3) + " cm³";
  }
  feed(mmMin: number): string {
    return this.#in ? sig(mmMin / inch, 2) + " in/min" : sig(mmMin, 2) + " mm/min";
  }
  mass(g: number): string {
    if (this.#in) return g >= 453.59237 ? sig(g / 453.59237, 3) + " lb" : sig(g / 28.349523125, 3) + " oz";
    return g >= 1000 ? sig(g / 1000, 3) + " kg" : sig(g, 3) + " g";
  }
  liquid(l: number): string {
    return this.#in ? sig(l / 0.946352946, 2) + " qt" : sig(l, 2) + " l";
  }
  dose(ml: number): string {
    return this.#in ? sig(ml / 29.5735295625, 2) + " fl oz" : sig(ml, 2) + " ml";
  }
  /** size of a box: "42.00 × 68.00 × 6.97 mm". */
  size(mm: readonly number[]): string {
    return mm.map((v) => (this.#in ? (v / inch).toFixed(3) : v.toFixed(2))).join(" × ") + (this.#in ? " in" : " mm");
  }

  /**
   * reword turns the lengths, areas and liquids of a metric sentence into this system: what
   * the shop says of a part is often a sentence in millimetres.
   */
  reword(text: string): string {
    if (!this.#in) return text;
    return text.replace(/(\d+(?:\.\d+)?(?:(?: × |–)\d+(?:\.\d+)?)*) (mm²|mm³|mm\/min|mm|µm|ml\b|l\b|kg\b|g\b)/g, (_, row: string, unit: string) => {
      const show: { [unit: string]: (v: number) => string } = {
        mm: (v) => this.length(v), "mm²": (v) => this.area(v), "mm³": (v) => this.volume(v), "mm/min": (v) => this.feed(v), "µm": (v) => this.fine(v),
        l: (v) => this.liquid(v), ml: (v) => this.dose(v), g: (v) => this.mass(v), kg: (v) => this.mass(1000 * v),
      };
      const numbers = row.match(/\d+(?:\.\d+)?/g)!;
      const last = show[unit]!(Number(numbers.at(-1)));
      const tail = last.slice(last.indexOf(" "));
      let i = 0;
      return row.replace(/\d+(?:\.\d+)?/g, (one) => {
        const s = show[unit]!(Number(one));
        return ++i === numbers.length ? s : s.endsWith(tail) ? s.slice(0, -tail.length) : s;
      });
    });
  }

  /** lengthUnit and heightUnit are what a field of a form is in; fromLength and fromHeight read it back. */
  get lengthUnit(): string {
    return this.#in ? "in" : "mm";
  }
  get heightUnit(): string {
    return this.#in ? "µin" : "µm";
  }
  toLength(mm: number): number {
    return this.#in ? mm / inch : mm;
  }
  fromLength(v: number): number {
    return this.#in ? v * inch : v;
  }
  toHeight(um: number): number {
    return this.#in ? um / 0.0254 : um;
  }
  fromHeight(v: number): number {
    return this.#in ? v * 0.0254 : v;
  }
}

/** minutes is a duration a person plans with: "35 min", "2 h 15 min", "9.6 h". */
export function minutes(m: number): string {
  if (m === 0) return "0 s";
  if (m < 0.95) return sig(m * 60, 2) + " s";
  if (m < 9.5) return sig(m, 2) + " min";
  if (m < 90) return Math.round(m) + " min";
  if (m < 480) {
    const q = Math.round(m / 5) * 5;
    return q % 60 === 0 ? q / 60 + " h" : `${Math.floor(q / 60)} h ${q % 60} min`;
  }
  return sig(m / 60, 2) + " h";
}

/** span is a duration with its bounds. */
export function span(e: Estimate): string {
  if (e.low === e.high) return minutes(e.value);
  const low = minutes(e.low);
  const high = minutes(e.high);
  // The unit stands once where both have it: "49–85 min".
  const unit = /^[\d.]+( \w+)$/.exec(high)?.[1];
  const short = unit && /^[\d.]+ \w+$/.test(low) && low.endsWith(unit) ? low.slice(0, -unit.length) : low;
  return `${minutes(e.value)} (${short}–${high})`;
}

/** digits of a currency's minor unit where they are not two (ISO 4217). */
const digits = new Map([
  ...["BIF", "CLP", "DJF", "GNF", "ISK", "JPY", "KMF", "KRW", "PYG", "RWF", "UGX", "UYI", "VND", "VUV", "XAF", "XOF", "XPF"].map((c) => [c, 0] as const),
  ...["BHD", "IQD", "JOD", "KWD", "LYD", "OMR", "TND"].map((c) => [c, 3] as const),
  ...["CLF", "UYW"].map((c) => [c, 4] as const),
]);

/** money in its currency, with as many digits as that has: "USD 2,083.44". */
export function money(m: Money, currency = m.currency): string {
  const n = digits.get(currency) ?? 2;
  const f = new Intl.NumberFormat("en", { minimumFractionDigits: n, maximumFractionDigits: n });
  return `${currency} ${f.format(m.minor / 10 ** n)}`;
}

/** price with its bounds: "USD 68.06 (27.23–173.62)". */
export function price(c: Cost): string {
  const plain = (m: Money) => money(m, c.value.currency).replace(/^[A-Z]{3} /, "");
  return c.low.minor === c.high.minor ? money(c.value) : `${money(c.value)} (${plain(c.low)}–${plain(c.high)})`;
}

/** share as per cent: "64 %". */
export const share = (s: number): string => `${sig(100 * s, 2)} %`;

/** chance in words that a person can picture: "65 in 100". */
export const chance = (p: number): string => `${Math.round(100 * p)} in 100`;

/** day and moment read as people say them; the input is RFC 3339. */
export const day = (d: string): string => (d ? new Date(d.length === 10 ? d + "T12:00:00" : d).toLocaleDateString("en-GB", { weekday: "short", day: "numeric", month: "short", year: "numeric" }) : "no date");
export const moment = (t: string): string => new Date(t).toLocaleString("en-GB", { weekday: "short", day: "numeric", month: "short", hour: "2-digit", minute: "2-digit" });
