// Places in a body: "price.low", "sold.0.length_mm".
export type Tree = { [key: string]: unknown };

/** at reads a place; undefined where there is none. */
export function at(body: unknown, path: string): unknown {
  let v: unknown = body;
  for (const key of path.split(".")) {
    if (v === null || typeof v !== "object") return undefined;
    v = (v as Tree)[key];
  }
  return v;
}

/** put writes a place and makes what leads to it; undefined takes the key away. */
export function put(body: unknown, path: string, value: unknown): void {
  const keys = path.split(".");
  let v = body as Tree;
  for (const [i, key] of keys.slice(0, -1).entries()) {
    if (v[key] === null || typeof v[key] !== "object") v[key] = /^\d+$/.test(keys[i + 1]!) ? [] : {};
    v = v[key] as Tree;
  }
  const last = keys.at(-1)!;
  if (value === undefined && !Array.isArray(v)) delete v[last];
  else v[last] = value;
}

/** plain is a body in one order of keys and without what is empty, so that two can be compared. */
export function plain(v: unknown): unknown {
  if (Array.isArray(v)) return v.map(plain);
  if (v === null || typeof v !== "object") return v;
  const out: Tree = {};
  for (const key of Object.keys(v).sort()) {
    const one = plain((v as Tree)[key]);
    if (!empty(one)) out[key] = one;
  }
  return out;
}

function empty(v: unknown): boolean {
  if (v === undefined || v === null || v === "" || v === 0 || v === false) return true;
  if (Array.isArray(v)) return v.every((x) => x === 0 || x === null);
  return typeof v === "object" && Object.keys(v as Tree).length === 0;
}

/** same tells whether two bodies mean the same. */
export const same = (a: unknown, b: unknown): boolean => JSON.stringify(plain(a)) === JSON.stringify(plain(b));

/** folded is a name as the shop compares names: without case, spaces, hyphens and underscores. */
export const folded = (name: string): string => name.toLowerCase().replace(/[\s\-_]+/g, "");
