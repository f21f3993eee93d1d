// The kinds of things on the shelf: how a form, a table and a file of each are made.
import type { Shelf } from "../api/types.ts";
import { at } from "./paths.ts";
import { shown, type Quantity, type Unit } from "./quantity.ts";

/** Field is one thing that is said of a thing. */
export interface Field {
  /** Its key, with dots where it stands deeper. */
  at: string;
  says: string;
  as: "text" | "long" | "number" | "estimate" | "yes" | "choice" | "numbers" | "names" | "rows" | "day" | "time";
  q?: Quantity;
  /** Of a choice: what is kept, and its words where they differ. */
  choices?: [kept: string, says: string][];
  /** Of numbers: what each of them is. */
  each?: string[];
  /** Of rows. */
  fields?: Field[];
  one?: string;
  /** It may be missing: an empty field takes the key away. */
  may?: boolean;
  help?: string;
}

export interface Group {
  says: string;
  fields: Field[];
}

export interface Kind {
  /** Its address under #/shelf, and /api/shelf. */
  key: string;
  says: string;
  one: string;
  /** Its list in the whole shelf; none for what stands there once or not at all. */
  list?: Exclude<keyof Shelf, "rates">;
  /** There is one such record and no more. */
  single?: boolean;
  about: string;
  groups: Group[];
  /** Where its records are; under shelf/ where nothing is said. */
  path?: string;
  /** Hands may change it too. */
  hands?: boolean;
  /** What it is taken off. */
  off?: string;
}

type More = Partial<Omit<Field, "at" | "says" | "as">>;
const f = (as: Field["as"]) => (at: string, says: string, more: More = {}): Field => ({ at, says, as, ...more });
const text = f("text"), long = f("long"), yes = f("yes"), names = f("names"), day = f("day");
const num = (at: string, says: string, q: Quantity = "plain", more: More = {}): Field => ({ at, says, as: "number", q, ...more });
const est = (at: string, says: string, q: Quantity = "plain", more: More = {}): Field => ({ at, says, as: "estimate", q, ...more });
const some = (at: string, says: string, q: Quantity, each: string[], more: More = {}): Field => ({ at, says, as: "numbers", q, each, ...more });
const one = (at: string, says: string, choices: (string | [string, string])[], more: More = {}): Field => ({ at, says, as: "choice", choices: choices.map((c) => (typeof c === "string" ? [c, c] : c)), ...more });
const rows = (at: string, says: string, word: string, fields: Field[], more: More = {}): Field => ({ at, says, as: "rows", one: word, fields, may: true, ...more });

const named: Field[] = [text("name", "Name", { help: "What it is called by; short." }), text("title", "Title", { help: "What a person reads." })];
const basis = text("basis", "What the numbers rest on");
const tone: [string, string][] = [["", "the usual"], ["brighter", "brighter, with more liquid"], ["darker", "darker, with less"]];

export const kinds: Kind[] = [
  {
    key: "cutters", says: "cutters", one: "a cutter", list: "cutters", about: "Tools that may take the last pass.",
    groups: [
      { says: "", fields: [...named, one("shape", "End", ["ball", "bull", "flat"]), num("diameter_mm", "Diameter", "length"), num("corner_radius_mm", "Corner radius", "length", { help: "Of a ball half the diameter, of a flat end 0." }), num("flutes", "Flutes", "count"), num("reach_mm", "Reach below the holder", "length"), num("flute_length_mm", "Length of the flutes", "length")] },
      { says: "Life and price", fields: [num("used_h", "Hours it has cut", "hours", { may: true }), est("life_h", "Life, finishing mild steel", "hours"), est("price", "Price", "money"), basis] },
    ],
  },
  {
    key: "jaws", says: "jaws", one: "a pair of soft jaws", list: "jaws", about: "Pairs of soft jaws and what is cut in them.",
    groups: [
      { says: "", fields: [...named, text("metal", "Metal"), num("width_mm", "Width, along the vise", "length"), num("height_mm", "Height", "length"), num("thick_mm", "Thickness", "length"), num("open_mm", "Largest opening with them on", "length")] },
      { says: "Holding", fields: [est("clamp_n", "Force the vise is closed with", "force", { may: true }), est("friction", "Share of it that holds against sliding, wet", "plain", { may: true }), basis] },
      { says: "Metal that is gone", fields: [
        rows("holes", "Mounting holes, the same in both jaws", "hole", [num("x_mm", "From the middle", "length"), num("z_mm", "From the top, below 0", "length"), num("diameter_mm", "Diameter", "length"), num("head_mm", "Recess for the head, across", "length"), num("head_deep_mm", "Recess, deep", "length"), yes("both_faces", "A recess in the back too")]),
        rows("cuts", "Pockets cut in them", "cut", [text("name", "Name"), text("part", "Part"), one("jaw", "In the jaw that was, when new,", [["1", "the fixed one"], ["2", "the moving one"]], { q: "count" }), day("date", "Cut on", { may: true })], { help: "How each lies in the jaw comes from the holding page and is kept as it is. Take one away when the jaws were faced off." }),
      ] },
    ],
  },
  {
    key: "grits", says: "grits", one: "a grit", list: "grits", about: "Papers and cloths, one grain size each.",
    groups: [
      { says: "", fields: [text("name", "Name", { help: "As on the paper: P240." }), one("scale", "Scale", [["P", "P: ISO 6344"], ["CAMI", "CAMI: ANSI B74.18"]]), num("number", "Number", "count"), num("grain_um", "Mean grain", "height"), text("backing", "Backing"), est("thick_mm", "Thickness", "length")] },
      { says: "What it leaves, across the lay on ground stainless", fields: [est("ra_um", "Ra", "height"), est("rz_um", "Rz", "height"), est("price_sheet", "Price of a sheet of 230 × 280 mm", "money"), basis] },
    ],
  },
  {
    key: "mops", says: "mops", one: "a mop", list: "mops", about: "Polishing wheels, each with the bar of compound that belongs to it.",
    groups: [
      { says: "", fields: [...named, text("wheel", "Wheel"), text("compound", "Compound"), num("contact_mm", "Length over which it bears", "length"), num("start_ra_um", "Roughest face it is any use on, Ra", "height", { help: "0 for no limit." })] },
      { says: "What it does to steel", fields: [est("limit_ra_um", "Ra it tends to", "height"), est("min_per_100_cm2", "Time constant", "min_dm2"), est("cut_um_min_per_100_cm2", "What it takes off", "um_dm2"), est("bar_cost", "Compound used", "money_m2"), basis] },
    ],
  },
  {
    key: "media", says: "media", one: "a kind of media", list: "media", about: "What runs in the barrels and bowls.",
    groups: [
      { says: "", fields: [...named, one("kind", "Kind", ["ceramic fast cut", "ceramic general", "ceramic fine", "plastic general", "plastic fine", "porcelain", "steel", "cob", "walnut"]), one("shape", "Shape", ["sphere", "cylinder", "angle cut", "cone", "triangle", "tetrahedron", "pin", "grain"]), some("size_mm", "Size when new", "length", ["across", "long or thick"], { help: "Diameter and length; of a triangle side and thickness; of grain the smallest and the largest sieve." }), num("hours_run", "Hours run", "hours"), num("on_shelf_l", "On the shelf", "litre"), num("worn_share", "Thrown out when worn to", "share", { help: "Of its size when new." }), yes("dry", "Runs without water, with paste"), yes("silica", "Its dust may hold crystalline silica")] },
      { says: "Bags", fields: [rows("lots", "Bags that it came in", "bag", [text("name", "As it stands on the bag"), day("bought", "Bought on", { may: true }), num("kg", "Weight", "kg"), num("hours_run", "Hours run", "hours"), some("measured_mm", "Size as last measured", "length", ["across", "long or thick"], { may: true }), day("measured_on", "Measured on", { may: true })])] },
      { says: "What it does", fields: [est("limit_ra_um", "Ra it tends to on steel", "height"), num("start_ra_um", "Roughest face it is any use on, Ra", "height", { help: "0 for no limit." }), est("time_factor", "Time, against general ceramic", "plain"), est("cut_factor", "Removal, against general ceramic", "plain")] },
      { says: "How it wears, and price", fields: [est("wear_bowl_pct_h", "Wear in a bowl", "pct_h"), est("wear_barrel_pct_h", "Wear in a barrel", "pct_h"), num("bulk_kg_l", "Weight of a litre", "kg_l"), est("price_per_kg", "Price", "money_kg"), basis] },
    ],
  },
  {
    key: "vessels", says: "barrels and bowls", one: "a barrel or bowl", list: "vessels", about: "What media run in.",
    groups: [
      { says: "", fields: [...named, one("kind", "Kind", ["rotary barrel", "vibratory bowl", "centrifugal barrel"]), num("count", "How many alike", "count", { may: true }), num("volume_l", "Volume", "litre"), num("diameter_mm", "Inside, across the flats", "length"), some("rpm_range", "Speed", "rpm", ["slowest", "fastest"], { help: "0 for a bowl." }), num("max_load_kg", "Load the drive is rated for", "kg"), num("free_in_h", "Free in", "hours", { may: true }), num("dose_ml_l", "Our dose of compound", "ml_l", { may: true, help: "Empty takes the trade's." }), yes("wet", "Runs wet"), yes("dry", "Runs dry"), yes("closed", "Closed: gas cannot leave")] },
      { says: "Pace and price", fields: [est("speedup", "Pace, against a vibratory bowl", "plain"), est("rate_per_h", "An hour of it", "money_h"), basis] },
    ],
  },
  {
    key: "machines", says: "mills", one: "a mill", list: "machines", about: "What parts are cut on.",
    groups: [
      { says: "", fields: [...named, some("travel_mm", "Travel", "length", ["X", "Y", "Z"]), num("max_rpm", "Fastest spindle", "rpm"), num("max_feed_mm_min", "Fastest feed", "feed")] },
      { says: "How it follows a program", fields: [est("accel_xy_m_s2", "Acceleration in X and Y", "accel"), est("accel_z_m_s2", "Acceleration in Z", "accel"), est("blocks_per_s", "Blocks it takes", "per_s"), est("rate_per_h", "An hour of it", "money_h"), basis] },
    ],
  },
  {
    key: "materials", says: "metals", one: "an alloy", list: "materials", about: "What parts are made of, and the bars that it comes in.",
    groups: [
      { says: "", fields: [...named, names("aliases", "Other names", { may: true }), one("class", "Wears like", ["aluminium", "brass", "mild steel", "stainless", "titanium", "hardened steel"]), one("iso_group", "Group (ISO 513)", ["P", "M", "K", "N", "S", "H"]), num("density_g_cm3", "Density", "g_cm3"), num("hardness_hb", "Hardness", "hb")] },
      { says: "What hurts", fields: [long("caution", "Caution", { may: true }), yes("dust_fire", "Its fine dust burns"), num("hydrogen_l_per_g", "Gas that fines free from water", "l_g"), yes("rusts", "Rusts when it is left wet")] },
      { says: "Cutting", fields: [num("kc11_n_mm2", "Specific cutting force kc1.1", "n_mm2"), num("mc", "Its exponent mc", "plain"), est("cut_speed_m_min", "Surface speed of a carbide ball", "speed"), est("feed_per_tooth_mm", "Feed a tooth, finishing with a 6 mm ball", "length")] },
      { says: "Stock", fields: [est("price_per_kg", "Price of small sawn stock", "money_kg"), rows("sold", "Bars that it is bought in", "bar", [some("section_mm", "Section", "length", ["thick", "wide"], { help: "Of a round bar both its diameter." }), yes("round", "Round", { may: true }), num("length_mm", "Length", "length"), est("price_each", "Price of one", "money", { may: true }), est("price_per_kg", "or by weight", "money_kg", { may: true })]), basis] },
    ],
  },
  {
    key: "looks", says: "finishes", one: "a finish", list: "looks", about: "What a part can look like, by this shop's own samples.",
    groups: [
      { says: "", fields: [...named, long("says", "For the customer, in a sentence")] },
      { says: "What makes it", fields: [est("ra_um", "Ra, and its band", "height"), one("lay", "Direction", [["any", "any"], ["one direction", "one direction"], ["no direction", "none"]]), yes("cusps_may_show", "The cutter's pattern belongs to it"), num("specular_share", "Light thrown back as by a mirror, at least", "share"), num("mark_chance", "Chance of an older mark, at most", "share"), est("edge_radius_um", "Edge radius it is happy with", "height"), one("tone", "Its charges run", tone, { may: true }), basis] },
    ],
  },
  {
    key: "softs", says: "soft materials", one: "a soft material", list: "softs", about: "What plugs are made of.",
    groups: [{ says: "", fields: [...named, num("shore_a", "Hardness", "shore"), est("squeeze", "Wider than its opening by", "share"), num("least_mm", "Thinnest wall that comes out well", "length"), yes("printed", "Printed, not cast or cut"), long("says", "What it stands"), basis] }],
  },
  {
    key: "rates", says: "rates", one: "the rates", single: true, about: "What an hour, a set-up and a day are to this shop. Every price and every promise rests on these.",
    groups: [
      { says: "Money", fields: [text("currency", "Currency", { help: "Three letters: USD, EUR." }), est("person_per_h", "An hour of a person", "money_h"), num("margin_share", "Margin, of the price", "share"), num("scrap_share", "Pieces lost, of those started", "share"), est("compound_per_l", "Compound", "money_l")] },
      { says: "Work once a lot", fields: [est("program_h", "Programming and fixtures", "hours"), est("setup_min", "Each set-up of the mill", "minutes"), num("sample_loops", "Rounds with the customer before the lot", "plain"), est("jaw_min", "Cutting a pocket in jaws", "minutes", { may: true }), est("jaws_each", "Metal of a pair of jaws", "money", { may: true }), est("print_per_cm3", "A printed block or plug", "money_cm3", { may: true })] },
      { says: "Work on each piece", fields: [est("handling_min", "Load, unload, rinse", "minutes"), est("rough_min_cm3", "Roughing mild steel", "min_cm3")] },
      { says: "Stock", fields: [num("stock_over_mm", "Saw-cut oversize on each side", "length"), est("saw_min", "Each cut of the saw", "minutes", { may: true }), num("kerf_mm", "What the blade turns to chips", "length", { may: true }), num("drop_share", "Of a bar's rest, paid by the lot", "share", { may: true })] },
      { says: "Learning by hand", fields: [num("learning.rate", "Minutes at each doubling of the lot", "share", { may: true, help: "95 %: the second piece in a pair takes 95 % of the first." }), num("learning.until", "Until piece", "count", { may: true }), text("learning.basis", "What that rests on", { may: true })] },
      { says: "Calendar", fields: [num("day_h", "Hours of a day at it", "hours"), text("calendar.zone", "Time zone", { may: true, help: "Such as Europe/London; empty means UTC." }),
        rows("calendar.week", "When somebody is in", "stretch", [one("day", "Day", [["mon", "Monday"], ["tue", "Tuesday"], ["wed", "Wednesday"], ["thu", "Thursday"], ["fri", "Friday"], ["sat", "Saturday"], ["sun", "Sunday"]]), f("time")("from", "From"), f("time")("to", "To")]),
        names("calendar.closed", "Days without work", { may: true, help: "One to a line: 2026-12-25, or a span 2026-12-24/2027-01-02." }), yes("calendar.nights", "Barrels and bowls may run on through the night"), yes("calendar.weekends", "and over days without work"), text("calendar.basis", "What that rests on", { may: true })] },
      { says: "As the shop reads its numbers", fields: [one("display", "Units", [["", "nothing said: millimetres"], ["metric", "millimetres"], ["inch", "inches"]], { may: true }), basis] },
    ],
  },
  {
    key: "envelope", says: "what the shop takes", one: "what the shop takes", single: true, about: "Parts beyond one of these go to a partner. An empty field or 0 sets no limit.",
    groups: [
      { says: "Size", fields: [some("max_mm", "Largest part", "length", ["longest side", "middle", "shortest"]), num("min_mm", "Longest side, at least", "length"), num("max_kg", "Heaviest part", "kg"), num("holes_under_mm", "No through hole or slot narrower than", "length")] },
      { says: "Kind", fields: [names("materials", "Metals", { help: "By their names on the shelf, one to a line; none for all." }), names("finishes", "Finishes", { help: "By their names on the shelf, one to a line; none for all." }), num("min_lot", "Smallest lot", "count"), num("max_lot", "Largest lot", "count"), long("notes", "Notes", { may: true })] },
    ],
  },
];

/** pathOf is where the records of a kind are, under /api/. */
export const pathOf = (k: Kind): string => k.path ?? `shelf/${k.key}`;

export const kindOf = (key: string): Kind | undefined => kinds.find((k) => k.key === key);
export const fieldsOf = (k: Kind): Field[] => k.groups.flatMap((g) => g.fields);

/** blank is an empty thing of a kind: with every key that is asked for. */
export function blank(fields: Field[]): Record<string, unknown> {
  const out: Record<string, unknown> = {};
  for (const x of fields) {
    if (x.may || x.at.includes(".")) continue;
    out[x.at] = x.as === "yes" ? false : x.as === "number" ? 0 : x.as === "estimate" ? { value: 0, low: 0, high: 0, basis: "" } : x.as === "numbers" ? x.each!.map(() => 0) : x.as === "names" || x.as === "rows" ? [] : x.as === "choice" ? choice(x, x.choices![0]![0]) : "";
  }
  return out;
}

/** choice is what is kept of a choice: some are numbers. */
export const choice = (x: Field, kept: string): unknown => (x.q === "count" ? Number(kept) : kept);

/** summary is one row of a list in a line: "5 × 20 mm, 1000 mm". */
export function summary(fields: Field[], row: unknown, unit: (x: Field) => Unit): string {
  const words = fields.flatMap((x): string[] => {
    const v = at(row, x.at), u = unit(x);
    switch (x.as) {
      case "yes": return v ? [x.says.toLowerCase()] : [];
      case "number": return v ? [`${shown(v, u)} ${u.says}`.trim()] : [];
      case "numbers": return Array.isArray(v) && v.some((n) => n) ? [`${v.map((n) => shown(n, u)).join(" × ")} ${u.says}`.trim()] : [];
      case "estimate": return at(v, "value") ? [`${shown(at(v, "value"), u)} ${u.says}`.trim()] : [];
      case "choice": return [x.choices!.find(([k]) => k === String(v ?? ""))?.[1] ?? ""].filter(Boolean);
      default: return v ? [String(v)] : [];
    }
  });
  return words.join(", ") || "nothing said yet";
}
