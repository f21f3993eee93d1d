// The form of one thing on the shelf: what is typed, and how it is kept.
import { ask, freshKey, get, Problem } from "../api/ask.ts";
import { Draft } from "../api/draft.svelte.ts";
import type { Kept } from "../api/types.ts";
import { shop } from "../shop.svelte.ts";
import { blank, fieldsOf, pathOf, type Field, type Kind } from "./kinds.ts";
import { at, put, same, type Tree } from "./paths.ts";
import { shown, told, unit, type Unit } from "./quantity.ts";

interface Typed {
  /** The thing as it will be: what no field shows stays as it was. */
  body: Tree;
  /** What stands in fields whose text is not what their number would be shown as. */
  texts: Record<string, string>;
  /** The revision that it was begun on. */
  rev: number;
}

export class ThingForm {
  readonly kind: Kind;
  readonly was: Kept<Tree> | null;
  readonly draft: Draft<Typed>;
  busy = $state(false);
  /** What the shop said against it, and where. */
  faults: { path: string; says: string }[] = $state.raw([]);
  /** Of another who was first. */
  theirs: Kept<Tree> | null = $state.raw(null);
  readonly #start: Tree;
  #key = freshKey();

  constructor(kind: Kind, was: Kept<Tree> | null, start?: Tree) {
    this.kind = kind;
    this.was = was;
    this.#start = was ? was.body : (start ?? (blank(fieldsOf(kind)) as Tree));
    const name = was?.id ?? `new ${String(start?.kind ?? "")}`.trim();
    this.draft = new Draft<Typed>(`${pathOf(kind)}/${name}/${shop.say.system}`, { body: structuredClone($state.snapshot(this.#start)) as Tree, texts: {}, rev: was?.rev ?? 0 });
    if (start && kind.single) this.draft.fields.body = structuredClone(start); // a proposal was asked for just now
    if (was && this.draft.kept && this.draft.fields.rev !== was.rev) this.theirs = was;
  }

  get body(): Tree {
    return this.draft.fields.body;
  }

  get changed(): boolean {
    return Object.keys(this.draft.fields.texts).length > 0 || !same(this.body, this.#start);
  }

  unit(x: Field): Unit {
    return unit(x.q ?? "plain", shop.say.system, shop.rates?.body.currency);
  }

  /** text is what stands in a field of a number. */
  text(path: string, u: Unit): string {
    return this.draft.fields.texts[path] ?? shown(at(this.body, path), u);
  }

  /** type takes what was typed into a field of a number. */
  type(path: string, u: Unit, text: string, may = false): void {
    this.#mended(path);
    const v = told(text, u);
    if (Number.isNaN(v)) {
      this.draft.fields.texts[path] = text;
      return;
    }
    put(this.body, path, v ?? (may ? undefined : 0));
    // "1." and "0,50" are on their way to a number: they stay as they were typed.
    if (shown(v, u) === text || (text === "" && may)) delete this.draft.fields.texts[path];
    else this.draft.fields.texts[path] = text;
  }

  /** left tidies a field that is left: what reads as a number stands as one. */
  left(path: string, u: Unit): void {
    const t = this.draft.fields.texts[path];
    if (t !== undefined && !Number.isNaN(told(t, u))) delete this.draft.fields.texts[path];
  }

  set(path: string, v: unknown): void {
    this.#mended(path);
    put(this.body, path, v);
  }

  /** mended forgets what was said against a field that is typed in. */
  #mended(path: string): void {
    if (this.faults.length) this.faults = this.faults.filter((x) => x.path !== path && !path.startsWith(x.path + ".") && x.path !== "");
  }

  at(path: string): unknown {
    return at(this.body, path);
  }

  /** wrong is what is wrong with a field; empty for nothing. */
  wrong(path: string, u?: Unit): string {
    const t = this.draft.fields.texts[path];
    if (t !== undefined && u && Number.isNaN(told(t, u))) return "This is no number.";
    return this.faults.find((x) => x.path === path || x.path.startsWith(path + "."))?.says ?? "";
  }

  addRow(path: string, fields: Field[]): void {
    const list = at(this.body, path);
    put(this.body, path, [...(Array.isArray(list) ? list : []), blank(fields)]);
  }

  dropRow(path: string, i: number): void {
    const list = at(this.body, path);
    if (!Array.isArray(list)) return;
    put(this.body, path, list.toSpliced(i, 1));
    for (const k of Object.keys(this.draft.fields.texts)) if (k.startsWith(path + ".")) delete this.draft.fields.texts[k];
  }

  /** asSent is the body without estimates that say nothing where they may be missing. */
  asSent(): Tree {
    const body = $state.snapshot(this.body) as Tree;
    tidy(fieldsOf(this.kind), body);
    return body;
  }

  get #path(): string {
    return pathOf(this.kind);
  }

  /** save keeps it; answers the record, or null where the shop would not. */
  async save(): Promise<Kept<Tree> | null> {
    if (Object.entries(this.draft.fields.texts).some(([, t]) => Number.isNaN(told(t, { says: "", times: 1 })))) {
      this.faults = [{ path: "", says: "One of the fields holds no number; put that right first." }];
      return null;
    }
    this.busy = true;
    this.faults = [];
    try {
      const body = this.asSent();
      const now = this.was
        ? await ask<Kept<Tree>>("PUT", `${this.#path}/${this.was.id}`, { links: this.was.links ?? {}, body }, { rev: this.draft.fields.rev })
        : await ask<Kept<Tree>>("POST", this.#path, { body }, { key: this.#key });
      this.draft.clear();
      return now;
    } catch (e) {
      if (e instanceof Problem && e.status === 412 && this.was) await this.#overtaken();
      else if (e instanceof Problem && e.status >= 400 && e.status < 500 && e.status !== 401) {
        this.faults = e.at.length ? e.at.map((x) => ({ path: x.location.replace(/^body\.body\.?/, ""), says: x.message })) : [{ path: "", says: e.message }];
        this.#key = freshKey();
      } else throw e;
      return null;
    } finally {
      this.busy = false;
    }
  }

  async #overtaken(): Promise<void> {
    this.theirs = await get<Kept<Tree>>(`${this.#path}/${this.was!.id}`);
  }

  /** mine keeps what was typed, over what the other did. */
  mine(): void {
    if (this.theirs) this.draft.fields.rev = this.theirs.rev;
    this.theirs = null;
  }
}

/** tidy takes estimates away that say nothing. */
function tidy(fields: Field[], body: Tree): void {
  for (const x of fields) {
    const v = at(body, x.at);
    if (x.as === "estimate" && x.may && v && typeof v === "object") {
      const e = v as { value?: number; low?: number; high?: number };
      if (!e.value && !e.low && !e.high) put(body, x.at, undefined);
    }
    if (x.as === "rows" && Array.isArray(v)) for (const row of v) tidy(x.fields!, row as Tree);
  }
}
