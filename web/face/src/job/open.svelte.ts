// One job, open on the page: its record, its story, its plan. All rooms of the job's page
// read from here and change it through here.
import { ask, get } from "../api/ask.ts";
import { over, Watched } from "../api/task.svelte.ts";
import type { Brief, Job, JobStory, Kept, Plan, PlanSheet, Task } from "../api/types.ts";
import { shop } from "../shop.svelte.ts";

export class OpenJob {
  readonly id: string;
  job: Kept<Job> | null = $state.raw(null);
  story: JobStory | null = $state.raw(null);
  /** The plan that is shown, and the record that keeps it. */
  plan: Plan | null = $state.raw(null);
  sheet: Kept<PlanSheet> | null = $state.raw(null);
  /** The plan that is being worked out. */
  planning: Watched | null = $state.raw(null);
  /** The step that is open, its index in the route; -1 for none. */
  step = $state(-1);
  /** Why the job cannot be shown; empty for nothing. */
  fault = $state("");

  constructor(id: string) {
    this.id = id;
  }

  /** load reads the job anew, and the plan where it is another. */
  async load(): Promise<void> {
    const [job, story] = await Promise.all([get<Kept<Job>>(`jobs/${this.id}`), get<JobStory>(`jobs/${this.id}/story`)]);
    this.job = job;
    this.story = story;
    const newest = (story.plans ?? []).reduce<{ id: string; made: string } | null>((a, b) => (!a || b.id > a.id ? b : a), null);
    const want = newest?.id;
    if (want && want !== this.sheet?.id) {
      const [plan, sheet] = await Promise.all([get<Plan>(`plans/${want}/plan`), get<Kept<PlanSheet>>(`plans/${want}`)]);
      this.plan = plan;
      this.sheet = sheet;
    }
  }

  /** stale tells that the brief was changed since the plan that is shown. */
  get stale(): boolean {
    const was = this.sheet?.body.from.brief;
    return !!was && !!this.job && JSON.stringify(plain(was)) !== JSON.stringify(plain(this.job.body.brief));
  }

  /** alter changes the job's body; the way back is offered at the foot of the page. */
  async alter(says: string, change: (body: Job) => void): Promise<void> {
    const job = this.job;
    if (!job) return;
    const body = structuredClone(job.body);
    change(body);
    const now = await ask<Kept<Job>>("PUT", `jobs/${this.id}`, { links: job.links ?? {}, body }, { rev: job.rev });
    this.job = now;
    shop.changed(says, `jobs/${this.id}`, now.rev, () => void this.load().catch((e) => shop.wrong(e)));
  }

  brief(says: string, change: (brief: Brief) => void): Promise<void> {
    return this.alter(says, (b) => change(b.brief));
  }

  /** ask for the plan; it is shown as soon as it is there. */
  async replan(): Promise<void> {
    this.planning?.close();
    const task = await ask<Task>("POST", `jobs/${this.id}/plan`);
    this.#watch(task);
  }

  /** follow takes up a plan that is being worked out since before the page was opened. */
  async follow(): Promise<void> {
    const { tasks } = await get<{ tasks: Task[] | null }>("tasks?limit=50");
    const mine = (tasks ?? []).find((t) => t.kind === "plan" && !over(t) && (t.args as { job?: string })?.job === this.id);
    if (mine && !this.planning) this.#watch(mine);
    // It may have come between the first look and this one.
    if (!mine && !this.planning && !this.sheet) await this.load();
  }

  #watch(task: Task) {
    this.planning = new Watched(task, (t) => {
      if (t.state === "done") this.load().catch((e) => shop.wrong(e));
    });
  }

  /** paper is the address of a file of the plan: "pictures/part.png". */
  paper(name: string): string {
    return this.sheet ? `/api/plans/${this.sheet.id}/sheet/${name.split("/").map(encodeURIComponent).join("/")}` : "";
  }

  /** has tells whether the plan brought such a file. */
  has(name: string): boolean {
    return !!this.sheet?.body.files?.some((f) => f.name === name);
  }

  close(): void {
    this.planning?.close();
  }
}

/** plain is a brief in one order of keys and without what is empty, to compare. */
function plain(b: Brief): unknown {
  return Object.entries(b)
    .filter(([k, v]) => k !== "display" && v !== "" && v !== 0 && v != null && !(Array.isArray(v) && (v.length === 0 || v.every((x) => x === 0))))
    .sort(([a], [c]) => a.localeCompare(c));
}
