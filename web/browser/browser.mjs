// A browser for tests: Debian's Chromium, cut off from every network but loopback.
import { chromium } from "playwright-core";
import { readFile } from "node:fs/promises";
import { fileURLToPath } from "node:url";

/** Flags with which Chromium asks nobody for anything. */
const args = [
  "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
  "--disable-component-update", "--disable-sync", "--hide-scrollbars",
];

/** open starts the browser, with more flags where given; CHROMIUM names another than Debian's. */
export function open(...more) {
  return chromium.launch({ executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium", args: [...args, ...more] });
}

/** The sizes that pages are looked at in. */
export const sizes = {
  phone: { width: 390, height: 844 },
  tablet: { width: 1024, height: 768 },
  desk: { width: 1440, height: 900 },
};

/** slow is what the software renderer of a machine without a graphics card says of itself. */
const slow = /GL Driver Message \(OpenGL, Performance/;

/**
 * watch collects what a page must not do: complain, throw, or ask for anything that
 * is not in it.
 */
export function watch(page, allowed = /^(file|data|blob):/) {
  const said = [];
  page.on("console", (m) => ["error", "warning"].includes(m.type()) && !slow.test(m.text()) && said.push(`console: ${m.text()}`));
  page.on("pageerror", (e) => said.push(`error: ${e.message}`));
  page.on("request", (r) => allowed.test(r.url()) || said.push(`request: ${r.url()}`));
  return said;
}

const axe = readFile(fileURLToPath(import.meta.resolve("axe-core/axe.min.js")), "utf8");

/** faults are what axe finds wrong with a page, a line each. */
export async function faults(page) {
  await page.evaluate(await axe);
  const found = await page.evaluate(() => window.axe.run(document, { resultTypes: ["violations"] }));
  return found.violations.flatMap((v) => v.nodes.map((n) => `${v.id}: ${v.help}: ${n.target.join(" ")}`));
}

/** wide are the elements that stick out of the page to the right. */
export function wide(page) {
  return page.evaluate(() => {
    const most = document.documentElement.clientWidth;
    if (document.documentElement.scrollWidth <= most) return [];
    return [...document.querySelectorAll("body *")].filter((e) => e.getBoundingClientRect().right > most + 1).map((e) => e.tagName + "." + e.className);
  });
}
