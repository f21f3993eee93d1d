package field

import (
	"context"
	"math"
	"testing"

	"fettle/internal/shape/bvh"
	"fettle/internal/shape/form"
	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// From the triangles of a part to the largest sphere that covers a place in its
// openings: a bore and a slot have their half width everywhere between their
// walls, a spherical pocket its radius, a wedge of half-angle α at distance s from
// its bottom edge what fits between its sides there; each within two cells.
func TestThicknessInOpenings(t *testing.T) {
	plate := form.Plate(form.Rectangle(r2.Vec{}, 40, 30, 2, 8), 8,
		form.Through(form.Circle(r2.Vec{X: -12}, 6, 96)),
		form.Through(form.Obround(r2.Vec{}, 12, 3, 90, 48)))
	// A ball of material taken out of a thick disc: the pocket's profile turned
	// about Z, its middle on the top face.
	var bowl []r2.Vec
	bowl = append(bowl, r2.Vec{X: 0, Y: 0}, r2.Vec{X: 12, Y: 0}, r2.Vec{X: 12, Y: 10})
	for i := 0; i <= 64; i++ {
		a := float64(i) / 64 * math.Pi / 2
		bowl = append(bowl, r2.Vec{X: 5 * math.Cos(a), Y: 10 - 5*math.Sin(a)})
	}
	bowl[len(bowl)-1].X = 0
	// A wedge along X: sides at 20° from upright, meeting on y = 0, z = 2.
	const half = 20 * math.Pi / 180
	wide := 8 * math.Tan(half)
	wedge := prism([]r2.Vec{{X: -10}, {X: 10}, {X: 10, Y: 10}, {X: wide, Y: 10}, {X: 0, Y: 2}, {X: -wide, Y: 10}, {X: -10, Y: 10}}, 30)

	cell := 0.25
	if testing.Short() { // the race detector is ten times slower
		cell = 0.5
	}
	for name, c := range map[string]struct {
		m    *mesh.Mesh
		at   []r3.Vec
		want []float64
	}{
		"bore":  {plate, []r3.Vec{{X: -12, Z: 4}, {X: -10, Y: 1, Z: 2}, {X: -12, Y: -2.4, Z: 6}}, []float64{3, 3, 3}},
		"slot":  {plate, []r3.Vec{{Z: 4}, {X: 1, Y: 3, Z: 3}, {X: -1.1, Y: -2, Z: 5}}, []float64{1.5, 1.5, 1.5}},
		"bowl":  {form.Revolve(bowl, 128), []r3.Vec{{Z: 8}, {X: 1, Z: 6.5}}, []float64{5, 5}},
		"wedge": {wedge, []r3.Vec{{Z: 5}, {Z: 3.5}}, []float64{wedgeAt(half, 3), wedgeAt(half, 1.5)}},
	} {
		f, err := Distance(context.Background(), bvh.Build(c.m), GridFor(c.m.Box(), cell, 6))
		if err != nil {
			t.Fatal(err)
		}
		var radii []float64
		for r := cell; r < 5.5; r += cell / 2 {
			radii = append(radii, r)
		}
		th, err := Thickness(context.Background(), f, radii)
		if err != nil {
			t.Fatal(err)
		}
		for n, p := range c.at {
			i, j, k, _ := f.Nearest(p)
			got := float64(th[f.Index(i, j, k)])
			if name == "bowl" {
				// Open at the top, so the sphere may stick out; no larger one comes
				// down to the place.
				if got < c.want[n]-2*cell {
					t.Errorf("%s at %v: %.3g mm, want %.3g or more", name, p, got, c.want[n])
				}
				continue
			}
			if math.Abs(got-c.want[n]) > 2*cell {
				t.Errorf("%s at %v: %.3g mm, want %.3g", name, p, got, c.want[n])
			}
		}
	}
}

// wedgeAt is the radius of the largest sphere between two planes at half an angle
// from the middle one that covers the middle at distance s from their edge: the
// one whose near side is there. Its middle is at s + r, and r = (s + r)·sin.
func wedgeAt(half, s float64) float64 { return s * math.Sin(half) / (1 - math.Sin(half)) }

// prism is a closed outline in Y and Z, given as X and Y, pulled along X.
func prism(loop []r2.Vec, length float64) *mesh.Mesh {
	m := form.Plate(loop, length)
	for i, p := range m.Pos {
		m.Pos[i] = r3.Vec{X: p.Z - length/2, Y: p.X, Z: p.Y}
	}
	return m
}
