// Things of one kind as a table of text (RFC 4180, UTF-8), and back. Numbers are metric.
// Columns are the keys of the records, with dots where they stand deeper; lists are JSON.
import { fieldsOf, type Field, type Kind } from "./kinds.ts";
import { at, folded, put, same, type Tree } from "./paths.ts";

type Sort = "text" | "number" | "yes" | "json";
export interface Key {
  key: string;
  sort: Sort;
  may: boolean;
}

/** keysOf are the columns of a kind. */
export function keysOf(kind: Kind): Key[] {
  return fieldsOf(kind).flatMap((x: Field): Key[] => {
    const may = !!x.may;
    switch (x.as) {
      case "estimate": return [...["value", "low", "high"].map((k): Key => ({ key: `${x.at}.${k}`, sort: "number", may })), { key: `${x.at}.basis`, sort: "text", may }];
      case "number": return [{ key: x.at, sort: "number", may }];
      case "yes": return [{ key: x.at, sort: "yes", may }];
      case "numbers": case "names": case "rows": return [{ key: x.at, sort: "json", may }];
      case "choice": return [{ key: x.at, sort: x.q === "count" ? "number" : "text", may }];
      default: return [{ key: x.at, sort: "text", may }];
    }
  });
}

// A spreadsheet takes a text that begins so for a formula: an apostrophe before it keeps it
// a text. One that begins with apostrophes and then so gets one more, so that all come back.
const formula = /^'*[=+\-@\t\r]/;
const guard = (t: string): string => (formula.test(t) ? "'" + t : t);
const unguard = (t: string): string => (/^'+[=+\-@\t\r]/.test(t) ? t.slice(1) : t);

const quoted = (t: string): string => (/[",;\r\n]|^\s|\s$/.test(t) ? `"${t.replaceAll('"', '""')}"` : t);

/** written is the file: a byte order mark, because spreadsheets take it for another code without. */
export function written(kind: Kind, bodies: Tree[]): string {
  const keys = keysOf(kind);
  const cell = (b: Tree, k: Key): string => {
    const v = at(b, k.key);
    if (v === undefined || v === null) return "";
    if (k.sort === "json") return JSON.stringify(v);
    return typeof v === "string" ? guard(v) : String(v);
  };
  return sheet([keys.map((k) => k.key), ...bodies.map((b) => keys.map((k) => cell(b, k)))]);
}

const sheet = (lines: string[][]): string => "\ufeff" + lines.map((l) => l.map(quoted).join(",") + "\r\n").join("");

/** cellsOf writes any table: texts are kept from being taken for formulas. */
export const cellsOf = (lines: (string | number)[][]): string => sheet(lines.map((l) => l.map((c) => (typeof c === "string" ? guard(c) : String(c)))));

export interface Row {
  /** Of the file, the first is 1. */
  line: number;
  name: string;
  what: "new" | "changed" | "unchanged" | "wrong";
  /** Which columns differ, or what is wrong and in which column. */
  says: string[];
  body: Tree;
}

/**
 * read compares the rows of a file with what is there. What a file says nothing of, stays:
 * columns that it leaves out and things that it does not name.
 */
export function read(kind: Kind, cells: string[][], lines: number[], now: Tree[], comma = false): Row[] {
  const keys = new Map(keysOf(kind).map((k) => [k.key, k]));
  const head = (cells[0] ?? []).map((h) => h.replace(/^\ufeff/, "").trim());
  const wrongHead: string[] = [];
  for (const [i, h] of head.entries()) {
    if (h && !keys.has(h)) wrongHead.push(`column ${i + 1} is called "${h}", which ${kind.one} does not have`);
    if (h && head.indexOf(h) !== i) wrongHead.push(`column ${i + 1}, "${h}", stands there twice`);
  }
  if (!kind.single && !head.includes("name")) wrongHead.push('there is no column "name"');
  if (wrongHead.length) return [{ line: lines[0] ?? 1, name: "the first line", what: "wrong", says: wrongHead, body: {} }];

  const seen = new Map<string, number>();
  const out: Row[] = [];
  for (const [i, row] of cells.slice(1).entries()) {
    const line = lines[i + 1] ?? i + 2;
    if (row.every((c) => c.trim() === "")) continue;
    const says: string[] = [];
    const cellOf = (h: string) => row[head.indexOf(h)] ?? "";
    const name = kind.single ? kind.one : unguard(cellOf("name")).trim();
    const was = kind.single ? now[0] : now.find((b) => folded(String(b.name)) === folded(name));
    const body: Tree = was ? structuredClone(was) : {};
    if (!name) says.push('column "name" is empty');
    const before = seen.get(folded(name));
    if (name && before !== undefined) says.push(`"${name}" stands on line ${before} already`);
    seen.set(folded(name), line);
    if (row.length > head.length && row.slice(head.length).some((c) => c.trim())) says.push(`there are ${row.length} cells and ${head.length} columns`);
    for (const [c, h] of head.entries()) {
      const k = keys.get(h);
      if (!k) continue;
      const v = value(k, row[c] ?? "", comma);
      if (v instanceof Error) says.push(`column "${h}": ${v.message}`);
      else if (v !== undefined || at(body, h) !== undefined) put(body, h, v);
    }
    drop(kind, body);
    if (says.length) out.push({ line, name: name || "no name", what: "wrong", says, body });
    else if (!was) out.push({ line, name, what: "new", says: [], body });
    else if (same(was, body)) out.push({ line, name, what: "unchanged", says: [], body: was });
    else out.push({ line, name, what: "changed", says: [...keys.keys()].filter((k) => !same(at(was, k) ?? null, at(body, k) ?? null)), body });
  }
  return out;
}

/** drop takes away estimates and such that came out empty. */
function drop(kind: Kind, body: Tree): void {
  for (const x of fieldsOf(kind)) {
    const v = at(body, x.at);
    if (x.may && v !== undefined && same(v, x.as === "yes" ? false : null)) put(body, x.at, undefined);
  }
}

function value(k: Key, cell: string, comma: boolean): unknown {
  const t = unguard(cell);
  switch (k.sort) {
    case "number": {
      const n = t.trim();
      if (n === "") return k.may ? undefined : 0;
      const plain = comma ? n.replace(",", ".") : n;
      return /^[-+]?(\d+\.?\d*|\.\d+)(e[-+]?\d+)?$/i.test(plain) ? Number(plain) : new Error(`"${n}" is no number`);
    }
    case "yes": {
      const y = t.trim().toLowerCase();
      if (["", "false", "no", "0"].includes(y)) return y === "" && k.may ? undefined : false;
      return ["true", "yes", "1"].includes(y) ? true : new Error(`"${t}" is neither true nor false`);
    }
    case "json": {
      if (t.trim() === "") return k.may ? undefined : [];
      try {
        const v: unknown = JSON.parse(t);
        return Array.isArray(v) ? v : new Error("a list such as [1, 2] is wanted");
      } catch {
        return new Error("this is no list in JSON, such as [1, 2]");
      }
    }
    default:
      return t === "" && k.may ? undefined : t;
  }
}
