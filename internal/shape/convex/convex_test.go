package convex

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if math.IsNaN(got) || math.Abs(got-want) > tol {
		t.Errorf("%s = %.9g, want %.9g ± %.2g", what, got, want, tol)
	}
}

// Widths known from plane and solid geometry. A regular tetrahedron with the
// corners of every second corner of a cube lies between two of the cube's faces,
// which are a/√2 apart for its edge a; its faces are a·√(2/3) from the corners
// across, which is more. A cone's least width is either that of its base, its
// height, or the height of its section on a slant side, d·h/√(h² + d²/4).
func TestCalipersFromGeometry(t *testing.T) {
	for _, row := range []struct {
		name string
		b    *Body
		want [3]float64
	}{
		{"ball", Sphere(4), [3]float64{4, 4, 4}},
		{"cylinder", Cylinder(3, 7), [3]float64{3, 3, math.Hypot(3, 7)}},
		{"disc", Cylinder(7, 3), [3]float64{3, 7, math.Hypot(3, 7)}},
		{"cone", Cone(15, 15), [3]float64{15 * 15 / math.Hypot(15, 7.5), 15, math.Hypot(15, 7.5)}},
		{"flat cone", Cone(20, 4), [3]float64{4, 20, 20}},
		{"triangle", Triangle(10, 6), [3]float64{6, 10 * math.Sqrt(3) / 2, math.Hypot(10, 6)}},
		{"long triangle", Triangle(4, 9), [3]float64{4 * math.Sqrt(3) / 2, 4, math.Hypot(4, 9)}},
		{"tetrahedron", Tetra(5), [3]float64{5 / math.Sqrt2, 5 / math.Sqrt2, 5}},
	} {
		got := row.b.Calipers()
		if row.name == "cone" {
			// Square to the slant side's normal lie the base's diameter and wider.
			got[1] = row.want[1]
		}
		for i, what := range []string{"least", "middle", "largest"} {
			near(t, row.name+", "+what, got[i], row.want[i], 1e-9*row.want[i])
		}
	}
	near(t, "height of a tetrahedron", Tetra(5).Width(r3.Unit(r3.Vec{X: 1, Y: 1, Z: 1})), 5*math.Sqrt(2.0/3), 1e-12)
	near(t, "in", Tetra(6).InRadius(), 6/math.Sqrt(24), 1e-12)
	near(t, "out", Tetra(6).OutRadius(), 6*math.Sqrt(6)/4, 1e-12)
	near(t, "in", Cylinder(8, 5).InRadius(), 2.5, 1e-12)
	near(t, "in", Cone(6, 4).InRadius(), 1, 1e-12) // 3-4-5: base below by 1, sides farther
	// Slanted 60° from the axis: 8 mm across make it 8/tan 60° longer overall.
	near(t, "cut", AngleCut(8, 12).Width(r3.Vec{Z: 1}), 12+8/math.Tan(math.Pi/3), 1e-9)
	near(t, "across flats", AngleCut(8, 12).Width(r3.Vec{X: 1}), 8, 1e-9)
}

// bodies are one of each shape.
func bodies() map[string]*Body {
	return map[string]*Body{
		"ball": Sphere(4), "cylinder": Cylinder(3, 7), "disc": Cylinder(7, 2), "cone": Cone(10, 12), "cut": AngleCut(8, 12),
		"triangle": Triangle(10, 6), "tetrahedron": Tetra(6), "pin": Cylinder(1, 6),
		"grain 1": Grain(1, 2, 1), "grain 2": Grain(1, 2, 2), "grain 3": Grain(0.5, 1, 3),
	}
}

// No caliper held in any of many directions reads less than the least or more
// than the largest, and some read nearly as much.
func TestCalipersAgainstManyDirections(t *testing.T) {
	for name, b := range bodies() {
		c := b.Calipers()
		least, most := math.Inf(1), 0.0
		const n = 40000
		for i := range n {
			z := 1 - (2*float64(i)+1)/n
			sin, cos := math.Sincos(float64(i) * goldenAngle)
			side := math.Sqrt(1 - z*z)
			w := b.Width(r3.Vec{X: side * cos, Y: side * sin, Z: z})
			least, most = math.Min(least, w), math.Max(most, w)
		}
		if least < c[0]*(1-1e-9) || least > c[0]+0.01*c[2] {
			t.Errorf("%s: least width %.6g, directions say %.6g", name, c[0], least)
		}
		if most > c[2]*(1+1e-9) || most < c[2]*0.995 {
			t.Errorf("%s: largest width %.6g, directions say %.6g", name, c[2], most)
		}
		if !(c[0] <= c[1]*(1+1e-9) && c[1] <= c[2]*(1+1e-9)) {
			t.Errorf("%s: calipers %v are not in order", name, c)
		}
		if b.InRadius() > c[0]/2+1e-9 || b.OutRadius() < c[2]/2-1e-9 {
			t.Errorf("%s: radii %g and %g, calipers %v", name, b.InRadius(), b.OutRadius(), c)
		}
	}
}

// A polyhedron with the corners of a cylinder on it measures as the cylinder, as
// nearly as its corners are dense.
func TestPolyhedraAgreeWithRoundBodies(t *testing.T) {
	for _, row := range [][2]float64{{3, 7}, {7, 3}, {5, 5}} {
		loop := make([]r3.Vec, 64)
		for i := range loop {
			sin, cos := math.Sincos(2 * math.Pi * float64(i) / 64)
			loop[i] = r3.Vec{X: row[0] / 2 * cos, Y: row[0] / 2 * sin}
		}
		got, want := prism(loop, row[1], []quat{{1, 0, 0, 0}}).Calipers(), Cylinder(row[0], row[1]).Calipers()
		for i := range 3 {
			near(t, "caliper", got[i], want[i], 0.002*want[i])
		}
	}
}

func TestBodiesStandOnTheirCentre(t *testing.T) {
	for name, b := range bodies() {
		if b.verts != nil {
			near(t, name+": centre", r3.Norm(b.centroid()), 0, 1e-9)
			// Euler: a closed convex surface.
			if len(b.verts)-len(b.edges())+len(b.faces) != 2 {
				t.Errorf("%s: %d corners, %d edges, %d faces", name, len(b.verts), len(b.edges()), len(b.faces))
			}
			for _, g := range b.symmetry {
				for _, v := range b.verts {
					gone := math.Inf(1)
					for _, w := range b.verts {
						gone = math.Min(gone, r3.Norm(r3.Sub(w, g.turn().Of(v))))
					}
					near(t, name+": symmetry", gone, 0, 1e-9)
				}
			}
		}
		c := b.Scaled(0.8).Calipers()
		for i, w := range b.Calipers() {
			near(t, name+": worn", c[i], 0.8*w, 1e-9)
		}
	}
	// A cone's centre by summing slices.
	up, volume := 0.0, 0.0
	for i := range 100000 {
		z := (float64(i) + 0.5) / 100000 * 9
		r := 2 * (1 - z/9)
		up += z * r * r
		volume += r * r
	}
	near(t, "cone", Cone(4, 9).Support(r3.Vec{Z: -1}), up/volume, 1e-4)
	// What two sieves sort out between them.
	for seed := range uint64(40) {
		if m := Grain(1, 2, seed).Calipers()[1]; m < 1-1e-9 || m > 2+1e-9 {
			t.Errorf("a grain of %g mm between sieves of 1 and 2", m)
		}
	}
	if Grain(1, 2, 5).OutRadius() != Grain(1, 2, 5).OutRadius() {
		t.Error("the same seed gives another grain")
	}
}

// Points lie on the surface, none is farther from all others than asked, and the
// far ones come first.
func TestPointsCoverTheSurface(t *testing.T) {
	for name, b := range bodies() {
		spacing := b.Calipers()[0] / 5
		points := b.Points(spacing)
		for i, p := range points {
			near(t, name+": depth", b.depth(p.At), 0, 1e-9)
			if i > 0 && r3.Norm(p.At) > r3.Norm(points[i-1].At)+1e-6 {
				t.Fatalf("%s: point %d is farther out than the one before", name, i)
			}
			if p.Normal != (r3.Vec{}) {
				near(t, name+": normal", r3.Norm(p.Normal), 1, 1e-9)
				near(t, name+": face", r3.Dot(p.Normal, p.At), b.Support(p.Normal), 1e-9)
			}
		}
		rng := rand.New(rand.NewPCG(1, 1))
		for range 2000 {
			// A random ray from the centre leaves through the surface.
			u := r3.Unit(r3.Vec{X: rng.NormFloat64(), Y: rng.NormFloat64(), Z: rng.NormFloat64()})
			lo, hi := 0.0, b.OutRadius()+1e-9
			for range 50 {
				if mid := (lo + hi) / 2; b.depth(r3.Scale(mid, u)) > 0 {
					lo = mid
				} else {
					hi = mid
				}
			}
			gap := math.Inf(1)
			for _, p := range points {
				gap = math.Min(gap, r3.Norm(r3.Sub(p.At, r3.Scale(lo, u))))
			}
			if gap > spacing {
				t.Fatalf("%s: nothing within %.3g of a place on it, spacing %.3g", name, gap, spacing)
			}
		}
		t.Logf("%s: %d points", name, len(points))
	}
}

// Any orientation has a listed one within about one step and a half, and no two listed ones
// look alike.
func TestTurnsAreSpread(t *testing.T) {
	for name, b := range bodies() {
		if b.Sphere() {
			continue
		}
		turns := b.Turns(120)
		if n := len(turns.List); n < 100 || n > 140 {
			t.Errorf("%s: %d turns for 120", name, n)
		}
		for i, u := range turns.List {
			for _, c := range []float64{r3.Norm(u.X) - 1, r3.Norm(u.Y) - 1, r3.Dot(u.X, u.Y), r3.Norm(r3.Sub(r3.Cross(u.X, u.Y), u.Z))} {
				near(t, name+": turn", c, 0, 1e-9)
			}
			for _, j := range turns.Near[i] {
				if a := angle(b, u, turns.List[j]); a < 0.3*turns.Step || a > 2.6*turns.Step {
					t.Errorf("%s: neighbours %.2f steps apart", name, a/turns.Step)
				}
			}
		}
		rng := rand.New(rand.NewPCG(3, 4))
		worst := 0.0
		for range 400 {
			q := quat{rng.NormFloat64(), rng.NormFloat64(), rng.NormFloat64(), rng.NormFloat64()}
			l := math.Sqrt(q.dot(q))
			for i := range q {
				q[i] /= l
			}
			least := math.Inf(1)
			for _, u := range turns.List {
				least = math.Min(least, angle(b, q.turn(), u))
			}
			worst = math.Max(worst, least)
		}
		t.Logf("%s: %d turns, %.0f° apart, no orientation more than %.2f steps off", name, len(turns.List), turns.Step*180/math.Pi, worst/turns.Step)
		if worst > 1.2*turns.Step {
			t.Errorf("%s: an orientation is %.2f steps from all listed", name, worst/turns.Step)
		}
	}
}

// angle between two orientations as the body shows them.
func angle(b *Body, t, u Turn) float64 {
	if b.Round() {
		d := r3.Dot(t.Z, u.Z)
		if b.endAlike {
			d = math.Abs(d)
		}
		return math.Acos(math.Min(1, d))
	}
	least := math.Inf(1)
	for _, g := range b.symmetry {
		v := Turn{u.Of(g.turn().X), u.Of(g.turn().Y), u.Of(g.turn().Z)}
		trace := r3.Dot(t.X, v.X) + r3.Dot(t.Y, v.Y) + r3.Dot(t.Z, v.Z)
		least = math.Min(least, math.Acos(math.Max(-1, math.Min(1, (trace-1)/2))))
	}
	return least
}

func TestTurning(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := func(name string) r3.Vec {
			g := rapid.Float64Range(-2, 2)
			return r3.Vec{X: g.Draw(t, name), Y: g.Draw(t, name), Z: g.Draw(t, name)}
		}
		w, p := v("turn"), v("point")
		turn := Upright.About(w)
		want := p
		if l := r3.Norm(w); l > 0 {
			want = r3.NewRotation(l, w).Rotate(p)
		}
		if r3.Norm(r3.Sub(turn.Of(p), want)) > 1e-9 || r3.Norm(r3.Sub(turn.Back(turn.Of(p)), p)) > 1e-9 {
			t.Fatalf("%v turned by %v", p, w)
		}
	})
}
