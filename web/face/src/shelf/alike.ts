import type { WearInto } from "../api/types.ts";

/** alike puts openings of one part together that media go into at the same time: "hole-1 and hole-2". */
export function alike(list: WearInto[]): { first: WearInto; names: string }[] {
  const out: { first: WearInto; of: string[] }[] = [];
  for (const x of list) {
    const same = out.find(({ first: f }) => f.job === x.job && f.when === x.when && Math.abs(f.width_mm - x.width_mm) < 0.005 && f.hours?.value === x.hours?.value && f.why === x.why);
    if (same) same.of.push(x.opening);
    else out.push({ first: x, of: [x.opening] });
  }
  return out.map(({ first, of }) => ({ first, names: of.length > 1 ? `${of.slice(0, -1).join(", ")} and ${of.at(-1)}` : of[0]! }));
}
