// What a model's file and its survey say before a job is made of it.
import type { Estimate, Survey } from "../../api/types.ts";
import type { Say } from "../../say/units.ts";

export const endings = [".step", ".stp", ".stl", ".3mf", ".obj", ".ply", ".off"];
export const units = ["mm", "inch", "m"];
export const most = 512 * 2 ** 20;

/** refused is why a file cannot be taken, before it is sent; empty where it can. */
export function refused(name: string, bytes: number): string {
  if (!endings.some((e) => name.toLowerCase().endsWith(e))) return `${name} is no model that can be read; export it as STEP (.step) or as a mesh (${endings.slice(2).join(" ")}).`;
  if (bytes === 0) return `${name} is empty; export the model again.`;
  return bytes > most ? `${name} is larger than the 512 MiB that are taken; export it coarser.` : "";
}

/** isPack tells a partner shop's pack by its ending. */
export const isPack = (name: string): boolean => name.toLowerCase().endsWith(".zip");

/** titleOf makes a job's title of a file's name: "cover_plate-v2.step" reads "Cover plate v2". */
export function titleOf(file: string): string {
  const stem = file.replace(/\.[^.]+$/, "").replace(/[_-]+/g, " ").replace(/\s+/g, " ").trim();
  return stem ? stem[0]!.toUpperCase() + stem.slice(1) : "Part";
}

/** taken says what the model was taken as: "taken as mm: 68.00 × 42.00 × 7.00 mm". */
export const taken = (s: Survey, say: Say): string => {
  const size = say.size([...(s.size_mm ?? [])].sort((a, b) => b - a));
  return s.units_from === "file" ? size : `taken as ${s.units}: ${size}`;
};

/** rangeOf is the roughness of a finish in words. */
export const rangeOf = (ra: Estimate, say: Say): string => {
  const low = say.height(ra.low);
  return `Ra ${low.replace(/ .*/, "")}–${say.height(ra.high)}`;
};
