// Runs the npm package occt-import-js as it comes, under Node, and prints a line
// of JSON for each file: what it answered, a SHA-256 of every mesh, and the
// seconds that ReadStepFile took.
//
//   node kernel.cjs PACKAGE '[null, {"linearDeflection": 0.01, ...}]' ROUNDS FILE...
//
// Each file is read with every one of the settings, ROUNDS times; the time is the
// shortest. A new instance is made after one that threw.
"use strict";
const fs = require("fs");
const crypto = require("crypto");
const [folder, settings, rounds, ...files] = process.argv.slice(2);
const start = require(folder);

// hash covers, all little-endian: positions and normals as float64, indices as
// uint32, and for each face its first and last triangle as int32 and its colour.
// A colour is a byte, 0 for none, and three float64.
function hash(mesh) {
  const h = crypto.createHash("sha256");
  const colour = (c) => {
    h.update(Uint8Array.of(c ? 1 : 0));
    if (c) h.update(new Uint8Array(Float64Array.from(c).buffer));
  };
  const normal = mesh.attributes.normal;
  h.update(new Uint8Array(Float64Array.from(mesh.attributes.position.array).buffer));
  h.update(new Uint8Array(Float64Array.from(normal ? normal.array : []).buffer));
  h.update(new Uint8Array(Uint32Array.from(mesh.index.array).buffer));
  for (const f of mesh.brep_faces) {
    h.update(new Uint8Array(Int32Array.of(f.first, f.last).buffer));
    colour(f.color);
  }
  colour(mesh.color);
  return h.digest("hex");
}

function volume(mesh) {
  const p = mesh.attributes.position.array;
  const t = mesh.index.array;
  let v = 0;
  for (let i = 0; i < t.length; i += 3) {
    const [a, b, c] = [3 * t[i], 3 * t[i + 1], 3 * t[i + 2]];
    v += p[a] * (p[b + 1] * p[c + 2] - p[b + 2] * p[c + 1]) +
      p[a + 1] * (p[b + 2] * p[c] - p[b] * p[c + 2]) +
      p[a + 2] * (p[b] * p[c + 1] - p[b + 1] * p[c]);
  }
  return v / 6;
}

async function main() {
  let kernel = await start();
  for (const [which, set] of JSON.parse(settings).entries()) {
    for (const file of files) {
      const data = fs.readFileSync(file);
      const line = { file, which, success: false, seconds: Infinity };
      try {
        let answer;
        for (let i = 0; i < Number(rounds); i++) {
          const before = performance.now();
          answer = kernel.ReadStepFile(data, set);
          line.seconds = Math.min(line.seconds, (performance.now() - before) / 1000);
        }
        line.success = answer.success;
        if (answer.success) {
          line.root = answer.root;
          line.meshes = answer.meshes.map((m) => ({
            name: m.name,
            sha: hash(m),
            triangles: m.index.array.length / 3,
            volume: volume(m),
          }));
        }
      } catch (e) {
        line.seconds = 0;
        line.threw = String(e).slice(0, 200);
        kernel = await start();
      }
      console.log(JSON.stringify(line));
    }
  }
}

main();
