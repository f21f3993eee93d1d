// A part is brought: its model goes up while the rest is typed, and each call has a name of
// its own (Idempotency-Key), kept with what was typed, so that doing it again after a lost
// connection makes nothing twice.
import { all, ask, freshKey, get, onHeard, Problem, upload } from "../../api/ask.ts";
import { Draft } from "../../api/draft.svelte.ts";
import { worked, type Watched } from "../../api/task.svelte.ts";
import type { Brief, Customer, Job, Kept, ModelFile, Part, Survey, Task } from "../../api/types.ts";
import { photos } from "../../run/photos.svelte.ts";
import { refused, titleOf } from "./model.ts";

export interface Fields {
  keys: { part: string; file: string; customer: string; job: string };
  part: string;
  file: string;
  fileRev: number;
  fileName: string;
  title: string;
  material: string;
  finish: string;
  lot: string;
  customer: string;
  due: string;
  units: string;
  body: string;
  ra: string;
  notes: string;
}

const blank: Fields = {
  keys: { part: "", file: "", customer: "", job: "" },
  part: "", file: "", fileRev: 0, fileName: "", title: "", material: "", finish: "", lot: "1", customer: "", due: "", units: "", body: "", ra: "", notes: "",
};

/** held is the name under which photos wait for the job. */
export const held = "new job";

export class Bring {
  readonly draft = new Draft<Fields>("new", blank);
  survey = $state.raw<Survey | null>(null);
  surveying = $state<Watched | null>(null);
  /** How far the file is up, 0 to 1; -1 while none is on its way. */
  far = $state(-1);
  fault = $state("");
  /** What the last job was made with: the next is often alike. */
  last = $state.raw<Brief | null>(null);
  customers = $state.raw<Kept<Customer>[]>([]);
  /** The model that was on its way when the shop was lost; it is sent again. */
  lost = $state.raw<File | null>(null);
  #turn = 0;
  readonly close = onHeard((heard) => {
    if (heard && this.lost && this.far < 0) void this.take(this.lost, true);
  });

  get f(): Fields {
    return this.draft.fields;
  }

  async begin(): Promise<void> {
    const [jobs, customers] = await Promise.all([get<{ records: Kept<Job>[] }>("jobs?newest=true&limit=1"), all<Kept<Customer>>("customers")]);
    this.last = jobs.records[0]?.body.brief ?? null;
    this.customers = customers;
    if (!this.f.material && this.last) this.f.material = this.last.material;
    if (this.f.file) void this.look();
  }

  /** take sends a model; an earlier one is taken away. */
  async take(file: File, again = false): Promise<void> {
    this.fault = refused(file.name, file.size);
    if (this.fault) return;
    const turn = ++this.#turn;
    const f = this.f;
    const old = { id: f.file, rev: f.fileRev };
    this.surveying?.close();
    this.surveying = null;
    this.survey = null;
    Object.assign(f, { file: "", fileName: file.name, units: "", body: "" });
    if (!f.title || f.title === titleOf(f.fileName)) f.title = titleOf(file.name);
    f.keys.part ||= freshKey();
    if (!again) f.keys.file = freshKey();
    this.lost = null;
    this.far = 0;
    try {
      if (!f.part) f.part = (await ask<Kept<Part>>("POST", "parts", { body: { name: titleOf(file.name) } }, { key: f.keys.part })).id;
      const kept = await upload<Kept<ModelFile>>(`parts/${f.part}/files?name=${encodeURIComponent(file.name)}`, file.slice(0, file.size, "application/octet-stream"), f.keys.file, (s) => turn === this.#turn && (this.far = s));
      if (turn !== this.#turn) return;
      f.file = kept.id;
      f.fileRev = kept.rev;
      if (old.id && old.id !== kept.id) void ask("DELETE", `files/${old.id}`, undefined, { rev: old.rev }).catch(() => {}); // it does no harm where it stays
      void this.look();
    } catch (e) {
      if (turn !== this.#turn) return;
      f.fileName = "";
      if (e instanceof Problem && e.status === 409) f.keys.part = "";
      if (e instanceof Problem && e.lost) this.lost = file;
      this.fault = this.lost ? `The shop was not heard while ${file.name} was sent. It is sent again as soon as the shop answers; leave the page open.` : e instanceof Problem ? e.message : String(e);
    } finally {
      if (turn === this.#turn) this.far = -1;
    }
  }

  /** look asks what the model is. */
  async look(): Promise<void> {
    const turn = this.#turn;
    const { file, units, body } = this.f;
    const q = new URLSearchParams();
    if (units) q.set("units", units);
    if (body) q.set("body", body);
    this.survey = null;
    try {
      const a = await worked(`files/${file}/survey${q.size ? "?" + q : ""}`, (w) => turn === this.#turn && (this.surveying = w));
      const s = (await a.json()) as Survey;
      if (turn === this.#turn && file === this.f.file && units === this.f.units && body === this.f.body) this.survey = s;
    } catch (e) {
      if (turn !== this.#turn) return;
      if (e instanceof Problem && e.status === 404) Object.assign(this.f, { file: "", fileName: "" }); // it is not there any more
      this.fault = e instanceof Problem ? e.message : String(e);
    } finally {
      if (turn === this.#turn) this.surveying = null;
    }
  }

  /** unlike forgets the model, to bring another. */
  forget(): void {
    this.#turn++;
    this.surveying?.close();
    this.surveying = null;
    this.far = -1;
    this.lost = null;
    const { file, fileRev } = this.f;
    if (file) void ask("DELETE", `files/${file}`, undefined, { rev: fileRev }).catch(() => {});
    Object.assign(this.f, { file: "", fileName: "", units: "", body: "" });
    this.survey = null;
    this.fault = "";
  }

  get brief(): Brief {
    const f = this.f;
    const ra = Number(f.ra.replace(",", "."));
    const b: Brief = { material: f.material, finish: f.finish, lot: Number(f.lot), title: f.title.trim() };
    const units = f.units || (this.survey && this.survey.units_from !== "file" ? this.survey.units : "");
    if (units) b.model_units = units;
    if (f.body) b.body = f.body;
    if (ra > 0) b.ra_max_um = ra;
    if (f.notes.trim()) b.notes = f.notes.trim();
    for (const k of ["shop", "contact", "language"] as const) if (this.last?.[k]) b[k] = this.last[k];
    return b;
  }

  /** make keeps the job and asks for its plan; answers with the job's id. */
  async make(): Promise<string> {
    const f = this.f;
    f.keys.customer ||= freshKey();
    f.keys.job ||= freshKey();
    const links: Record<string, string> = { part: f.part, file: f.file };
    const name = f.customer.trim();
    if (name) {
      const known = this.customers.find((c) => c.body.name.toLowerCase() === name.toLowerCase());
      const make = () => ask<Kept<Customer>>("POST", "customers", { body: { name } }, { key: f.keys.customer });
      const c = known ?? (await make().catch((e) => {
        // Another name was sent under this key before.
        if (!(e instanceof Problem && e.status === 409)) throw e;
        f.keys.customer = freshKey();
        return make();
      }));
      links.customer = c.id;
    }
    const body: Job = { title: f.title.trim(), brief: this.brief, state: "asked", ...(f.due ? { due: f.due } : {}) };
    let job: Kept<Job>;
    try {
      job = await ask<Kept<Job>>("POST", "jobs", { links, body }, { key: f.keys.job });
    } catch (e) {
      if (!(e instanceof Problem && e.status === 409)) throw e;
      // It was made before its answer was lost, and then typed over: mend that one.
      const made = (await get<{ records: Kept<Job>[] }>(`jobs?role=file&target=${f.file}&newest=true&limit=1`)).records[0];
      if (!made) {
        f.keys.job = freshKey();
        throw e;
      }
      job = await ask<Kept<Job>>("PUT", `jobs/${made.id}`, { links, body }, { rev: made.rev });
    }
    await photos.release(held, { job: job.id });
    await ask<Task>("POST", `jobs/${job.id}/plan`).catch(() => {}); // the job's page offers it again
    this.draft.clear();
    return job.id;
  }
}
