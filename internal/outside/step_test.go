//go:build outside

package outside

import (
	"bufio"
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io/fs"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"fettle/internal/format/brep"
	"fettle/internal/format/intake"

	"gonum.org/v1/gonum/spatial/r3"
)

// kernelPackage is where the build put the npm package whose module is
// rewritten.
const kernelPackage = "../../build/kernel/node_modules/occt-import-js"

// stepModels lists the STEP files that come with the kernel's package.
func stepModels(t testing.TB) []string {
	t.Helper()
	var files []string
	err := filepath.WalkDir(filepath.Join(kernelPackage, "test/testfiles"), func(path string, d fs.DirEntry, err error) error {
		if err == nil && (strings.HasSuffix(path, ".stp") || strings.HasSuffix(path, ".step")) {
			files = append(files, path)
		}
		return err
	})
	if err != nil || len(files) != 55 {
		t.Fatalf("%d STEP files below %s (%v), want 55; npm ci in build/kernel brings them", len(files), kernelPackage, err)
	}
	return files
}

// models are some of them by name.
func models(names ...string) []string {
	var files []string
	for _, n := range names {
		files = append(files, filepath.Join(kernelPackage, "test/testfiles", n))
	}
	return files
}

// exact is what OCCT finds of one body by integrals over its exact faces.
type exact struct {
	Volume float64
	Areas  [2]float64 // by two rules
	Box    [6]float64 // the least x, y and z, then the greatest
}

// area is how far an area is from what lies between the two rules.
func (e exact) area(a float64) float64 {
	return max(a-max(e.Areas[0], e.Areas[1]), min(e.Areas[0], e.Areas[1])-a, 0)
}

// draw runs a script of OCCT's test shell and gives the lines of JSON that it
// prints, by the file that they are about, and the files in order. Debian leaves
// out the links by which the shell looks for its own parts; they are made in
// a folder of the test's.
func draw(t testing.TB, script string, env ...string) (map[string][]exact, []string) {
	t.Helper()
	const shell = "/usr/bin/occt-draw-7.6"
	links := t.TempDir()
	for _, name := range []string{"TKTopTest", "TKDCAF", "TKViewerTest", "TKXSDRAW", "TKXDEDRAW"} {
		found, _ := filepath.Glob("/usr/lib/*/lib" + name + ".so.7")
		if len(found) == 0 {
			t.Fatalf("no lib%s.so.7; this test needs Debian's occt-draw: apt-get install --no-install-recommends occt-draw", name)
		}
		if err := os.Symlink(found[0], filepath.Join(links, "lib"+name+".so")); err != nil {
			t.Fatal(err)
		}
	}
	cmd := exec.Command(shell, "-b", "-f", script)
	cmd.Env = append(append(os.Environ(), "LD_LIBRARY_PATH="+links), env...)
	out, err := cmd.CombinedOutput()
	if err != nil {
		t.Fatalf("%s: %v\n%s", shell, err, out)
	}
	bodies := map[string][]exact{}
	var files []string
	for line := range strings.Lines(string(out)) {
		if !strings.HasPrefix(line, "{") {
			continue
		}
		var l struct {
			File   string
			Bodies []exact
		}
		if err := json.Unmarshal([]byte(line), &l); err != nil {
			t.Fatalf("%s: %v", line, err)
		}
		bodies[l.File] = l.Bodies
		files = append(files, l.File)
	}
	if len(files) == 0 {
		t.Fatalf("%s said nothing about any file:\n%s", script, out)
	}
	return bodies, files
}

// drawn are the solids that testdata/solids.tcl makes, written once for all
// tests.
var drawn struct {
	once   sync.Once
	bodies map[string][]exact
	files  []string
}

func drawnSolids(t testing.TB) (map[string][]exact, []string) {
	t.Helper()
	drawn.once.Do(func() {
		dir, err := keep("solids")
		if err != nil {
			t.Fatal(err)
		}
		drawn.bodies, drawn.files = draw(t, "testdata/solids.tcl", "FETTLE_DIR="+dir)
	})
	if len(drawn.files) != 27 {
		t.Fatalf("%d solids, want 27", len(drawn.files))
	}
	return drawn.bodies, drawn.files
}

// drawnFile is the path of one of them.
func drawnFile(t testing.TB, name string) string {
	t.Helper()
	_, files := drawnSolids(t)
	for _, f := range files {
		if filepath.Base(f) == name+".step" {
			return f
		}
	}
	t.Fatalf("no solid %q", name)
	return ""
}

// answer is what the package says under Node about a file.
type answer struct {
	File    string
	Which   int // of the settings
	Success bool
	Threw   string
	Seconds float64
	Root    brep.Node
	Meshes  []struct {
		Name      string
		SHA       string
		Triangles int
		Volume    float64
	}
}

// triangles counts those of all meshes.
func (a answer) triangles() (n int) {
	for _, m := range a.Meshes {
		n += m.Triangles
	}
	return n
}

// parameters are settings as the package's JavaScript takes them; nil leaves all
// to it.
type parameters struct {
	Unit    string  `json:"linearUnit"`
	Kind    string  `json:"linearDeflectionType"`
	Linear  float64 `json:"linearDeflection"`
	Angular float64 `json:"angularDeflection"`
}

// underNode reads files with the unmodified package under Node, each with all
// settings.
func underNode(t testing.TB, settings []*parameters, rounds int, files ...string) []answer {
	t.Helper()
	if _, err := exec.LookPath("node"); err != nil {
		t.Skip("NOT COMPARED with the package under Node: no node here")
	}
	set, err := json.Marshal(settings)
	if err != nil {
		t.Fatal(err)
	}
	pkg, err := filepath.Abs(kernelPackage)
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command("node", append([]string{"testdata/kernel.cjs", pkg, string(set), fmt.Sprint(rounds)}, files...)...)
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("node: %v\n%s\nnpm ci in build/kernel brings the package", err, stderr.Bytes())
	}
	var answers []answer
	lines := bufio.NewScanner(bytes.NewReader(out))
	lines.Buffer(nil, 64<<20)
	for lines.Scan() {
		if !strings.HasPrefix(lines.Text(), "{") {
			continue // what the kernel itself prints
		}
		var a answer
		if err := json.Unmarshal(lines.Bytes(), &a); err != nil {
			t.Fatalf("%s: %v", lines.Text(), err)
		}
		answers = append(answers, a)
	}
	if len(answers) != len(settings)*len(files) {
		t.Fatalf("Node answered %d times for %d files with %d settings", len(answers), len(files), len(settings))
	}
	return answers
}

// hash is that of testdata/kernel.cjs over a mesh of ours.
func hash(m brep.Mesh) string {
	h := sha256.New()
	put := func(v any) {
		if err := binary.Write(h, binary.LittleEndian, v); err != nil {
			panic(err)
		}
	}
	colour := func(c *[3]float64) {
		if c == nil {
			put(byte(0))
			return
		}
		put(byte(1))
		put(*c)
	}
	put(m.Pos)
	put(m.Normal)
	put(m.Tri)
	for _, f := range m.Faces {
		put([2]int32{int32(f.First), int32(f.Last)})
		colour(f.Colour)
	}
	colour(m.Colour)
	return hex.EncodeToString(h.Sum(nil))
}

// measured is one body of a part, as triangles.
type measured struct {
	Volume, Area float64
	Box          [6]float64
	// bend is the sum over the edges inside faces of length by angle, which goes to
	// the integral of the curvatures as facets get finer; rim is the length of the
	// edges between faces, one for each face.
	bend, rim float64
	open      bool // whether the facets leave a hole
}

// measure measures a body as it stands in the file, welding nothing.
func measure(p *intake.Part, b intake.Body) measured {
	m := measured{Box: [6]float64{math.Inf(1), math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1), math.Inf(-1)}}
	type side struct {
		face int32
		a, b uint32
	}
	over := map[side]r3.Vec{} // edges of one facet so far, and its normal
	var closed r3.Vec         // the sum of the facets' areas, nought for a closed body
	for i := b.From; i < b.To; i++ {
		t := p.Mesh.Tri[i]
		v := [3]r3.Vec{p.Mesh.Pos[t[0]], p.Mesh.Pos[t[1]], p.Mesh.Pos[t[2]]}
		cross := r3.Cross(r3.Sub(v[1], v[0]), r3.Sub(v[2], v[0]))
		m.Area += r3.Norm(cross) / 2
		m.Volume += r3.Dot(v[0], r3.Cross(v[1], v[2])) / 6
		closed = r3.Add(closed, cross)
		for k := range 3 {
			for c, x := range [3]float64{v[k].X, v[k].Y, v[k].Z} {
				m.Box[c] = min(m.Box[c], x)
				m.Box[3+c] = max(m.Box[3+c], x)
			}
			from, to := t[k], t[(k+1)%3]
			s := side{p.Mesh.Face[i], min(from, to), max(from, to)}
			other, met := over[s]
			if !met {
				over[s] = cross
				continue
			}
			delete(over, s)
			turn := math.Atan2(r3.Norm(r3.Cross(other, cross)), r3.Dot(other, cross))
			m.bend += turn * r3.Norm(r3.Sub(v[(k+1)%3], v[k]))
		}
	}
	for s := range over {
		m.rim += r3.Norm(r3.Sub(p.Mesh.Pos[s.a], p.Mesh.Pos[s.b]))
	}
	m.open = r3.Norm(closed) > 1e-6*m.Area
	return m
}
