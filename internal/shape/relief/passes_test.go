package relief

import (
	"math"
	"testing"

	"fettle/internal/shape/form"
	"fettle/internal/shape/mesh"
)

// sheet is a surface z(x, y) over a square of the given half side as a mesh of
// nx by ny pieces.
func sheet(half float64, nx, ny int, z func(x, y float64) float64) *mesh.Mesh {
	return form.Sheet(-half, -half, half, half, nx, ny, z)
}

// left is the surface that passes over the middle of a sheet leave.
func left(t *testing.T, m *mesh.Mesh, tool Tool, p Passes, lay float64, g Grid) (*Map, []Move) {
	t.Helper()
	s, err := NewSkin(t.Context(), m, Model(), tool, -lay, -lay, lay, lay)
	if err != nil {
		t.Fatal(err)
	}
	list, err := Lay(t.Context(), s, p, -lay, -lay, lay, lay)
	if err != nil {
		t.Fatal(err)
	}
	out, _, err := Sweep(t.Context(), g, []Tool{tool}, list, Options{NoStock: true})
	if err != nil {
		t.Fatal(err)
	}
	return out, list
}

// narrow is a strip across passes along X, fine enough to meet every crest.
var narrow = Grid{W: 5, H: 1601, DX: 0.1, DY: 0.0005, X0: -0.2, Y0: -0.4}

// highest is the largest value of f over the cells, and the lowest.
func highest(t *testing.T, m *Map, f func(x, y, z float64) float64) (hi, lo float64) {
	t.Helper()
	hi, lo = math.Inf(-1), math.Inf(1)
	for j := range m.H {
		for i := range m.W {
			z := m.At(i, j)
			if math.IsNaN(z) {
				t.Fatalf("nothing was cut at (%v, %v)", m.X(i), m.Y(j))
			}
			v := f(m.X(i), m.Y(j), z)
			hi, lo = math.Max(hi, v), math.Min(lo, v)
		}
	}
	return hi, lo
}

// The heights below are worked out from the geometry of a ball between two
// neighbouring places (flat: h = R − √(R² − s²/4); convex, with c = ρ + R and
// θ = asin(s/2ρ): h = c·cos θ − √(R² − c²·sin² θ) − ρ; concave likewise with
// c = ρ − R); s is the distance between contacts. The second to the last column
// are computed independently of this code to six places.
func TestPassesLeaveTheCuspsOfTheClosedForms(t *testing.T) {
	if testing.Short() {
		t.Skip("long under the race detector, which other tests of this room feed")
	}
	flat := func(float64, float64) float64 { return 0 }
	for _, c := range []struct {
		name    string
		z       func(x, y float64) float64
		nx, ny  int
		half    float64
		r, s    float64
		want    float64 // µm
		surface bool
		from    func(x, y, z float64) float64 // distance from the part, mm
	}{
		{"flat, R 3, s 0.1", flat, 1, 1, 9, 3, 0.1, 0.416696, false, nil},
		{"flat, R 3, s 0.2", flat, 1, 1, 9, 3, 0.2, 1.667130, false, nil},
		{"flat, R 3, s 0.5", flat, 1, 1, 9, 3, 0.5, 10.434814, false, nil},
		{"flat, R 5, s 0.3", flat, 1, 1, 9, 5, 0.3, 2.250506, false, nil},
		{"flat, spaced on the part", flat, 1, 1, 9, 5, 0.3, 2.250506, true, nil},
		// 30° across the passes: 0.2 in plan are 0.230940 on the part.
		{"slope 30°", func(_, y float64) float64 { return y * math.Tan(math.Pi/6) }, 1, 1, 9, 3, 0.2, 2.223045, false,
			func(_, y, z float64) float64 { return (z - y*math.Tan(math.Pi/6)) * math.Cos(math.Pi/6) }},
		{"slope 60°, spaced on the part", func(_, y float64) float64 { return y * math.Tan(math.Pi/3) }, 1, 1, 9, 3, 0.2, 1.667130, true,
			func(_, y, z float64) float64 { return (z - y*math.Tan(math.Pi/3)) / 2 }},
		{"convex cylinder ρ 10, R 3, s 0.2", func(_, y float64) float64 { return math.Sqrt(100 - y*y) }, 1, 400, 4, 3, 0.2, 0, true,
			func(_, y, z float64) float64 { return math.Hypot(y, z) - 10 }},
		{"concave cylinder ρ 10, R 3, s 0.2", func(_, y float64) float64 { return -math.Sqrt(100 - y*y) }, 1, 400, 4, 3, 0.2, 0, true,
			func(_, y, z float64) float64 { return 10 - math.Hypot(y, z) }},
		{"convex sphere ρ 10, R 3, s 0.2", func(x, y float64) float64 { return math.Sqrt(100 - x*x - y*y) }, 120, 120, 2, 3, 0.2, 0, true,
			func(x, y, z float64) float64 { return math.Hypot(math.Hypot(x, y), z) - 10 }},
		{"concave sphere ρ 10, R 3, s 0.2", func(x, y float64) float64 { return -math.Sqrt(100 - x*x - y*y) }, 120, 120, 2, 3, 0.2, 0, true,
			func(x, y, z float64) float64 { return 10 - math.Hypot(math.Hypot(x, y), z) }},
	} {
		t.Run(c.name, func(t *testing.T) {
			want := c.want
			if want == 0 {
				cc := 10 + c.r
				sign := 1.0
				if c.z(0, 0) < 0 {
					cc, sign = 10-c.r, -1
				}
				th := math.Asin(c.s / 20)
				want = 1000 * sign * (cc*math.Cos(th) - sign*math.Sqrt(c.r*c.r-cc*cc*math.Sin(th)*math.Sin(th)) - 10)
			}
			if c.from == nil {
				c.from = func(_, _, z float64) float64 { return z }
			}
			m := sheet(c.half, c.nx, c.ny, c.z)
			// Slopes are touched beside the tip, by R·sin of the slope.
			got, _ := left(t, m, Ball(c.r), Passes{Step: c.s, OnSurface: c.surface}, 1.2+c.half/3, narrow)
			hi, lo := highest(t, got, c.from)
			// The facets of the part are 0.03 µm off its round, the cusps ride on them.
			if math.Abs((hi-lo)*1000-want) > 0.01*want || math.Abs(lo) > 0.00004 {
				t.Errorf("cusps of %.4f µm over valleys at %.4f µm, should be %.4f over 0", hi*1000, lo*1000, want)
			}
		})
	}
}

// TestCrossedPassesAndCraters checks two lattices: crossed passes keep their
// corner peaks (Sz = h), and the craters of a ball that cuts with every tooth
// stand s²/8R + f²/8R high.
func TestCrossedPassesAndCraters(t *testing.T) {
	m := sheet(9, 1, 1, func(x, y float64) float64 { return 0 })
	got, _ := left(t, m, Ball(3), Passes{Step: 0.2, Crossed: true}, 1.2, Cover(-0.4, -0.4, 0.4, 0.4, 0.004))
	hi, lo := highest(t, got, func(_, _, z float64) float64 { return z * 1000 })
	if math.Abs(hi-1.66713) > 0.0167 || math.Abs(lo) > 0.02 {
		t.Errorf("crossed: from %v to %v µm, should be 0 to 1.667", lo, hi)
	}
	mean := 0.0
	for _, z := range got.Z {
		mean += (got.Base + float64(z)) * 1000 / float64(len(got.Z))
	}
	if want := 1.66713 / 6; math.Abs(mean-want) > 0.01*want {
		t.Errorf("crossed: mean %v µm above the valleys, should be h/6 = %v", mean, want)
	}
	got, _ = left(t, m, Ball(3), Passes{Step: 0.2, Tooth: 0.08}, 1.2, Cover(-0.4, -0.4, 0.4, 0.4, 0.004))
	hi, _ = highest(t, got, func(_, _, z float64) float64 { return z * 1000 })
	// Where the craters of neighbouring passes happen to lie side by side the
	// peak is that of the lattice, elsewhere it is lower; never lower than a
	// cusp.
	if most := 1000 * (0.2*0.2 + 0.08*0.08) / 24; hi > most*1.01 || hi < 1.66713 {
		t.Errorf("craters: %v µm, should be between 1.667 and %v", hi, most)
	}
}

// TestChordsAreFacets follows a cylinder along its bend with a coarse tolerance:
// the path turns about ρ + R, and a chord of a circle that misses it by e spans
// 2·acos(1 − e/r) and is 2·√(2re − e²) long.
func TestChordsAreFacets(t *testing.T) {
	const rho, r, e = 10.0, 3.0, 0.005
	m := sheet(6, 1, 1500, func(_, y float64) float64 { return math.Sqrt(rho*rho - y*y) })
	_, list := left(t, m, Ball(r), Passes{Angle: math.Pi / 2, Step: 1, Tolerance: e}, 3, narrow)
	want := 2 * math.Sqrt(2*(rho+r)*e-e*e)
	turn := 2 * math.Acos(1-e/(rho+r))
	n := 0
	for i := 1; i < len(list)-1; i++ {
		a, b := list[i], list[i+1]
		if a.Tag != b.Tag || a.Tag != list[i-1].Tag || i+2 >= len(list) || b.Tag != list[i+2].Tag {
			continue // the first and last of a pass are shorter
		}
		n++
		if l := math.Hypot(a.To[1]-a.From[1], a.To[2]-a.From[2]); math.Abs(l-want) > 0.01*want {
			t.Fatalf("chord %d is %v mm long, should be %v", i, l, want)
		}
		dir := func(m Move) float64 { return math.Atan2(m.To[2]-m.From[2], m.To[1]-m.From[1]) }
		d := math.Abs(math.Remainder(dir(b)-dir(a), 2*math.Pi))
		if math.Abs(d-turn) > 0.01*turn {
			t.Fatalf("chord %d turns by %v, should be %v", i, d, turn)
		}
	}
	if n < 20 {
		t.Fatalf("only %d chords looked at", n)
	}
}

// TestWave checks that the machine's own wave is on the surface.
func TestWave(t *testing.T) {
	m := sheet(9, 1, 1, func(x, y float64) float64 { return 0 })
	_, list := left(t, m, Ball(3), Passes{Step: 0.2, Wave: Wave{Height: 0.002, Length: 1.5}}, 3, narrow)
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, v := range list {
		lo, hi = math.Min(lo, v.To[2]), math.Max(hi, v.To[2])
	}
	if math.Abs(hi-0.001) > 3e-5 || math.Abs(lo+0.001) > 3e-5 {
		t.Errorf("the path runs from %v to %v, should be ±0.001", lo, hi)
	}
}

// TestGrooveKeepsWhatABallCannotReach: a groove narrower than the ball keeps
// the metal that the ball's closed form says.
func TestGrooveKeepsWhatABallCannotReach(t *testing.T) {
	const w, depth = 1.0, 2.0 // the sides of the slot lean by 0.02 mm
	m := sheet(6, 600, 1, func(x, _ float64) float64 {
		if math.Abs(x) < w/2-1e-9 {
			return -depth
		}
		return 0
	})
	got, _ := left(t, m, Ball(3), Passes{Step: 0.02}, 3, Cover(-1, -1, 1, 1, 0.05))
	want := -(3 - math.Sqrt(9-w*w/4)) // the ball rests on both edges
	for i := range got.W {
		if x := got.X(i); math.Abs(x) < 0.4 {
			rim := math.Sqrt(9-x*x) - math.Sqrt(9-w*w/4)
			if z := got.At(i, got.H/2); math.Abs(z+rim) > 0.0008 || z < want-0.0005 {
				t.Errorf("at %v from the middle of the slot: %v, should be %v", x, z, -rim)
			}
		}
	}
}
