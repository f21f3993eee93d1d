//go:build outside

package outside

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"fettle/internal/format/partfile"
	"fettle/internal/format/step"
	"fettle/internal/shape/bvh"
	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r3"
)

// Distances, insides and rays that VTK's locators find on solids that VTK
// wrote.
func TestLocateAgainstVTK(t *testing.T) {
	dir := t.TempDir()
	run(t, "python3-vtk9", python, "testdata/write.py", dir)
	for _, name := range []string{"sphere", "ring", "plate", "cone"} {
		path := filepath.Join(dir, name+"-binary.stl")
		data, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		part, err := partfile.Read(t.Context(), path, data, step.Options{})
		if err != nil {
			t.Fatal(err)
		}
		solid, _ := mesh.Clean(part.Mesh, mesh.Options{})
		tree := bvh.Build(solid)
		box := solid.Box()
		size := box.Diagonal()
		rng := rand.New(rand.NewPCG(11, 12))
		point := func() r3.Vec {
			f := r3.Vec{X: rng.Float64() - 0.5, Y: rng.Float64() - 0.5, Z: rng.Float64() - 0.5}
			s := box.Size()
			return r3.Add(box.Centre(), r3.Scale(1.4, r3.Vec{X: f.X * s.X, Y: f.Y * s.Y, Z: f.Z * s.Z}))
		}
		const n = 3000
		var from, to [n]r3.Vec
		var in bytes.Buffer
		for i := range n {
			from[i], to[i] = point(), point()
			fmt.Fprintln(&in, from[i].X, from[i].Y, from[i].Z, to[i].X, to[i].Y, to[i].Z)
		}
		cmd := exec.Command(python, "testdata/locate.py", path)
		cmd.Stdin = &in
		out, err := cmd.Output()
		if err != nil {
			t.Fatalf("VTK: %v; this test needs Debian's python3-vtk9", err)
		}
		answers := bytes.NewReader(out)
		inside, hits := 0, 0
		for i := range n {
			var signed, met float64
			if _, err := fmt.Fscan(answers, &signed, &met); err != nil {
				t.Fatal(err)
			}
			_, _, d2 := tree.Nearest(from[i])
			if math.Abs(math.Sqrt(d2)-math.Abs(signed)) > 1e-6*size {
				t.Errorf("%s: point %d is %.9g away, VTK %.9g", name, i, math.Sqrt(d2), math.Abs(signed))
			}
			if math.Abs(signed) > 1e-6*size && tree.Inside(from[i]) != (signed < 0) {
				t.Errorf("%s: point %d inside %v, VTK %.9g", name, i, tree.Inside(from[i]), signed)
			}
			_, at, _, _, ok := tree.Ray(from[i], r3.Sub(to[i], from[i]), 0, 1)
			if ok != (met <= 1) || ok && math.Abs(at-met) > 1e-6 {
				t.Errorf("%s: ray %d met %v at %.9g, VTK %.9g", name, i, ok, at, met)
			}
			if signed < 0 {
				inside++
			}
			if ok {
				hits++
			}
		}
		t.Logf("%s: %d points, %d of them inside, %d rays hit, as in VTK", name, n, inside, hits)
		if inside < n/50 || hits < n/10 {
			t.Errorf("%s: the points try too little", name)
		}
	}
}
