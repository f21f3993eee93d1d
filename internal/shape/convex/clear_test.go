package convex

import (
	"math"
	"testing"

	"fettle/internal/shape/field"

	"gonum.org/v1/gonum/spatial/r3"
)

// bored is a thick plate with a bore of radius r along Z, and its middle at z = 0.
func bored(r, half, cell float64) *field.Field {
	n := int(2*(r+4)/cell) + 1
	h := int(2*(half+4)/cell) + 1
	g := field.Grid{Origin: r3.Vec{X: -float64(n-1) / 2 * cell, Y: -float64(n-1) / 2 * cell, Z: -float64(h-1) / 2 * cell}, Cell: cell, N: [3]int{n, n, h}}
	f := &field.Field{Grid: g, D: make([]float32, g.Len())}
	for i := range f.D {
		p := g.At(g.Split(i))
		in, up := r-math.Hypot(p.X, p.Y), math.Abs(p.Z)-half // void where either is positive
		d := math.Max(in, up)
		if in > 0 && up > 0 {
			d = math.Hypot(in, up) // to the rim
		}
		f.D[i] = float32(d)
	}
	return f
}

// In an endless bore a tilted cylinder fits when its shadow along the bore lies
// within the circle: width and length across, by the angle.
func TestACylinderInABore(t *testing.T) {
	f := bored(4, 30, 0.2)
	for _, d := range []float64{1, 3, 5} {
		for _, l := range []float64{4, 6, 9} {
			p := Cylinder(d, l).Probe(0.2)
			for deg := 0.0; deg <= 90; deg += 5 {
				turn := Upright.About(r3.Vec{X: deg * math.Pi / 180})
				// The farthest points of its rims from the bore's axis.
				sin, cos := math.Sincos(deg * math.Pi / 180)
				far := 0.0
				for i := range 3600 {
					s, c := math.Sincos(float64(i) * math.Pi / 1800)
					far = math.Max(far, math.Hypot(d/2*c, d/2*s*cos+l/2*sin))
				}
				if math.Abs(far-4) < 0.05 {
					continue
				}
				if got := p.Clear(f, Pose{Turn: turn}, 0.02); got != (far < 4) {
					t.Errorf("%g × %g at %g°: clear %v, its shadow reaches %.3f of 4", d, l, deg, got, far)
				}
			}
		}
	}
}

// A box of 6.2 mm between two walls takes a triangle 6 mm thick only flat;
// settling finds that from a tilt and a shift.
func TestSettling(t *testing.T) {
	g := field.Grid{Origin: r3.Vec{X: -12, Y: -12, Z: -5}, Cell: 0.25, N: [3]int{97, 97, 41}}
	f := &field.Field{Grid: g, D: make([]float32, g.Len())}
	for i := range f.D {
		f.D[i] = float32(3.1 - math.Abs(g.At(g.Split(i)).Z))
	}
	p := Triangle(10, 6).Probe(0.8)
	start := Pose{r3.Vec{Z: 0.3}, Upright.About(r3.Vec{X: 0.12, Y: 0.08})}
	if p.Clear(f, start, 0.02) {
		t.Error("a tilted piece is clear")
	}
	end, ok := p.Settle(f, start, 0.02, Room{1, 0.3})
	if !ok || !p.Clear(f, end, 0.02+1e-9) {
		t.Errorf("it does not settle: %v %v", ok, end)
	}
	if _, ok := p.Settle(f, start, 0.02, Room{1, 0.05}); ok {
		t.Error("it settles with less room to turn than it needs")
	}
	if _, ok := Triangle(10, 6.4).Probe(0.8).Settle(f, start, 0.02, Room{1, 0.3}); ok {
		t.Error("a piece of 6.4 mm settles between walls 6.2 apart")
	}
	// A piece of 6.2 mm touches both walls, which push against each other.
	both := map[bool]bool{}
	for _, c := range Triangle(10, 6.2).Probe(0.8).Contacts(f, Pose{Turn: Upright}, 0.01) {
		near(t, "push", math.Abs(c.Normal.Z), 1, 1e-6)
		if c.Normal.Z*c.At.Z > 0 {
			t.Errorf("a wall pulls at %v", c.At)
		}
		both[c.At.Z > 0] = true
	}
	if len(both) != 2 {
		t.Error("it does not touch both walls")
	}
}

func BenchmarkSettle(b *testing.B) {
	f := bored(3.6, 5, 0.2)
	p := Cylinder(3, 7).Probe(0.6)
	turns := p.Body.Turns(100)
	i := 0
	for b.Loop() {
		p.Settle(f, Pose{r3.Vec{X: float64(i%5) * 0.3, Z: float64(i%7) * 0.5}, turns.List[i%100]}, 0.1, Room{0.4, 0.15})
		i++
	}
	b.ReportMetric(float64(len(p.Points)), "points")
}
