// What the page has of its own and Go has too: how numbers read, and the shapes of
// what the shop answers.
import assert from "node:assert/strict";
import { readFile } from "node:fs/promises";
import { createRequire } from "node:module";
import { after, before, test } from "node:test";
import { types } from "../face/types.mjs";
import { Served } from "./serve.mjs";

const face = new URL("../face/", import.meta.url);
const ts = createRequire(new URL("package.json", face))("typescript");

/** loaded is a module of the face that needs no other. */
async function loaded(file) {
  const text = await readFile(new URL(file, face), "utf8");
  const js = ts.transpileModule(text, { compilerOptions: { target: "ES2022", module: "ESNext", verbatimModuleSyntax: true } }).outputText;
  return import("data:text/javascript," + encodeURIComponent(js));
}

test("numbers read as on paper", async () => {
  const { Say, minutes } = await loaded("src/say/units.ts");
  const { numbers, sentences } = JSON.parse(await readFile(new URL("../../testdata/units.json", import.meta.url), "utf8"));
  assert.ok(numbers.length > 100);
  for (const { as, value, metric, inch } of numbers) {
    for (const [system, want] of [["metric", metric], ["inch", inch]]) {
      const got = as === "minutes" ? minutes(value) : new Say(system)[as](value);
      assert.equal(got, want, `${as} ${value} ${system}`);
    }
  }
  for (const [was, want] of Object.entries(sentences)) {
    assert.equal(new Say("inch").reword(was), want);
    assert.equal(new Say("metric").reword(was), was);
  }
});

test("money and chances", async () => {
  const { money, price, chance, span } = await loaded("src/say/units.ts");
  const usd = (minor) => ({ minor, currency: "USD" });
  assert.equal(money(usd(208344)), "USD 2,083.44");
  assert.equal(money({ minor: 500, currency: "JPY" }), "JPY 500");
  assert.equal(money({ minor: 1500, currency: "IQD" }), "IQD 1.500");
  assert.equal(money(usd(-5)), "USD -0.05");
  assert.equal(price({ value: usd(6806), low: usd(2723), high: usd(17362), basis: "" }), "USD 68.06 (27.23–173.62)");
  assert.equal(chance(0.647), "65 in 100");
  assert.equal(span({ value: 61, low: 49, high: 85, basis: "" }), "61 min (49–85 min)");
  assert.equal(span({ value: 410, low: 190, high: 900, basis: "" }), "6 h 50 min (3 h 10 min–15 h)");
});

let shop;
before(async () => { shop = await Served.start(); });
after(() => shop?.end());

test("types.ts is what the shop says of itself", async () => {
  const api = await shop.ask("GET", "openapi.json");
  assert.equal(await readFile(new URL("src/api/types.ts", face), "utf8"), types(api), "run types.mjs in web/face against a running shop");
});
