package region

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
)

// Round chambers that a narrow channel joins: too wide for their boxes to tell that
// the distance swallows them, and all sides lie closer than the distance.
func TestOffsetSwallows(t *testing.T) {
	rng := rand.New(rand.NewPCG(27, 28))
	for _, tol := range []float64{0.05, 0.002} {
		if tol < 0.01 && testing.Short() {
			continue
		}
		chambers := Disc(r2.Vec{X: 3, Y: 3}, 2, tol).Union(Disc(r2.Vec{X: 15, Y: 13}, 3, tol),
			Capsule(r2.Vec{X: 3, Y: 3}, r2.Vec{X: 15, Y: 13}, 0.4, tol))
		plate := Rect(r2.Vec{X: -2, Y: -2}, r2.Vec{X: 20, Y: 18}).Minus(chambers)
		for _, d := range []float64{1.9, 2.1, 2.9, 3.1, 4} {
			farFrom(t, rng, plate, d, 0.01, 300, 18)
			farFrom(t, rng, chambers, -d, 0.01, 300, 18)
		}
		if got, want := plate.Offset(2.2, 0.001), plate.Offset(2.2, 0.001).Parts(); len(got.Loops) != 2 || len(want) != 1 {
			t.Errorf("%d loops are left where the larger chamber stays open", len(got.Loops))
		}
		if got := plate.Offset(3.2, 0.001); len(got.Loops) != 1 {
			t.Errorf("%d loops are left where all is swallowed", len(got.Loops))
		}
	}
}

// A ragged border goes strip by strip; the answer is the one of distances, and
// the one curve's in one go.
func TestOffsetByStrips(t *testing.T) {
	rng := rand.New(rand.NewPCG(29, 30))
	for _, n := range []int{500, 5001} {
		if n > 1000 && testing.Short() {
			continue
		}
		loop := make([]r2.Vec, n)
		for i := range loop {
			sin, cos := math.Sincos(2 * math.Pi * float64(i) / float64(n))
			r := 8 + math.Sin(float64(i)*0.05) + 0.03*rng.NormFloat64()
			loop[i] = r2.Vec{X: 9 + r*cos, Y: 9 + r*sin}
		}
		a := Of(loop).Minus(Disc(r2.Vec{X: 9, Y: 9}, 1, 0.001))
		for _, d := range []float64{1.5, -1.5} {
			crossings := 0.0
			var curves []curve
			for _, l := range a.Loops {
				c := beside(l, d, 0.01)
				curves, crossings = append(curves, c), crossings+c.crossings(d)
			}
			if n > 1000 && crossings < manyCrossings {
				t.Fatalf("only %g crossings: strips are not tried", crossings)
			}
			farFrom(t, rng, a, d, 0.01, 300, 18)
			if n > 1000 {
				continue
			}
			var segs []segment
			for _, c := range curves {
				segs = lines(segs, [][]r2.Vec{slices.Concat(c.corner...)}, 1, 0)
			}
			once, strips := more(segs, 0), a.byStrips(curves, d)
			if diff := once.Minus(strips).Area() + strips.Minus(once).Area(); diff > 4*Unit*once.Perimeter() {
				t.Errorf("by strips %g mm² differ from %g", diff, once.Area())
			}
		}
	}
}

// A crack one unit wide costs nothing when shrinking, a hair nothing when growing.
func TestOffsetHairsAndCracks(t *testing.T) {
	a := Rect(r2.Vec{}, r2.Vec{X: 20, Y: 10})
	crack := Rect(r2.Vec{X: 10, Y: -1}, r2.Vec{X: 10 + Unit, Y: 6})
	across := Of([]r2.Vec{{X: 4, Y: -1}, {X: 4 + 2*Unit, Y: -1}, {X: 6 + Unit, Y: 11}, {X: 6, Y: 11}})
	if got, want := a.Minus(crack).Minus(across).Offset(-2, 0.01).Area(), 16.0*6; math.Abs(got-want) > 1e-4 {
		t.Errorf("a cracked plate shrunk has %g mm², want %g", got, want)
	}
	hair := Rect(r2.Vec{X: 19, Y: 5}, r2.Vec{X: 40, Y: 5 + Unit})
	if got, want := a.Union(hair).Offset(2, 0.01).Area(), a.Offset(2, 0.01).Area(); math.Abs(got-want) > 1e-3 {
		t.Errorf("a plate with a hair grown has %g mm², want %g", got, want)
	}
}
