//go:build outside

package outside

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"fettle/internal/format/surface"
	"fettle/internal/shape/relief"
)

// grid is what Python holds of a surface, in metres; nil for a missing point.
type grid struct {
	File   string
	W, H   int
	DX, DY float64
	Z      []*float64
}

func grids(t *testing.T, out []byte) []grid {
	t.Helper()
	var all []grid
	for dec := json.NewDecoder(bytes.NewReader(out)); ; {
		var g grid
		if err := dec.Decode(&g); err == io.EOF {
			return all
		} else if err != nil {
			t.Fatal(err)
		}
		all = append(all, g)
	}
}

// same holds a map against what Python has of it; within is in metres.
func (g grid) same(m *relief.Map, within float64) error {
	if m.W != g.W || m.H != g.H || len(g.Z) != len(m.Z) || math.Abs(m.DX-g.DX*1000) > 1e-12 || g.H > 1 && math.Abs(m.DY-g.DY*1000) > 1e-12 {
		return fmt.Errorf("%d × %d at %g × %g mm, Python %d × %d at %g × %g m with %d points", m.W, m.H, m.DX, m.DY, g.W, g.H, g.DX, g.DY, len(g.Z))
	}
	for i, p := range g.Z {
		z := m.At(i%m.W, i/m.W) / 1000
		if (p == nil) != (z != z) || p != nil && math.Abs(z-*p) > within {
			return fmt.Errorf("point %d is %v here, for Python %v", i, z, p)
		}
	}
	return nil
}

// Surfaces that Python's own libraries write, of every type of height.
func TestSurfacesThatPythonWrites(t *testing.T) {
	dir := t.TempDir()
	all := grids(t, run(t, "python3", python, "testdata/surface.py", "write", dir))
	for _, g := range all {
		data, err := os.ReadFile(filepath.Join(dir, g.File))
		if err != nil {
			t.Fatal(err)
		}
		s, err := surface.Read(g.File, data, surface.Options{})
		if err != nil {
			t.Errorf("%s: %v", g.File, err)
			continue
		}
		// Whole multiples of 1 nm up to 30 µm, in single precision in the map.
		if err := g.same(s.Map, 1e-11); err != nil {
			t.Errorf("%s: %v", g.File, err)
		}
		if len(s.Notes) > 0 || s.Date != "2024-09-03 14:05" {
			t.Errorf("%s: date %q, notes %q", g.File, s.Date, s.Notes)
		}
	}
	if len(all) != 42 {
		t.Errorf("%d files, want 42", len(all))
	}
}

// Surfaces that are written here, read by Python, the checksums checked.
func TestSurfacesThatPythonReads(t *testing.T) {
	dir := t.TempDir()
	rng := rand.New(rand.NewPCG(5, 6))
	var maps []*relief.Map
	args := []string{"testdata/surface.py", "read"}
	for k, g := range []relief.Grid{{W: 31, H: 17, DX: 0.01, DY: 0.02}, {W: 200, H: 1, DX: 0.0005, DY: 0.0005}, {W: 70000, H: 2, DX: 0.001, DY: 0.5}} {
		m := relief.NewMap(g)
		m.Base = float64(k) * -12.5
		for i := range m.Z {
			if rng.IntN(9) > 0 {
				m.Z[i] = float32(rng.NormFloat64() * 0.01)
			}
		}
		for _, ext := range []string{".x3p", ".sdf"} {
			path := filepath.Join(dir, fmt.Sprint(k, ext))
			f, err := os.Create(path)
			if err == nil {
				err = surface.Write(f, path, m, surface.Info{})
			}
			if err == nil {
				err = f.Close()
			}
			if err != nil {
				t.Fatal(err)
			}
			maps, args = append(maps, m), append(args, path)
		}
	}
	all := grids(t, run(t, "python3", python, args...))
	if len(all) != len(maps) {
		t.Fatalf("Python answered for %d of %d files", len(all), len(maps))
	}
	for i, g := range all {
		if err := g.same(maps[i], 1e-11); err != nil {
			t.Errorf("%s: %v", args[2+i], err)
		}
	}
}
