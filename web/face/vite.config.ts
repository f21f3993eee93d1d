import { svelte } from "@sveltejs/vite-plugin-svelte";
import { defineConfig } from "vite";

// The page is built into ../front, which the binary embeds. Nothing is inlined: the
// shop's gate lets a page load scripts and styles as files only.
export default defineConfig({
  base: "./",
  plugins: [svelte()],
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
