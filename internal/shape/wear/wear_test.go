package wear

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
)

// disc is a circle as a closed outline.
func disc(r float64, n int) []r2.Vec {
	out := make([]r2.Vec, n)
	for i := range out {
		s, c := math.Sincos(2 * math.Pi * float64(i) / float64(n))
		out[i] = r2.Vec{X: r * c, Y: r * s}
	}
	return out
}

func area(p []r2.Vec) (area, length float64) {
	for i, a := range p {
		b := p[(i+1)%len(p)]
		area += r2.Cross(a, b) / 2
		length += r2.Norm(r2.Sub(b, a))
	}
	return area, length
}

func within(t *testing.T, what string, got, want, rel float64) {
	t.Helper()
	if !(math.Abs(got-want) <= rel*math.Abs(want)) {
		t.Errorf("%s: %.6g, want %.6g to %.2g", what, got, want, rel)
	}
}

// timeTo is the depth after which a ball or disc has shrunk from r0 to r1 under
// dR/dt = −1/f(R), by Simpson's rule.
func timeTo(r0, r1 float64, f func(r float64) float64) float64 {
	const n = 2000
	h := (r0 - r1) / n
	sum := f(r0) + f(r1)
	for i := 1; i < n; i++ {
		sum += float64(2+2*(i%2)) * f(r1+float64(i)*h)
	}
	return sum * h / 3
}

// furthest is the distance from the origin that differs most from r.
func furthest(p []r2.Vec, r float64) float64 {
	worst := r
	for _, q := range p {
		if d := r2.Norm(q); math.Abs(d-r) > math.Abs(worst-r) {
			worst = d
		}
	}
	return worst
}

// A long round bar shrinks by dR/dt = −(1 + b/R): t = (R0 − R) − b·ln((R0 + b)/(R + b)).
func TestRoundBar(t *testing.T) {
	const r0, b = 2.0, 0.3
	law := Law{b, b * b}
	var removals, want []float64
	for _, r := range []float64{1.9, 1.5, 1, 0.5, 0.2} {
		removals = append(removals, r0-r-b*math.Log((r0+b)/(r+b)))
		want = append(want, r)
	}
	for i, s := range Flow(Section{Points: disc(r0, 100), Closed: true}, law, removals) {
		a, _ := area(s.Points)
		within(t, "radius", math.Sqrt(a/math.Pi), want[i], 0.01)
		within(t, "a point's distance", furthest(s.Points, want[i]), want[i], 0.01)
	}
}

// A ball, as a section through its axis: dR/dt = −(1 + 2b/R + c/R²).
func TestBall(t *testing.T) {
	const r0 = 2.0
	for _, law := range []Law{{0.3, 0.09}, {0.2, 0.5}, {0.4, 0}} {
		var removals, want []float64
		for _, r := range []float64{1.9, 1.5, 1, 0.5} {
			removals = append(removals, timeTo(r0, r, func(r float64) float64 { return 1 / (1 + 2*law.B/r + law.C/(r*r)) }))
			want = append(want, r)
		}
		s := Section{Points: disc(r0, 100), Closed: true, Revolved: true}
		for i, s := range Flow(s, law, removals) {
			within(t, fmt.Sprintf("%v: a point's distance", law), furthest(s.Points, want[i]), want[i], 0.01)
		}
	}
}

// A round bore far from its mouth grows by dR/dt = 1 − b/R, and one narrower
// than b stays as it is.
func TestBore(t *testing.T) {
	law := Law{0.3, 0.09}
	wall := func(r float64) Section {
		return Section{Points: []r2.Vec{{X: r, Y: 5}, {X: r}}, Revolved: true} // material at greater X, on the left
	}
	h := timeTo(1.5, 1, func(r float64) float64 { return 1 / (1 - law.B/r) })
	for _, p := range Flow(wall(1), law, []float64{h})[0].Points {
		within(t, "bore", p.X, 1.5, 0.01)
	}
	for _, p := range Flow(wall(0.25), law, []float64{0.5})[0].Points {
		within(t, "narrow bore", p.X, 0.25, 1e-9)
	}
}

// A closed convex outline loses area by dA/dt = −(length + 2πb), exactly, its
// whole turn being 2π; and its length, by −2π − b∫κ² ds, at least by
// −2π − 4π²b/length (Schwarz).
func TestSquareLosesArea(t *testing.T) {
	const b = 0.25
	square := []r2.Vec{{X: 0, Y: 0}, {X: 4, Y: 0}, {X: 4, Y: 4}, {X: 0, Y: 4}}
	removals := []float64{1e-9}
	for h := 0.005; h < 0.6; h *= 1.03 {
		removals = append(removals, h)
	}
	shapes := Flow(Section{Points: square, Closed: true}, Law{b, 0}, removals)
	a0, l0 := area(shapes[0].Points)
	within(t, "area at first", a0, 16, 1e-4)
	lost, due := 0.0, 0.0
	for i := 1; i < len(shapes); i++ {
		a1, l1 := area(shapes[i].Points)
		dt := removals[i] - removals[i-1]
		lost += a0 - a1
		due += dt * ((l0+l1)/2 + 2*math.Pi*b)
		within(t, fmt.Sprintf("area lost by %.4f", removals[i]), lost, due, 0.005)
		if l1 > l0-dt*2*math.Pi {
			t.Errorf("at %.4f the outline is %.5f long after %.5f", removals[i], l1, l0)
		}
		a0, l0 = a1, l1
		convex(t, shapes[i].Points)
	}
	// Round in the end: 4πA/L² goes to 1; a polygon falls short by its corners.
	late := Flow(Section{Points: square, Closed: true}, Law{5, 0}, []float64{0.05, 0.2, 0.35})
	before := math.Pi / 4
	for _, s := range late {
		a, l := area(s.Points)
		if q := 4 * math.Pi * a / (l * l); q <= before-0.001 || q > 1 {
			t.Errorf("roundness %.4f after %.4f", q, before)
		} else {
			before = math.Max(before, q)
		}
	}
	if before < 0.99 {
		t.Errorf("roundness %.4f in the end", before)
	}
	if gone := Flow(Section{Points: square, Closed: true}, Law{5, 0}, []float64{1}); len(gone[0].Points) != 0 {
		t.Errorf("%d points left of a square worn away", len(gone[0].Points))
	}
}

func convex(t *testing.T, p []r2.Vec) {
	t.Helper()
	for i := range p {
		a, b, c := p[i], p[(i+1)%len(p)], p[(i+2)%len(p)]
		if turn := r2.Cross(r2.Sub(b, a), r2.Sub(c, b)); turn < -1e-6*r2.Norm(r2.Sub(b, a))*r2.Norm(r2.Sub(c, b)) {
			t.Fatalf("turns in by %g at %v", turn, b)
		}
	}
}

// An inside corner is never filled, never worn beyond its faces' recession by
// more than theirs, and stays in one piece.
func TestInsideCorner(t *testing.T) {
	const h = 0.3
	// The void is the quadrant X, Y > 0.
	s := Section{Points: []r2.Vec{{X: 5}, {}, {Y: 5}}}
	for _, law := range []Law{Default, {}, {2, 4}} {
		for _, shape := range Flow(s, law, []float64{0.01, 0.1, h}) {
			h := shape.Removed
			for _, p := range shape.Points {
				if p.X > 1e-9 && p.Y > 1e-9 || p.X < -h*1.001 || p.Y < -h*1.001 {
					t.Errorf("%v: %v after %g", law, p, h)
				}
			}
			// Along the bisector the void is no deeper than a ball of radius h rolled
			// round the old corner would make it.
			for i, p := range shape.Points[1:] {
				q := shape.Points[i]
				if (q.X-q.Y)*(p.X-p.Y) <= 0 {
					if d := math.Hypot((p.X+q.X)/2, (p.Y+q.Y)/2); d > 1.02*h+1e-3 {
						t.Errorf("%v: corner %.4f deep after %g", law, d, h)
					}
				}
			}
			if n := len(shape.Points); n > 2000 {
				t.Errorf("%d points", n)
			}
		}
	}
}

// Without curvature in the law a closed convex outline recedes and stays as
// sharp as it was.
func TestNoLaw(t *testing.T) {
	square := []r2.Vec{{X: 0, Y: 0}, {X: 4, Y: 0}, {X: 4, Y: 4}, {X: 0, Y: 4}}
	a, _ := area(Flow(Section{Points: square, Closed: true}, Law{}, []float64{0.5})[0].Points)
	within(t, "area", a, 9, 0.005)
}

func TestNothing(t *testing.T) {
	square := Section{Points: []r2.Vec{{X: 0, Y: 0}, {X: 4, Y: 0}, {X: 4, Y: 4}}, Closed: true}
	for _, s := range Flow(square, Default, []float64{0, -1, math.NaN(), math.Inf(1)}) {
		if a, _ := area(s.Points); a != 8 || s.Removed != 0 {
			t.Errorf("%v", s)
		}
	}
	if s := Flow(Section{}, Default, []float64{1}); len(s) != 1 || len(s[0].Points) != 0 {
		t.Errorf("%v", s)
	}
}

// Any outline ends in time, with numbers for points, no more of them than its
// corners need, and never gains area.
func TestAnyOutline(t *testing.T) {
	for seed := range uint64(5) {
		rng := rand.New(rand.NewPCG(seed, 4))
		n := 3 + rng.IntN(7)
		var p []r2.Vec
		for i := range n {
			s, c := math.Sincos(2 * math.Pi * float64(i) / float64(n))
			r := 0.5 + 4.5*rng.Float64()
			p = append(p, r2.Vec{X: 6 + r*c, Y: r * s})
		}
		section := Section{Points: p, Closed: true, Revolved: seed%2 == 0}
		law := Law{0.05 + rng.Float64(), rng.Float64()}
		before, _ := area(p)
		for _, s := range Flow(section, law, []float64{0.001, 0.02, 0.2}) {
			a, _ := area(s.Points)
			if !(a < before) || len(s.Points) > 200*n {
				t.Fatalf("seed %d: area %g after %g, %d points", seed, a, before, len(s.Points))
			}
			before = a
		}
	}
}
