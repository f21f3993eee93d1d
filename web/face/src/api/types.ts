// Made by types.mjs from the shop's own description of its API; not written by hand.

export interface AcceptLimit {
  basis: string;
  high?: number;
  kind: string;
  low?: number;
  n: number;
  place: string;
  sample: number;
  says: string;
  unit: string;
}

export interface Acceptance {
  day: string;
  display?: string;
  first_article: (FirstArticle)[] | null;
  limits: (AcceptLimit)[] | null;
  look: string;
  notes: (string)[] | null;
  sample?: string;
  sampling: SamplingPlan;
}

export interface Accepting {
  token: string;
}

export interface Account {
  inputs: (Input)[] | null;
  law: string;
  of: string;
  source: string;
  step: number;
  unit: string;
  value: Estimate;
}

export interface Answer {
  accepted: boolean;
  day: string;
  look?: string;
  sample?: string;
  words?: string;
}

export interface Bearing {
  area_mm2: number;
  centre_mm: [number, number, number] | null;
  high_mm: number;
  jaw: number;
  lost_mm2: number;
  pressure_mpa: number;
  reach_mm: number;
  wide_mm: number;
}

export interface Booking {
  from: string;
  job?: string;
  number?: number;
  resource: string;
  title: string;
  to: string;
  what: string;
}

export interface Bottleneck {
  busy_h: Estimate;
  days: number;
  kind: string;
  name: string;
  says: string;
}

export interface Brief {
  aim?: string;
  body?: string;
  contact?: string;
  display?: string;
  edge_max_um?: number;
  finish: string;
  hidden?: (string)[] | null;
  language?: string;
  learning?: number;
  lot: number;
  material: string;
  model_units?: string;
  notes?: string;
  plain?: (string)[] | null;
  ra_max_um?: number;
  rz_max_um?: number;
  set_aside?: (string)[] | null;
  shop?: string;
  show?: (string)[] | null;
  steps?: (StepWish)[] | null;
  title?: string;
  tolerance_um?: number;
  tone?: string;
  up?: [number, number, number] | null;
}

export interface Buff {
  mop: string;
  open_share: number;
}

export interface Calendar {
  basis?: string;
  closed?: (string)[] | null;
  nights: boolean;
  week?: (WorkDay)[] | null;
  weekends: boolean;
  zone?: string;
}

export interface Caution {
  basis: string;
  defer: string;
  id: string;
  says: string;
  steps: (string)[] | null;
}

export interface Chance {
  p: number;
  word: string;
}

export interface Charge {
  apart?: string;
  change_liquid_h: number;
  compound: string;
  compound_ml: Estimate;
  critical_rpm: number;
  fill_share: number;
  first_look_h: number;
  froude: number;
  hours: Estimate;
  hours_to: (LookHours)[] | null;
  jams: (Jam)[] | null;
  last_load_parts: number;
  leaves: (LeftAsCut)[] | null;
  loads: number;
  looks_h: (number)[] | null;
  media: string;
  media_kg: number;
  media_l: number;
  media_to_parts_by_volume: number;
  parts_per_load: number;
  reached_share: number;
  rpm: number;
  step: number;
  tone?: string;
  tones: (ToneChoice)[] | null;
  vent_every_h: number;
  vessel: string;
  water_l: Estimate;
  water_level: string;
}

export interface CheckFinding {
  about: string;
  says: string;
}

export interface CheckReport {
  file_bytes: number;
  files: number;
  findings: (CheckFinding)[] | null;
  leftovers: (string)[] | null;
  links: number;
  more?: number;
  records: number;
  revisions: number;
  sound: boolean;
  tasks: number;
}

export interface Compared {
  at_h: number;
  day: string;
  doing: string;
  inside: boolean;
  job: string;
  kind: string;
  measured: number;
  media?: string;
  name: string;
  predicted: Estimate;
  read: number;
  run: string;
  says: string;
  step: string;
  title: string;
  unit: string;
  vessel?: string;
}

export interface Comparison {
  inside: number;
  numbers: (Compared)[] | null;
}

export interface Corner {
  angle_deg: number;
  at_mm: [number, number, number] | null;
  id: string;
  length_mm: number;
  opening?: string;
  radius_mm: number;
  zone?: string;
}

export interface Cost {
  basis: string;
  high: Money;
  low: Money;
  value: Money;
}

export interface Course {
  class: string;
  from_um: number;
  hours: (number)[] | null;
  left_out: (string)[] | null;
  limit_ra_um: Estimate;
  material: string;
  media: string;
  ra_um: (Estimate)[] | null;
  readings: (CourseReading)[] | null;
  removal_um_h: Estimate;
  removed_um: (Estimate)[] | null;
  time_constant_h: Estimate;
  title: string;
  tone: string;
  vessel: string;
}

export interface CourseReading {
  at_h: number;
  day: string;
  kind: string;
  of: "ra" | "removed";
  on_h: number;
  part: string;
  read: number;
  run: string;
  um: Estimate;
}

export interface Curve {
  cutter: string;
  fits: boolean;
  points: (CurvePoint)[] | null;
  reach: number;
  why: string;
  zone: string;
}

export interface CurvePoint {
  cusp_um: number;
  minutes: number;
  ra_um: number;
  stepover_mm: number;
}

export interface Customer {
  contact?: string;
  name: string;
  notes?: string;
}

export interface Cut {
  above_mm: number;
  cutter: string;
  depth_mm: number;
  diameter_mm: number;
  feed_per_tooth_mm: number;
  flutes: number;
  helix_deg: number;
  says: string;
  wide_mm: number;
}

export interface Cutter {
  basis: string;
  corner_radius_mm: number;
  diameter_mm: number;
  flute_length_mm: number;
  flutes: number;
  life_h: Estimate;
  name: string;
  price: Estimate;
  reach_mm: number;
  shape: string;
  title: string;
  used_h?: number;
}

export interface Dearest {
  each: Cost;
  finish_share: number;
  says: string;
  share: number;
  step: string;
}

export interface EdgeRadius {
  radius_um: number;
  removed_um: number;
}

export interface EdgeWear {
  angle_deg: number;
  exposure: number;
  id: string;
  length_mm: number;
  opening?: string;
  place: string;
  radii: (EdgeRadius)[] | null;
  zone: string;
}

export interface Ending {
  ended?: string;
  hours?: number;
}

export interface Envelope {
  finishes: (string)[] | null;
  holes_under_mm: number;
  materials: (string)[] | null;
  max_kg: number;
  max_lot: number;
  max_mm: [number, number, number] | null;
  min_lot: number;
  min_mm: number;
  notes?: string;
}

export interface Estimate {
  basis: string;
  high: number;
  low: number;
  value: number;
}

export interface Face {
  area_mm2: number;
  at_mm: [number, number, number] | null;
  axis: [number, number, number] | null;
  colour?: string;
  error_um: number;
  half_angle_deg?: number;
  hollow: boolean;
  id: number;
  kind: string;
  major_radius_mm?: number;
  radius_mm?: number;
}

export interface FaceAllowance {
  least: number;
  most: number;
  opening?: string;
  place: string;
  ratio: number;
  zone: string;
}

export interface Fault {
  location?: string;
  message: string;
}

export interface FileBody {
  area_mm2: number;
  box_mm: Span;
  colour?: string;
  in: (string)[] | null;
  name: string;
  number: number;
  solid: boolean;
  taken: boolean;
  volume_mm3: number;
}

export interface FirstArticle {
  high?: number;
  low?: number;
  measured?: number;
  name?: string;
  number: number;
  place?: string;
  right?: boolean;
  unit: string;
  wanted: string;
  what: string;
}

export interface Fit {
  because: (Refusal)[] | null;
  open: (Refusal)[] | null;
  ours: boolean;
}

export interface Grit {
  backing: string;
  basis: string;
  grain_um: number;
  name: string;
  number: number;
  price_sheet: Estimate;
  ra_um: Estimate;
  rz_um: Estimate;
  scale: string;
  thick_mm: Estimate;
}

export interface Health {
  status: "ok";
}

export interface Holding {
  assumes: (string)[] | null;
  cut: Cut;
  factor: Estimate;
  force_n: Estimate;
  lift_n: Estimate;
  ok: boolean;
  says: string;
  wanted: number;
  ways: (HoldingWay)[] | null;
}

export interface HoldingWay {
  factor: Estimate;
  holds: Estimate;
  name: string;
  pulls: Estimate;
  says: string;
  unit: string;
}

export interface Input {
  name: string;
  share: number;
  unit: string;
  value: Estimate;
}

export interface Invite {
  qr_svg: string;
  url: string;
}

export interface Inviting {
  role?: "hand" | "owner";
}

export interface Jam {
  chance: Chance;
  enters: string;
  hours_to_fit?: Estimate;
  media: string;
  opening: string;
  ratio: number;
  state: string;
  why: string;
}

export interface JawBore {
  diameter_mm: number;
  hole: number;
  jaw: number;
  x_mm: number;
  y_mm: [number, number] | null;
  z_mm: number;
}

export interface JawCut {
  clearance_mm: number;
  date?: string;
  jaw: number;
  name: string;
  part: string;
  pocket: string;
  pose: PocketPose;
  sha256: string;
  slabs: (JawSlab)[] | null;
}

export interface JawHole {
  both_faces: boolean;
  diameter_mm: number;
  head_deep_mm: number;
  head_mm: number;
  x_mm: number;
  z_mm: number;
}

export interface JawPocket {
  bearings: [Bearing, Bearing] | null;
  cautions: (Caution)[] | null;
  clearance_mm: number;
  cutter: string;
  cutter_mm: number;
  depth_mm: number;
  fit: PocketFit;
  groove_cutter?: string;
  holding?: Holding;
  id: string;
  levels: (PocketLevel)[] | null;
  loads: string;
  loads_clear: boolean;
  name: string;
  pair: string;
  part: string;
  pose: PocketPose;
  reliefs: (PocketRelief)[] | null;
  room: (JawRoom)[] | null;
  sha256: string;
  stepped: boolean;
  stop: PocketStop;
  taken_mm3: number;
  tried: (JawTried)[] | null;
  warnings: (string)[] | null;
}

export interface JawRoom {
  jaw: number;
  mm: number;
  ok: boolean;
  to: string;
  wants_mm: number;
}

export interface JawSlab {
  high_mm: number;
  loops: (([number, number] | null)[] | null)[] | null;
  low_mm: number;
}

export interface JawTried {
  ok: boolean;
  pair: string;
  pose: PocketPose;
  says: string;
  support_mm2: number;
}

export interface Jaws {
  basis: string;
  clamp_n?: Estimate;
  cuts?: (JawCut)[] | null;
  friction?: Estimate;
  height_mm: number;
  holes?: (JawHole)[] | null;
  metal: string;
  name: string;
  open_mm: number;
  thick_mm: number;
  title: string;
  width_mm: number;
}

export interface Job {
  acceptance?: Acceptance;
  brief: Brief;
  checks?: (LotCheck)[] | null;
  due?: string;
  notes?: string;
  state: string;
  title: string;
}

export interface JobStory {
  customer?: Customer;
  file?: ModelFile;
  history: (AnyRecord)[] | null;
  job: AnyRecord;
  offers: (StoryOffer)[] | null;
  plans: (StoryPlan)[] | null;
  runs: (Run)[] | null;
}

export interface Learned {
  next: (NextReading)[] | null;
  parameters: (Parameter)[] | null;
  readings: number;
  refused: (string)[] | null;
  runs: number;
  warnings: (string)[] | null;
}

export interface Learning {
  basis: string;
  rate: number;
  until?: number;
}

export interface LeftAsCut {
  area_mm2: number;
  at_mm: [number, number, number] | null;
  opening?: string;
  place: string;
  radius_mm: number;
  says: string;
  zone: string;
}

export interface Logbook {
  runs: (Run)[] | null;
  shop?: string;
}

export interface Look {
  basis: string;
  cusps_may_show: boolean;
  edge_radius_um: Estimate;
  lay: string;
  mark_chance: number;
  name: string;
  ra_um: Estimate;
  says: string;
  specular_share: number;
  title: string;
  tone?: string;
}

export interface LookHours {
  hours: Estimate;
  look: string;
  never: boolean;
  says: string;
}

export interface Looked {
  bad: number;
  looked?: number;
}

export interface LookedAt {
  at_h: number;
}

export interface LotCheck {
  again?: boolean;
  bad: number;
  day: string;
  looked: number;
  says: string;
  severity: string;
  taken: boolean;
}

export interface LotPrice {
  alone_h: Estimate;
  attended_h: Estimate;
  bottleneck: Bottleneck;
  cost: Cost;
  each: Cost;
  lines: (PriceLine)[] | null;
  lot: number;
  price: Cost;
}

export interface Machine {
  accel_xy_m_s2: Estimate;
  accel_z_m_s2: Estimate;
  basis: string;
  blocks_per_s: Estimate;
  max_feed_mm_min: number;
  max_rpm: number;
  name: string;
  rate_per_h: Estimate;
  title: string;
  travel_mm: [number, number, number] | null;
}

export interface MappedStep {
  grade: string;
  hours_now?: Estimate;
  hours_was?: Estimate;
  now: string;
  says: (string)[] | null;
  uses: (Stand)[] | null;
  was: string;
}

export interface Mapping {
  missing: (string)[] | null;
  ready: boolean;
  recipe: string;
  steps: (MappedStep)[] | null;
  wishes: (StepWish)[] | null;
}

export interface Mark {
  cause: string;
  depth_um: Estimate;
  height_um: Estimate;
  lay: string;
  left: number;
  rq_um: number;
  says?: string;
  seen: Chance;
  slope_mrad: number;
  wavelength_mm: number;
  zone: string;
}

export interface Mask {
  place: string;
  says: string;
}

export interface Material {
  aliases?: (string)[] | null;
  basis: string;
  caution?: string;
  class: string;
  cut_speed_m_min: Estimate;
  density_g_cm3: number;
  dust_fire: boolean;
  feed_per_tooth_mm: Estimate;
  hardness_hb: number;
  hydrogen_l_per_g: number;
  iso_group: string;
  kc11_n_mm2: number;
  mc: number;
  name: string;
  price_per_kg: Estimate;
  rusts: boolean;
  sold?: (StockSize)[] | null;
  title: string;
}

export interface Me {
  has_passcode: boolean;
  needs_passcode: boolean;
  role: "nobody" | "hand" | "owner";
}

export interface Measured {
  line: number;
  measured: number;
}

export interface Media {
  basis: string;
  bulk_kg_l: number;
  cut_factor: Estimate;
  dry: boolean;
  hours_run: number;
  kind: string;
  limit_ra_um: Estimate;
  lots?: (MediaLot)[] | null;
  name: string;
  on_shelf_l: number;
  price_per_kg: Estimate;
  shape: string;
  silica: boolean;
  size_mm: [number, number] | null;
  start_ra_um: number;
  time_factor: Estimate;
  title: string;
  wear_barrel_pct_h: Estimate;
  wear_bowl_pct_h: Estimate;
  worn_share: number;
}

export interface MediaLot {
  bought?: string;
  hours_run: number;
  kg: number;
  measured_mm?: [number, number] | null;
  measured_on?: string;
  name: string;
}

export interface MediaReach {
  jam_chance: number;
  jams: (Jam)[] | null;
  leaves: (LeftAsCut)[] | null;
  name: string;
  rank: number;
  reached_share: number;
  title: string;
  why: string;
  worn_reached_share: number;
  zones: (ZoneReach)[] | null;
}

export interface MediaWear {
  discard: WearWhen;
  hours_a_week: number | null;
  into: (WearInto)[] | null;
  name: string;
  now_mm: [number, number] | null;
  now_share: Estimate;
  title: string;
  uses: string;
}

export interface ModelFile {
  bytes: number;
  file: string;
  notes?: string;
  sha256: string;
  version: number;
}

export interface Money {
  currency: string;
  minor: number;
}

export interface Mop {
  bar_cost: Estimate;
  basis: string;
  compound: string;
  contact_mm: number;
  cut_um_min_per_100_cm2: Estimate;
  limit_ra_um: Estimate;
  min_per_100_cm2: Estimate;
  name: string;
  start_ra_um: number;
  title: string;
  wheel: string;
}

export interface Move {
  days: number;
  ready: string;
  says: string;
  what: string;
}

export interface NewPasscode {
  passcode: string;
  role: "hand" | "owner";
}

export interface NextReading {
  at_h: number;
  kind: string;
  media?: string;
  narrows: number;
  says: string;
}

export interface NotJudged {
  job: string;
  says: string;
  title: string;
}

export interface Now {
  do?: string;
  due?: string;
  gone_h?: number;
  id: string;
  job?: string;
  load?: number;
  loads?: number;
  look?: string;
  look_in_h?: number;
  name?: string;
  number?: number;
  started?: string;
  state?: string;
  step?: string;
  title: string;
  to_go_h?: Estimate;
  vessel?: string;
}

export interface Offer {
  aim?: string;
  alone_h: Estimate;
  asked: boolean;
  attended_h: Estimate;
  chance: number;
  day?: string;
  each: Cost;
  ladder?: (OfferRung)[] | null;
  look: string;
  meets: boolean;
  ra_um: Estimate;
  ready_h: Estimate;
  says: string;
  steps: (string)[] | null;
  title: string;
}

export interface OfferRung {
  each: Cost;
  lot: number;
  price: Cost;
}

export interface Offering {
  plan?: string;
  until?: string;
  words?: string;
}

export interface OlderCut {
  date?: string;
  edges: ((PlanEdge)[] | null)[] | null;
  high_mm: number;
  jaw: number;
  low_mm: number;
  name: string;
  part: string;
  pocket: string;
  sha256: string;
}

export interface Opening {
  at_mm: [number, number, number] | null;
  axis: [number, number, number] | null;
  cell_mm: number;
  depth_mm: number;
  form?: string;
  id: string;
  inside_radius_mm: number;
  kind: string;
  length_mm: number;
  profile: (Width)[] | null;
  through: boolean;
  why?: string;
  widest_mm: number;
  width_mm: number;
}

export interface OpeningName {
  id: string;
  kind: string;
  width_mm: number;
}

export interface Parameter {
  class?: string;
  media?: string;
  n: number;
  name: string;
  prior: Estimate;
  says: string;
  tone?: string;
  unit: string;
  value: Estimate;
  vessel?: string;
}

export interface Part {
  name: string;
  notes?: string;
  number?: string;
}

export interface Pass {
  crossed: boolean;
  cusp_um: number;
  cutter: string;
  facet_mm: number;
  facet_turn_deg: number;
  feed_mark_um: number;
  feed_mm_min: number;
  reach: number;
  simulated?: Simulated;
  spindle_rpm: number;
  stepover_mm: number;
  tolerance_um: number;
}

export interface Passcode {
  passcode: string;
}

export interface Photo {
  file: string;
  height_px: number;
  says?: string;
  sha256: string;
  type: string;
  width_px: number;
}

export interface Plan {
  accounts: (Account)[] | null;
  allowance_um: Record<string, Estimate>;
  brief: Brief;
  cautions: (Caution)[] | null;
  chance: number;
  charges: (Charge)[] | null;
  curves: (Curve)[] | null;
  edges: (EdgeWear)[] | null;
  left_out: (string)[] | null;
  look: Look;
  masks: (Mask)[] | null;
  material: Material;
  meets: boolean;
  mill: Machine;
  missing: (string)[] | null;
  offers: (Offer)[] | null;
  plugs: (Plug)[] | null;
  price: Price;
  ready_h: Estimate;
  route: (Step)[] | null;
  rules: (Rule)[] | null;
  search: Search;
  shop?: string;
  solids: (Solid)[] | null;
  stock: Stock;
  survey: Survey;
  title: string;
  verdict: string;
  warnings: (string)[] | null;
  zones: (Zone)[] | null;
}

export interface PlanEdge {
  centre_mm?: [number, number] | null;
  from_mm: [number, number] | null;
  left?: boolean;
  radius_mm?: number;
  to_mm: [number, number] | null;
}

export interface PlanInputs {
  brief: Brief;
  file: string;
  log_sha256?: string;
  mill?: string;
  model_sha256: string;
  paper: string;
  program: string;
  shelf_sha256: string;
}

export interface PlanSheet {
  each: Cost;
  files: (SheetFile)[] | null;
  finish: string;
  from: PlanInputs;
  lot: number;
  material: string;
  meets: boolean;
  ready_h: Estimate;
  title: string;
  verdict: string;
}

export interface Plug {
  frees: (string)[] | null;
  opening: string;
  says: string;
  with: (string)[] | null;
}

export interface PocketCut {
  pocket: string;
  wish: PocketWish;
}

export interface PocketFit {
  least_mm: number;
  wanted_mm: number;
}

export interface PocketLevel {
  area_mm2: number;
  depth_mm: number;
  edges: ((PlanEdge)[] | null)[] | null;
  relief: boolean;
  says: string;
}

export interface PocketPose {
  across_mm: number;
  down: [number, number, number] | null;
  fixed_jaw: string;
  gap_mm: number;
  grip_mm: number;
  moving_jaw: string;
  shift_mm: number;
  swapped?: boolean;
  turn_deg: number;
}

export interface PocketRelief {
  at_mm: [number, number] | null;
  inside_deg: number;
  radius_mm: number;
}

export interface PocketStop {
  area_mm2: number;
  at_mm: [number, number, number] | null;
  jaw: number;
  says: string;
  towards: [number, number] | null;
}

export interface PocketWish {
  fixed_jaw?: string;
  grip_mm?: number;
  moving_jaw?: string;
  pair?: string;
  reuse?: string;
  shift_mm?: number;
  swapped?: boolean;
  turn_deg?: number;
}

export interface Price {
  alone_h: Estimate;
  attended_h: Estimate;
  basis: string;
  bottleneck: Bottleneck;
  cost: Cost;
  currency: string;
  dearest?: Dearest;
  each: Cost;
  ladder: (LotPrice)[] | null;
  lines: (PriceLine)[] | null;
  lot: number;
  price: Cost;
  rounding: string;
}

export interface PriceLine {
  alone_min: Estimate;
  attended_min: Estimate;
  cost: Cost;
  key: string;
  name: string;
  once: boolean;
  says: string;
}

export interface Problem {
  code: "no" | "invalid" | "not_found" | "bad_file" | "conflict" | "denied" | "full" | "internal";
  detail: string;
  errors?: (Fault)[];
  instance?: string;
  status: number;
  title: string;
}

export interface Promise {
  basis: string;
  bookings: (Booking)[] | null;
  chain: (string)[] | null;
  day: string;
  from: string;
  likely: string;
  moves: (Move)[] | null;
  safe: string;
  steps: (PromiseStep)[] | null;
}

export interface PromiseStep {
  from: string;
  key: string;
  load?: number;
  looks: (string)[] | null;
  name: string;
  number?: number;
  resource: string;
  step: number;
  to: string;
  waits: string;
}

export interface Promising {
  from?: string;
  move?: boolean;
}

export interface Proposal {
  answer?: Answer;
  offers: (Offer)[] | null;
  sent?: string;
  until?: string;
  words?: string;
}

export interface Quantiles {
  max: number;
  p50: number;
  p95: number;
}

export interface Rates {
  basis: string;
  calendar?: Calendar;
  compound_per_l: Estimate;
  currency: string;
  day_h: number;
  display?: string;
  drop_share?: number;
  handling_min: Estimate;
  jaw_min?: Estimate;
  jaws_each?: Estimate;
  kerf_mm?: number;
  learning?: Learning;
  margin_share: number;
  person_per_h: Estimate;
  print_per_cm3?: Estimate;
  program_h: Estimate;
  rough_min_cm3: Estimate;
  sample_loops: number;
  saw_min?: Estimate;
  scrap_share: number;
  setup_min: Estimate;
  stock_over_mm: number;
}

export interface Reach {
  allowances: (FaceAllowance)[] | null;
  cell_mm: number;
  edges: (EdgeWear)[] | null;
  file: string;
  masks: (Mask)[] | null;
  media: (MediaReach)[] | null;
  openings: (Opening)[] | null;
  plugs: (Plug)[] | null;
  sha256: string;
  warnings: (string)[] | null;
  zones: (Zone)[] | null;
}

export interface Reached {
  reach: Reach;
  values: Record<string, string>;
}

export interface Reading {
  at_h: number;
  depth_um?: number;
  kind: string;
  place?: string;
  spread?: number;
  value: number;
}

export interface ReadingKept {
  body: Reading;
  by: string;
  id: string;
  made: string;
  rev: number;
}

export interface AnyRecord {
  body: unknown;
  by: string;
  changed: string;
  deleted?: string;
  files?: Record<string, string>;
  id: string;
  kind: string;
  links?: Record<string, string>;
  made: string;
  name: string;
  rev: number;
}

export interface Refusal {
  limit: string;
  says: string;
}

export interface Repair {
  count: number;
  kind: string;
  says: string;
}

export interface Rub {
  block: string;
  grit: string;
  paper_cm2: Estimate;
  stroke_deg: number;
  take_off_um: Estimate;
  wet: boolean;
}

export interface Rule {
  cut: number;
  id: string;
  says: string;
  set_aside: boolean;
}

export interface Run {
  area_mm2?: number;
  day: string;
  ended?: string;
  grit?: string;
  hours_run?: number;
  id: string;
  kind: string;
  looked_h?: number;
  material: string;
  media?: string;
  notes?: string;
  part?: string;
  pieces?: number;
  readings: (Reading)[] | null;
  size_mm?: number;
  started?: string;
  step?: string;
  step_number?: number;
  tone?: string;
  vessel?: string;
}

export interface RunKept {
  body: Run;
  by: string;
  id: string;
  number: number;
  readings: (ReadingKept)[] | null;
  rev: number;
}

export interface Sampling {
  aql?: number;
  level?: "S1" | "S2" | "S3" | "S4" | "I" | "II" | "III";
  sample?: string;
}

export interface SamplingPlan {
  accept: number;
  all: boolean;
  aql: number;
  letter: string;
  level: string;
  lot: number;
  reject: number;
  says: string;
  severity: string;
  size: number;
  source: string;
}

export interface Search {
  cut: number;
  proved: boolean;
  ways: number;
  within: number;
}

export interface SheetFile {
  bytes: number;
  name: string;
  sha256: string;
}

export interface Shelf {
  cutters: (Cutter)[] | null;
  grits: (Grit)[] | null;
  jaws: (Jaws)[] | null;
  looks: (Look)[] | null;
  machines: (Machine)[] | null;
  materials: (Material)[] | null;
  media: (Media)[] | null;
  mops: (Mop)[] | null;
  rates: Rates;
  softs: (Soft)[] | null;
  vessels: (Vessel)[] | null;
}

export interface ShelfWear {
  at: string;
  left_out: (NotJudged)[] | null;
  media: (MediaWear)[] | null;
}

export interface Simulated {
  at_mm: [number, number, number] | null;
  cell_um: number;
  cusp_um: number;
  cutoff_mm: number;
  model_facets_um: number;
  ra_um: number;
  rz_um: number;
  sa_um: number;
  sdq_mrad: number;
  size_mm: [number, number] | null;
  slope_deg: number;
  sq_um: number;
  sz_um: number;
}

export interface Soft {
  basis: string;
  least_mm: number;
  name: string;
  printed: boolean;
  says: string;
  shore_a: number;
  squeeze: Estimate;
  title: string;
}

export interface Solid {
  closed: boolean;
  file: string;
  for: string;
  kind: string;
  picture?: string;
  says: string;
  volume_mm3: number;
}

export interface Span {
  x: [number, number] | null;
  y: [number, number] | null;
  z: [number, number] | null;
}

export interface Stand {
  grade: string;
  kind: string;
  now?: string;
  says: string;
  was: string;
}

export interface Step {
  buff?: Buff;
  caution: string;
  charge?: Charge;
  cost: Cost;
  do: string;
  edge_radius_um: Estimate;
  key: string;
  kind: string;
  look: string;
  marks: (Mark)[] | null;
  minutes_alone: Estimate;
  minutes_attended: Estimate;
  name: string;
  pass?: Pass;
  ra_um: Estimate;
  removed_um: Estimate;
  rub?: Rub;
  texture_lay?: string;
  texture_mm?: number;
  why: (string)[] | null;
  zone: string;
}

export interface StepToDo {
  alone: boolean;
  caution: string;
  defer?: string;
  do: string;
  grit?: string;
  hours: Estimate;
  key: string;
  kind: string;
  loads?: number;
  look: string;
  looks_h: (number)[] | null;
  mark_um?: number;
  media?: string;
  name: string;
  number: number;
  openings: (OpeningName)[] | null;
  pieces?: number;
  ra_um: Estimate;
  vent_h?: number;
  vessel?: string;
}

export interface StepWish {
  crossed?: boolean;
  do: string;
  hours?: number;
  step: string;
  stepover_mm?: number;
  with?: string;
}

export interface Steps {
  at: string;
  finish: string;
  job: string;
  lot: number;
  plan: string;
  runs: (RunKept)[] | null;
  steps: (StepToDo)[] | null;
  title: string;
}

export interface Stock {
  bar?: StockSize;
  bars?: number;
  cut_mm?: number;
  drop_mm?: number;
  kg: number;
  per_bar?: number;
  says: string;
  size_mm: [number, number, number] | null;
}

export interface StockSize {
  length_mm: number;
  price_each?: Estimate;
  price_per_kg?: Estimate;
  round?: boolean;
  section_mm: [number, number] | null;
}

export interface StoryOffer {
  id: string;
  offer: Proposal;
}

export interface StoryPlan {
  id: string;
  made: string;
  sheet: PlanSheet;
}

export interface Survey {
  area_mm2: number;
  beside: (string)[] | null;
  bodies: number;
  box_mm: Span;
  centroid_mm: [number, number, number] | null;
  closed: boolean;
  corners: (Corner)[] | null;
  curvature_noise_per_mm: number;
  faces: (Face)[] | null;
  file: string;
  format: string;
  in_file: (FileBody)[] | null;
  openings: (Opening)[] | null;
  principal_mm: [number, number, number] | null;
  repairs: (Repair)[] | null;
  sha256: string;
  sharp_edge_mm: number;
  size_mm: [number, number, number] | null;
  triangles: number;
  units: string;
  units_from: string;
  vertices: number;
  volume_mm3: number;
  warnings: (string)[] | null;
  zones: (Zone)[] | null;
}

export interface Taken {
  changed: number;
}

export interface Task {
  args: unknown;
  attempt: number;
  by: string;
  changed: string;
  doing: string;
  done: number;
  ended?: string;
  id: string;
  key: string;
  kind: string;
  made: string;
  result?: unknown;
  started?: string;
  state: string;
  total: number;
  why?: string;
}

export interface TaskPage {
  next?: string;
  tasks: (Task)[];
}

export interface Today {
  at: string;
  jobs: (Now)[] | null;
  running: (Now)[] | null;
  steps: (Now)[] | null;
  waiting: (Now)[] | null;
}

export interface ToneChoice {
  compound_ml: Estimate;
  hours: Estimate;
  level: string;
  says: string;
  tone: string;
  water_l: Estimate;
}

export interface TriedPass {
  minutes: number;
  pass: Pass;
  picture: string;
  ra_um: number;
  says: string;
  wide_mm: number;
}

export interface TriedPocket {
  bores: (JawBore)[] | null;
  files: Record<string, string>;
  older: (OlderCut)[] | null;
  pair: Jaws;
  pocket: JawPocket;
  wish: PocketWish;
}

export interface Unpacked {
  from?: string;
  job: string;
  mapping: Mapping;
  not_ours: (Refusal)[] | null;
  title: string;
}

export interface Vessel {
  basis: string;
  closed: boolean;
  count?: number;
  diameter_mm: number;
  dose_ml_l?: number;
  dry: boolean;
  free_in_h?: number;
  kind: string;
  max_load_kg: number;
  name: string;
  rate_per_h: Estimate;
  rpm_range: [number, number] | null;
  speedup: Estimate;
  title: string;
  volume_l: number;
  wet: boolean;
}

export interface WearInto {
  chance: Chance;
  day?: string;
  early?: string;
  hours?: Estimate;
  job: string;
  kind: string;
  late?: string;
  opening: string;
  title: string;
  when: "already" | "later" | "never";
  why: string;
  width_mm: number;
}

export interface WearWhen {
  day?: string;
  early?: string;
  hours?: Estimate;
  late?: string;
  when: "already" | "later" | "never";
}

export interface Width {
  depth_mm: number;
  width_mm: number;
}

export interface WorkDay {
  day: string;
  from: string;
  to: string;
}

export interface Zone {
  area_mm2: number;
  class: string;
  concave_radius_mm: number;
  convex_radius_mm: number;
  edge_mm: number;
  faces: (number)[] | null;
  facets: number;
  id: string;
  inside_corner_mm: number;
  name: string;
  sharp_inside: boolean;
  size_mm: [number, number, number] | null;
  slope_deg: Quantiles;
  up: [number, number, number] | null;
  why: string;
}

export interface ZoneReach {
  exposure: number;
  reached_share: number;
  removal: number;
  worn_reached_share: number;
  zone: string;
}

/** Kept is one thing that the shop keeps, in one of its revisions. */
export interface Kept<T> {
  id: string;
  rev: number;
  name: string;
  links: Record<string, string> | null;
  files: Record<string, string> | null;
  made: string;
  changed: string;
  by: string;
  deleted: string | null;
  body: T;
}
