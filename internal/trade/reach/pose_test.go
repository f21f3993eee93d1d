package reach

import (
	"math"
	"testing"

	"fettle"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

func media(shape fettle.MediaShape, a, b float64) fettle.Media {
	return fettle.Media{Name: string(shape), Shape: shape, SizeMM: [2]float64{a, b}, Worn: 0.8}
}

// The spheres of the shapes against their textbook formulas: the tetrahedron's
// are edge·√6/12 and edge·√6/4, the cylinder's half the diameter and half the
// diagonal, the triangular piece's side/√12 or half its thickness, and the
// distance to a corner.
func TestPieces(t *testing.T) {
	for _, c := range []struct {
		m       fettle.Media
		in, out float64
	}{
		{media(fettle.Tetra, 6, 6), 6 * math.Sqrt(6) / 12, 6 * math.Sqrt(6) / 4},
		{media(fettle.Cylinder, 5, 8), 2.5, math.Hypot(5, 8) / 2},
		{media(fettle.Pin, 1, 6), 0.5, math.Hypot(1, 6) / 2},
		{media(fettle.Triangle, 10, 6), 10 / math.Sqrt(12), math.Hypot(10/math.Sqrt(3), 3)},
		{media(fettle.Triangle, 10, 4), 2, math.Hypot(10/math.Sqrt(3), 2)},
		{media(fettle.Sphere, 4, 4), 2, 2},
		{media(fettle.Grain, 1, 2), 0.5, 0.5},
	} {
		p := pieceOf(c.m, 1)
		if math.Abs(p.in-c.in) > 1e-9 || math.Abs(p.out-c.out) > 1e-9 {
			t.Errorf("%s: spheres of %.6f and %.6f, in truth %.6f and %.6f", c.m.Shape, p.in, p.out, c.in, c.out)
		}
		if p.core != nil && math.Abs(p.core.InRadius()+p.tip-p.in) > 1e-9 {
			t.Errorf("%s: core of %.6f, rounded by %.6f, piece of %.6f", c.m.Shape, p.core.InRadius(), p.tip, p.in)
		}
		if p.tip > p.in+1e-9 || p.in > p.equal+1e-9 || p.core != nil && p.equal > p.out+1e-9 {
			t.Errorf("%s: %+v", c.m.Shape, p)
		}
	}
}

// Wire pins of 1 mm lie flat in a slot of 1.4 mm and reach its walls, though the
// sphere round a pin is as wide as it is long; pins of 2 mm do not go in.
func TestPinsInSlot(t *testing.T) {
	const w = 1.4
	m := notched(r2.Vec{X: w / 2}, r2.Vec{X: w / 2, Y: -10}, r2.Vec{X: -w / 2, Y: -10}, r2.Vec{X: -w / 2})
	r := measured(t, part(t, m, 0.45, media(fettle.Pin, 1, 6), media(fettle.Pin, 2, 6), ball(6)))
	deep := func(at, n r3.Vec) bool {
		return math.Abs(at.X) < w/2+0.01 && at.Y < -3 && at.Y > -9 && math.Abs(n.X) > 0.9
	}
	if got := share(r, 0, deep); got < 0.95 {
		t.Errorf("pins of 1 mm reach %.3f of the walls", got)
	}
	for i := 1; i < 3; i++ {
		if got := share(r, i, deep); got > 0 {
			t.Errorf("media %d reach %.3f of the walls, and are too thick", i, got)
		}
	}
}

// In a square corner a piece with square edges reaches as far as the ball that
// its edges are rounded to, as no side of it is in the way; more of it when new.
func TestEdgesInCorner(t *testing.T) {
	const long = 12.0
	m := notched(r2.Vec{X: long * math.Sqrt2 / 2}, r2.Vec{Y: -long * math.Sqrt2 / 2}, r2.Vec{X: -long * math.Sqrt2 / 2})
	all := []fettle.Media{media(fettle.Cylinder, 5, 8), media(fettle.Triangle, 8, 5), media(fettle.Cylinder, 8, 8), ball(5)}
	r := measured(t, part(t, m, 0.6, all...))
	for i := range all {
		for state := range 2 {
			in, area := 0.0, 0.0
			for f, at := range r.skin.at {
				n := r.in.Detail.Patches.Normal[r.skin.from[f]]
				if at.Y < -1e-3 && at.Y > -8.4 && math.Abs(n.Z) < 0.1 && math.Abs(n.X) < 0.8 && n.Y > 0 {
					area += r.skin.area[f]
					if r.reached(i, state, int32(f)) {
						in += r.skin.area[f]
					}
				}
			}
			p := r.pieces[i][state]
			want := 1 - p.tip/long
			// Two cells of the grid, and the facets where the answer turns.
			if math.Abs(in/area-want) > 0.8/long {
				t.Errorf("%s, state %d: %.3f of the sides reached, by its edge of radius %.2f %.3f", all[i].Shape, state, in/area, p.tip, want)
			}
		}
	}
}
