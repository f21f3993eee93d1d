// Screenshots of every place, small enough to keep: docs/pictures.
import { execFile } from "node:child_process";
import { mkdir, readdir, rm, stat } from "node:fs/promises";
import { fileURLToPath } from "node:url";
import { open, sizes } from "./browser.mjs";
import { Served } from "./serve.mjs";

const folder = fileURLToPath(new URL("../../docs/pictures/", import.meta.url));
await rm(folder, { recursive: true, force: true });
await mkdir(folder, { recursive: true });
const browser = await open();
const shop = await Served.start();
try {
  // The first load of an empty shop comes before anything is in it.
  await shots([{ name: "first", at: "/#/bench" }], ["phone", "desk"], ["light"]);
  const has = await shop.lived();
  const places = [
    { name: "bench", at: "/#/bench" },
    { name: "job", at: `/#/job/${has.job.id}` },
    { name: "new", at: "/#/new" },
    { name: "run", at: `/#/run/${has.job.id}/${has.sanded + 1}` },
    { name: "shelf", at: "/#/shelf/media" },
    { name: "logbook", at: "/#/logbook" },
  ];
  await shots(places, ["desk"], ["light", "dark"]);
  await shots(places, ["phone", "tablet"], ["light"]);
  const context = await browser.newContext({ viewport: sizes.desk });
  for (const p of places) {
    const page = await come(context, p);
    await page.pdf({ path: `${folder}${p.name}.pdf`, format: "A4", pageRanges: "1" });
    await new Promise((done, fail) => execFile("pdftoppm", ["-png", "-r", "50", "-singlefile", `${folder}${p.name}.pdf`, `${folder}${p.name}-paper`], (e) => (e ? fail(e) : done())));
    await rm(`${folder}${p.name}.pdf`);
    await page.close();
  }
} finally {
  await browser.close();
  await shop.end();
}
let all = 0;
for (const f of await readdir(folder)) all += (await stat(folder + f)).size;
console.log(`${(await readdir(folder)).length} pictures, ${Math.round(all / 1024)} KiB, in docs/pictures`);

async function come(context, place) {
  const page = await context.newPage();
  await page.goto(shop.at + place.at);
  await page.waitForTimeout(600);
  await page.waitForFunction(() => !document.querySelector("[role=status].working, [data-busy=true]"), undefined, { timeout: 120_000 });
  await page.waitForTimeout(1500);
  return page;
}

async function shots(places, which, schemes) {
  for (const scheme of schemes) {
    for (const size of which) {
      const context = await browser.newContext({ viewport: sizes[size], colorScheme: scheme, hasTouch: size !== "desk" });
      for (const p of places) {
        const page = await come(context, p);
        await page.screenshot({ path: `${folder}${p.name}-${size}${scheme === "dark" ? "-dark" : ""}.jpg`, type: "jpeg", quality: 62 });
        await page.close();
      }
      await context.close();
    }
  }
}
