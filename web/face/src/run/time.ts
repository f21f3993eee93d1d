// Times as they are said at the machine.
import { minutes } from "../say/units.ts";

/** hms is a clock that counts: "5:30:12". */
export function hms(ms: number): string {
  const s = Math.max(0, Math.floor(ms / 1000));
  const two = (n: number) => String(n).padStart(2, "0");
  return `${Math.floor(s / 3600)}:${two(Math.floor(s / 60) % 60)}:${two(s % 60)}`;
}

/** short is a time to go in whole minutes: "1 h 25 min", "under a minute". */
export function short(hours: number): string {
  const m = Math.abs(hours) * 60;
  if (m < 1) return "under a minute";
  if (m < 600) {
    const whole = Math.round(m);
    const h = Math.floor(whole / 60);
    return h === 0 ? `${whole} min` : whole % 60 === 0 ? `${h} h` : `${h} h ${whole % 60} min`;
  }
  return minutes(m);
}

/** hour of the day, with its weekday where it is not today's: "06:30", "Tue 06:30". */
export function hour(ms: number, now: number): string {
  const d = new Date(ms);
  const time = d.toLocaleTimeString("en-GB", { hour: "2-digit", minute: "2-digit" });
  return d.toDateString() === new Date(now).toDateString() ? time : `${d.toLocaleDateString("en-GB", { weekday: "short" })} ${time}`;
}

/** Looking is when to look at a run next. */
export interface Looking {
  /** In so many hours; below 0 it is late. */
  inH: number;
  /** The hours from the run's beginning at which it is due. */
  atH: number;
  /** It is the last look: it may be done. */
  last: boolean;
  late: boolean;
}

/**
 * next is the look that comes; null where there is none more. A look is due until `looked`
 * (hours since the beginning: a reading, or a press on "Looked at it") is past it, so that
 * one that was missed does not go silent. As the shop has it: shop/today.go.
 */
export function next(looks: readonly number[], goneH: number, lookedH = 0): Looking | null {
  const early = 0.25; // a look a quarter of an hour before its time counts for it
  const at = looks.find((h) => h > lookedH + Math.min(early, h / 4));
  if (at === undefined) return null;
  const inH = at - goneH;
  return { inH, atH: at, last: at === looks.at(-1), late: inH < 0 };
}

/** uuid7 is an id that sorts by when it was made (RFC 9562), made here so that what follows can name it. */
export function uuid7(ms: number): string {
  const b = crypto.getRandomValues(new Uint8Array(16));
  for (let i = 0; i < 6; i++) b[i] = Math.floor(ms / 2 ** (8 * (5 - i))) & 0xff;
  b[6] = 0x70 | (b[6]! & 0x0f);
  b[8] = 0x80 | (b[8]! & 0x3f);
  const x = [...b].map((v) => v.toString(16).padStart(2, "0")).join("");
  return `${x.slice(0, 8)}-${x.slice(8, 12)}-${x.slice(12, 16)}-${x.slice(16, 20)}-${x.slice(20)}`;
}
