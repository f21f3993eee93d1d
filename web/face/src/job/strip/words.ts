// What the strip says of a step, as words.
import type { Caution, Estimate, Mark, Plan, Solid, Step } from "../../api/types.ts";
import type { Say } from "../../say/units.ts";

const times = (e: Estimate, f: number): Estimate => ({ ...e, value: e.value * f, low: e.low * f, high: e.high * f });

/** markSays is a mark by name: "cusps 0.315 mm along the passes: 2.9 µm (2.3–4.5)". */
export function markSays(m: Mark, say: Say): string {
  const wide = m.wavelength_mm > 0 ? " " + say.small(m.wavelength_mm) : "";
  const lay = m.lay && m.lay !== "none" ? " " + m.lay : "";
  const left = m.left < 0.995 ? `, ${Math.round(100 * m.left)} % of it left` : "";
  return `${m.cause}${wide}${lay}: ${say.range(times(m.height_um, m.left))}${left}`;
}

/** seenSays is how likely an eye finds it. */
export const seenSays = (m: Mark): string => `${m.seen.word} to be seen, ${Math.round(100 * m.seen.p)} in 100`;

/** cautionsOf are the cautions of a plan that speak of a step. */
export const cautionsOf = (plan: Plan, step: Step): Caution[] => (plan.cautions ?? []).filter((c) => (c.steps ?? []).includes(step.name));

/** picture is the name of a step's close-up among the plan's files. */
export const picture = (index: number): string => `pictures/step-${String(index + 1).padStart(2, "0")}.png`;

/** noPicture says why a step has no close-up of its own. */
export function noPicture(step: Step, judged: string): string {
  if (step.kind === "wash" || step.kind === "inspect") return "the face as before";
  if (step.zone !== judged) return `not on the ${judged} face`;
  return "";
}

/** blocksOf are the blocks for a zone; their patches are named after it: "show-1". */
export const blocksOf = (plan: Plan, zone: string): Solid[] => (plan.solids ?? []).filter((s) => s.kind === "block" && (s.for === zone || s.for.startsWith(zone + "-")));

export const plugsOf = (plan: Plan): Solid[] => (plan.solids ?? []).filter((s) => s.kind === "plug");

/** fitPicture is the map of a block's fit beside the picture of its stroke. */
export const fitPicture = (s: Solid): string => (s.picture ?? "").replace(/-stroke\.png$/, "-fit.png");

/** sentence is a text with a capital and a full stop. */
export const sentence = (s: string): string => s && s.charAt(0).toUpperCase() + s.slice(1) + (/[.!?]$/.test(s) ? "" : ".");

/** fileWord is a file's name without its folder. */
export const fileWord = (file: string): string => file.slice(file.lastIndexOf("/") + 1);
