// The main numbers of each kind, as they stand in its table.
import type { Cutter, Estimate, Grit, Jaws, Look, Machine, Material, Media, MediaWear, Mop, Soft, Vessel } from "../api/types.ts";
import { day, minutes, sig, type Say } from "../say/units.ts";

export interface Column {
  says: string;
  /** A number: stands to the right. */
  n?: boolean;
  of: (body: never, say: Say, wear?: MediaWear) => string;
}

const hours = (h: number): string => (h === 0 ? "none" : minutes(h * 60));
const times = (e: Estimate): string => `${sig(e.value, 2)} ×`;

/** soonest is what media go into next, in few words. */
export function soonest(w: MediaWear | undefined): string {
  const next = w?.into?.find((x) => x.when === "later");
  if (!next) return w?.into?.length ? "nothing new" : "nothing";
  return `${next.opening} of ${next.title}, ${next.day ? "near " + day(next.day).replace(/^\w+,? /, "") : `in ${hours(next.hours?.value ?? 0)} of use`}`;
}

export const columns: Record<string, Column[]> = {
  cutters: [
    { says: "End", of: (c: Cutter) => c.shape },
    { says: "Diameter", n: true, of: (c: Cutter, s) => s.length(c.diameter_mm) },
    { says: "Reach", n: true, of: (c: Cutter, s) => s.length(c.reach_mm) },
    { says: "Flutes", n: true, of: (c: Cutter) => String(c.flutes) },
    { says: "Has cut", n: true, of: (c: Cutter) => `${hours(c.used_h ?? 0)} of ${hours(c.life_h.value)}` },
  ],
  jaws: [
    { says: "Width × height", n: true, of: (j: Jaws, s) => s.size([j.width_mm, j.height_mm]) },
    { says: "Thick", n: true, of: (j: Jaws, s) => s.length(j.thick_mm) },
    { says: "Opens to", n: true, of: (j: Jaws, s) => (j.open_mm ? s.length(j.open_mm) : "not known") },
    { says: "Pockets cut", n: true, of: (j: Jaws) => String(new Set((j.cuts ?? []).map((c) => c.pocket)).size) },
  ],
  grits: [
    { says: "Grain", n: true, of: (g: Grit, s) => s.fine(g.grain_um) },
    { says: "Leaves Ra", n: true, of: (g: Grit, s) => s.range(g.ra_um) },
    { says: "Backing", of: (g: Grit) => g.backing },
  ],
  mops: [
    { says: "Wheel", of: (m: Mop) => m.wheel },
    { says: "Tends to Ra", n: true, of: (m: Mop, s) => s.range(m.limit_ra_um) },
    { says: "From Ra", n: true, of: (m: Mop, s) => (m.start_ra_um ? "under " + s.height(m.start_ra_um) : "any") },
  ],
  media: [
    { says: "Size now", n: true, of: (m: Media, s, w) => s.size(w?.now_mm ?? m.size_mm ?? [0, 0]) },
    { says: "of new", n: true, of: (_: Media, _s, w) => (w ? `${Math.round(100 * w.now_share.value)} %` : "") },
    { says: "Hours run", n: true, of: (m: Media) => hours(m.hours_run) },
    { says: "A week", n: true, of: (_: Media, _s, w) => (w?.hours_a_week ? hours(w.hours_a_week) : "not used lately") },
    { says: "Tends to Ra", n: true, of: (m: Media, s) => s.height(m.limit_ra_um.value) },
    { says: "Wears next into", of: (_: Media, _s, w) => soonest(w) },
  ],
  vessels: [
    { says: "Kind", of: (v: Vessel) => v.kind },
    { says: "Volume", n: true, of: (v: Vessel, s) => s.liquid(v.volume_l) },
    { says: "How many", n: true, of: (v: Vessel) => String(v.count || 1) },
    { says: "Load", n: true, of: (v: Vessel, s) => s.mass(1000 * v.max_load_kg) },
    { says: "Pace", n: true, of: (v: Vessel) => times(v.speedup) },
  ],
  machines: [
    { says: "Travel", n: true, of: (m: Machine, s) => s.size(m.travel_mm ?? [0, 0, 0]) },
    { says: "Spindle", n: true, of: (m: Machine) => `${m.max_rpm} a minute` },
    { says: "Feed", n: true, of: (m: Machine, s) => s.feed(m.max_feed_mm_min) },
  ],
  materials: [
    { says: "Wears like", of: (m: Material) => m.class },
    { says: "Density", n: true, of: (m: Material) => `${sig(m.density_g_cm3, 3)} g/cm³` },
    { says: "Hardness", n: true, of: (m: Material) => `${m.hardness_hb} HB` },
    { says: "Bars", n: true, of: (m: Material) => String(m.sold?.length ?? 0) },
    { says: "Caution", of: (m: Material) => (m.caution ? m.caution : m.dust_fire ? "its dust burns" : "") },
  ],
  looks: [
    { says: "Ra", n: true, of: (l: Look, s) => s.range(l.ra_um) },
    { says: "Direction", of: (l: Look) => l.lay },
    { says: "Edges", n: true, of: (l: Look, s) => s.fine(l.edge_radius_um.value) },
  ],
  softs: [
    { says: "Hardness", n: true, of: (m: Soft) => `${m.shore_a} Shore A` },
    { says: "Thinnest wall", n: true, of: (m: Soft, s) => s.length(m.least_mm) },
    { says: "Made", of: (m: Soft) => (m.printed ? "printed" : "cast or cut") },
  ],
};
