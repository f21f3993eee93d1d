// What a number of the shelf is in, and how a field of a form shows and reads it. What is
// kept is always metric.
import type { System } from "../say/units.ts";

export type Quantity =
  | "plain" | "count" | "length" | "height" | "hours" | "minutes" | "litre" | "kg" | "kg_l" | "g_cm3" | "feed" | "speed" | "rpm" | "share" | "pct_h"
  | "money" | "money_h" | "money_kg" | "money_l" | "money_cm3" | "ml_l" | "force" | "accel" | "n_mm2" | "hb" | "l_g" | "min_cm3" | "min_dm2" | "um_dm2" | "shore" | "per_s" | "money_m2" | "fine" | "grams" | "area" | "gloss" | "grade" | "pieces";

const inch = 25.4;

/** Unit is what stands at a field, and what a metric number is multiplied by to show it. */
export interface Unit {
  says: string;
  times: number;
}

/** unit of a quantity in a system; money is in the shop's currency. */
export function unit(q: Quantity, system: System, currency = ""): Unit {
  const inches = system === "inch";
  const m = (metric: string, other: string, times: number): Unit => (inches ? { says: other, times } : { says: metric, times: 1 });
  const c = currency || "money";
  switch (q) {
    case "length": return m("mm", "in", 1 / inch);
    case "height": return m("µm", "µin", 1 / 0.0254);
    case "fine": return m("µm", "thou", 1 / inch);
    case "grams": return m("g", "oz", 1 / 28.349523125);
    case "area": return m("mm²", "in²", 1 / inch ** 2);
    case "gloss": return { says: "gloss units at 60°", times: 1 };
    case "grade": return { says: "N", times: 1 };
    case "pieces": return { says: "pieces", times: 1 };
    case "hours": return { says: "h", times: 1 };
    case "minutes": return { says: "min", times: 1 };
    case "litre": return m("l", "qt", 1 / 0.946352946);
    case "kg": return m("kg", "lb", 1 / 0.45359237);
    case "kg_l": return m("kg/l", "lb/qt", 0.946352946 / 0.45359237);
    case "g_cm3": return m("g/cm³", "lb/in³", 0.036127292);
    case "feed": return m("mm/min", "in/min", 1 / inch);
    case "speed": return m("m/min", "ft/min", 1 / 0.3048);
    case "rpm": return { says: "turns a minute", times: 1 };
    case "share": return { says: "%", times: 100 };
    case "pct_h": return { says: "% of weight an hour", times: 1 };
    case "money": return { says: c, times: 1 };
    case "money_h": return { says: `${c} an hour`, times: 1 };
    case "money_kg": return m(`${c} a kg`, `${c} a lb`, 0.45359237);
    case "money_l": return m(`${c} a litre`, `${c} a quart`, 0.946352946);
    case "money_cm3": return m(`${c} a cm³`, `${c} an in³`, 16.387064);
    case "money_m2": return m(`${c} a m²`, `${c} a ft²`, 0.09290304);
    case "ml_l": return m("ml a litre of water", "fl oz a quart of water", 0.946352946 / 29.5735295625);
    case "force": return m("N", "lbf", 1 / 4.4482216153);
    case "accel": return m("m/s²", "in/s²", 1000 / inch);
    case "n_mm2": return { says: "N/mm²", times: 1 };
    case "hb": return { says: "HB", times: 1 };
    case "l_g": return { says: "litres a gram", times: 1 };
    case "min_cm3": return m("min a cm³", "min an in³", 16.387064);
    case "min_dm2": return { says: "min for 100 cm²", times: 1 };
    case "um_dm2": return m("µm a minute on 100 cm²", "µin a minute on 100 cm²", 1 / 0.0254);
    case "shore": return { says: "Shore A", times: 1 };
    case "per_s": return { says: "blocks a second", times: 1 };
    default: return { says: "", times: 1 };
  }
}

/** shown is a metric number as a field holds it; empty for none. */
export function shown(v: unknown, u: Unit): string {
  if (typeof v !== "number" || !Number.isFinite(v)) return "";
  // Metric numbers are shown as they are kept; the twelfth digit only hides what binary fractions add.
  return String(Number((v * u.times).toPrecision(u.times === 1 || u.times === 100 ? 12 : 6)));
}

/** told reads a field: a metric number, undefined where it is empty, NaN where it is none. */
export function told(text: string, u: Unit): number | undefined {
  const t = text.trim().replace(/\s/g, "").replace(",", ".");
  if (t === "") return undefined;
  if (!/^[-+]?(\d+\.?\d*|\.\d+)(e[-+]?\d+)?$/i.test(t)) return NaN;
  return Number((Number(t) / u.times).toPrecision(12));
}
