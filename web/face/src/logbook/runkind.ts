// A run as the form of the shelf's things shows one.
import type { Shelf } from "../api/types.ts";
import type { Field, Kind } from "../shelf/kinds.ts";

const names = (list: { name: string }[] | null, may: boolean): [string, string][] => [...(may ? [["", "none"] as [string, string]] : []), ...(list ?? []).map((x): [string, string] => [x.name, x.name])];

/** runKind is the form of a run of one kind of step; what does not belong to it is not asked. */
export function runKind(shelf: Shelf, step: string): Kind {
  const f = (at: string, says: string, as: Field["as"], more: Partial<Field> = {}): Field => ({ at, says, as, may: true, ...more });
  const tumble = step === "tumble", rub = step === "rub";
  return {
    key: "runs", path: "runs", hands: true, off: "out of the log", says: "runs", one: "a run", about: "",
    groups: [
      { says: "", fields: [
        f("day", "Day", "day", { may: false }),
        f("kind", "What was done", "choice", { may: false, choices: [["tumble", "a charge of media"], ["rub", "by hand with a grit"], ["buff", "with a mop"], ["deburr", "deburred"], ["surface", "cut"], ["wash", "washed"], ["inspect", "inspected"]] }),
        f("material", "Metal", "choice", { may: false, choices: names(shelf.materials, true) }),
        f("part", "Part", "text"),
        ...(tumble ? [f("media", "Media", "choice", { choices: names(shelf.media, true) }), f("vessel", "Barrel or bowl", "choice", { choices: names(shelf.vessels, true) }), f("tone", "How wet", "choice", { choices: [["", "as usual"], ["brighter", "brighter, with more liquid"], ["darker", "darker, with less"]] })] : []),
        ...(rub ? [f("grit", "Grit", "choice", { choices: names(shelf.grits, true) })] : []),
        ...(tumble ? [f("hours_run", "Ran", "number", { q: "hours" })] : []),
        f("pieces", "Pieces in it", "number", { q: "count" }),
        f("area_mm2", rub ? "Area that was worked, of one piece" : "Whole area of one piece", "number", { q: "area" }),
        f("size_mm", "Longest side", "number", { q: "length" }),
      ] },
      { says: "", fields: [f("notes", "Notes", "long")] },
    ],
  };
}
