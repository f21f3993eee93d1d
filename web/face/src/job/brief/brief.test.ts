import assert from "node:assert/strict";
import { test } from "node:test";
import type { Job, Kept, Survey } from "../../api/types.ts";
import { Say } from "../../say/units.ts";
import { isPack, refused, taken, titleOf } from "../new/model.ts";
import { faults, put, typed } from "./form.ts";
import { events, number } from "./words.ts";

const mm = new Say("metric");
const inch = new Say("inch");
const job = (): Job => ({ title: "Plate", state: "asked", brief: { material: "naval brass", finish: "satin", lot: 12, ra_max_um: 0.8, edge_max_um: 50, up: [0, 0, 1], title: "Plate" } });

test("a form that was not touched changes nothing, in either unit", () => {
  for (const say of [mm, inch]) {
    const j = job();
    put(j, typed(j, say), say);
    assert.deepEqual(j, job());
  }
});

test("what is typed in inches is kept in micrometres", () => {
  const j = job();
  put(j, { ...typed(j, inch), ra: "32", edge: "2", lot: "20", up: "0 0 -1", due: "2026-04-10", title: "Cover" }, inch);
  assert.ok(Math.abs(j.brief.ra_max_um! - 0.8128) < 1e-12); // 32 µin × 0.0254
  assert.ok(Math.abs(j.brief.edge_max_um! - 50.8) < 1e-12); // 2 thou × 25.4
  assert.deepEqual([j.brief.lot, j.brief.up, j.due, j.title, j.brief.title], [20, [0, 0, -1], "2026-04-10", "Cover", "Cover"]);
  put(j, { ...typed(j, inch), ra: "", up: "", due: "" }, inch);
  assert.deepEqual([j.brief.ra_max_um, j.brief.up, j.due], [undefined, undefined, undefined]);
});

test("faults stand at their fields", () => {
  const t = typed(job(), mm);
  assert.deepEqual(faults(t), {});
  assert.deepEqual(Object.keys(faults({ ...t, title: " ", lot: "1.5", ra: "-1", rz: "much" })).sort(), ["lot", "ra", "rz", "title"]);
  assert.equal(number("0,8"), 0.8);
});

test("the history says what changed", () => {
  const kept = (rev: number, body: Job, deleted: string | null = null): Kept<Job> => ({ id: "j", rev, name: "Plate", links: {}, files: {}, made: "", changed: `2026-04-0${rev}T10:00:00Z`, by: "owner", deleted, body });
  const b = job();
  b.brief.lot = 20;
  b.state = "agreed";
  const e = events([kept(1, job()), kept(2, b), kept(3, b, "2026-04-03")], mm);
  assert.deepEqual(e.map((x) => x.says), [["taken away"], ["asked → agreed", "pieces: 12 → 20"], ["brought in"]]);
});

test("a model's file before it is sent", () => {
  assert.equal(refused("Plate.STEP", 10), "");
  assert.match(refused("plate.dwg", 10), /STEP/);
  assert.match(refused("plate.stl", 0), /empty/);
  assert.ok(isPack("plate.pack.zip"));
  assert.equal(titleOf("cover_plate-v2.step"), "Cover plate v2");
  const s = { units: "mm", units_from: "guessed", size_mm: [42, 68, 7] } as unknown as Survey;
  assert.equal(taken(s, mm), "taken as mm: 68.00 × 42.00 × 7.00 mm");
});
