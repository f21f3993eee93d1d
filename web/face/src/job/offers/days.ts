// The steps of a promise laid over days. The clock is the shop's: a time such as
// 2026-12-01T14:05:00+01:00 is 14:05 on the first, wherever the page is read.
import type { PromiseStep } from "../../api/types.ts";

const DAY = 86_400_000;

/** wall is a moment as the shop's clock shows it, in ms as if that clock were UTC. */
export const wall = (t: string): number => Date.parse(t.slice(0, 19) + "Z");

const format = (o: Intl.DateTimeFormatOptions) => {
  const f = new Intl.DateTimeFormat("en-GB", { ...o, timeZone: "UTC" });
  return (t: string) => f.format(wall(t));
};
/** clock: "Tue 1 Dec, 14:05"; hour: "14:05"; longDay: "Friday 4 December 2026". */
export const clock = format({ weekday: "short", day: "numeric", month: "short", hour: "2-digit", minute: "2-digit" });
export const hour = format({ hour: "2-digit", minute: "2-digit" });
export const longDay = (d: string): string => new Intl.DateTimeFormat("en-GB", { weekday: "long", day: "numeric", month: "long", year: "numeric", timeZone: "UTC" }).format(Date.parse(d.slice(0, 10) + "T12:00:00Z"));

/** fromTo: "Tue 1 Dec, 08:00 to 14:05", or with both days where they differ. */
export const fromTo = (s: { from: string; to: string }): string =>
  s.from.slice(0, 10) === s.to.slice(0, 10) ? `${clock(s.from)} to ${hour(s.to)}` : `${clock(s.from)} to ${clock(s.to)}`;

/** who reads a resource: "mill bench mill" is the bench mill. */
export function who(resource: string, number = 0): string {
  const name = resource.replace(/^(mill|vessel) /, "");
  return resource === "person" ? "a person" : number > 0 ? `${name}, number ${number + 1}` : name;
}

export interface Bar {
  x: number; // 0 to 1 of the whole
  width: number;
  index: number; // of the step
}
export interface Lane {
  name: string;
  bars: Bar[];
}
export interface DayBand {
  x: number;
  width: number;
  label: string; // "Tue 1"
  off: boolean; // Saturday or Sunday
}
export interface Days {
  lanes: Lane[];
  days: DayBand[];
}

/** days lays the steps over whole days, one lane for each that works. */
export function days(steps: readonly PromiseStep[]): Days {
  if (steps.length === 0) return { lanes: [], days: [] };
  const from = Math.floor(Math.min(...steps.map((s) => wall(s.from))) / DAY) * DAY;
  const to = Math.ceil(Math.max(...steps.map((s) => wall(s.to)), from + 1) / DAY) * DAY;
  const whole = to - from;
  const lanes: Lane[] = [];
  steps.forEach((s, index) => {
    const name = who(s.resource, s.number);
    let lane = lanes.find((l) => l.name === name);
    if (!lane) lanes.push((lane = { name, bars: [] }));
    lane.bars.push({ x: (wall(s.from) - from) / whole, width: (wall(s.to) - wall(s.from)) / whole, index });
  });
  const n = Math.round(whole / DAY);
  const bands = Array.from({ length: n }, (_, i) => {
    const d = new Date(from + i * DAY);
    const week = d.getUTCDay();
    return { x: i / n, width: 1 / n, label: `${["Sun", "Mon", "Tue", "Wed", "Thu", "Fri", "Sat"][week]} ${d.getUTCDate()}`, off: week === 0 || week === 6 };
  });
  return { lanes, days: bands };
}
