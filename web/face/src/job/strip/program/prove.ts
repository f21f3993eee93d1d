// A program on its way to the shop.
import { Problem } from "../../../api/ask.ts";
import type { Task } from "../../../api/types.ts";

/** most is the size of a program that is looked at here, in bytes; the shop takes more. */
export const most = 64 << 20;

/** prove sends a set-up and a program, in this order, and answers the task that proves it. */
export async function prove(model: string, setup: unknown, program: File): Promise<Task> {
  if (program.size > most) throw new Problem(`${program.name} is larger than 64 MB; split the program.`, 413, "too_large");
  if (program.size === 0) throw new Problem(`${program.name} is empty; post it again.`, 422, "bad_file");
  const form = new FormData();
  form.append("setup", new Blob([JSON.stringify(setup)], { type: "application/json" }));
  form.append("program", program, program.name);
  let a: Response;
  try {
    a = await fetch("/api/proofs" + (model ? `?file=${encodeURIComponent(model)}` : ""), { method: "POST", body: form });
  } catch {
    throw new Problem("The shop does not answer; the set-up is kept here. Send the program again when the shop is back.");
  }
  const v = (await a.json().catch(() => ({}))) as Task & { detail?: string; code?: string; errors?: { location: string; message: string }[] };
  if (!a.ok) throw new Problem(v.detail ?? `The shop answered ${a.status}; try again.`, a.status, v.code ?? "internal", v.errors ?? []);
  return v;
}
