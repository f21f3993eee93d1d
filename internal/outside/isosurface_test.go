//go:build outside

package outside

import (
	"bytes"
	"context"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"testing"

	"fettle/internal/shape/field"
	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r3"
)

// Surfaces of fields that VTK's flying edges find as well: as many connected
// parts, and the same area and volume but for what two ways of joining the same
// crossings differ by.
func TestIsoSurfaceAgainstVTK(t *testing.T) {
	// Joined smoothly: at a thin sliver a few points decide what hangs together,
	// and where their signs leave it open the two read them differently.
	both := func(a, b float64) float64 { return math.Log(math.Exp(2*a)+math.Exp(2*b)) / 2 }
	gyroid := func(p r3.Vec) float64 {
		d := math.Sin(p.X)*math.Cos(p.Y) + math.Sin(p.Y)*math.Cos(p.Z) + math.Sin(p.Z)*math.Cos(p.X)
		return both(d, r3.Norm(p)-8.3)
	}
	drops := func(p r3.Vec) float64 {
		return both(math.Cos(p.X)*math.Cos(p.Y)*math.Cos(p.Z)-0.2, r3.Norm(p)-8.2)
	}
	plate := func(p r3.Vec) float64 {
		slab := math.Max(math.Max(math.Abs(p.X)-8, math.Abs(p.Y)-7), math.Abs(p.Z)-1.5)
		for _, c := range [][3]float64{{-4, 0, 2.1}, {3, 2, 1.3}, {4, -4, 0.7}} {
			slab = math.Max(slab, c[2]-math.Hypot(p.X-c[0], p.Y-c[1]))
		}
		return slab
	}
	for _, c := range []struct {
		name  string
		d     func(r3.Vec) float64
		level float64
	}{
		{"ball", func(p r3.Vec) float64 { return r3.Norm(p) - 6 }, 0},
		{"ball, further out", func(p r3.Vec) float64 { return r3.Norm(p) - 6 }, 1.7},
		{"gyroid in a ball", gyroid, 0},
		{"drops", drops, 0},
		{"plate with holes", plate, 0},
		{"inside the plate", plate, -0.4},
	} {
		t.Run(c.name, func(t *testing.T) {
			f := &field.Field{Grid: field.Grid{Origin: r3.Vec{X: -9, Y: -9.1, Z: -9.2}, Cell: 0.19, N: [3]int{97, 98, 99}}}
			f.D = make([]float32, f.Len())
			for at := range f.D {
				f.D[at] = float32(c.d(f.At(f.Split(at))))
			}
			m, err := field.Surface(context.Background(), f, c.level, field.SurfaceOptions{})
			if err != nil {
				t.Fatal(err)
			}
			var raw bytes.Buffer
			binary.Write(&raw, binary.LittleEndian, f.D)
			path := filepath.Join(t.TempDir(), "field")
			if err := os.WriteFile(path, raw.Bytes(), 0o600); err != nil {
				t.Fatal(err)
			}
			var v struct {
				Triangles    int
				Area, Volume float64
				Parts        int
			}
			out := run(t, "python3-vtk9", python, "testdata/isosurface.py", fmt.Sprint(f.N[0]), fmt.Sprint(f.N[1]), fmt.Sprint(f.N[2]),
				fmt.Sprint(f.Cell), fmt.Sprint(c.level), path)
			if err := json.Unmarshal(out, &v); err != nil {
				t.Fatal(err)
			}
			got := mesh.Measure(m, nil)
			if !got.Closed || got.Shells != v.Parts {
				t.Errorf("closed %v, %d shells, VTK %d parts", got.Closed, got.Shells, v.Parts)
			}
			if math.Abs(got.Area-v.Area) > 0.01*v.Area || math.Abs(got.Volume-v.Volume) > 0.01*v.Volume {
				t.Errorf("area %.5g and volume %.5g, VTK %.5g and %.5g", got.Area, got.Volume, v.Area, v.Volume)
			}
			t.Logf("%d triangles, VTK %d; %d parts; area %+.3f %%, volume %+.3f %%", len(m.Tri), v.Triangles, v.Parts,
				100*(got.Area/v.Area-1), 100*(got.Volume/v.Volume-1))
		})
	}
}
