// What a plan offers, as it is laid side by side.
import type { Kept, Offer, PlanSheet, Proposal } from "../../api/types.ts";
import { day, money, span } from "../../say/units.ts";

/** fold makes two spellings of a name one, as the shop does. */
export const fold = (s: string): string => s.replace(/[ \-_]/g, "").toLowerCase();

/** Finish is one finish and the ways to it: the plan's own way first. */
export interface Finish {
  look: string;
  title: string;
  asked: boolean;
  offer: Offer;
  others: Offer[];
}

/** finishes gathers offers by finish; the one that is asked for comes first, the others as the plan has them. */
export function finishes(offers: readonly Offer[], wish: string): Finish[] {
  const out: Finish[] = [];
  for (const o of offers) {
    const has = out.find((f) => fold(f.look) === fold(o.look));
    if (has) has.others.push(o);
    else out.push({ look: o.look, title: o.title, asked: false, offer: o, others: [] });
  }
  // A brief may name a finish in other words than the shelf does: then the plan knows best.
  const first = out.find((f) => fold(f.look) === fold(wish) || fold(f.title) === fold(wish)) ?? out.find((f) => f.offer.asked);
  if (first) first.asked = true;
  return out.sort((a, b) => Number(b.asked) - Number(a.asked));
}

/** chanceWords says how sure it is in lots that one can picture. */
export function chanceWords(p: number): string {
  const n = Math.round(100 * p);
  if (n >= 100) return "almost all such lots come out right the first time";
  if (n <= 0) return "almost no such lot comes out right the first time";
  return `${n} of 100 such lots come out right the first time`;
}

/** When is the day of a finish and how far it can be relied on. */
export interface When {
  says: string;
  kind: "promised" | "reckoned" | "offered" | "clock";
}

/**
 * when tells the day of a finish: the one that stands promised, the one reckoned now, the
 * one that the plan's last offer named; else the hours by the clock.
 */
export function when(f: Finish, promised: string, reckoned: string, offers: readonly Kept<Proposal>[], sheet: Kept<PlanSheet> | null): When {
  if (f.asked && promised) return { says: day(promised), kind: "promised" };
  if (f.asked && reckoned) return { says: day(reckoned), kind: "reckoned" };
  const last = offers.find((o) => o.links?.plan === sheet?.id);
  const then = last?.body.offers?.find((o) => fold(o.look) === fold(f.look) && o.day)?.day;
  if (then) return { says: day(then), kind: "offered" };
  return { says: `about ${span({ ...f.offer.ready_h, value: 60 * f.offer.ready_h.value, low: 60 * f.offer.ready_h.low, high: 60 * f.offer.ready_h.high })} by the clock`, kind: "clock" };
}

/** Rung is one size of lot, with what each finish asks for it. */
export interface Rung {
  lot: number;
  cells: { each: Offer["each"]; price: Offer["each"] | null }[];
}

/** ladder sets the sizes of lots of all finishes beside one another; this lot is among them. */
export function ladder(all: readonly Finish[], lot: number): Rung[] {
  const lots = new Set<number>([lot]);
  for (const f of all) for (const r of f.offer.ladder ?? []) lots.add(r.lot);
  const out: Rung[] = [];
  for (const n of [...lots].sort((a, b) => a - b)) {
    const cells = all.map((f) => {
      const r = f.offer.ladder?.find((x) => x.lot === n);
      return r ? { each: r.each, price: r.price } : n === lot ? { each: f.offer.each, price: null } : null;
    });
    if (cells.every((c) => c)) out.push({ lot: n, cells: cells as Rung["cells"] });
  }
  return out;
}

/** letter is an offer in plain words, for an e-mail. The customer reads prices and days; bounds are the shop's. */
export function letter(p: Proposal, about: { title: string; lot: number; customer?: string; shop?: string; contact?: string }): string {
  const lines: string[] = [];
  lines.push(about.customer ? `Dear ${about.customer},` : "Hello,", "");
  if (p.words) lines.push(p.words.trim(), "");
  lines.push(`For ${about.lot === 1 ? "one piece" : `${about.lot} pieces`} of “${about.title}” you may choose:`, "");
  for (const f of finishes(p.offers ?? [], (p.offers ?? []).find((o) => o.asked)?.look ?? "").filter((x) => x.offer.meets)) {
    lines.push(`- ${f.title}: ${money(f.offer.each.value)} a piece${f.offer.day ? `, ready on ${day(f.offer.day)}` : ""}.`);
  }
  lines.push("", "The page that comes with this shows each finish and says what is promised of it.");
  if (p.until) lines.push(`The offer holds until ${day(p.until)}.`);
  lines.push("Please write which finish you choose.");
  if (about.shop || about.contact) lines.push("", ...[about.shop, about.contact].filter((s): s is string => !!s));
  return lines.join("\n");
}

/** fileName is a name for a file that a customer gets: "offer-escutcheon-plate-2026-11-30.html". */
export function fileName(what: string, title: string, on: string, ending: string): string {
  const plain = title.normalize("NFKD").replace(/[\u0300-\u036f]/g, "").toLowerCase().replace(/[^a-z0-9]+/g, "-").replace(/^-+|-+$/g, "").slice(0, 60);
  return [what, plain, on].filter(Boolean).join("-") + "." + ending;
}

/** inDays is the day so many days after another, both as 2026-03-31. */
export function inDays(from: string, n: number): string {
  const d = new Date(from + "T12:00:00Z");
  d.setUTCDate(d.getUTCDate() + n);
  return d.toISOString().slice(0, 10);
}

/** todayHere is the day that the calendar on the wall shows. */
export function todayHere(now = new Date()): string {
  return `${now.getFullYear()}-${String(now.getMonth() + 1).padStart(2, "0")}-${String(now.getDate()).padStart(2, "0")}`;
}

/** sentence begins with a capital and ends with a stop. */
export function sentence(s: string): string {
  const t = s.trim();
  return t ? t.charAt(0).toUpperCase() + t.slice(1) + (/[.!?]$/.test(t) ? "" : ".") : "";
}
