// Writes src/api/types.ts from what a running shop says of itself:
//   node types.mjs http://127.0.0.1:7340/api/openapi.json
import { writeFile } from "node:fs/promises";

const head = `// Made by types.mjs from the shop's own description of its API; not written by hand.\n\n`;

/** TypeScript has a Record of its own. */
const named = (name) => (name === "Record" ? "AnyRecord" : name);
const bare = (ref) => named(ref.split("/").pop());

/** What is only sent has schemas of its own; the face sends what it got. */
const sent = /^(Asked|Given|Page|Kept)/;

function type(s) {
  if (s.$ref) return bare(s.$ref);
  if (s.enum) return s.enum.map((v) => JSON.stringify(v)).join(" | ");
  if (s.anyOf ?? s.oneOf) return (s.anyOf ?? s.oneOf).map(type).join(" | ");
  const kinds = Array.isArray(s.type) ? s.type : [s.type];
  return kinds.map((k) => {
    if (k === "null") return "null";
    if (k === "string" || k === "boolean") return k;
    if (k === "integer" || k === "number") return "number";
    if (k === "array") return s.minItems !== undefined && s.minItems === s.maxItems && s.minItems <= 3
      ? `[${Array(s.minItems).fill(type(s.items)).join(", ")}]`
      : `(${type(s.items)})[]`;
    if (k === "object" && s.additionalProperties && typeof s.additionalProperties === "object") return `Record<string, ${type(s.additionalProperties)}>`;
    return "unknown";
  }).join(" | ");
}

/** types is the text of types.ts for a description. */
export function types(api) {
  const all = api.components.schemas;
  let text = head;
  for (const name of Object.keys(all).sort()) {
    if (sent.test(name)) continue;
    const s = all[name];
    if (s.type !== "object") {
      text += `export type ${named(name)} = ${type(s)};\n\n`;
      continue;
    }
    const must = new Set(s.required ?? []);
    text += `export interface ${named(name)} {\n`;
    for (const [k, v] of Object.entries(s.properties ?? {})) text += `  ${k}${must.has(k) ? "" : "?"}: ${type(v)};\n`;
    text += `}\n\n`;
  }
  return text + `/** Kept is one thing that the shop keeps, in one of its revisions. */
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
`;
}

if (process.argv[2]) {
  const api = await (await fetch(process.argv[2])).json();
  await writeFile(new URL("src/api/types.ts", import.meta.url), types(api));
}
