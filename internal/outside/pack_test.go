//go:build outside

package outside

import (
	"bytes"
	"encoding/json"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"fettle/internal/format/pack"
)

// A pack as Python's zipfile opens it: the manifest first, every name, size, date and
// SHA-256 as listed, nothing that its own test of the archive finds wrong.
const packScript = `
import hashlib, json, sys, zipfile
with zipfile.ZipFile(sys.argv[1]) as z:
    bad = z.testzip()
    names = z.namelist()
    m = json.loads(z.read(names[0]))
    seen = {n: {"bytes": len(z.read(n)), "sha256": hashlib.sha256(z.read(n)).hexdigest()} for n in names[1:]}
    dates = sorted({i.date_time for i in z.infolist()})
    modes = sorted({oct(i.external_attr >> 16) for i in z.infolist()})
print(json.dumps({"bad": bad, "first": names[0], "manifest": m, "seen": seen, "dates": dates, "modes": modes}))
`

func TestPackInPython(t *testing.T) {
	const python = "/usr/bin/python3"
	if _, err := os.Stat(python); err != nil {
		t.Fatalf("%s is not there; install it: apt-get install python3", python)
	}
	text := bytes.Repeat([]byte("#1=CARTESIAN_POINT('',(0.,0.,0.));\n"), 5000)
	noise := make([]byte, 70_000)
	for i, x := 0, uint32(1); i < len(noise); i++ {
		x = x*1664525 + 1013904223
		noise[i] = byte(x >> 24)
	}
	data := map[string][]byte{"model/plåt.step": text, "pictures/show.png": noise, "brief.json": []byte("{}"), "empty.txt": nil, "solid/zero.stl": make([]byte, 3<<20)}
	var files []pack.File
	for name, b := range data {
		files = append(files, pack.File{Name: name, Role: pack.Model, Open: func() (io.ReadCloser, error) { return io.NopCloser(bytes.NewReader(b)), nil }})
	}
	path := filepath.Join(t.TempDir(), "job.zip")
	out, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	if err := pack.Write(out, pack.Manifest{Title: "Plåt", Written: "2026-03-01T10:20:30Z", Program: "test"}, files); err != nil {
		t.Fatal(err)
	}
	if err := out.Close(); err != nil {
		t.Fatal(err)
	}
	said, err := exec.Command(python, "-c", packScript, path).CombinedOutput()
	if err != nil {
		t.Fatalf("%v: %s", err, said)
	}
	var got struct {
		Bad      any
		First    string
		Manifest pack.Manifest
		Seen     map[string]struct {
			Bytes  int64
			SHA256 string
		}
		Dates [][6]int
		Modes []string
	}
	if err := json.Unmarshal(said, &got); err != nil {
		t.Fatal(err)
	}
	if got.Bad != nil || got.First != pack.ManifestName || len(got.Seen) != len(data) || len(got.Manifest.Files) != len(data) {
		t.Errorf("%s", said)
	}
	if len(got.Dates) != 1 || got.Dates[0] != [6]int{2026, 3, 1, 10, 20, 30} || len(got.Modes) != 1 || got.Modes[0] != "0o100644" {
		t.Errorf("dates %v, modes %v", got.Dates, got.Modes)
	}
	for _, it := range got.Manifest.Files {
		if s := got.Seen[it.Name]; s.Bytes != it.Bytes || s.SHA256 != it.SHA256 || s.Bytes != int64(len(data[it.Name])) {
			t.Errorf("%s: %+v there, %+v here", it.Name, s, it)
		}
	}
}
