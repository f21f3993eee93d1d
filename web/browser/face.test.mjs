// The shop's page: each place as it is seen, in light and dark, at the sink, the mill and
// the desk, and on paper. Nothing complains, nothing sticks out, axe finds nothing.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { faults, open, sizes, watch, wide } from "./browser.mjs";
import { Served } from "./serve.mjs";

let browser, shop, has;
before(async () => {
  browser = await open();
  shop = await Served.start();
  has = await shop.lived();
});
after(async () => {
  await browser?.close();
  await shop?.end();
});

/** The places, and a word that is on each once it is there. */
const places = () => [
  { name: "bench", at: "/#/bench", seen: "Escutcheon plate" },
  { name: "job", at: `/#/job/${has.job.id}`, seen: "Escutcheon plate" },
  { name: "run", at: `/#/run/${has.job.id}/${has.sanded + 1}`, seen: has.route[has.sanded].name },
  { name: "new", at: "/#/new", seen: "How it shall look" },
  { name: "shelf", at: "/#/shelf/media", seen: "ceramic" },
  { name: "logbook", at: "/#/logbook", seen: "P280" },
];

/** at opens a place and waits until it is at rest. */
async function at(context, place) {
  const page = await context.newPage();
  const said = watch(page, new RegExp(`^(${shop.at}|data:|blob:)`));
  await page.goto(shop.at + place.at);
  await page.getByText(place.seen, { exact: false }).filter({ visible: true }).first().waitFor({ timeout: 30_000 });
  await rest(page);
  return { page, said };
}

/** rest waits until nothing is fetched or worked out any more. */
async function rest(page) {
  await page.waitForFunction(() => !document.querySelector("[role=status].working, [data-busy=true]"), undefined, { timeout: 120_000 });
  await page.waitForTimeout(400);
}

const names = ["bench", "job", "run", "new", "shelf", "logbook"];

for (const scheme of ["light", "dark"]) {
  for (const [size, viewport] of Object.entries(sizes)) {
    for (const name of names) {
      test(`${name}, ${scheme}, ${size}`, async () => {
        const context = await browser.newContext({ colorScheme: scheme, viewport, hasTouch: size !== "desk", reducedMotion: "reduce" });
        const { page, said } = await at(context, places().find((p) => p.name === name));
        assert.deepEqual(await wide(page), []);
        assert.equal(await page.locator("h1").count(), 1, "one heading of the first rank");
        assert.deepEqual(await faults(page), []);
        assert.deepEqual(await small(page), [], "things to press that a thumb misses");
        assert.deepEqual(said, []);
        await context.close();
      });
    }
  }
}

/** small are buttons and fields under 44 px, those within a sentence left out. */
function small(page) {
  return page.evaluate(() =>
    [...document.querySelectorAll("button, select, input:not([type=checkbox], [type=radio], [type=range], [type=file]), textarea, summary, nav a, a.press")]
      .filter((e) => e.checkVisibility({ visibilityProperty: true }) && !e.closest(".unseen") && !e.matches(".unseen"))
      .map((e) => ({ e, box: e.getBoundingClientRect() }))
      .filter(({ box }) => box.height < 43.5 || box.width < 43.5)
      .map(({ e, box }) => `${e.tagName} ${e.textContent?.trim().slice(0, 30)} ${Math.round(box.width)}×${Math.round(box.height)}`));
}

for (const name of names) {
  test(`${name}, printed`, async () => {
    const context = await browser.newContext({ colorScheme: "dark", viewport: sizes.desk });
    const { page, said } = await at(context, places().find((p) => p.name === name));
    const pdf = await page.pdf({ format: "A4" });
    assert.ok(pdf.length > 5_000, `${pdf.length} bytes`);
    await page.emulateMedia({ media: "print" });
    const left = await page.locator("button, input[type=range], nav").evaluateAll((all) => all.filter((e) => e.checkVisibility() && !e.closest("h3, th")).map((e) => e.outerHTML.slice(0, 80)));
    assert.deepEqual(left, [], "controls on paper, where they are not the words of a heading");
    const ground = await page.evaluate(() => getComputedStyle(document.body).backgroundColor);
    assert.equal(ground, "rgb(255, 255, 255)");
    assert.deepEqual(said, []);
    await context.close();
  });
}

test("the first load is small", async () => {
  const context = await browser.newContext({ viewport: sizes.phone });
  const page = await context.newPage();
  const wire = await context.newCDPSession(page);
  await wire.send("Network.enable");
  const of = new Map();
  let bytes = 0;
  wire.on("Network.responseReceived", (e) => of.set(e.requestId, e.response.url));
  wire.on("Network.loadingFinished", (e) => {
    if (!of.get(e.requestId)?.includes("/api/")) bytes += e.encodedDataLength;
  });
  await page.goto(shop.at + "/");
  await page.getByText("Escutcheon plate").first().waitFor();
  await page.waitForTimeout(500);
  assert.ok(bytes > 10_000 && bytes < 200_000, `${bytes} bytes`);
  console.log(`# first load: ${bytes} bytes in ${of.size} answers`);
  await context.close();
});

test("an address that leads nowhere says so", async () => {
  const context = await browser.newContext({ viewport: sizes.phone });
  for (const [where, says] of [["/#/attic", "no such place"], ["/#/job/01a22b5f-275c-7a27-b45d-dab4a1a5aba3", "no such job"], [`/#/run/${has.job.id}/99`, "There is no step 99"]]) {
    const page = await context.newPage();
    await page.goto(shop.at + where);
    await page.getByText(says).first().waitFor({ timeout: 10_000 });
    await page.close();
  }
  await context.close();
});

test("every place is gone to by keys, and they are listed", async () => {
  const context = await browser.newContext({ viewport: sizes.desk });
  const { page, said } = await at(context, places()[0]);
  for (const [keys, where] of [["gs", /#\/shelf/], ["gl", /#\/logbook/], ["gb", /#\/bench/], ["n", /#\/new/]]) {
    for (const k of keys) await page.keyboard.press(k);
    await page.waitForURL(where);
  }
  await page.keyboard.press("?");
  const list = page.getByRole("dialog");
  await list.waitFor();
  for (const word of ["bench", "shelf", "logbook", "undo", "bring a part"]) await list.getByText(word).first().waitFor();
  assert.deepEqual(await faults(page), []);
  await page.keyboard.press("Escape");
  await list.waitFor({ state: "detached" });
  // Tab comes to everything that can be pressed: the first is the way past the head.
  await page.goto(shop.at + "/#/bench");
  await page.reload();
  await page.getByText("Escutcheon plate").first().waitFor();
  await page.keyboard.press("Tab");
  assert.equal(await page.evaluate(() => document.activeElement.textContent), "To the page itself");
  assert.deepEqual(said, []);
  await context.close();
});

test("the whole shop reads inches", async () => {
  const context = await browser.newContext({ viewport: sizes.desk });
  const { page, said } = await at(context, { at: `/#/job/${has.job.id}`, seen: "Escutcheon plate" });
  await page.getByRole("button", { name: "inch" }).click();
  await page.getByText(/µin/).first().waitFor();
  const left = await page.locator("main").evaluate((m) => m.innerText.match(/[^\n]*\d (mm|µm)\b[^\n]*/g) ?? []);
  assert.deepEqual(left, []);
  await page.reload();
  await page.getByText(/µin/).first().waitFor();
  await page.getByRole("button", { name: "mm", exact: true }).click();
  await page.getByText(/µm/).first().waitFor();
  assert.deepEqual(said, []);
  await context.close();
});

test("without WebGL the part is seen in pictures, and pointed at by keys", async () => {
  const flat = await open("--disable-3d-apis");
  const context = await flat.newContext({ viewport: sizes.tablet });
  const page = await context.newPage();
  const said = watch(page, new RegExp(`^(${shop.at}|data:|blob:)`));
  await page.goto(`${shop.at}/#/job/${has.job.id}`);
  const panel = page.locator("[data-renderer=picture]");
  await panel.waitFor({ timeout: 60_000 });
  await page.waitForFunction(() => Number(document.querySelector("[data-shown]")?.dataset.shown) > 0, undefined, { timeout: 60_000 });
  const inked = await panel.locator("canvas").evaluateAll((all) => all.map((c) => {
    const { data } = c.getContext("2d").getImageData(0, 0, c.width, c.height);
    let n = 0;
    for (let i = 3; i < data.length; i += 4) n += data[i] > 0 ? 1 : 0;
    return n / (c.width * c.height);
  }));
  assert.equal(inked.length, 3, "three sides");
  for (const share of inked) assert.ok(share > 0.01, `${inked}`);
  await panel.getByRole("button", { name: "Next face" }).click();
  await panel.getByText(/\d+\.\d\d mm/).first().waitFor();
  assert.deepEqual(await faults(page), []);
  assert.deepEqual(said, []);
  await flat.close();
});
