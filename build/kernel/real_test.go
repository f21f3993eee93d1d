package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/tetratelabs/wazero"
	"github.com/tetratelabs/wazero/api"
)

const realPackage = "node_modules/occt-import-js"

// real is the package where npm ci has put it.
func real(t *testing.T) (wasm, js []byte) {
	t.Helper()
	wasm, err := os.ReadFile(filepath.Join(realPackage, wasmFile))
	if errors.Is(err, fs.ErrNotExist) {
		t.Skip("NOT COMPARED: make kernel fetches the module")
	}
	if err != nil {
		t.Fatal(err)
	}
	if js, err = os.ReadFile(filepath.Join(realPackage, jsFile)); err != nil {
		t.Fatal(err)
	}
	return wasm, js
}

func TestRealModule(t *testing.T) {
	if testing.Short() {
		t.Skip("nine megabytes, slow under the race detector")
	}
	wasm, js := real(t)
	r, out, err := rewrite(wasm, js)
	if err != nil {
		t.Fatal(err)
	}
	if r.selects < 2000 || r.exceptions.tries < 40000 {
		t.Errorf("%d selects and %d try blocks: there are more in it", r.selects, r.exceptions.tries)
	}
	m := mustParse(t, out)
	if n, err := floatSelects(m); n != 0 || err != nil {
		t.Errorf("%d float selects are left (%v)", n, err)
	}
	for _, e := range m.imports {
		if e.module != "env" {
			t.Errorf("import %s.%s", e.module, e.name)
		}
	}
	have := map[string]bool{}
	for _, e := range m.exports {
		have[e.name] = true
	}
	for _, name := range []string{"memory", "malloc", "free", "__indirect_function_table", "__wasm_call_ctors", "__getTypeName",
		exportThrown, exportValue, exportStop} {
		if !have[name] {
			t.Errorf("no export %s", name)
		}
	}
	// The interpreter validates as the compiler does, in a fraction of the time.
	ctx := context.Background()
	rt := wazero.NewRuntimeWithConfig(ctx, wazero.NewRuntimeConfigInterpreter().WithCoreFeatures(api.CoreFeaturesV2))
	defer rt.Close(ctx)
	if _, err := rt.CompileModule(ctx, out); err != nil {
		t.Error(err)
	}
}

// readers runs the package's own JavaScript on modules and prints for every file
// what each of them makes of it, and what the last exception carried in the last.
const readers = `
const fs = require("fs"), path = require("path"), crypto = require("crypto");
const occt = require(path.resolve(process.argv[1]));
let text = ""; process.stdin.on("data", d => text += d).on("end", async () => {
  const job = JSON.parse(text), out = [];
  const modules = job.modules.map(b => new WebAssembly.Module(Buffer.from(b, "base64")));
  for (const f of job.files) {
    const says = []; let last;
    for (const m of modules) {
      let inst;
      const o = await occt({ print() {}, printErr() {}, instantiateWasm(imports, done) {
        inst = new WebAssembly.Instance(m, imports); done(inst); return inst.exports; } });
      let r;
      try { const s = o.ReadStepFile(Buffer.from(f, "base64"), null);
        r = s.success + " " + (s.meshes || []).length + " " + crypto.createHash("sha256").update(JSON.stringify(s)).digest("hex");
      } catch (e) { r = String(e); }
      says.push(r);
      last = inst.exports.__exception_value?.value;
    }
    out.push([...says, "" + last]);
  }
  console.log(JSON.stringify(out));
});`

// Read by the module as it was, in an engine that has exceptions built in, and by
// the rewritten one, files give the same to the last bit: a sound one and two
// damaged ones, over which the kernel throws and catches.
func TestRealModuleAsInJavaScriptEngine(t *testing.T) {
	if testing.Short() {
		t.Skip("two engines' compilers take seconds")
	}
	wasm, _ := real(t)
	node, err := exec.LookPath("node")
	if err != nil {
		t.Skip("NOT COMPARED: no node on the path")
	}
	cube, err := os.ReadFile(filepath.Join(realPackage, "test/testfiles/cube-fcstd/cube.step"))
	if err != nil {
		t.Fatal(err)
	}
	files := [][]byte{cube}
	for _, damage := range [][2]string{{"EDGE_CURVE('',#22,", "EDGE_CURVE('',$,"}, {"EDGE_CURVE('',#22,#24,", "EDGE_CURVE('',#22,$,"}} {
		bad := bytes.Replace(cube, []byte(damage[0]), []byte(damage[1]), 1)
		if bytes.Equal(bad, cube) {
			t.Fatalf("there is no %s in the file", damage[0])
		}
		files = append(files, bad)
	}
	out, err := rewriteAll(wasm) // the names stay: the JavaScript knows them
	if err != nil {
		t.Fatal(err)
	}
	in, err := json.Marshal(map[string][][]byte{"modules": {wasm, out}, "files": files})
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(node, "-e", readers, filepath.Join(realPackage, jsFile))
	cmd.Stdin = bytes.NewReader(in)
	cmd.Stderr = os.Stderr
	text, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	var says [][]string
	if err := json.Unmarshal(text, &says); err != nil {
		t.Fatal(err)
	}
	for i, s := range says {
		if s[0] != s[1] || !strings.HasPrefix(s[0], "true") {
			t.Errorf("file %d: %s, was %s", i, s[1], s[0])
		}
		if threw := s[2] != "0"; threw != (i > 0) {
			t.Errorf("file %d: the last exception carried %s", i, s[2])
		}
	}
}
