package main

import (
	"bytes"
	"compress/gzip"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// writePackage lays out a package of a small module as npm does.
func writePackage(t *testing.T) string {
	t.Helper()
	p := &program{globals: 2, tags: []funcType{tagInt}, fns: []fn{
		{typ: sig("i", ""), export: "M"},
		{typ: sig("i", "i"), export: "ca", code: code(opTry, i32, opLocalGet, 0, opThrow, 0, opCatch, 0, opEnd)},
	}}
	js := strings.ReplaceAll(glue, "module:", "") + `zero=wasmExports["g0"];one=wasmExports["g1"];tag=wasmExports["t0"];`
	js = strings.Replace(js, "{a:wasmImports}", "{env:wasmImports}", 1)
	dir := t.TempDir()
	for name, text := range map[string]string{
		wasmFile: string(p.bytes()), jsFile: js, texts[0].from: "one\r\ntwo\r\n", texts[1].from: "three\r\n",
	} {
		path := filepath.Join(dir, filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

func TestRun(t *testing.T) {
	pkg, out := writePackage(t), filepath.Join(t.TempDir(), "new")
	if _, err := run(pkg, out, false); err == nil || !strings.Contains(err.Error(), "--any") {
		t.Errorf("another build than the one that was tried: %v", err)
	}
	if _, err := os.Stat(out); err == nil {
		t.Error("a run that fails leaves a folder")
	}
	read := func() map[string]string {
		if _, err := run(pkg, out, true); err != nil {
			t.Fatal(err)
		}
		files := map[string]string{}
		list, err := os.ReadDir(out)
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range list {
			b, err := os.ReadFile(filepath.Join(out, f.Name()))
			if err != nil {
				t.Fatal(err)
			}
			files[f.Name()] = string(b)
		}
		return files
	}
	first, again := read(), read()
	if len(first) != 4 || first["occt-license.txt"] != "one\ntwo\n" || first["occt-import-js-license.txt"] != "three\n" || first["NOTICE.txt"] != notice {
		t.Errorf("%d files: %q", len(first), first)
	}
	for name := range first {
		if first[name] != again[name] {
			t.Errorf("%s changes from run to run", name)
		}
	}
	z, err := gzip.NewReader(bytes.NewReader([]byte(first[kernelFile])))
	if err != nil {
		t.Fatal(err)
	}
	wasm, err := io.ReadAll(z)
	if err != nil {
		t.Fatal(err)
	}
	m := load(t, engines[0].config, wasm)
	if r, err := m.ExportedFunction("malloc").Call(t.Context(), 5); err != nil || r[0] != 5 {
		t.Errorf("malloc gives %v, %v", r, err)
	}
}
