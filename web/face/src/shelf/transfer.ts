// The shelf in files: out and in, all at once.
import { all, ask, Problem } from "../api/ask.ts";
import type { Envelope, Kept, Shelf } from "../api/types.ts";
import { read, type Row } from "./csv.ts";
import { kinds, type Kind } from "./kinds.ts";
import { folded, same, type Tree } from "./paths.ts";

/** Whole is the shelf with the tag of how it was. */
export interface Whole {
  shelf: Shelf;
  tag: string;
}

const lost = "The shop does not answer. Nothing was changed; try it again.";

async function whole(method: "GET" | "PUT", body?: unknown, tag = ""): Promise<Response> {
  const headers: Record<string, string> = body === undefined ? {} : { "Content-Type": "application/json" };
  if (tag) headers["If-Match"] = tag;
  const a = await fetch("/api/shelf", { method, headers, body: body === undefined ? undefined : JSON.stringify(body) }).catch(() => {
    throw new Problem(lost);
  });
  if (a.ok) return a;
  const p = await a.json().catch(() => ({}));
  throw new Problem(p.detail ?? lost, a.status, p.code ?? "internal", (p.errors ?? []).map((e: { location?: string; message?: string }) => ({ location: e.location ?? "", message: e.message ?? "" })));
}

export async function takeWhole(): Promise<Whole> {
  const a = await whole("GET");
  return { tag: a.headers.get("ETag") ?? "", shelf: (await a.json()) as Shelf };
}

/** putWhole makes the shelf as given where it is still as it was seen; answers how many things changed. */
export async function putWhole(shelf: Shelf, tag: string): Promise<number> {
  return ((await (await whole("PUT", shelf, tag)).json()) as { changed: number }).changed;
}

/** listOf is what stands in a file of a kind. */
export function listOf(kind: Kind, shelf: Shelf): Tree[] {
  return kind.list ? ((shelf[kind.list] ?? []) as unknown as Tree[]) : [shelf.rates as unknown as Tree];
}

/** merged is a shelf with the rows of a file in it. */
export function merged(kind: Kind, shelf: Shelf, rows: Row[]): Shelf {
  const fresh = rows.filter((r) => r.what === "new" || r.what === "changed");
  if (!kind.list) return { ...shelf, rates: (fresh[0]?.body ?? shelf.rates) as never };
  const by = new Map(fresh.map((r) => [folded(r.name), r.body]));
  const kept = listOf(kind, shelf).map((b) => by.get(folded(String(b.name))) ?? b);
  return { ...shelf, [kind.list]: [...kept, ...fresh.filter((r) => r.what === "new").map((r) => r.body)] };
}

/** parsed is a file's cells, and the line on which each row begins. */
export async function parsed(text: string): Promise<{ cells: string[][]; lines: number[]; comma: boolean }> {
  const Papa = (await import("papaparse")).default;
  const cells: string[][] = [], lines: number[] = [];
  let line = 1, from = 0;
  const plain = text.replace(/^\ufeff/, "");
  // Keys of columns hold none of them, so the first line tells what stands between cells.
  const head = plain.slice(0, plain.search(/[\r\n]|$/));
  const delimiter = [",", ";", "\t"].reduce((a, b) => (head.split(b).length > head.split(a).length ? b : a));
  Papa.parse<string[]>(plain, {
    delimiter,
    step: (r) => {
      cells.push(r.data);
      lines.push(line);
      line += plain.slice(from, r.meta.cursor).split(/\r\n|\r|\n/).length - 1;
      from = r.meta.cursor;
    },
  });
  return { cells, lines, comma: delimiter !== "," };
}

/** preview is what a file would do to a kind. */
export async function preview(kind: Kind, text: string, now: Tree[]): Promise<Row[]> {
  const { cells, lines, comma } = await parsed(text);
  return read(kind, cells, lines, now, comma);
}

/** keepEnvelope states what the shop takes; the record is made where there is none. */
export async function keepEnvelope(body: Tree): Promise<Kept<Envelope>> {
  const was = (await all<Kept<Envelope>>("shelf/envelope"))[0];
  return was ? ask("PUT", `shelf/envelope/${was.id}`, { links: {}, body }, { rev: was.rev }) : ask("POST", "shelf/envelope", { body });
}

/** Difference is what a whole shelf would do, kind by kind. */
export interface Difference {
  says: string;
  fresh: string[];
  changed: string[];
  gone: string[];
}

export function differences(now: Shelf, then: Shelf): Difference[] {
  const out: Difference[] = [];
  for (const k of kinds) {
    if (!k.list) continue;
    const a = listOf(k, now), b = listOf(k, then);
    const find = (l: Tree[], n: unknown) => l.find((x) => folded(String(x.name)) === folded(String(n)));
    const d = {
      says: k.says,
      fresh: b.filter((x) => !find(a, x.name)).map((x) => String(x.name)),
      changed: b.filter((x) => find(a, x.name) && !same(find(a, x.name), x)).map((x) => String(x.name)),
      gone: a.filter((x) => !find(b, x.name)).map((x) => String(x.name)),
    };
    if (d.fresh.length + d.changed.length + d.gone.length) out.push(d);
  }
  if (!same(now.rates, then.rates)) out.push({ says: "rates", fresh: [], changed: ["the rates"], gone: [] });
  return out;
}

/** download hands a text to the browser as a file. */
export function download(name: string, type: string, text: string): void {
  const url = URL.createObjectURL(new Blob([text], { type }));
  const a = document.createElement("a");
  a.href = url;
  a.download = name;
  a.click();
  setTimeout(() => URL.revokeObjectURL(url), 10_000);
}
