package region

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
)

// drawn is a loop of edges as points at most step apart.
func drawn(edges []Edge, step float64) []r2.Vec {
	var out []r2.Vec
	for _, e := range edges {
		if e.Radius == 0 {
			n := int(math.Ceil(r2.Norm(r2.Sub(e.To, e.From)) / step))
			for k := range n {
				out = append(out, r2.Add(e.From, r2.Scale(float64(k)/float64(n), r2.Sub(e.To, e.From))))
			}
			continue
		}
		a, b := r2.Sub(e.From, e.Centre), r2.Sub(e.To, e.Centre)
		turn := math.Atan2(r2.Cross(a, b), r2.Dot(a, b))
		if e.Left && turn <= 1e-12 {
			turn += 2 * math.Pi
		} else if !e.Left && turn >= -1e-12 {
			turn -= 2 * math.Pi
		}
		n := int(math.Ceil(math.Abs(turn) * e.Radius / step))
		for k := range n {
			s, c := math.Sincos(turn * float64(k) / float64(n))
			out = append(out, r2.Add(e.Centre, r2.Vec{X: c*a.X - s*a.Y, Y: s*a.X + c*a.Y}))
		}
	}
	return out
}

func stray(pts []r2.Vec, r Region) (worst float64) {
	for _, p := range pts {
		worst = max(worst, math.Abs(r.Distance(p)))
	}
	return worst
}

func TestTracedStaysClose(t *testing.T) {
	ellipse := func(n int) []r2.Vec {
		var l []r2.Vec
		for i := range n {
			s, c := math.Sincos(2 * math.Pi * float64(i) / float64(n))
			l = append(l, r2.Vec{X: 34 * c, Y: 21 * s})
		}
		return l
	}
	rounded := Rect(r2.Vec{X: -20, Y: -10}, r2.Vec{X: 20, Y: 10}).Opened(4, 0.001)
	const tol = 0.005
	for _, q := range []struct {
		name        string
		r           Region
		edges, arcs int // most edges, arcs expected or −1
	}{
		{"circle", Disc(r2.Vec{X: 3, Y: 4}, 9.2, 0.001), 2, 2},
		{"rectangle", Rect(r2.Vec{}, r2.Vec{X: 20, Y: 10}), 4, 0},
		{"rounded rectangle", rounded, 8, 4},
		{"ellipse", Of(ellipse(2000)), 40, -1},
		{"hole", Rect(r2.Vec{X: -30, Y: -30}, r2.Vec{X: 30, Y: 30}).Minus(Disc(r2.Vec{}, 7, 0.001)), 6, 2},
		{"capsule", Capsule(r2.Vec{}, r2.Vec{X: 9, Y: 5}, 3, 0.001), 5, 2},
	} {
		t.Run(q.name, func(t *testing.T) {
			n, arcs := 0, 0
			for k, loop := range q.r.Traced(tol) {
				n += len(loop)
				for i, e := range loop {
					if e.Radius > 0 {
						arcs++
					}
					if next := loop[(i+1)%len(loop)]; e.To != next.From {
						t.Fatalf("loop %d is not joined after %d", k, i)
					}
				}
				if s := stray(drawn(loop, 0.05), q.r); s > 1.5*tol {
					t.Errorf("what is drawn strays by %.4f mm", s)
				}
			}
			if n > q.edges || q.arcs >= 0 && arcs != q.arcs {
				t.Errorf("%d edges, %d of them arcs", n, arcs)
			}
		})
	}
	// A circle's own radius comes back, not that of a polygon in or about it.
	for _, e := range Disc(r2.Vec{X: 3, Y: 4}, 9.2, 0.001).Traced(tol)[0] {
		if math.Abs(e.Radius-9.2) > 0.001 || r2.Norm(r2.Sub(e.Centre, r2.Vec{X: 3, Y: 4})) > 0.001 {
			t.Errorf("the circle of radius 9.2 about 3, 4 became %+v", e)
		}
	}
}
