// What is to be seen on the part: one of these goes to whoever draws it.
import type { Mesh, Vec } from "./mesh.ts";

export interface Coat {
  kind: "zones" | "values" | "look";
  mesh: Mesh;
  /** For each drawn corner: the number of its zone's class. */
  tone: Float32Array;
  /** For each drawn corner: the value that is shown, NaN for none; Ra in µm for "look". */
  value: Float32Array;
  /** Ends of the scale. */
  low: number;
  high: number;
  metal: [number, number, number];
  /** The direction of the lay, where there is one. */
  lay?: Vec;
}

export interface Tag {
  at: Vec;
  says: string;
}

/** Drawn is where places came to lie, in px from the upper left corner; null: behind the eye. */
export type Project = (at: Vec) => { x: number; y: number } | null;
