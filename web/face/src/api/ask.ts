// Every question to the shop goes through here.

/** Problem is an answer that says no (RFC 9457), or why there was none. */
export class Problem extends Error {
  readonly status: number; // 0: no answer came
  readonly code: string;
  /** The fields at fault, where that is known: "body.body.brief.lot". */
  readonly at: { location: string; message: string }[];
  /** The last revision, where someone else was first. */
  readonly etag: string;

  constructor(says: string, status = 0, code = "lost", at: { location: string; message: string }[] = [], etag = "") {
    super(says);
    this.status = status;
    this.code = code;
    this.at = at;
    this.etag = etag;
  }

  /** lost: nothing was heard of the shop; the same may be asked again later. */
  get lost(): boolean {
    return this.status === 0 || this.status === 502 || this.status === 503 || this.status === 504;
  }
}

const noAnswer = "The shop does not answer. What you typed is kept here; it goes on by itself as soon as the shop is back.";

const hearers = new Set<(heard: boolean) => void>();

/** onHeard tells of every question whether the shop was heard. */
export function onHeard(tell: (heard: boolean) => void): () => void {
  hearers.add(tell);
  return () => hearers.delete(tell);
}

const told = (heard: boolean) => hearers.forEach((tell) => tell(heard));

export interface Extra {
  /** The revision that was seen, for a change. */
  rev?: number;
  /** The asker's own name for this, so that asking twice does it once. */
  key?: string;
  signal?: AbortSignal;
}

async function send(method: string, path: string, body: BodyInit | undefined, type: string, extra: Extra): Promise<Response> {
  const headers: Record<string, string> = {};
  if (type) headers["Content-Type"] = type;
  if (extra.rev !== undefined) headers["If-Match"] = `"${extra.rev}"`;
  if (extra.key) headers["Idempotency-Key"] = extra.key;
  let answer: Response;
  try {
    answer = await fetch("/api/" + path, { method, headers, body, signal: extra.signal });
  } catch (e) {
    if (extra.signal?.aborted) throw e;
    told(false);
    throw new Problem(noAnswer);
  }
  if (!answer.ok) {
    let p: { detail?: string; code?: string; errors?: { location?: string; message?: string }[] } = {};
    try {
      p = await answer.json();
    } catch {
      // Not one of ours: a proxy in between, or a shop that is going down.
    }
    const problem = new Problem(
      p.detail ?? (answer.status >= 500 ? noAnswer : `The shop answered ${answer.status}; load the page again.`),
      answer.status,
      p.code ?? "internal",
      (p.errors ?? []).map((e) => ({ location: e.location ?? "", message: e.message ?? "" })),
      answer.headers.get("ETag") ?? "",
    );
    told(!problem.lost);
    throw problem;
  }
  told(true);
  return answer;
}

/** ask sends JSON and reads JSON; throws a Problem. */
export async function ask<T>(method: string, path: string, body?: unknown, extra: Extra = {}): Promise<T> {
  const a = await send(method, path, body === undefined ? undefined : JSON.stringify(body), body === undefined ? "" : "application/json", extra);
  const text = await a.text().catch(() => {
    told(false);
    throw new Problem(noAnswer);
  });
  return (text ? JSON.parse(text) : null) as T;
}

export const get = <T>(path: string, signal?: AbortSignal) => ask<T>("GET", path, undefined, { signal });

/** bytes fetches a buffer or a stored file. */
export async function bytes(path: string, signal?: AbortSignal): Promise<ArrayBuffer> {
  const a = await send("GET", path, undefined, "", { signal });
  return a.arrayBuffer();
}

/** upload sends a file as it is and says how far it is, 0 to 1. */
export function upload<T>(path: string, file: Blob, key: string, far: (share: number) => void = () => {}): Promise<T> {
  return new Promise((done, fail) => {
    const x = new XMLHttpRequest(); // fetch does not say how far a body is
    x.open("POST", "/api/" + path);
    x.setRequestHeader("Idempotency-Key", key);
    x.setRequestHeader("Content-Type", "application/octet-stream"); // the shop goes by what is in it
    x.upload.onprogress = (e) => e.lengthComputable && far(e.loaded / e.total);
    x.onerror = () => {
      told(false);
      fail(new Problem(noAnswer));
    };
    x.onload = () => {
      told(x.status < 502 || x.status > 504);
      let v: { detail?: string; code?: string } | null = null;
      try {
        v = JSON.parse(x.responseText);
      } catch {
        // said below
      }
      if (x.status >= 200 && x.status < 300) done(v as T);
      else fail(new Problem(v?.detail ?? `The shop answered ${x.status}; try again.`, x.status, v?.code ?? "internal"));
    };
    x.send(file);
  });
}

/** freshKey is a name for something that is to be done once. */
export const freshKey = (): string => crypto.randomUUID?.() ?? [...crypto.getRandomValues(new Uint8Array(16))].map((b) => b.toString(16).padStart(2, "0")).join("");

/** follow collects all pages of a list of records. */
export async function all<T>(path: string, signal?: AbortSignal): Promise<T[]> {
  const out: T[] = [];
  for (let after = ""; ; ) {
    const sep = path.includes("?") ? "&" : "?";
    const page = await get<{ records: T[]; next?: string }>(`${path}${sep}limit=1000${after && `&after=${after}`}`, signal);
    out.push(...page.records);
    if (!page.next) return out;
    after = page.next;
  }
}
