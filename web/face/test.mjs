// Runs the tests beside the code (*.test.ts): built by Vite as the page is, then by node.
import { spawnSync } from "node:child_process";
import { readdirSync, rmSync } from "node:fs";
import path from "node:path";
import { fileURLToPath } from "node:url";
import { build } from "vite";

const here = fileURLToPath(new URL(".", import.meta.url));
const out = path.join(here, "node_modules", ".tests");
const input = readdirSync(path.join(here, "src"), { recursive: true }).filter((f) => f.endsWith(".test.ts")).map((f) => path.join(here, "src", f));
rmSync(out, { recursive: true, force: true });
await build({ root: here, logLevel: "warn", publicDir: false, build: { ssr: true, outDir: out, emptyOutDir: true, rollupOptions: { input, output: { entryFileNames: "[name].js" } } } });
const made = readdirSync(out).filter((f) => f.endsWith(".test.js")).map((f) => path.join(out, f));
if (made.length !== input.length) throw new Error(`${input.length} tests, ${made.length} built`);
process.exit(spawnSync(process.execPath, ["--test", ...made], { stdio: "inherit" }).status ?? 1);
