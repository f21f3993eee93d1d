package region

import (
	"math"
	"math/rand/v2"
	"testing"

	"fettle/internal/shape/form"

	"gonum.org/v1/gonum/spatial/r2"
)

// told checks that edges follow one another round the loops of a region, and that
// every corner lies within tol of them; it counts lines and arcs.
func told(t *testing.T, r Region, tol float64) (lines, arcs int, all []Edge) {
	t.Helper()
	edges := r.Edges(tol)
	if len(edges) != len(r.Loops) {
		t.Fatalf("%d lists for %d loops", len(edges), len(r.Loops))
	}
	for l, list := range edges {
		for i, e := range list {
			if e.To != list[(i+1)%len(list)].From {
				t.Fatalf("edge %d of loop %d ends at %v, the next begins at %v", i, l, e.To, list[(i+1)%len(list)].From)
			}
			if e.Radius > 0 {
				arcs++
				for _, p := range []r2.Vec{e.From, e.To} {
					if math.Abs(r2.Norm(r2.Sub(p, e.Centre))-e.Radius) > 1e-9*(1+e.Radius) {
						t.Fatalf("an arc of radius %g about %v does not end at %v", e.Radius, e.Centre, p)
					}
				}
			} else {
				lines++
			}
			all = append(all, e)
		}
		for _, p := range r.Loops[l] {
			near := math.Inf(1)
			for _, e := range list {
				near = min(near, toEdge(p, e))
			}
			if near > tol+1e-9 {
				t.Fatalf("corner %v lies %g from the nearest edge", p, near)
			}
		}
	}
	return lines, arcs, all
}

// toEdge is the distance of a point from an edge.
func toEdge(p r2.Vec, e Edge) float64 {
	ends := min(r2.Norm(r2.Sub(p, e.From)), r2.Norm(r2.Sub(p, e.To)))
	if e.Radius == 0 {
		return min(ends, math.Abs(Region{[][]r2.Vec{{e.From, e.To}}}.Distance(p)))
	}
	at := func(q r2.Vec) float64 {
		a := math.Atan2(q.Y-e.Centre.Y, q.X-e.Centre.X) - math.Atan2(e.From.Y-e.Centre.Y, e.From.X-e.Centre.X)
		if !e.Left {
			a = -a
		}
		return math.Mod(a+4*math.Pi, 2*math.Pi)
	}
	if at(p) <= at(e.To) {
		return min(ends, math.Abs(r2.Norm(r2.Sub(p, e.Centre))-e.Radius))
	}
	return ends
}

func TestEdgesKnown(t *testing.T) {
	const tol = 0.002
	hexagon := Of(form.Circle(r2.Vec{}, 20, 6))
	for _, c := range []struct {
		name        string
		r           Region
		lines, arcs int
		radius      float64
	}{
		{"square", Rect(r2.Vec{}, r2.Vec{X: 5, Y: 5}), 4, 0, 0},
		{"hexagon", hexagon, 6, 0, 0},
		{"disc", Disc(r2.Vec{X: 3, Y: 1}, 5, 0.01), 0, 2, 5},
		{"circle inscribed", Of(form.Circle(r2.Vec{X: 3, Y: 1}, 10, 64)), 0, 2, 5},
		{"hole", Rect(r2.Vec{}, r2.Vec{X: 20, Y: 20}).Minus(Disc(r2.Vec{X: 8, Y: 8}, 3, 0.01)), 4, 2, 3},
		{"capsule", Capsule(r2.Vec{}, r2.Vec{X: 7, Y: 9}, 3, 0.005), 2, 2, 3},
		{"rounded rectangle", Of(form.Rectangle(r2.Vec{}, 40, 25, 3, 8)), 4, 4, 3},
		{"grown rectangle", Rect(r2.Vec{}, r2.Vec{X: 9, Y: 5}).Offset(2, 0.002), 4, 4, 2},
		{"grown hexagon", hexagon.Offset(2, 0.001), 6, 6, 2},
		{"opened square", Rect(r2.Vec{}, r2.Vec{X: 9, Y: 9}).Opened(2, 0.002), 4, 4, 2},
		{"keyhole", Of(form.Keyhole(r2.Vec{}, 8, 3, 10, 64)), 2, 2, 0},
	} {
		lines, arcs, all := told(t, c.r, tol)
		if lines != c.lines || arcs != c.arcs {
			t.Errorf("%s: %d lines and %d arcs, want %d and %d: %+v", c.name, lines, arcs, c.lines, c.arcs, all)
		}
		for _, e := range all {
			if e.Radius > 0 && c.radius > 0 && math.Abs(e.Radius-c.radius) > 0.011 {
				t.Errorf("%s: radius %g, want %g", c.name, e.Radius, c.radius)
			}
			if e.Radius > 0 && e.Left == (c.name == "hole") {
				t.Errorf("%s: an arc runs the wrong way: %+v", c.name, e)
			}
		}
	}
	// A lens of two arcs has no straight side to begin at.
	lens := Disc(r2.Vec{}, 10, 0.0005).And(Disc(r2.Vec{X: 12}, 10, 0.0005))
	if lines, arcs, all := told(t, lens, tol); arcs != 2 || lines > 2 {
		t.Errorf("a lens has %d lines and %d arcs: %+v", lines, arcs, all)
	}
	if l, a, _ := told(t, Region{}, tol); l+a != 0 {
		t.Error("nothing has edges")
	}
}

// Arcs found again in outlines drawn from arcs, wherever the loop begins.
func TestEdgesRandom(t *testing.T) {
	rng := rand.New(rand.NewPCG(19, 20))
	for range 200 {
		w, h, r := 10+20*rng.Float64(), 10+20*rng.Float64(), 0.5+4*rng.Float64()
		a := Of(form.Rectangle(r2.Vec{}, w, h, r, 6+rng.IntN(20))).Moved(7*rng.Float64(), r2.Vec{X: rng.Float64()})
		lines, arcs, all := told(t, a, 0.001)
		if lines != 4 || arcs != 4 {
			t.Fatalf("%g × %g rounded by %g: %d lines, %d arcs: %+v", w, h, r, lines, arcs, all)
		}
		for _, e := range all {
			if e.Radius > 0 && math.Abs(e.Radius-r) > 1e-3 {
				t.Fatalf("radius %g, want %g", e.Radius, r)
			}
		}
	}
	for range 200 { // anything at all
		told(t, Of(ragged(rng, 3, 6, 8, 1)...).Offset(rng.Float64()-0.3, 0.01), 0.003)
	}
}
