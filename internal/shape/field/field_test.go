package field

import (
	"math"
	"testing"

	"fettle/internal/shape/geom"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

// A field that is linear is interpolated exactly, its gradient is the slope
// everywhere, and off the grid the way there is added.
func TestValuesBetweenPoints(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		size := func(name string) int { return rapid.IntRange(1, 6).Draw(t, name) }
		g := Grid{Origin: r3.Vec{X: -1, Y: 2, Z: 0.5}, Cell: 0.25, N: [3]int{size("nx"), size("ny"), size("nz")}}
		slope := r3.Vec{X: 0.6, Y: -0.3, Z: 0.7}
		f := &Field{Grid: g, D: make([]float32, g.Len())}
		for i := range f.D {
			if got := g.Index(g.Split(i)); got != i {
				t.Fatalf("point %d splits into %d", i, got)
			}
			f.D[i] = float32(r3.Dot(slope, g.At(g.Split(i))))
		}
		part := func(name string, n int) float64 { return rapid.Float64Range(-1, float64(n)).Draw(t, name) * g.Cell }
		p := r3.Add(g.Origin, r3.Vec{X: part("x", g.N[0]), Y: part("y", g.N[1]), Z: part("z", g.N[2])})
		hi := g.At(g.N[0]-1, g.N[1]-1, g.N[2]-1)
		near := r3.Vec{X: min(max(p.X, g.Origin.X), hi.X), Y: min(max(p.Y, g.Origin.Y), hi.Y), Z: min(max(p.Z, g.Origin.Z), hi.Z)}
		want := r3.Dot(slope, near) + r3.Norm(r3.Sub(p, near))
		if got := f.Value(p); math.Abs(got-want) > 1e-6 {
			t.Fatalf("%v: %g, want %g", p, got, want)
		}
		for a, d := range geom.Array(f.Gradient(p)) {
			w := geom.Array(slope)[a]
			if g.N[a] == 1 {
				w = 0 // a single layer does not tell
			}
			if math.Abs(d-w) > 1e-5 {
				t.Fatalf("the slope along axis %d is %g, want %g", a, d, w)
			}
		}
	})
}

// A grid round a box has the margin asked for, its middle on a point.
func TestGridForABox(t *testing.T) {
	box := geom.Box{Min: r3.Vec{X: -3, Y: 1, Z: 0}, Max: r3.Vec{X: 4, Y: 2, Z: 0.1}}
	g := GridFor(box, 0.3, 1)
	i, j, k, in := g.Nearest(box.Centre())
	if !in || r3.Norm(r3.Sub(g.At(i, j, k), box.Centre())) > 1e-12 {
		t.Errorf("the middle of the box is not on the grid")
	}
	lo, hi := geom.Array(g.At(0, 0, 0)), geom.Array(g.At(g.N[0]-1, g.N[1]-1, g.N[2]-1))
	for a := range 3 {
		if lo[a] > geom.Array(box.Min)[a]-1+1e-12 || hi[a] < geom.Array(box.Max)[a]+1-1e-12 {
			t.Errorf("axis %d runs from %g to %g", a, lo[a], hi[a])
		}
	}
	if _, _, _, in := g.Nearest(r3.Vec{X: 50}); in {
		t.Error("a place far away is on the grid")
	}
}
