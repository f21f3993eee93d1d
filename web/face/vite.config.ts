import { readFile } from "node:fs/promises";
import { svelte } from "@sveltejs/vite-plugin-svelte";
import { defineConfig, type Plugin } from "vite";

/** What the page is made of besides our own, with its licence beside it. */
const others = {
  svelte: "svelte/LICENSE.md",
  three: "three/LICENSE",
  "Papa Parse": "papaparse/LICENSE",
  "Atkinson Hyperlegible Next": "@fontsource-variable/atkinson-hyperlegible-next/LICENSE",
};

const licences: Plugin = {
  name: "licences",
  async generateBundle() {
    const texts = await Promise.all(Object.entries(others).map(async ([name, file]) => `${name}\n\n${await readFile(new URL(`node_modules/${file}`, import.meta.url), "utf8")}`));
    this.emitFile({ type: "asset", fileName: "licences.txt", source: texts.join("\n\n----\n\n") });
  },
};

// The page is built into ../front, which the binary embeds. Nothing is inlined: the
// shop's gate lets a page load scripts and styles as files only.
export default defineConfig({
  base: "./",
  plugins: [svelte(), licences],
  build: {
    outDir: "../front",
    emptyOutDir: false,
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
    target: ["es2022", "chrome100", "firefox100", "safari15.4"],
    chunkSizeWarningLimit: 900,
  },
  server: { proxy: { "/api": process.env.FETTLE_AT ?? "http://127.0.0.1:7340" } },
});
