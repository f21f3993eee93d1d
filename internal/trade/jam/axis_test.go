package jam

import (
	"math"
	"testing"

	"fettle"
	"fettle/internal/shape/field"

	"gonum.org/v1/gonum/spatial/r3"
)

// tipped is the same scene with X, Y, Z renamed Y, Z, X.
func tipped(f *field.Field, o fettle.Opening) (*field.Field, fettle.Opening) {
	n, p := f.N, f.Origin
	g := &field.Field{Grid: field.Grid{Origin: r3.Vec{X: p.Z, Y: p.X, Z: p.Y}, Cell: f.Cell, N: [3]int{n[2], n[0], n[1]}}, D: make([]float32, len(f.D))}
	for at, d := range f.D {
		i, j, k := f.Split(at)
		g.D[g.Index(k, i, j)] = d
	}
	o.At = [3]float64{o.At[2], o.At[0], o.At[1]}
	o.Axis = [3]float64{o.Axis[2], o.Axis[0], o.Axis[1]}
	return g, o
}

// What is judged does not hang on how the part lies.
func TestAnOpeningAlongAnyAxis(t *testing.T) {
	bf, bo := boredPlate(7.2, 6)
	uf, uo := undercut(6, 2, 12, 9)
	for _, scene := range []struct {
		f *field.Field
		o fettle.Opening
	}{{bf, bo}, {uf, uo}} {
		for _, m := range []fettle.Media{piece(fettle.Cylinder, 3, 7), piece(fettle.Cylinder, 5, 6), piece(fettle.Cone, 6, 7), piece(fettle.Triangle, 5, 3)} {
			a := judged(t, scene.f, scene.o, m)
			f, o := tipped(scene.f, scene.o)
			b := judged(t, f, o, m)
			if a.Enters != b.Enters || math.Abs(a.Chance.P-b.Chance.P) > 0.15 {
				t.Errorf("%s %v in %s: %+v, tipped %+v", m.Name, m.SizeMM, o.ID, a, b)
			}
		}
	}
}

// A slot between two walls takes what its least caliper lets through, whichever
// way the piece is flat: triangles by their thickness or their height, tetrahedra
// by edge/√2.
func TestASlotTakesTheLeastCaliper(t *testing.T) {
	const width, deep = 4.0, 7.0
	g := field.Grid{Origin: r3.Vec{X: -12, Y: -7, Z: -11}, Cell: 0.25, N: [3]int{97, 57, 73}}
	f := &field.Field{Grid: g, D: make([]float32, g.Len())}
	for i := range f.D {
		p := g.At(g.Split(i))
		f.D[i] = float32(toPolygon([][2]float64{{-wide, 0}, {-width / 2, 0}, {-width / 2, -deep}, {width / 2, -deep}, {width / 2, 0}, {wide, 0}, {wide, -wide}, {-wide, -wide}}, p.Y, p.Z))
	}
	o := fettle.Opening{ID: "slot-1", Kind: fettle.Slot, WidthMM: width, WidestMM: width, LengthMM: 24, DepthMM: deep, Axis: [3]float64{0, 0, 1}}
	for _, row := range []struct {
		m     fettle.Media
		least float64
	}{
		{piece(fettle.Triangle, 8, 3.8), 3.8}, {piece(fettle.Triangle, 8, 4.3), 4.3},
		{piece(fettle.Triangle, 4.4, 9), 4.4 * math.Sqrt(3) / 2}, {piece(fettle.Triangle, 5, 9), 5 * math.Sqrt(3) / 2},
		{piece(fettle.Tetra, 5.3, 5.3), 5.3 / math.Sqrt2}, {piece(fettle.Tetra, 6.1, 6.1), 6.1 / math.Sqrt2},
		{piece(fettle.Cylinder, 9, 3.7), 3.7}, {piece(fettle.Cylinder, 3.8, 9), 3.8}, {piece(fettle.Cylinder, 4.3, 9), 4.3},
	} {
		j := judged(t, f, o, row.m)
		if (j.Enters != fettle.CannotEnter) != (row.least < width) {
			t.Errorf("%s %v, %.3g mm at the least, in a slot of %g mm: %+v", row.m.Name, row.m.SizeMM, row.least, width, j)
		}
	}
}
