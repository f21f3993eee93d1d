import assert from "node:assert/strict";
import { test } from "node:test";
import Papa from "papaparse";
import { cellsOf, keysOf, read, written } from "./csv.ts";
import { blank, fieldsOf, kindOf, kinds } from "./kinds.ts";
import { at, put, same, type Tree } from "./paths.ts";
import { shown, told, unit } from "./quantity.ts";
import { differences, merged, parsed, preview } from "./transfer.ts";

const guess = (value: number, low: number, high: number, basis = "starting guess") => ({ value, low, high, basis });
const media = (name: string, more: Tree = {}): Tree => ({
  name, title: "Fine ceramic, cylinder 5 × 8 mm", kind: "ceramic fine", shape: "cylinder", size_mm: [5, 8], worn_share: 0.794, hours_run: 3.25, on_shelf_l: 8, bulk_kg_l: 1.68, dry: false, silica: true,
  wear_bowl_pct_h: guess(0.15, 0.06, 0.3), wear_barrel_pct_h: guess(0.03, 0.01, 0.1), limit_ra_um: guess(0.25, 0.12, 0.5), time_factor: guess(1.5, 0.9375, 2.4), cut_factor: guess(0.4, 0.2, 0.8), start_ra_um: 0, price_per_kg: guess(7, 3.5, 14), basis: "as sold", ...more,
});
const kind = kindOf("media")!;
const things = [
  media("fine-5"),
  media("fine-2", { lots: [{ name: 'bag "2", green', kg: 4, hours_run: 12, measured_mm: [4.8, 7.7], measured_on: "2026-03-01" }] }),
  media("=odd", { title: "=1+1", basis: "'=kept as it is\nsecond line; third, \"quoted\"" }),
  media("@other", { title: "-2", basis: "'plain apostrophe" }),
];

test("what is written is read back, and nothing changed", async () => {
  const rows = await preview(kind, written(kind, things), things);
  assert.deepEqual(rows.map((r) => r.what), things.map(() => "unchanged"));
});

test("what is written is RFC 4180, by another reader, and no cell is a formula", () => {
  const text = written(kind, things);
  assert.ok(text.startsWith("\ufeffname,title,"));
  const cells = Papa.parse<string[]>(text.slice(1), { delimiter: ",", newline: "\r\n" }).data;
  assert.equal(cells.length, things.length + 2); // the head, and what stands behind the last line's end
  const width = keysOf(kind).length;
  for (const row of cells.slice(0, -1)) {
    assert.equal(row.length, width);
    for (const c of row) assert.ok(!/^[=+\-@\t\r]/.test(c) || !Number.isNaN(Number(c)), c);
  }
  assert.equal(cells[3]![1], "'=1+1");
  assert.equal(cellsOf([["=x", -2], ["a,b", "c"]]), '\ufeff\'=x,-2\r\n"a,b",c\r\n');
});

test("random texts come back as they were", async () => {
  const signs = ["=", "+", "-", "@", "'", '"', ",", ";", "\n", "\r\n", "\t", " ", "µ", "é", "a", "1"];
  let seed = 7;
  const next = () => (seed = (seed * 48271) % 2147483647) / 2147483647; // Park and Miller's
  const text = () => Array.from({ length: 1 + Math.floor(next() * 6) }, () => signs[Math.floor(next() * signs.length)]!).join("");
  const odd = Array.from({ length: 300 }, (_, i) => media(`m${i}`, { title: text(), basis: text() }));
  const rows = await preview(kind, written(kind, odd), odd);
  assert.deepEqual(rows.filter((r) => r.what !== "unchanged"), []);
  const { cells } = await parsed(written(kind, odd));
  const fresh = read(kind, cells, cells.map((_, i) => i + 1), []);
  fresh.forEach((r, i) => assert.deepEqual([r.body.title, r.body.basis], [odd[i]!.title, odd[i]!.basis]));
});

test("new, changed and wrong are told by line and column", async () => {
  const file = 'name,hours_run,dry,size_mm,limit_ra_um.low\r\nfine-5,9,,"[5, 8]",0.12\r\n"fine-2",3.25,maybe,5x8,0.12\r\nnew-1,1,yes,"[1, 2]",0.1\r\nFine 5,1,no,"[1, 2]",0.1\r\n,1,no,"[1, 2]",0.1\r\n';
  const rows = await preview(kind, file, things);
  assert.deepEqual(rows.map((r) => [r.line, r.what]), [[2, "changed"], [3, "wrong"], [4, "new"], [5, "wrong"], [6, "wrong"]]);
  assert.deepEqual(rows[0]!.says, ["hours_run"]);
  assert.match(rows[1]!.says.join("; "), /column "dry".*column "size_mm"/);
  assert.match(rows[3]!.says[0]!, /line 2 already/);
  assert.match(rows[4]!.says[0]!, /"name" is empty/);
  // Columns that the file leaves out stay as they were.
  assert.equal(at(rows[0]!.body, "price_per_kg.high"), 14);
  assert.match((await preview(kind, "name,colour\r\nx,y\r\n", things))[0]!.says[0]!, /colour/);
  assert.match((await preview(kind, "title\r\nx\r\n", things))[0]!.says[0]!, /no column "name"/);
});

test("a row of several lines does not put the numbers of later lines out", async () => {
  const rows = await preview(kind, 'name,basis,hours_run\r\nfine-5,"one\r\ntwo\r\nthree",3.25\r\nfine-2,x,wrong\r\n', things);
  assert.deepEqual(rows.map((r) => [r.line, r.what]), [[2, "changed"], [5, "wrong"]]);
});

test("semicolons and decimal commas of a spreadsheet are taken", async () => {
  const rows = await preview(kind, "name;hours_run;start_ra_um\nfine-5;3,25;0\n", things);
  assert.deepEqual(rows.map((r) => r.what), ["unchanged"]);
});

test("signs between cells are told from the first line, not from what stands in texts", async () => {
  const soft = kindOf("softs")!;
  const body: Tree = { name: "flex", title: "Flexible", shore_a: 95, squeeze: guess(0.03, 0.015, 0.05), least_mm: 0.8, printed: true, says: "prints; stands water; comes out; again; and; again", basis: "a; b" };
  assert.deepEqual((await preview(soft, written(soft, [body]), [body])).map((r) => [r.what, r.says]), [["unchanged", []]]);
});

test("a file is put in its place on the shelf, and the rest stays", async () => {
  const shelf = { media: things, cutters: [{ name: "ball-6" }], rates: { currency: "USD" } } as never;
  const rows = await preview(kind, "name,hours_run\r\nfine-2,99\r\nnew-1,1\r\n", things);
  const then = merged(kind, shelf, rows);
  assert.deepEqual((then.media ?? []).map((m) => [m.name, m.hours_run]), [["fine-5", 3.25], ["fine-2", 99], ["=odd", 3.25], ["@other", 3.25], ["new-1", 1]]);
  assert.equal(then.cutters?.length, 1);
  assert.deepEqual(differences(shelf, then), [{ says: "media", fresh: ["new-1"], changed: ["fine-2"], gone: [] }]);
});

test("every kind's blank and an odd thing of it survive a file", async () => {
  for (const k of kinds) {
    const body = blank(fieldsOf(k)) as Tree;
    if (!k.single) body.name = "x";
    const rows = await preview(k, written(k, [body]), [body]);
    assert.deepEqual(rows.map((r) => r.what), ["unchanged"], k.key);
  }
});

test("numbers are shown in inches and read back", () => {
  // An inch is 25.4 mm and a pound 0.45359237 kg, exactly (agreement of 1959).
  const inch = unit("length", "inch");
  assert.equal(shown(25.4, inch), "1");
  assert.equal(told("0.5", inch), 12.7);
  assert.equal(told("1", unit("kg", "inch")), 0.45359237);
  assert.equal(told("1", unit("money_kg", "inch", "USD"))!.toFixed(4), "2.2046");
  assert.equal(told("32", unit("height", "inch")), 0.8128);
  assert.equal(told("95", unit("share", "metric")), 0.95);
  assert.equal(told("", inch), undefined);
  assert.equal(told("0,8", unit("height", "metric")), 0.8);
  for (const bad of ["1,5,2", "1e", "a", "--1", "1 mm"]) assert.ok(Number.isNaN(told(bad, inch)), bad);
  assert.equal(shown(0.1 + 0.2, unit("height", "metric")), "0.3");
});

test("places are written and taken away, and what is empty is the same as nothing", () => {
  const b: Tree = {};
  put(b, "sold.0.section_mm.1", 20);
  assert.deepEqual(b, { sold: [{ section_mm: [, 20] }] });
  put(b, "sold.0.section_mm.0", 5);
  put(b, "price.low", 2);
  put(b, "price", undefined);
  assert.deepEqual(b, { sold: [{ section_mm: [5, 20] }] });
  assert.ok(same({ a: 1, b: "", c: [0, 0], d: { e: 0 } }, { a: 1 }));
  assert.ok(!same({ a: [1, 0] }, { a: [0, 1] }));
});
