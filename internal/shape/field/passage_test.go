package field

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
)

// A bottle: a chamber of radius 4 behind a neck of radius 1.5 and length 3, in a
// block; a second chamber is shut off. Distances are those of the void's own
// shape, and of the block outside.
func bottle(cell float64) *Field {
	g := Grid{Origin: r3.Vec{X: -14, Y: -14, Z: -14}, Cell: cell}
	for a := range 3 {
		g.N[a] = int(math.Round(28/cell)) + 1
	}
	f := &Field{Grid: g, D: make([]float32, g.Len())}
	for i := range f.D {
		p := g.At(g.Split(i))
		void := math.Max(4-r3.Norm(p), 1.5-math.Max(math.Hypot(p.X, p.Y), math.Max(-p.Z, 0)))
		void = math.Max(void, 2-r3.Norm(r3.Sub(p, r3.Vec{X: 7, Z: -7})))
		out := math.Max(math.Abs(p.X), math.Max(math.Abs(p.Y), math.Abs(p.Z))) - 10
		f.D[i] = float32(math.Max(void, out))
	}
	return f
}

func TestPassageOfABottle(t *testing.T) {
	f := bottle(0.25)
	way, err := Passage(context.Background(), f)
	if err != nil {
		t.Fatal(err)
	}
	at := func(p r3.Vec) (d, w float64) {
		i, j, k, _ := f.Nearest(p)
		n := f.Index(i, j, k)
		return float64(f.D[n]), float64(way[n])
	}
	if d, w := at(r3.Vec{}); d < 3.9 || math.Abs(w-1.5) > f.Cell {
		t.Errorf("a sphere of %.3g mm comes into the chamber of %.3g mm, want 1.5", w, d)
	}
	if d, w := at(r3.Vec{Z: 7}); math.Abs(d-1.5) > 1e-6 || math.Abs(w-1.5) > 1e-6 {
		t.Errorf("in the neck %.3g of %.3g mm", w, d)
	}
	if d, w := at(r3.Vec{X: 7, Z: -7}); d < 1.9 || w != 0 {
		t.Errorf("a sphere of %.3g mm comes into a sealed chamber of %.3g mm", w, d)
	}
	if d, w := at(r3.Vec{X: 12.5, Y: 3}); w != d {
		t.Errorf("outside %.3g of %.3g mm", w, d)
	}
}

// The widest way on small random grids, against going over all of them until
// nothing changes.
func TestPassageAgainstAllWays(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	for range 60 {
		g := Grid{Cell: 1, N: [3]int{1 + rng.IntN(9), 1 + rng.IntN(9), 1 + rng.IntN(9)}}
		f := &Field{Grid: g, D: make([]float32, g.Len())}
		for i := range f.D {
			f.D[i] = float32(rng.Float64() - 0.4)
		}
		want := make([]float32, g.Len())
		border := func(i, j, k int) bool {
			return i == 0 || j == 0 || k == 0 || i == g.N[0]-1 || j == g.N[1]-1 || k == g.N[2]-1
		}
		for changed := true; changed; {
			changed = false
			for at, d := range f.D {
				i, j, k := g.Split(at)
				best := want[at]
				if border(i, j, k) {
					best = max(best, d)
				}
				for z := max(k-1, 0); z < min(k+2, g.N[2]); z++ {
					for y := max(j-1, 0); y < min(j+2, g.N[1]); y++ {
						for x := max(i-1, 0); x < min(i+2, g.N[0]); x++ {
							best = max(best, min(d, want[g.Index(x, y, z)]))
						}
					}
				}
				if best > want[at] {
					want[at], changed = best, true
				}
			}
		}
		got, err := Passage(context.Background(), f)
		if err != nil {
			t.Fatal(err)
		}
		for i := range want {
			if got[i] != want[i] {
				t.Fatalf("grid %v, cell %d: %g, want %g", g.N, i, got[i], want[i])
			}
		}
	}
}
