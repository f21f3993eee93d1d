package field

import (
	"context"
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

// bruteThickness follows the definition, cell by cell and point by point.
func bruteThickness(f *Field, radii []float64) []float32 {
	out := make([]float32, len(f.D))
	for at, d := range f.D {
		if d <= 0 {
			continue
		}
		i, j, k := f.Split(at)
		for b, hold := range f.D {
			x, y, z := f.Split(b)
			far := float64((x-i)*(x-i)+(y-j)*(y-j)+(z-k)*(z-k)) * f.Cell * f.Cell
			for _, r := range radii {
				if hold >= float32(r) && far <= r*r*(1+1e-9) {
					out[at] = max(out[at], float32(r))
				}
			}
		}
	}
	return out
}

func TestThicknessAgainstAllPairs(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g, mask := drawMask(t)
		g.Cell = rapid.SampledFrom([]float64{0.1, 0.25, 1, 3}).Draw(t, "cell")
		sq := bruteSquares(mask, g)
		f := &Field{Grid: g, D: make([]float32, g.Len())}
		for i, s := range sq {
			f.D[i] = float32((math.Sqrt(float64(s)) - 0.5) * g.Cell)
		}
		radii := rapid.SliceOfN(rapid.Float64Range(0.1, 9), 0, 6).Draw(t, "radii")
		for i := range radii {
			radii[i] *= g.Cell
		}
		got, err := Thickness(context.Background(), f, radii)
		if err != nil {
			t.Fatal(err)
		}
		want := bruteThickness(f, radii)
		if !slices.Equal(got, want) {
			t.Fatalf("%v, radii %v: %v, want %v", g, radii, got, want)
		}
		// A radius more makes nothing thinner.
		more, err := Thickness(context.Background(), f, append(radii, 2.5*g.Cell, -1, math.NaN()))
		if err != nil {
			t.Fatal(err)
		}
		for i := range more {
			if more[i] < got[i] {
				t.Fatalf("cell %d: %g, with a radius more %g", i, got[i], more[i])
			}
		}
	})
}

// Where little is left, far apart and at the grid's borders, only there is looked:
// the answer is that of one whole transform for each radius.
func TestThicknessOfPockets(t *testing.T) {
	g := Grid{Origin: r3.Vec{X: -20, Y: -16, Z: -12}, Cell: 0.5, N: [3]int{83, 66, 47}}
	f := &Field{Grid: g, D: make([]float32, g.Len())}
	for i := range f.D {
		p := g.At(g.Split(i))
		d := max(math.Abs(p.X)-17, math.Abs(p.Y)-13, math.Abs(p.Z)-6)
		d = max(d, 3.2-math.Hypot(p.X+11, p.Y), 1.4-math.Hypot(p.X-9, p.Y-7), 1-math.Abs(p.X-2.5-p.Y/3), 4-r3.Norm(r3.Sub(p, r3.Vec{X: 21, Y: 17, Z: -11})))
		f.D[i] = float32(d)
	}
	want := make([]float32, len(f.D))
	hold := make([]bool, len(f.D))
	radii := []float64{0.5, 0.9, 1.3, 1.31, 2, 3, 4.5, 6, 40}
	for _, r := range radii {
		for i, d := range f.D {
			hold[i] = d >= float32(r)
		}
		sq, err := Squares(context.Background(), hold, g)
		if err != nil {
			t.Fatal(err)
		}
		for i, s := range sq {
			if float64(s) <= r*r/0.25*(1+1e-9) && f.D[i] > 0 {
				want[i] = float32(r)
			}
		}
	}
	got, err := Thickness(context.Background(), f, radii)
	if err != nil {
		t.Fatal(err)
	}
	if !slices.Equal(got, want) {
		t.Error("not what whole transforms give")
	}
}

// shape is a void whose distance and local thickness are known: how far a place
// is from the surface, above 0 in the void.
type shape struct {
	name   string
	radius float64 // of the largest sphere, mm
	far    func(p r3.Vec) float64
}

// What a slot, a bore and a round hollow of known size hold: within two cells the
// radius of their largest sphere everywhere in a slot, a bore and a ball.
func TestThicknessOfKnownVoids(t *testing.T) {
	const cell = 0.1
	var radii []float64
	for r := 3.0; r > 0.05; r -= cell {
		radii = append(radii, r)
	}
	for _, s := range []shape{
		{"slot 2.6 wide", 1.3, func(p r3.Vec) float64 { return 1.3 - math.Abs(0.6*p.X+0.8*p.Y) }},
		{"bore 3.4 across", 1.7, func(p r3.Vec) float64 { return 1.7 - math.Hypot(p.X, p.Y) }},
		{"ball 4.2 across", 2.1, func(p r3.Vec) float64 { return 2.1 - r3.Norm(p) }},
	} {
		g := Grid{Origin: r3.Vec{X: -2.93, Y: -2.97, Z: -2.91}, Cell: cell, N: [3]int{60, 60, 60}}
		f := &Field{Grid: g, D: make([]float32, g.Len())}
		for i := range f.D {
			f.D[i] = float32(s.far(g.At(g.Split(i))))
		}
		got, err := Thickness(context.Background(), f, radii)
		if err != nil {
			t.Fatal(err)
		}
		// Cells by the surface fall between the balls of a grid; and what is cut off
		// by the grid's border has no middle there for its ball.
		cells, worst := 0, 0.0
		for i, d := range f.D {
			p := g.At(g.Split(i))
			if d <= 0 && got[i] != 0 {
				t.Fatalf("%s: material of thickness %g", s.name, got[i])
			}
			if d < 1.5*cell || math.Max(math.Abs(p.X), math.Abs(p.Y)) > 2.9-s.radius/3 {
				continue
			}
			cells++
			worst = max(worst, math.Abs(float64(got[i])-s.radius))
		}
		t.Logf("%s: %d cells, the radius at most %.2f cells off", s.name, cells, worst/cell)
		if cells < 1000 || worst > 2*cell {
			t.Errorf("%s: %d cells, the radius %.2f cells off", s.name, cells, worst/cell)
		}
	}
}
