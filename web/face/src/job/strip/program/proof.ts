// What a program will do and leave, as the shop writes it down. Lengths are in mm and in
// program coordinates; what is not known is null.
import type { Estimate, Quantiles } from "../../../api/types.ts";

export interface Range3 {
  x: [number, number];
  y: [number, number];
  z: [number, number];
}

export interface FirstCut {
  tool: number;
  line: number;
  depth_mm: number;
  width_mm: number;
  nominal_depth_mm: number;
  nominal_width_mm: number;
  at_mm: [number, number, number];
  force_n?: Estimate | null;
}

export interface Facets {
  chords: number;
  length_mm: Quantiles;
  turn_deg: Quantiles;
  visible: boolean;
  corners: number;
}

export interface ProofTool {
  number: number;
  cutter: string;
  length: number[] | null;
  minutes: number;
  cut_minutes: number;
  feed_length_mm: number;
  feed_box_mm: Range3 | null;
  spindle_rpm: number[] | null;
  feeds: number[] | null;
  mean_feed_mm_min: number;
  first_cut: FirstCut | null;
  facets: Facets | null;
  zone_share: number;
}

export interface PassSet {
  direction_deg: number;
  spacing_mm: Quantiles;
  cusp_um: number;
}

export interface Finding {
  severity: "wrong" | "check" | "note";
  line: number;
  kind: string;
  says: string;
  try: string;
}

export interface Proof {
  file: string;
  number: string;
  title: string;
  units: string;
  lines: number;
  motion_blocks: number;
  arcs: number;
  feed_length_mm: number;
  rapid_length_mm: number;
  feed_box_mm: Range3 | null;
  rapid_box_mm: Range3 | null;
  offsets: string[] | null;
  offset: string;
  tools: ProofTool[] | null;
  spindle_rpm: number[] | null;
  feeds: number[] | null;
  not_understood: { line: number; text: string; consequence: string }[] | null;
  time_s: number;
  cut_s: number;
  rapid_s: number;
  dwell_s: number;
  tool_change_s: number;
  time_basis: string;
  first_cut: FirstCut | null;
  regions: { tool: number; first_line: number; last_line: number; blocks: number; feed_length_mm: number; feed_mm_min: number; box_mm: Range3; passes: PassSet[] | null }[] | null;
  facets: Facets | null;
  cell_um: number;
  zones: string[] | null;
  zone_mm2: number;
  cusp_um: Quantiles | null;
  sq_um: number | null;
  sa_um: number | null;
  lay_deg: number | null;
  lay: string;
  gouge_mm: number | null;
  gouge_at_mm: [number, number] | null;
  gouge_line: number;
  left_mm: number | null;
  left_p95_mm: number | null;
  left_at_mm: [number, number] | null;
  untouched: number | null;
  findings: Finding[] | null;
  advice: string;
}

/** ProofAnswer is a proof task's result: where it is stored. */
export interface ProofAnswer {
  proof: string;
  picture?: string;
  map?: string;
}
