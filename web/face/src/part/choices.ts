// What can be shown on the part, and the value of each place for it.
import type { Brief, Charge, Cutter, Jam, Plan, Zone } from "../api/types.ts";
import { floats } from "./buffer.ts";
import { isClass, type Class } from "./colours.ts";
import { cusps, passFrame, type Lines } from "./cusps.ts";
import type { Mesh, Vec } from "./mesh.ts";

export const choices = [
  { id: "zones", says: "zones" },
  { id: "cusps", says: "cusp height" },
  { id: "reach", says: "where this media reaches" },
  { id: "jams", says: "what would jam" },
  { id: "off", says: "how much comes off" },
  { id: "look", says: "how it will look" },
] as const;
export type Choice = (typeof choices)[number]["id"];

/** What is told of a media at each place. */
export const tellings = [
  { id: "reached_new", says: "touched by it as new" },
  { id: "reached_worn", says: "touched by it when worn" },
  { id: "exposure", says: "how openly a place lies to it" },
  { id: "removal", says: "how much it takes, against an open face" },
] as const;
export type Telling = (typeof tellings)[number]["id"];

/** lists are the brief's, by class. */
const lists = (b: Brief): [Class, string[]][] => [["show", b.show ?? []], ["plain", b.plain ?? []], ["hidden", b.hidden ?? []]];

/** classOf is what a zone counts as: the brief wins over what was proposed, its later lists over earlier ones. */
export function classOf(b: Brief, zone: Zone | undefined): Class {
  let found: Class | null = null;
  for (const [c, ids] of lists(b)) if (zone && ids.includes(zone.id)) found = c;
  const own = zone?.class ?? "hidden";
  return found ?? (isClass(own) ? own : "hidden");
}

/** recast makes a zone count as a class; as what was proposed where that is the same. */
export function recast(b: Brief, id: string, to: Class, proposed: string): void {
  for (const c of ["show", "plain", "hidden"] as const) {
    const left = (b[c] ?? []).filter((x) => x !== id);
    if (c === to && to !== proposed) left.push(id);
    b[c] = left;
  }
}

/** tones are the number of the class at each drawn corner, from those of zones. */
export function tones(m: Mesh, classes: readonly number[], none: number): Float32Array {
  return byTriangle(m, (t) => classes[m.zone[t] ?? -1] ?? none);
}

/** byTriangle gives each drawn corner the value of its triangle. */
export function byTriangle(m: Mesh, of: (t: number) => number): Float32Array {
  const out = new Float32Array(m.shape.owner.length);
  for (let g = 0; g < out.length; g++) out[g] = of(m.shape.owner[g]!);
  return out;
}

/** byCorner gives each drawn corner the value of its corner of the mesh. */
export function byCorner(m: Mesh, values: Float32Array): Float32Array {
  const out = new Float32Array(m.shape.corner.length);
  for (let g = 0; g < out.length; g++) out[g] = values[m.shape.corner[g]!] ?? NaN;
  return out;
}

/** linesOf are the passes of a plan that leave cusps, by the number of their zone in the mesh. */
export function linesOf(m: Mesh, plan: Plan, cutters: Cutter[]): Map<number, Lines> {
  const out = new Map<number, Lines>();
  for (const s of plan.route ?? []) {
    const c = cutters.find((c) => c.name === s.pass?.cutter);
    const zone = plan.zones?.find((z) => z.id === s.zone);
    const at = m.about.zones?.indexOf(s.zone) ?? -1;
    if (!s.pass || !(s.pass.cusp_um > 0) || !(s.pass.stepover_mm > 0) || !c || !zone?.up || at < 0) continue;
    const nose = c.shape === "ball" ? c.diameter_mm / 2 : c.corner_radius_mm;
    if (nose > 0) out.set(at, { nose, stepover: s.pass.stepover_mm, up: zone.up, along: passFrame(zone.up, pointsOf(m, at)) });
  }
  return out;
}

function* pointsOf(m: Mesh, zone: number): Iterable<Vec> {
  for (let t = 0; t < m.zone.length; t++) {
    if (m.zone[t] !== zone) continue;
    for (let k = 0; k < 3; k++) {
      const v = 3 * m.triangle[3 * t + k]!;
      yield [m.position[v]!, m.position[v + 1]!, m.position[v + 2]!];
    }
  }
}

export const cuspValues = (m: Mesh, plan: Plan, cutters: Cutter[]): Float32Array => cusps(m, linesOf(m, plan, cutters));

/** worst are the likeliest jams of each opening, whatever the state of the media. */
export function worst(jams: readonly Jam[]): Jam[] {
  const out = new Map<string, Jam>();
  for (const j of jams) if (!out.has(j.opening) || out.get(j.opening)!.chance.p < j.chance.p) out.set(j.opening, j);
  return [...out.values()];
}

/** jamValues are chances at openings; other places have none. */
export function jamValues(m: Mesh, jams: readonly Jam[]): Float32Array {
  const p = (m.about.openings ?? []).map((id) => jams.find((j) => j.opening === id)?.chance.p ?? NaN);
  return byTriangle(m, (t) => p[m.opening[t] ?? -1] ?? NaN);
}

/** allowances are what a plan says to leave on, by opening and else by zone. */
export function allowances(m: Mesh, plan: Plan): Float32Array {
  const of = (id: string | undefined) => (id === undefined ? undefined : plan.allowance_um?.[id]?.value);
  return byTriangle(m, (t) => of(m.about.openings?.[m.opening[t] ?? -1]) ?? of(m.about.zones?.[m.zone[t] ?? -1]) ?? NaN);
}

/** taken is what all charges take off at the corners of media's meshes, which are one: µm. */
export function taken(plan: Plan, charges: readonly Charge[], of: (media: string) => Mesh | undefined): Float32Array | null {
  let sum: Float32Array | null = null;
  for (const c of charges) {
    const m = of(c.media);
    const um = plan.route?.[c.step]?.removed_um.value ?? plan.route?.find((s) => s.charge?.media === c.media)?.removed_um.value ?? 0;
    if (!m) return null;
    const r = floats(m.buffer, "removal");
    sum ??= new Float32Array(r.length);
    if (sum.length !== r.length) return null;
    for (let i = 0; i < r.length; i++) sum[i]! += um * r[i]!;
  }
  return sum;
}

/** looks are the last Ra of each zone, and the lay of the show face. */
export function looks(m: Mesh, plan: Plan): { ra: Float32Array; lay?: Vec; lays: string } {
  const last = new Map<string, number>();
  let lays = "";
  for (const s of plan.route ?? []) {
    if (s.zone && s.ra_um.value > 0) last.set(s.zone, s.ra_um.value);
    else if (s.charge && s.ra_um.value > 0) for (const z of plan.zones ?? []) last.set(z.id, s.ra_um.value);
    if (s.texture_lay) lays = s.texture_lay;
  }
  const ra = (m.about.zones ?? []).map((z) => last.get(z) ?? NaN);
  const show = plan.zones?.find((z) => z.class === "show");
  const at = m.about.zones?.indexOf(show?.id ?? "") ?? -1;
  let lay: Vec | undefined;
  if (show?.up && at >= 0 && /along|across/.test(lays)) {
    const along = passFrame(show.up, pointsOf(m, at));
    const u = show.up;
    lay = /across/.test(lays) ? [u[1] * along[2] - u[2] * along[1], u[2] * along[0] - u[0] * along[2], u[0] * along[1] - u[1] * along[0]] : along;
  }
  return { ra: byTriangle(m, (t) => ra[m.zone[t] ?? -1] ?? NaN), lay, lays };
}

/** ends are where a scale begins and stops so that one in a hundred lies beyond each. */
export function ends(values: Float32Array): { low: number; high: number } {
  const some: number[] = [];
  const step = Math.max(1, Math.floor(values.length / 20000));
  for (let i = 0; i < values.length; i += step) if (Number.isFinite(values[i]!)) some.push(values[i]!);
  if (!some.length) return { low: 0, high: 1 };
  some.sort((a, b) => a - b);
  const low = some[Math.floor(0.01 * (some.length - 1))]!, high = some[Math.ceil(0.99 * (some.length - 1))]!;
  return high - low > 1e-9 * Math.abs(high) && high > low ? { low, high } : { low: Math.min(0, low), high: high > 0 ? high : 1 };
}
