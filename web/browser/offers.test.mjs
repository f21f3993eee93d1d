// The offers as a customer opens them: a file, without any network.
import assert from "node:assert/strict";
import { readFile } from "node:fs/promises";
import { after, before, test } from "node:test";
import path from "node:path";
import { pathToFileURL } from "node:url";
import { faults, open, sizes, watch, wide } from "./browser.mjs";

const made = process.env.FETTLE_DEMO;
assert.ok(made, "FETTLE_DEMO names the folder that fettle demo filled");
const parts = ["escutcheon", "pull", "knob"].map((id) => path.join(made, id, "offers.html"));

let browser;
before(async () => { browser = await open(); });
after(() => browser?.close());

for (const file of parts) {
  const name = path.basename(path.dirname(file));
  for (const scheme of ["light", "dark"]) {
    for (const [size, viewport] of Object.entries(sizes)) {
      test(`${name}, ${scheme}, ${size}`, async () => {
        const context = await browser.newContext({ offline: true, colorScheme: scheme, viewport });
        const page = await context.newPage();
        const said = watch(page);
        await page.goto(pathToFileURL(file).href);
        assert.deepEqual(await wide(page), []);
        const pictures = await page.locator("img").evaluateAll((all) => all.map((i) => ({ alt: i.alt, wide: i.naturalWidth })));
        assert.ok(pictures.length >= 2, `${pictures.length} pictures`);
        for (const p of pictures) assert.ok(p.alt && p.wide > 100, JSON.stringify(p));
        assert.ok((await page.locator("h1").innerText()).length > 3);
        assert.deepEqual(await faults(page), []);
        assert.deepEqual(said, []);
        await context.close();
      });
    }
  }
  test(`${name}, printed, without scripts`, async () => {
    const context = await browser.newContext({ offline: true, javaScriptEnabled: false });
    const page = await context.newPage();
    const said = watch(page);
    await page.goto(pathToFileURL(file).href);
    const pdf = await page.pdf({ format: "A4" });
    assert.ok(pdf.length > 20_000, `${pdf.length} bytes`);
    assert.deepEqual(said, []);
    await context.close();
  });
}

test("it is one small file", async () => {
  for (const f of parts) {
    const text = await readFile(f, "utf8");
    assert.ok(text.length < 3_000_000, `${f}: ${text.length}`);
    assert.doesNotMatch(text, /(src|href)\s*=\s*["']?(https?:)?\/\//i);
  }
});
