// Wishes of a brief: what is to be done with steps, whatever the search thinks.
import type { Brief, Grit, Media, Plan, Shelf, Step, StepWish, Vessel } from "../../api/types.ts";

/** about tells that a wish speaks of a step, by its key or as what took its place. */
export const about = (w: StepWish, key: string): boolean => w.step === key || w.with === key;

/** kept keeps a step as the wish says; an earlier word about the same step goes. */
export function kept(steps: StepWish[], wish: StepWish): StepWish[] {
  const out = steps.filter((w) => !(w.do === "keep" && w.step === wish.step));
  const i = out.findIndex((w) => w.do === "replace" && w.with === wish.step);
  if (i < 0) return [...out, wish];
  const { step: _, do: __, ...more } = wish; // it keeps the step that it brought in
  return out.map((w, k) => (k === i ? { ...w, ...more } : w));
}

/** keptPass keeps a pass in the place of any that was kept before: there is one over the judged face. */
export const keptPass = (steps: StepWish[], wish: StepWish): StepWish[] => [...steps.filter((w) => !(/^pass /.test(w.with ?? w.step) && w.do !== "drop") && !(w.do === "drop" && w.step === wish.step)), wish];

/** replaced puts a step in the place of another, also where that came by a wish itself. */
export function replaced(steps: StepWish[], was: string, now: string): StepWish[] {
  const by = steps.find((w) => w.do === "replace" && w.with === was);
  const rest = steps.filter((w) => w !== by && !(w.do === "keep" && w.step === was) && !(w.do === "drop" && w.step === now));
  if (by?.step === now) return rest; // back to what the search had
  return [...rest, { do: "replace", step: by?.step ?? was, with: now }];
}

/** dropped leaves a step out. */
export function dropped(steps: StepWish[], key: string): StepWish[] {
  const by = steps.find((w) => w.do === "replace" && w.with === key);
  const rest = steps.filter((w) => !about(w, key));
  if (by) rest.push({ do: "drop", step: by.step });
  return [...rest, { do: "drop", step: key }];
}

/** says is a wish in words. */
export function says(w: StepWish, length: (mm: number) => string): string {
  const how = [
    w.stepover_mm ? `${length(w.stepover_mm)} apart` : "",
    w.crossed === true ? "crossed" : w.crossed === false ? "one way" : "",
    w.hours ? `for ${w.hours} h` : "",
  ].filter(Boolean).join(", ");
  const tail = how && ", " + how;
  switch (w.do) {
    case "keep":
      return `keep ${w.step}${tail}`;
    case "drop":
      return `without ${w.step}`;
    case "replace":
      return `${w.with} in the place of ${w.step}${tail}`;
  }
  return `${w.do} ${w.step}`;
}

/** judged is the zone that the finish is judged on: that of the last step. */
export const judged = (route: Step[]): string => route.findLast((s) => s.zone)?.zone ?? "";

export const wishesOf = (b: Brief | undefined): StepWish[] => b?.steps ?? [];

/** whyNot is what the plan says of media or a vessel that it leaves on the shelf: its sentence begins with the title. */
export function whyNot(plan: Plan, thing: Media | Vessel): string {
  return (plan.left_out ?? []).find((s) => s.startsWith(thing.title + " is not used")) ?? "";
}

/** rival is other media that may take a charge's place, or why not. */
export interface Rival {
  name: string;
  title: string;
  why: string;
}

/** rivals are the media of the shelf that run in a vessel: those that may be used first. */
export function rivals(plan: Plan, shelf: Shelf, vessel: Vessel | undefined): Rival[] {
  return (shelf.media ?? [])
    .map((m) => ({ name: m.name, title: m.title, why: whyNot(plan, m) || (vessel && (m.dry ? !vessel.dry : !vessel.wet) ? `it runs ${m.dry ? "dry" : "wet"}, and ${vessel.title} does not` : "") }))
    .sort((a, b) => Number(!!a.why) - Number(!!b.why));
}

/** gritsLike are the grits of one scale: on one sheet of paper two scales are not mixed. */
export const gritsLike = (shelf: Shelf, name: string): Grit[] => {
  const own = (shelf.grits ?? []).find((g) => g.name === name);
  return (shelf.grits ?? []).filter((g) => !own || g.scale === own.scale);
};
