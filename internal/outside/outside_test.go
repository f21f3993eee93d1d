//go:build outside

package outside

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io/fs"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"fettle/internal/format/intake"
	"fettle/internal/format/partfile"
	"fettle/internal/format/step"
	"fettle/internal/shape/mesh"
)

// python is Debian's, where python3-vtk9 puts its modules; another one may come
// first on the path.
const python = "/usr/bin/python3"

// within is the largest relative difference of volume and area. Both sides
// start from single-precision numbers in most files.
const within = 1e-5

// run gives what a program prints, or fails with what to install.
func run(t testing.TB, install, name string, args ...string) []byte {
	t.Helper()
	cmd := exec.Command(name, args...)
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("%s %s: %v\n%s\nThis test needs Debian's %s: apt-get install --no-install-recommends %s",
			name, args[0], err, stderr.Bytes(), install, install)
	}
	return out
}

// reference is what VTK finds in a file.
type reference struct {
	File         string
	Triangles    int
	Polygons     float64 // area by Newell's formula, polygon by polygon
	Area, Volume float64 // of triangles
	Closed       bool
	Error        string
}

// measureWithVTK measures files in one process.
func measureWithVTK(t *testing.T, files []string) map[string]reference {
	t.Helper()
	out := run(t, "python3-vtk9", python, append([]string{"testdata/measure.py"}, files...)...)
	refs := map[string]reference{}
	for dec := json.NewDecoder(bytes.NewReader(out)); dec.More(); {
		var r reference
		if err := dec.Decode(&r); err != nil {
			t.Fatal(err)
		}
		refs[r.File] = r
	}
	if len(refs) != len(files) {
		t.Fatalf("VTK answered for %d of %d files", len(refs), len(files))
	}
	return refs
}

// modelFiles lists files below a folder that a reader here is for.
func modelFiles(t *testing.T, root, install string) []string {
	t.Helper()
	var files []string
	err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		switch strings.ToLower(filepath.Ext(path)) {
		case ".stl", ".obj", ".ply", ".off", ".3mf":
			files = append(files, path)
		}
		return nil
	})
	if err != nil || len(files) == 0 {
		t.Fatalf("no model files below %s (%v); install Debian's %s", root, err, install)
	}
	return files
}

// tally counts what became of the files.
type tally struct{ areas, volumes, listed int }

// compare holds one file against VTK and says what it did.
func (n *tally) compare(t *testing.T, path string, ref reference, apart map[string]string) {
	t.Helper()
	name := filepath.Join(filepath.Base(filepath.Dir(path)), filepath.Base(path))
	data, err := os.ReadFile(path)
	if err != nil {
		t.Error(err)
		return
	}
	part, err := partfile.Read(t.Context(), path, data, step.Options{})
	list := func(format string, args ...any) {
		n.listed++
		t.Logf("%-42s listed: %s", name, fmt.Sprintf(format, args...))
	}
	why, excused := apart[filepath.Base(path)]
	switch {
	case excused && err != nil:
		list("%s; here: %v", why, err)
		return
	case excused:
		raw := mesh.Measure(part.Mesh, nil)
		list("%s; here: %d triangles, area %g; VTK: %d, %g", why, len(part.Mesh.Tri), raw.Area, ref.Triangles, ref.Area)
		return
	case err != nil && ref.Error != "":
		checkSentence(t, name, err)
		list("refused by both; here: %v; VTK: %s", err, ref.Error)
		return
	case err != nil:
		t.Errorf("%s: refused here (%v), VTK finds %d triangles", name, err, ref.Triangles)
		return
	case ref.Error == "" && concave[filepath.Base(path)]:
		if area := mesh.Measure(part.Mesh, nil).Area; !close(area, ref.Polygons) {
			t.Errorf("%s: area %.9g, of VTK's polygons %.9g", name, area, ref.Polygons)
		}
		n.areas++
		t.Logf("%-42s %6d triangles, area %.9g as of the polygons that VTK reads", name, len(part.Mesh.Tri), ref.Polygons)
		return
	case ref.Error != "":
		list("VTK has no answer (%s); here: %d triangles", ref.Error, len(part.Mesh.Tri))
		return
	}

	// The area of the file as it stands, then the volume of the welded solid.
	raw := mesh.Measure(part.Mesh, nil)
	if !close(raw.Area, ref.Area) {
		t.Errorf("%s: area %.9g, VTK %.9g", name, raw.Area, ref.Area)
	}
	if len(part.Mesh.Tri) != ref.Triangles {
		t.Errorf("%s: %d triangles, VTK %d", name, len(part.Mesh.Tri), ref.Triangles)
	}
	n.areas++
	solid, repairs := mesh.Clean(part.Mesh, mesh.Options{KeepHoles: true})
	got := mesh.Measure(solid, nil)
	if !ref.Closed {
		t.Logf("%-42s %6d triangles, area %.9g as VTK; open (%s)", name, len(part.Mesh.Tri), raw.Area, kinds(repairs))
		return
	}
	if !got.Closed {
		t.Errorf("%s: open after cleaning (%s), closed for VTK", name, kinds(repairs))
		return
	}
	if !close(got.Volume, ref.Volume) || !close(got.Area, ref.Area) {
		t.Errorf("%s: volume %.9g, area %.9g, VTK %.9g and %.9g", name, got.Volume, got.Area, ref.Volume, ref.Area)
	}
	n.volumes++
	t.Logf("%-42s %6d triangles, area %.9g, volume %.9g as VTK", name, len(part.Mesh.Tri), got.Area, got.Volume)
}

func close(got, want float64) bool { return math.Abs(got-want) <= within*math.Abs(want) }

func kinds(repairs []mesh.Repair) string {
	if len(repairs) == 0 {
		return "nothing mended"
	}
	var s []string
	for _, r := range repairs {
		s = append(s, fmt.Sprintf("%s %d", r.Kind, r.Count))
	}
	return strings.Join(s, ", ")
}

// checkSentence wants a refusal to be a fault of one line.
func checkSentence(t *testing.T, name string, err error) {
	t.Helper()
	if _, ok := err.(*intake.Fault); !ok || strings.ContainsAny(err.Error(), "\n") || len(err.Error()) < 12 {
		t.Errorf("%s: refused with %T %q, want a fault in one sentence", name, err, err)
	}
}

// Every model file that assimp-testmodels and admesh bring, in the formats that
// are read here.
func TestInstalledModels(t *testing.T) {
	files := modelFiles(t, "/usr/share/assimp/models", "assimp-testmodels")
	files = append(files, modelFiles(t, "/usr/share/doc/admesh", "admesh")...)
	refs := measureWithVTK(t, files)
	seen := map[string]bool{}
	var n tally
	for _, f := range files {
		n.compare(t, f, refs[f], apart)
		seen[filepath.Base(f)] = true
	}
	for f := range apart {
		if !seen[f] {
			t.Errorf("%s is excused but not there", f)
		}
	}
	t.Logf("%d files: %d areas and %d volumes compared, %d listed", len(files), n.areas, n.volumes, n.listed)
	if n.areas < 28 || n.volumes < 14 || n.areas+n.listed != len(files) {
		t.Errorf("compared too few: %+v of %d files", n, len(files))
	}
}

// Solids that VTK makes and writes.
func TestModelsThatVTKWrites(t *testing.T) {
	dir := t.TempDir()
	run(t, "python3-vtk9", python, "testdata/write.py", dir)
	files := modelFiles(t, dir, "python3-vtk9")
	refs := measureWithVTK(t, files)
	var n tally
	for _, f := range files {
		n.compare(t, f, refs[f], nil)
	}
	t.Logf("%d files: %d areas and %d volumes compared, %d listed", len(files), n.areas, n.volumes, n.listed)
	if len(files) != 60 || n.volumes < 58 {
		t.Errorf("compared too few: %+v of %d files", n, len(files))
	}
}

// The volumes and the counts of parts that admesh finds in the STL files of
// both kinds.
func TestAgainstAdmesh(t *testing.T) {
	dir := t.TempDir()
	run(t, "python3-vtk9", python, "testdata/write.py", dir)
	files := append(modelFiles(t, dir, "python3-vtk9"), modelFiles(t, "/usr/share/doc/admesh", "admesh")...)
	files = slices.DeleteFunc(files, func(f string) bool { return filepath.Ext(f) != ".stl" })
	for _, f := range files {
		var volume float64
		parts := 0
		for line := range strings.Lines(string(run(t, "admesh", "admesh", f))) {
			if _, s, ok := strings.Cut(line, "Number of parts       :"); ok {
				fmt.Sscan(s, &parts)
			}
			if _, s, ok := strings.Cut(line, "Volume   :"); ok {
				fmt.Sscan(s, &volume)
			}
		}
		data, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		part, err := partfile.Read(t.Context(), f, data, step.Options{})
		if err != nil {
			t.Errorf("%s: %v", filepath.Base(f), err)
			continue
		}
		solid, _ := mesh.Clean(part.Mesh, mesh.Options{})
		got := mesh.Measure(solid, nil)
		// admesh prints six digits after the point and sums in single precision.
		if math.Abs(got.Volume-volume) > 2e-6+2e-5*volume || got.Shells != parts || !got.Closed {
			t.Errorf("%s: volume %.7g of %d parts, closed %v; admesh %.7g of %d", filepath.Base(f), got.Volume, got.Shells, got.Closed, volume, parts)
		}
		t.Logf("%-24s volume %.7g, admesh %.7g", filepath.Base(f), got.Volume, volume)
	}
	if len(files) != 21 {
		t.Errorf("%d files, want 21", len(files))
	}
}
