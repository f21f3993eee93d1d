// A part of a million triangles: it turns, or it is shown simpler and the page says so.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { open, sizes, watch } from "./browser.mjs";
import { Served } from "./serve.mjs";

let browser, shop;
before(async () => {
  browser = await open();
  shop = await Served.start();
});
after(async () => {
  await browser?.close();
  await shop?.end();
});

/** torus is a closed ring as a binary STL file, in mm, its axis along Z. */
function torus(around, across, big = 20, small = 6) {
  const file = Buffer.alloc(84 + 50 * 2 * around * across);
  file.writeUInt32LE(2 * around * across, 80);
  const at = (i, j) => {
    const u = (2 * Math.PI * (i % around)) / around;
    const v = (2 * Math.PI * (j % across)) / across;
    const r = big + small * Math.cos(v);
    return [r * Math.cos(u), r * Math.sin(u), small * Math.sin(v)];
  };
  let o = 84;
  const facet = (...corners) => {
    o += 12; // readers work the normal out
    for (const c of corners) for (const x of c) o = file.writeFloatLE(x, o);
    o += 2;
  };
  for (let i = 0; i < around; i++) {
    for (let j = 0; j < across; j++) {
      const [a, b, c, d] = [at(i, j), at(i + 1, j), at(i + 1, j + 1), at(i, j + 1)];
      facet(a, b, c);
      facet(a, c, d);
    }
  }
  return file;
}

test("a million triangles", { timeout: 900_000 }, async () => {
  const part = await shop.ask("POST", "parts", { links: {}, body: { name: "Ring" } });
  const file = await shop.ask("POST", `parts/${part.id}/files?name=ring.stl`, new Uint8Array(torus(1000, 512)));
  const job = await shop.ask("POST", "jobs", {
    links: { part: part.id, file: file.id },
    body: { title: "Ring", state: "asked", brief: { material: "naval brass", finish: "satin", lot: 1, model_units: "mm", title: "Ring" } },
  });
  const context = await browser.newContext({ viewport: sizes.desk });
  const page = await context.newPage();
  const said = watch(page, new RegExp(`^(${shop.at}|data:|blob:)`));
  await page.goto(`${shop.at}/#/job/${job.id}`);
  const panel = page.locator("[data-triangles]");
  await panel.waitFor({ timeout: 600_000 });
  await page.waitForFunction(() => Number(document.querySelector("[data-shown]")?.dataset.shown) > 0, undefined, { timeout: 120_000 });
  const { triangles, shown, renderer } = await panel.evaluate((e) => ({ ...e.dataset }));
  assert.equal(Number(triangles), 1_024_000);
  const canvas = panel.locator("canvas").first();
  const box = await canvas.boundingBox();
  const frames = [];
  await page.mouse.move(box.x + box.width / 2, box.y + box.height / 2);
  await page.mouse.down();
  for (let i = 0; i < 40; i++) {
    await page.mouse.move(box.x + box.width / 2 + 4 * i, box.y + box.height / 2 + i);
    await page.evaluate(() => new Promise(requestAnimationFrame));
    frames.push(Number(await panel.getAttribute("data-frame-ms")));
  }
  await page.mouse.up();
  frames.sort((a, b) => a - b);
  console.log(`# ${renderer}: ${shown} of ${triangles} triangles, a frame in ${frames[20]} ms (median)`);
  if (Number(shown) < Number(triangles)) await page.getByText(/of 1[, \u202f]?024[, \u202f]?000 triangles/).first().waitFor();
  else assert.ok(frames[20] < 1000 / 30, `a frame takes ${frames[20]} ms`);
  assert.deepEqual(said, []);
  await context.close();
});
