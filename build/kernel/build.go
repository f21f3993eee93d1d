package main

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"fmt"
	"os"
	"path/filepath"
)

// What the package holds, and the build of it that was tried.
const (
	wasmFile = "dist/occt-import-js.wasm"
	jsFile   = "dist/occt-import-js.js"
	wasmSHA  = "33391fc9d94ea5c869a6718488bf0a9a464222bac9bdc764dfe1690cef281952"
)

// kernelFile is what package brep embeds.
const kernelFile = "kernel.wasm.gz"

// texts go beside the module, under names that say whose they are.
var texts = []struct{ from, to string }{
	{"dist/license.occt.txt", "occt-license.txt"},
	{"dist/license.occt-import-js.txt", "occt-import-js-license.txt"},
}

type file struct {
	name string
	data []byte
}

// made is a module that was written.
type made struct {
	file         string
	size, packed int
	sum          [sha256.Size]byte
	selects      int
	loops        int
	exceptions   exceptionStats
}

func (m made) String() string {
	return fmt.Sprintf("%s: %.2f MB (%.2f MB packed), %d float selects, %d loops, %d try blocks, %d of %d calls checked, sha256 %x",
		m.file, float64(m.size)/1e6, float64(m.packed)/1e6, m.selects, m.loops, m.exceptions.tries, m.exceptions.checks, m.exceptions.calls, m.sum)
}

// run makes everything in a folder from a package. It writes nothing before all
// of it is made.
func run(pkg, out string, anyBuild bool) (made, error) {
	wasm, err := os.ReadFile(filepath.Join(pkg, filepath.FromSlash(wasmFile)))
	if err != nil {
		return made{}, fmt.Errorf("%w; npm ci in build/kernel fetches the package", err)
	}
	if sum := fmt.Sprintf("%x", sha256.Sum256(wasm)); sum != wasmSHA && !anyBuild {
		return made{}, fmt.Errorf("%s has sha256 %s and not %s, with which Fettle was tried; --any takes it all the same", wasmFile, sum, wasmSHA)
	}
	js, err := os.ReadFile(filepath.Join(pkg, filepath.FromSlash(jsFile)))
	if err != nil {
		return made{}, err
	}
	var files []file
	for _, t := range texts {
		b, err := os.ReadFile(filepath.Join(pkg, filepath.FromSlash(t.from)))
		if err != nil {
			return made{}, err
		}
		files = append(files, file{t.to, bytes.ReplaceAll(b, []byte("\r\n"), []byte("\n"))})
	}
	m, code, err := rewrite(wasm, js)
	if err != nil {
		return made{}, fmt.Errorf("%s: %w", wasmFile, err)
	}
	packed, err := pack(code)
	if err != nil {
		return made{}, err
	}
	m.file, m.packed = filepath.Join(out, kernelFile), len(packed)
	if err := os.MkdirAll(out, 0o755); err != nil {
		return made{}, err
	}
	// The module comes last: where it is, the rest is.
	files = append(files, file{"NOTICE.txt", []byte(notice)}, file{kernelFile, packed})
	for _, f := range files {
		if err := write(filepath.Join(out, f.name), f.data); err != nil {
			return made{}, err
		}
	}
	return m, nil
}

// rewrite does all that is done to a module.
func rewrite(wasm, js []byte) (made, []byte, error) {
	var r made
	n, err := readNames(js)
	if err != nil {
		return r, nil, err
	}
	m, err := parse(wasm)
	if err != nil {
		return r, nil, err
	}
	if err := m.rename(n); err != nil {
		return r, nil, err
	}
	if r.exceptions, err = lowerExceptions(m); err != nil {
		return r, nil, err
	}
	if r.selects, err = floatSelects(m); err != nil {
		return r, nil, err
	}
	if r.loops, err = stops(m); err != nil {
		return r, nil, err
	}
	code := m.bytes()
	r.size, r.sum = len(code), sha256.Sum256(code)
	return r, code, nil
}

// pack compresses without name and time, so that the same module gives the same
// file.
func pack(code []byte) ([]byte, error) {
	var b bytes.Buffer
	z, err := gzip.NewWriterLevel(&b, gzip.BestCompression)
	if err != nil {
		return nil, err
	}
	if _, err := z.Write(code); err != nil {
		return nil, err
	}
	if err := z.Close(); err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}

// write puts a file in its place whole or not at all.
func write(path string, b []byte) error {
	f, err := os.CreateTemp(filepath.Dir(path), "."+filepath.Base(path)+".*")
	if err != nil {
		return err
	}
	defer os.Remove(f.Name()) // fails once it is renamed
	_, err = f.Write(b)
	if err == nil {
		err = f.Chmod(0o644)
	}
	if e := f.Close(); err == nil {
		err = e
	}
	if err != nil {
		return err
	}
	return os.Rename(f.Name(), path)
}
