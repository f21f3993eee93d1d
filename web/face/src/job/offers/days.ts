// The steps of a promise laid over days. The clock is the shop's: a time such as
// 2026-12-01T14:05:00+01:00 is 14:05 on the first, wherever the page is read.
import type { Calendar, PromiseStep } from "../../api/types.ts";

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
  looks: number[]; // 0 to 1 of the whole
}
export interface Lane {
  name: string;
  bars: Bar[];
}
export interface DayBand {
  x: number;
  width: number;
  label: string; // "Tue 1"
  /** The stretches at which nobody is in, as x and width. */
  closed: { x: number; width: number }[];
}
export interface Days {
  lanes: Lane[];
  days: DayBand[];
}

const week = ["sun", "mon", "tue", "wed", "thu", "fri", "sat"];
const short = ["Sun", "Mon", "Tue", "Wed", "Thu", "Fri", "Sat"];
const ofDay = (t: string): number => (60 * Number(t.slice(0, 2)) + Number(t.slice(3, 5))) / 1440;

/** open are the stretches of a day, 2026-12-01, at which somebody is in, as shares of it; without a week Monday to Friday, 8 to 16, as the shop reckons then. */
export function openOn(on: string, calendar?: Calendar): [number, number][] {
  const away = (calendar?.closed ?? []).some((c) => {
    const [a, b] = c.split("/");
    return on >= a! && on <= (b ?? a)!;
  });
  if (away) return [];
  const name = week[new Date(on + "T12:00:00Z").getUTCDay()]!;
  const days = calendar?.week?.length ? calendar.week : week.slice(1, 6).map((day) => ({ day, from: "08:00", to: "16:00" }));
  return days
    .filter((d) => d.day.slice(0, 3).toLowerCase() === name)
    .map((d): [number, number] => [ofDay(d.from), ofDay(d.to)])
    .sort((a, b) => a[0] - b[0]);
}

/** days lays the steps over whole days, one lane for each that works. */
export function days(steps: readonly PromiseStep[], calendar?: Calendar): Days {
  if (steps.length === 0) return { lanes: [], days: [] };
  const from = Math.floor(Math.min(...steps.map((s) => wall(s.from))) / DAY) * DAY;
  const to = Math.ceil(Math.max(...steps.map((s) => wall(s.to)), from + 1) / DAY) * DAY;
  const whole = to - from;
  const at = (t: string) => (wall(t) - from) / whole;
  const lanes: Lane[] = [];
  steps.forEach((s, index) => {
    const name = who(s.resource, s.number);
    let lane = lanes.find((l) => l.name === name);
    if (!lane) lanes.push((lane = { name, bars: [] }));
    lane.bars.push({ x: at(s.from), width: at(s.to) - at(s.from), index, looks: (s.looks ?? []).map(at) });
  });
  const n = Math.round(whole / DAY);
  const bands = Array.from({ length: n }, (_, i): DayBand => {
    const d = new Date(from + i * DAY);
    const closed: DayBand["closed"] = [];
    let shut = 0;
    for (const [a, b] of [...openOn(d.toISOString().slice(0, 10), calendar), [1, 1] as const]) {
      if (a > shut) closed.push({ x: (i + shut) / n, width: (a - shut) / n });
      shut = Math.max(shut, b);
    }
    return { x: i / n, width: 1 / n, label: `${short[d.getUTCDay()]} ${d.getUTCDate()}`, closed };
  });
  return { lanes, days: bands };
}
