// What an old hand would call across the shop.
import type { Now } from "../api/types.ts";
import { hour, short } from "../run/time.ts";

/** vesselOf is how a vessel is called: "the bowl". */
export const vesselOf = (n: Pick<Now, "vessel">): string => (n.vessel ? `the ${n.vessel}` : "");

/** lower begins a sentence's rest in lower case, but leaves names such as "P280" alone. */
export const lower = (s: string): string => (/^[A-Z][a-z]/.test(s) ? s[0]!.toLowerCase() + s.slice(1) : s);

/** look is what to do next about a run, at a time: "Open the bowl at 06:30". */
export function lookAt(n: Now, inH: number | null, toGoH: number | null, now: number): string {
  if (inH === null) {
    if (toGoH === null) return `See how ${n.name ? "“" + n.name + "”" : "it"} gets on`;
    if (toGoH < 0) return `It should be over since ${hour(now + toGoH * 3.6e6, now)}`;
    return `It should be over about ${hour(now + toGoH * 3.6e6, now)}`;
  }
  const what = n.vessel ? `Open ${vesselOf(n)}` : "Look";
  if (inH < 0) return `${what} now; it was due at ${hour(now + inH * 3.6e6, now)}, ${short(inH)} ago`;
  return `${what} at ${hour(now + inH * 3.6e6, now)}, in ${short(inH)}`;
}

/** daysTo counts calendar days from now to a day; below 0 it is past. */
export function daysTo(day: string, now: number): number {
  const d = new Date(now);
  return Math.round((Date.parse(day + "T00:00:00Z") - Date.UTC(d.getFullYear(), d.getMonth(), d.getDate())) / 864e5);
}

/** dueIn is a day in words beside today: "3 days late", "today", "in 5 days". */
export function dueIn(day: string, now: number): string {
  const n = daysTo(day, now);
  if (n < -1) return `${-n} days late`;
  return n === -1 ? "1 day late" : n === 0 ? "today" : n === 1 ? "tomorrow" : `in ${n} days`;
}

/** stateOf is a job's state as people say it. */
export const stateOf: { [state: string]: string } = {
  asked: "asked for", offered: "waits for the customer's word", agreed: "agreed", shipped: "shipped", no: "not ours",
};

/** taskOf is a kind of work as people say it. */
export const taskOf: { [kind: string]: string } = {
  survey: "Looking at a model", plan: "Working out a plan", reach: "Where media get", proof: "What a program leaves", learn: "Learning from the log", coarse: "Making a part lighter to show", pocket: "Working out a pocket",
};
