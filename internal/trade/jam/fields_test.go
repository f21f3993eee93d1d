package jam

import (
	"context"
	"math"
	"testing"

	"fettle"
	"fettle/internal/shape/bvh"
	"fettle/internal/shape/field"
	"fettle/internal/shape/form"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// turned is the exact field of a body turned about Z, from the polygon of its
// half section, (radius, z): material within.
func turned(section [][2]float64, reach, low, high, cell float64) *field.Field {
	n, h := 2*int(reach/cell)+1, int((high-low)/cell)+1
	g := field.Grid{Origin: r3.Vec{X: -float64(n/2) * cell, Y: -float64(n/2) * cell, Z: low}, Cell: cell, N: [3]int{n, n, h}}
	f := &field.Field{Grid: g, D: make([]float32, g.Len())}
	for k := range h {
		for i := range n {
			for j := range n {
				p := g.At(i, j, k)
				f.D[g.Index(i, j, k)] = float32(toPolygon(section, math.Hypot(p.X, p.Y), p.Z))
			}
		}
	}
	return f
}

// toPolygon is the distance from a polygon, negative within.
func toPolygon(section [][2]float64, x, y float64) float64 {
	near, inside := math.Inf(1), false
	for i, a := range section {
		b := section[(i+1)%len(section)]
		if a == b {
			continue
		}
		dx, dy := b[0]-a[0], b[1]-a[1]
		t := math.Max(0, math.Min(1, ((x-a[0])*dx+(y-a[1])*dy)/(dx*dx+dy*dy)))
		near = math.Min(near, math.Hypot(x-a[0]-t*dx, y-a[1]-t*dy))
		if (a[1] > y) != (b[1] > y) && x < a[0]+(y-a[1])/dy*dx {
			inside = !inside
		}
	}
	if inside {
		return -near
	}
	return near
}

const wide = 60 // out of the way

// boredPlate is a plate with a through bore, its mouth at z = 0.
func boredPlate(bore, thick float64) (*field.Field, fettle.Opening) {
	f := turned([][2]float64{{bore / 2, 0}, {wide, 0}, {wide, -thick}, {bore / 2, -thick}}, bore/2+3, -thick-3, 3, 0.25)
	return f, fettle.Opening{ID: "hole-1", Kind: fettle.Hole, Through: true, WidthMM: bore, WidestMM: bore, LengthMM: bore, DepthMM: thick, Axis: [3]float64{0, 0, 1}}
}

// undercut is a block with a round pocket, wider below its mouth.
func undercut(mouth, lip, below, deep float64) (*field.Field, fettle.Opening) {
	f := turned([][2]float64{{mouth / 2, 0}, {wide, 0}, {wide, -deep - 20}, {0, -deep - 20}, {0, -deep}, {below / 2, -deep}, {below / 2, -lip}, {mouth / 2, -lip}},
		below/2+3, -deep-2, 3, 0.25)
	return f, fettle.Opening{ID: "pocket-1", Kind: fettle.Pocket, WidthMM: mouth, WidestMM: mouth, LengthMM: mouth, DepthMM: deep, Axis: [3]float64{0, 0, 1}}
}

// cutPlate is a plate with openings cut through from z = thick down.
func cutPlate(t *testing.T, thick float64, loop []r2.Vec) *field.Field {
	t.Helper()
	m := form.Plate(form.Rectangle(r2.Vec{}, 24, 36, 2, 4), thick, form.Through(loop))
	f, err := field.Distance(context.Background(), bvh.Build(m), field.GridFor(m.Box(), 0.3, 3))
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// kinds of media for tests, of the wear of general ceramic.
func piece(shape fettle.MediaShape, a, b float64) fettle.Media {
	return fettle.Media{Name: string(shape), Shape: shape, SizeMM: [2]float64{a, b}, Worn: 0.794, WearBowlPctH: fettle.Guess(0.5, 0.25, 0.9, "test")}
}

// judged is the judgement on new pieces.
func judged(t *testing.T, f *field.Field, o fettle.Opening, m fettle.Media) fettle.Jam {
	t.Helper()
	j, err := Judge(context.Background(), []fettle.Opening{o}, f, []fettle.Media{m})
	if err != nil {
		t.Fatal(err)
	}
	if len(j) != 3 || j[0].State != fettle.New {
		t.Fatalf("%+v", j)
	}
	return j[0]
}
