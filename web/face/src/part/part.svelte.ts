// The part of a job as it is shown: its mesh, what is known of it, what was chosen.
import { Problem } from "../api/ask.ts";
import { worked, type Watched } from "../api/task.svelte.ts";
import type { Jam, Media, Reach, Reached, Shelf, Survey, Zone } from "../api/types.ts";
import type { OpenJob } from "../job/open.svelte.ts";
import { chance, share, sig } from "../say/units.ts";
import { shop } from "../shop.svelte.ts";
import { floats } from "./buffer.ts";
import { allowances, byCorner, choices, classOf, cuspValues, ends, jamValues, linesOf, looks, taken, tellings, tones, worst, type Choice, type Telling } from "./choices.ts";
import { classes, metal } from "./colours.ts";
import { meet, meshOf, stops, type Mesh, type Stop, type Vec } from "./mesh.ts";
import type { Coat, Tag } from "./picture.ts";

/** Scale is how values are read: the unit stands at each. */
export interface Scale {
  name: string;
  unit: string;
  to: (v: number) => number;
  say: (v: number) => string;
}

export interface Shown {
  coat: Coat | null;
  scale: Scale | null;
  /** Words beside the part: what it rests on, or why nothing is there. */
  says: string[];
}

export interface Spot {
  at: Vec;
  triangle: number;
  value: number;
}

const plainScale = (name: string): Scale => ({ name, unit: "%", to: (v) => 100 * v, say: (v) => share(v) });

export class PartState {
  readonly open: OpenJob;
  readonly most: number;
  mesh: Mesh | null = $state.raw(null);
  survey: Survey | null = $state.raw(null);
  shelf: Shelf | null = $state.raw(null);
  /** What is being worked out, and what for. */
  watched: { name: string; of: Watched } | null = $state.raw(null);
  fault = $state("");
  choice: Choice = $state("zones");
  media = $state("");
  /** Whose jams are shown: of the plan's charges ("plan") or of one media. */
  jamBy = $state("plan");
  telling: Telling = $state("reached_new");
  spot: Spot | null = $state.raw(null);
  /** What media do here, as far as it was asked. */
  reached: { [media: string]: { doc: Reach; mesh: Mesh } } = $state.raw({});
  asking = $state("");
  /** Ends of the scale that someone set, by choice. */
  set: { [choice: string]: { low: number; high: number } } = $state({});
  #stop = new AbortController();
  #file = "";
  #stops: Stop[] = [];

  constructor(open: OpenJob, most: number) {
    this.open = open;
    this.most = most;
  }

  #query(more: Record<string, string> = {}): string {
    const b = this.open.job?.body.brief;
    const q = new URLSearchParams(more);
    if (b?.model_units) q.set("units", b.model_units);
    if (b?.body) q.set("body", b.body);
    return q.size ? `?${q}` : "";
  }

  /** The file and what is said of it: another one is another part. */
  get source(): string {
    const file = this.open.job?.links?.file;
    return file ? `files/${file}` : "";
  }

  /** load fetches the part where it is another than the one that is there. */
  async load(): Promise<void> {
    const at = this.source;
    const whole = at + this.#query();
    if (!at || whole === this.#file) return;
    this.#file = whole;
    this.fault = "";
    this.mesh = this.survey = this.spot = null;
    this.reached = {};
    try {
      const seen = (of: Watched) => (this.watched = { name: "Looking at the part", of });
      const answer = await worked(`${at}/mesh${this.#query({ most: String(this.most) })}`, seen);
      const mesh = await meshOf(await answer.arrayBuffer(), this.#stop.signal);
      this.survey = (await (await worked(`${at}/survey${this.#query()}`, seen)).json()) as Survey;
      if (this.#file !== whole) return;
      this.mesh = mesh;
      this.#stops = stops(mesh);
      this.shelf = await shop.shelf();
      this.media ||= this.open.plan?.charges?.[0]?.media ?? this.shelf.media?.[0]?.name ?? "";
    } catch (e) {
      if (!this.#stop.signal.aborted && this.#file === whole) {
        this.fault = e instanceof Problem ? e.message : "The part cannot be drawn here; load the page again.";
        if (!(e instanceof Problem)) console.error(e);
        this.#file = "";
      }
    } finally {
      this.watched = null;
    }
  }

  /** wanted are the media whose reach is needed for what is chosen. */
  get wanted(): string[] {
    const charges = (this.open.plan?.charges ?? []).map((c) => c.media);
    if (this.choice === "reach") return this.media ? [this.media] : [];
    if (this.choice === "jams") return this.jamBy === "plan" ? [] : [this.jamBy];
    return this.choice === "off" ? [...new Set(charges)] : [];
  }

  /** ask works out what media do on this part. */
  async ask(media: string[]): Promise<void> {
    const need = media.filter((m) => !this.reached[m]);
    const key = need.join(",");
    if (!key || this.asking === key || !this.source || !this.mesh) return;
    this.asking = key;
    const file = this.#file;
    try {
      const seen = (of: Watched) => (this.watched = { name: `Finding where ${need.map((m) => this.title(m)).join(", ")} reaches`, of });
      const a = (await (await worked(`${this.source}/reach${this.#query({ media: media.join(",") })}`, seen)).json()) as Reached;
      const got: typeof this.reached = {};
      for (const m of media) {
        const sha = a.values[m];
        if (!sha) continue;
        const bytes = await (await worked(`meshes/${sha}?most=${this.most}`, seen)).arrayBuffer();
        got[m] = { doc: a.reach, mesh: await meshOf(bytes, this.#stop.signal) };
      }
      if (this.#file === file) this.reached = { ...this.reached, ...got };
    } catch (e) {
      if (!this.#stop.signal.aborted) shop.wrong(e);
    } finally {
      if (this.asking === key) this.asking = "";
      this.watched = null;
    }
  }

  get zones(): Zone[] {
    return this.survey?.zones ?? [];
  }
  title(media: string): string {
    return this.shelf?.media?.find((m: Media) => m.name === media)?.title ?? media;
  }

  /** jams are the likeliest for each opening: in the plan's charges, or with the media that was chosen. */
  get jams(): Jam[] | null {
    if (this.jamBy === "plan") return this.open.plan ? worst((this.open.plan.charges ?? []).flatMap((c) => c.jams ?? [])) : null;
    const r = this.reached[this.jamBy];
    return r ? worst((r.doc.media ?? []).find((m) => m.name === this.jamBy)?.jams ?? []) : null;
  }

  /** tags stand on the part, so that a list beside it can be found on it. */
  get tags(): Tag[] {
    return this.choice === "jams" ? (this.survey?.openings ?? []).flatMap((o) => (o.at_mm ? [{ at: o.at_mm, says: o.id }] : [])) : [];
  }

  #shown = $derived.by((): Shown => this.#show());
  get shown(): Shown {
    return this.#shown;
  }

  #show(): Shown {
    const m = this.mesh, plan = this.open.plan, brief = this.open.job?.body.brief;
    if (!m || !brief) return { coat: null, scale: null, says: [] };
    const tone = tones(m, this.zones.map((z) => classes[classOf(brief, z)].number), classes.hidden.number);
    const none = new Float32Array(m.shape.corner.length).fill(NaN);
    const tint = metal(`${plan?.material.class ?? ""} ${brief.material}`);
    const zonesOnly = (says: string): Shown => ({ coat: { kind: "zones", mesh: m, tone, value: none, low: 0, high: 1, metal: tint }, scale: null, says: [says] });
    const values = (mesh: Mesh, value: Float32Array, scale: Scale, says: string[], whole?: { low: number; high: number }): Shown => {
      const e = this.set[this.#key] ?? whole ?? ends(value);
      return { coat: { kind: "values", mesh, tone: mesh === m ? tone : new Float32Array(mesh.shape.corner.length), value, ...e, metal: tint }, scale, says };
    };
    const height: Scale = { name: "cusp height", unit: shop.say.heightUnit, to: (v) => shop.say.toHeight(v), say: (v) => shop.say.height(v) };
    switch (this.choice) {
      case "zones":
        return { ...zonesOnly(""), says: [] };
      case "cusps": {
        if (!plan) return zonesOnly("Cusp height needs a plan: it says which ball goes how far apart.");
        const lines = linesOf(m, plan, this.shelf?.cutters ?? []);
        if (!lines.size) return zonesOnly("No pass of the plan leaves cusps: its faces are cut by a flat end or by the side of a cutter.");
        if (!m.buffer.arrays.has("bend")) return zonesOnly("This part was looked at before it was measured how it bends; load the page again when the shop has been started anew.");
        const says = [...lines].map(([z, l]) => `${this.zones[z]?.name ?? "Zone"}: passes ${shop.say.small(l.stepover)} apart with a nose of ${shop.say.length(l.nose)} radius; with the slope and the bend of each place.`);
        return values(m, cuspValues(m, plan, this.shelf?.cutters ?? []), height, [...says, "Dotted places have no cusps, or the cutter does not get in."]);
      }
      case "reach": {
        const r = this.reached[this.media];
        if (!r) return zonesOnly(this.asking ? "" : this.media ? "It has not been worked out yet." : "The shelf holds no media.");
        const t = tellings.find((t) => t.id === this.telling)!;
        const doc = r.doc.media?.find((x) => x.name === this.media);
        const says = doc ? [`It touches ${share(doc.reached_share)} of the part as new and ${share(doc.worn_reached_share)} when worn; good to about two cells of ${shop.say.small(r.doc.cell_mm)}.`] : [];
        return values(r.mesh, byCorner(r.mesh, floats(r.mesh.buffer, this.telling)), plainScale(t.says), says, { low: 0, high: 1 });
      }
      case "jams": {
        const jams = this.jams;
        if (!jams) return zonesOnly(this.jamBy === "plan" ? "What would jam needs a plan; or choose a media." : "");
        const scale: Scale = { name: "chance of a jam", unit: "in 100", to: (v) => 100 * v, say: (v) => chance(v) };
        const says = jams.length ? [] : [this.jamBy === "plan" ? "The plan has no charge, so nothing can jam. Choose a media to see what would." : "There is no opening for it to jam in."];
        return values(m, jamValues(m, jams), scale, says, { low: 0, high: 1 });
      }
      case "off":
        return this.#off(m, zonesOnly, values);
      case "look": {
        if (!plan) return zonesOnly("How it will look needs a plan.");
        const l = looks(m, plan);
        const scale: Scale = { name: "Ra at the end", unit: shop.say.heightUnit, to: (v) => shop.say.toHeight(v), say: (v) => shop.say.height(v) };
        return { coat: { kind: "look", mesh: m, tone, value: l.ra, low: 0, high: 1, metal: tint, lay: l.lay }, scale, says: [`${plan.look.title}: ${plan.look.says}`, ...(l.lays ? [`The lay runs ${l.lays}.`] : [])] };
      }
    }
  }

  #off(m: Mesh, zonesOnly: (says: string) => Shown, values: (mesh: Mesh, value: Float32Array, scale: Scale, says: string[], whole?: { low: number; high: number }) => Shown): Shown {
    const plan = this.open.plan;
    if (!plan) return zonesOnly("How much comes off needs a plan.");
    const scale: Scale = { name: "taken off after cutting", unit: shop.say.system === "inch" ? "thou" : "µm", to: (v) => (shop.say.system === "inch" ? v / 25.4 : v), say: (v) => shop.say.fine(v) };
    const charges = plan.charges ?? [];
    if (!charges.length) return values(m, allowances(m, plan), scale, ["By hand alone: what the plan says to leave on, the same all over a zone."]);
    const sum = taken(plan, charges, (media) => this.reached[media]?.mesh);
    if (!sum) return this.asking ? zonesOnly("") : values(m, allowances(m, plan), scale, ["What the plan says to leave on, the same all over a zone."]);
    const mesh = this.reached[charges[0]!.media]!.mesh;
    const hand = (plan.route ?? []).filter((s) => !s.charge && s.removed_um.value > 0).map((s) => `${s.name}: ${shop.say.fine(s.removed_um.value)} more on ${this.zones.find((z) => z.id === s.zone)?.name ?? s.zone}, not drawn.`);
    return values(mesh, byCorner(mesh, sum), scale, [`By ${charges.map((c) => this.title(c.media)).join(" and ")}: what each takes off an open face, times how each place lies to it.`, ...hand]);
  }

  /** The name under which ends of the scale are kept. */
  get #key(): string {
    return this.choice === "reach" ? `reach ${this.telling}` : this.choice;
  }
  setEnds(low: number, high: number): void {
    this.set[this.#key] = { low, high };
  }
  freeEnds(): void {
    delete this.set[this.#key];
  }
  get ends(): { low: number; high: number; own: boolean } | null {
    const c = this.#shown.coat;
    return c ? { low: c.low, high: c.high, own: this.#key in this.set } : null;
  }

  /** point at what a ray meets; what is met comes back. */
  point(from: Vec, toward: Vec): Spot | null {
    const hit = this.mesh && meet(this.mesh, from, toward);
    this.spot = hit ? { at: hit.at, triangle: hit.triangle, value: this.#valueAt(from, toward) } : null;
    return this.spot;
  }

  #valueAt(from: Vec, toward: Vec): number {
    const c = this.#shown.coat;
    const hit = c && meet(c.mesh, from, toward);
    if (!c || !hit) return NaN;
    const [a, b, d] = [0, 1, 2].map((k) => c.value[c.mesh.shape.index[3 * hit.triangle + k]!]!) as [number, number, number];
    return a * (1 - hit.u - hit.v) + b * hit.u + d * hit.v;
  }

  /** again reads the value at the spot anew, after something else was chosen. */
  again(): void {
    const s = this.spot;
    if (!s || !this.mesh) return;
    const stop = this.#outward(s.triangle);
    const from: Vec = [s.at[0] + stop[0] * 0.05, s.at[1] + stop[1] * 0.05, s.at[2] + stop[2] * 0.05];
    this.spot = { ...s, value: this.#valueAt(from, [-stop[0], -stop[1], -stop[2]]) };
  }

  #outward(t: number): Vec {
    const s = this.mesh!.shape, g = 3 * s.index[3 * t]!;
    return [s.normal[g]!, s.normal[g + 1]!, s.normal[g + 2]!];
  }

  /** step to the next face, or the one before; where to look from comes back. */
  step(by: number): Vec | null {
    if (!this.#stops.length || !this.mesh) return null;
    const now = this.spot ? this.mesh.face[this.spot.triangle]! : by > 0 ? -1 : 0;
    const i = this.#stops.findIndex((s) => s.face === now);
    const next = this.#stops[(i + by + this.#stops.length) % this.#stops.length]!;
    this.spot = { at: next.at, triangle: next.triangle, value: NaN };
    this.again();
    return next.normal;
  }

  /** words of the spot: where it is, what it is, what is shown there. */
  get words(): string[] {
    const s = this.spot, m = this.mesh, brief = this.open.job?.body.brief;
    if (!s || !m || !brief) return [];
    const face = m.face[s.triangle] ?? -1;
    const f = this.survey?.faces?.find((f) => f.id === face);
    const zone = this.zones[m.zone[s.triangle] ?? -1];
    const opening = this.survey?.openings?.find((o) => o.id === m.about.openings?.[m.opening[s.triangle] ?? -1]);
    const out = [`At X ${this.#say(s.at[0])}, Y ${this.#say(s.at[1])}, Z ${this.#say(s.at[2])}`];
    if (f) out.push(`Face ${face}: ${f.kind}${f.radius_mm ? `, radius ${shop.say.length(f.radius_mm)}` : ""}${f.hollow ? ", hollow" : ""}`);
    if (zone) out.push(`${zone.name}: counts as ${classOf(brief, zone)}`);
    if (opening) out.push(`${opening.id}: ${shop.say.length(opening.width_mm)} wide, ${shop.say.length(opening.depth_mm)} deep`);
    const scale = this.#shown.scale;
    if (scale) out.push(Number.isFinite(s.value) ? `${scale.name}: ${scale.say(s.value)}` : `${scale.name}: none here`);
    return out;
  }
  #say(v: number): string {
    return shop.say.length(Math.abs(v) < 5e-4 ? 0 : v);
  }

  close(): void {
    this.#stop.abort(new DOMException("left", "AbortError"));
    this.watched?.of.close();
  }
}

export const saysOf = (c: Choice): string => choices.find((x) => x.id === c)!.says;
export const round = (v: number): string => sig(v, 3);
