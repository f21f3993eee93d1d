// A shop of its own for a test: the built program on a port of loopback, with a
// workspace that is thrown away. It can be killed and started again.
import assert from "node:assert/strict";
import { spawn } from "node:child_process";
import { mkdtemp, rm } from "node:fs/promises";
import { createServer } from "node:net";
import { tmpdir } from "node:os";
import path from "node:path";
import { fileURLToPath } from "node:url";

const program = process.env.FETTLE ?? fileURLToPath(new URL("../../bin/fettle", import.meta.url));

/** freePort is one that nobody listens on. */
function freePort() {
  return new Promise((done, fail) => {
    const s = createServer().once("error", fail);
    s.listen(0, "127.0.0.1", () => {
      const { port } = s.address();
      s.close(() => done(port));
    });
  });
}

/** Served is a running shop. */
export class Served {
  #child = null;
  #said = "";

  static async start() {
    const s = new Served();
    s.folder = await mkdtemp(path.join(tmpdir(), "fettle-face-"));
    s.port = await freePort();
    s.at = `http://127.0.0.1:${s.port}`;
    await s.again();
    return s;
  }

  /** again starts it, and waits until it answers. */
  async again() {
    assert.equal(this.#child, null, "it runs already");
    this.#said = "";
    const c = spawn(program, ["serve", "--workspace", path.join(this.folder, "shop"), "--listen", `127.0.0.1:${this.port}`], { stdio: ["ignore", "pipe", "pipe"] });
    this.#child = c;
    for (const out of [c.stdout, c.stderr]) out.on("data", (d) => (this.#said += d));
    for (let i = 0; i < 600; i++) {
      if (c.exitCode !== null) throw new Error(`fettle serve ended with ${c.exitCode}: ${this.#said}`);
      try {
        if ((await fetch(this.at + "/api/health")).ok) return;
      } catch {
        // not yet
      }
      await new Promise((r) => setTimeout(r, 100));
    }
    throw new Error("fettle serve does not answer: " + this.#said);
  }

  /** kill ends it as a power cut does. */
  async kill() {
    const c = this.#child;
    this.#child = null;
    if (!c || c.exitCode !== null) return;
    const gone = new Promise((r) => c.once("exit", r));
    c.kill("SIGKILL");
    await gone;
  }

  async end() {
    await this.kill();
    await rm(this.folder, { recursive: true, force: true, maxRetries: 5 });
  }

  /** ask the shop itself; fails on an answer that is not 2xx. */
  async ask(method, where, body, headers = {}) {
    const bytes = body instanceof Uint8Array;
    const a = await fetch(`${this.at}/api/${where}`, {
      method,
      headers: { ...(body === undefined || bytes ? {} : { "Content-Type": "application/json" }), ...headers },
      body: body === undefined ? undefined : bytes ? body : JSON.stringify(body),
    });
    const text = await a.text();
    assert.ok(a.ok, `${method} ${where}: ${a.status} ${text}`);
    return text ? JSON.parse(text) : null;
  }

  /** finished waits for a task. */
  async finished(task) {
    for (;;) {
      const t = await this.ask("GET", `tasks/${task.id}`);
      if (t.state === "done") return t;
      assert.ok(t.state === "waiting" || t.state === "running", `${t.kind} ${t.state}: ${t.why}`);
      await new Promise((r) => setTimeout(r, 200));
    }
  }

  /**
   * lived makes the shop one that has worked: the sample job planned and offered, a
   * charge that runs, readings on a run that is over.
   */
  async lived() {
    const job = await this.ask("POST", "sample-job");
    const plan = (await this.finished(await this.ask("POST", `jobs/${job.id}/plan`))).result.plan;
    const { route } = await this.ask("GET", `plans/${plan}/plan`);
    const sanded = route.findIndex((s) => s.kind === "rub");
    const run = await this.ask("POST", `jobs/${job.id}/runs`, { step: route[sanded].key });
    await this.ask("POST", `runs/${run.id}/end`, { hours: 1.2 }, { "If-Match": `"${run.rev}"` });
    await this.ask("POST", `runs/${run.id}/readings`, { kind: "ra", at_h: 1.2, value: 0.52, place: "face" });
    const offer = await this.ask("POST", `jobs/${job.id}/offers`, { words: "As on the sample.", until: "2027-01-31" });
    const under = await this.ask("POST", `jobs/${job.id}/runs`, { step: route.find((s) => s.kind === "deburr").key });
    return { job, plan, route, sanded, run, offer, under };
  }
}
