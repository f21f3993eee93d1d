import assert from "node:assert/strict";
import { test } from "node:test";
import type { Step, StepWish } from "../../api/types.ts";
import { dropped, judged, kept, keptPass, replaced, says } from "./wish.ts";

test("what takes the place of a step can be replaced in its turn", () => {
  const once = replaced([], "rub P280", "rub P240");
  assert.deepEqual(once, [{ do: "replace", step: "rub P280", with: "rub P240" }]);
  assert.deepEqual(replaced(once, "rub P240", "rub P220"), [{ do: "replace", step: "rub P280", with: "rub P220" }]);
  assert.deepEqual(replaced(once, "rub P240", "rub P280"), []); // back to where it began
});

test("of one step there is one word", () => {
  const a = kept([], { do: "keep", step: "tumble cob-2 in bowl", hours: 3 });
  assert.deepEqual(kept(a, { do: "keep", step: "tumble cob-2 in bowl", hours: 5 }), [{ do: "keep", step: "tumble cob-2 in bowl", hours: 5 }]);
  const brought = replaced([], "tumble x in bowl", "tumble y in bowl");
  assert.deepEqual(kept(brought, { do: "keep", step: "tumble y in bowl", hours: 2 }), [{ do: "replace", step: "tumble x in bowl", with: "tumble y in bowl", hours: 2 }]);
});

test("one pass is kept over the judged face", () => {
  const a: StepWish[] = [{ do: "keep", step: "pass ball-12", stepover_mm: 0.3, crossed: false }, { do: "drop", step: "bowl" }, { do: "drop", step: "pass ball-8" }];
  assert.deepEqual(keptPass(a, { do: "keep", step: "pass ball-8", stepover_mm: 0.2, crossed: true }), [{ do: "drop", step: "bowl" }, { do: "keep", step: "pass ball-8", stepover_mm: 0.2, crossed: true }]);
});

test("a step that was brought in and is left out does not come back as what it replaced", () => {
  assert.deepEqual(dropped(replaced([], "rub P280", "rub P240"), "rub P240"), [{ do: "drop", step: "rub P280" }, { do: "drop", step: "rub P240" }]);
});

test("wishes in words", () => {
  const mm = (v: number) => v.toFixed(3) + " mm";
  assert.equal(says({ do: "keep", step: "pass ball-10", stepover_mm: 0.3, crossed: true }, mm), "keep pass ball-10, 0.300 mm apart, crossed");
  assert.equal(says({ do: "keep", step: "tumble cob-2 in bowl", hours: 3 }, mm), "keep tumble cob-2 in bowl, for 3 h");
  assert.equal(says({ do: "drop", step: "bowl" }, mm), "without bowl");
  assert.equal(says({ do: "replace", step: "rub P280", with: "rub P240" }, mm), "rub P240 in the place of rub P280");
});

test("the judged zone is that of the last step", () => {
  assert.equal(judged([{ zone: "back" }, { zone: "show" }, { zone: "" }] as Step[]), "show");
});
