package cusp

import (
	"math"
	"testing"

	"fettle"

	"pgregory.net/rapid"
)

// near fails unless got is within tol of want.
func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if math.IsNaN(got) || math.Abs(got-want) > tol {
		t.Errorf("%s = %.9g, want %.9g ± %.2g", what, got, want, tol)
	}
}

// The rows were computed outside the project by intersecting two circles in
// extended precision; derived exactly from geometry.
func TestHeightsAgainstIntersectedCircles(t *testing.T) {
	rows := []struct {
		side          Side
		r, rho, s     float64
		exact, approx float64 // µm
	}{
		{Level, 3, 0, 0.1, 0.416696, 0.416667},
		{Level, 3, 0, 0.2, 1.667130, 1.666667},
		{Level, 3, 0, 0.5, 10.434814, 10.416667},
		{Level, 5, 0, 0.3, 2.250506, 2.250000},
		{Level, 1, 0, 0.1, 1.250782, 1.250000},
		{Convex, 3, 10, 0.1, 0.541748, 0.541667},
		{Concave, 3, 10, 0.1, 0.291674, 0.291667},
		{Convex, 3, 25, 0.2, 1.867395, 1.866667},
		{Concave, 3, 25, 0.2, 1.466945, 1.466667},
		{Convex, 3, 10, 0.5, 13.592988, 13.541667},
		{Concave, 3, 10, 0.5, 7.296358, 7.291667},
		{Convex, 3, 100, 0.5, 10.749596, 10.729167},
		{Concave, 3, 100, 0.5, 10.120230, 10.104167},
		{Convex, 5, 10, 0.3, 3.377471, 3.375000},
		{Concave, 5, 10, 0.3, 1.125063, 1.125000},
	}
	for _, row := range rows {
		h, err := HeightOn(row.side, row.r, row.rho, row.s)
		if err != nil {
			t.Fatal(err)
		}
		near(t, string(row.side)+" exact", h*1000, row.exact, 6e-7)
		near(t, string(row.side)+" small", HeightOnSmall(row.side, row.r, row.rho, row.s)*1000, row.approx, 6e-7)
		s, err := StepoverOn(row.side, row.r, row.rho, h)
		if err != nil {
			t.Fatal(err)
		}
		near(t, string(row.side)+" inverse", s, row.s, 1e-12)
	}
	sz, _, err := Lattice(3, 0.2, 0.1)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "lattice", sz*1000, 2.083333, 6e-7)
}

// Qu and Shih, Machining Science and Technology 7 (2003) 281: the small-step
// parabola errs by less than 1.6 % for s/R < 0.5.
func TestParabolaErrsByUnderTheBoundOfQuAndShih(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rapid.Float64Range(0.25, 10).Draw(t, "r")
		s := r * rapid.Float64Range(1e-4, 0.5).Draw(t, "s/r")
		h, err := Height(r, s)
		if err != nil {
			t.Fatal(err)
		}
		if e := (h - HeightSmall(r, s)) / h; e < -1e-12 || e > 0.016 {
			t.Fatalf("error of the parabola at s/r = %g is %g", s/r, e)
		}
	})
}

func TestCurvedHeightsMeetFlatOnesAndInvert(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rapid.Float64Range(0.5, 8).Draw(t, "r")
		rho := r * rapid.Float64Range(1.05, 100).Draw(t, "rho/r")
		s := r * rapid.Float64Range(0.001, 0.9).Draw(t, "s/r")
		flat, _ := Height(r, s)
		convex, err := HeightOn(Convex, r, rho, s)
		if err != nil {
			t.Fatal(err)
		}
		concave, err := HeightOn(Concave, r, rho, s)
		if err != nil {
			t.Fatal(err)
		}
		if !(concave < flat && flat < convex) {
			t.Fatalf("hollow %g, plane %g, bulge %g are out of order", concave, flat, convex)
		}
		for side, h := range map[Side]float64{Level: flat, Convex: convex, Concave: concave} {
			back, err := StepoverOn(side, r, rho, h)
			if err != nil || math.Abs(back-s) > 1e-9*s {
				t.Fatalf("%s: inverse of %g is %g (%v)", side, s, back, err)
			}
		}
		// The peak must lie on the nose circle of both passes: an independent
		// check by distances in the plane.
		sin := s / (2 * rho)
		cos := math.Sqrt(1 - sin*sin)
		cx, cy := (rho+r)*sin, (rho+r)*cos
		if d := math.Hypot(cx, cy-(rho+convex)); math.Abs(d-r) > 1e-9*rho {
			t.Fatalf("peak of the bulge is %g from the centre of a nose of %g", d, r)
		}
		cx, cy = (rho-r)*sin, (rho-r)*cos
		if d := math.Hypot(cx, cy-(rho-concave)); math.Abs(d-r) > 1e-9*rho {
			t.Fatalf("peak in the hollow is %g from the centre of a nose of %g", d, r)
		}
	})
}

// Derived exactly from geometry; the last row is a row of half circles.
func TestProfileRatiosAgainstExactIntegrals(t *testing.T) {
	rows := [][7]float64{
		{0.010, 0.00001250, 0.256600, 0.298142, 1.161895, 0.638881, 2.142864},
		{0.100, 0.00125078, 0.256568, 0.298116, 1.161937, 0.639288, 2.143526},
		{0.200, 0.00501256, 0.256471, 0.298035, 1.162062, 0.640527, 2.145546},
		{0.500, 0.03175416, 0.255763, 0.297447, 1.162977, 0.649469, 2.160268},
		{1.000, 0.13397460, 0.252742, 0.294917, 1.166871, 0.685874, 2.222946},
		{1.500, 0.33856217, 0.244810, 0.288133, 1.176965, 0.771185, 2.387456},
		{2.000, 1.00000000, 0.181303, 0.223196, 1.231066, 1.151342, 3.493943},
	}
	for _, row := range rows {
		got, err := ProfileRatios(row[0])
		if err != nil {
			t.Fatal(err)
		}
		near(t, "h/R", got.HeightOverR, row[1], 6e-9)
		near(t, "Ra/h", got.RaOverH, row[2], 6e-7)
		near(t, "Rq/h", got.RqOverH, row[3], 6e-7)
		near(t, "Rq/Ra", got.RqOverH/got.RaOverH, row[4], 6e-7)
		near(t, "Rsk", got.Rsk, row[5], 6e-7)
		near(t, "Rku", got.Rku, row[6], 6e-7)
	}
	// Half circles: the mean height is 1 − π/4.
	half, _ := ProfileRatios(2)
	near(t, "mean of half circles", half.MeanOverH, 1-math.Pi/4, 1e-12)
	// The limit is the parabola: Ra/h = 4/(9√3), Rq/h = √(4/45), Rsk = 2√5/7, Rku = 15/7.
	tiny, _ := ProfileRatios(1e-6)
	near(t, "Ra/h", tiny.RaOverH, 4/(9*math.Sqrt(3)), 1e-10)
	near(t, "Rq/h", tiny.RqOverH, math.Sqrt(4.0/45), 1e-10)
	near(t, "Rsk", tiny.Rsk, 2*math.Sqrt(5)/7, 1e-10)
	near(t, "Rku", tiny.Rku, 15.0/7, 1e-10)
	near(t, "mean", tiny.MeanOverH, 1.0/3, 1e-10)
	near(t, "constant Ra", ParabolaRa, 4/(9*math.Sqrt(3)), 1e-15)
	near(t, "constant Rq", ParabolaRq, math.Sqrt(4.0/45), 1e-15)
	near(t, "constant Rsk", ParabolaRsk, 2*math.Sqrt(5)/7, 1e-12)
}

// Derived exactly from geometry.
func TestChordFacets(t *testing.T) {
	rows := [][5]float64{ // rho mm, tolerance µm, length mm, turn °, facets a turn
		{1, 1, 0.08942, 5.1251, 70.2},
		{1, 5, 0.19975, 11.4639, 31.4},
		{3, 1, 0.15491, 2.9588, 121.7},
		{3, 5, 0.34627, 6.6169, 54.4},
		{5, 1, 0.19999, 2.2919, 157.1},
		{5, 10, 0.63214, 7.2486, 49.7},
		{10, 0.1, 0.08944, 0.5125, 702.5},
		{10, 1, 0.28284, 1.6206, 222.1},
		{10, 5, 0.63238, 3.6239, 99.3},
		{10, 10, 0.89420, 5.1251, 70.2},
		{25, 1, 0.44721, 1.0249, 351.2},
		{25, 10, 1.41407, 3.2412, 111.1},
		{50, 1, 0.63245, 0.7247, 496.7},
		{50, 10, 1.99990, 2.2919, 157.1},
		{100, 1, 0.89442, 0.5125, 702.5},
		{100, 10, 2.82836, 1.6206, 222.1},
	}
	for _, row := range rows {
		f, err := ChordFacet(row[0], row[1]/1000)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "length", f.Length, row[2], 6e-6)
		near(t, "turn", f.Turn*180/math.Pi, row[3], 6e-5)
		near(t, "a turn", f.PerRev, row[4], 0.06)
	}
}

// Derived exactly from geometry.
func TestEffectiveDiameter(t *testing.T) {
	rows := [][4]float64{ // D, ap, tilt °, De
		{6, 0.1, 0, 1.53623},
		{6, 0.2, 0, 2.15407},
		{6, 0.5, 0, 3.31662},
		{6, 0.1, 15, 2.98503},
		{6, 0.1, 30, 4.23041},
		{6, 0.1, 45, 5.18750},
		{6, 0.2, 15, 3.53005},
		{6, 0.2, 90, 6}, // the equator cuts
		{6, 4, 0, 6},
	}
	for _, row := range rows {
		d, err := EffectiveDiameter(row[0], row[1], row[2]*math.Pi/180)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "De", d, row[3], 6e-6)
	}
}

func TestSlopesAndLeaningEnds(t *testing.T) {
	s, err := OnSlope(0.2, math.Pi/3)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "60° doubles the step", s, 0.4, 1e-12)
	s, err = OnLevels(0.2, math.Pi/6)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "levels on 30°", s, 0.4, 1e-12)
	r, err := LeaningRadius(10, 0, math.Pi/6)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "flat end at 30°", r, 10, 1e-12)
	r, err = LeaningRadius(10, 1, math.Pi/6)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "bull nose at 30°", r, 1+4/0.5, 1e-12)
	r, _ = LeaningRadius(10, 5, 0)
	near(t, "a ball is a ball at any lean", r, 5, 0)
	r, _ = LeaningRadius(10, 0, 0)
	if !math.IsInf(r, 1) {
		t.Errorf("an upright flat end has radius %g, want infinite", r)
	}
}

func TestTruncationTakesAThirdOfTheHeight(t *testing.T) {
	whole, err := Truncate(9, 1)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "Ra untouched", whole.Ra, 9*ParabolaRa, 1e-12)
	near(t, "Rq untouched", whole.Rq, 9*ParabolaRq, 1e-12)
	near(t, "nothing removed", whole.Removed, 0, 0)
	gone, _ := Truncate(9, 0)
	near(t, "all removed", gone.Removed, 3, 1e-12)
	near(t, "Rq gone", gone.Rq, 0, 0)
	half, _ := Truncate(1, 0.5)
	near(t, "removed to half", half.Removed, 0.5-2.0/3*(1-math.Pow(0.5, 1.5)), 1e-12)
	rapid.Check(t, func(t *rapid.T) {
		h := rapid.Float64Range(0.1, 50).Draw(t, "h")
		u := rapid.Float64Range(0.001, 0.999).Draw(t, "u")
		cut, err := Truncate(h, u)
		if err != nil {
			t.Fatal(err)
		}
		back, err := LevelAfter(h, cut.Removed)
		if err != nil || math.Abs(back-u) > 1e-6 {
			t.Fatalf("level %g comes back as %g (%v)", u, back, err)
		}
		// Against a plain sum over the profile.
		const n = 4000
		mean, dev, square, off := 0.0, 0.0, 0.0, 0.0
		z := func(i int) float64 { x := (float64(i) + 0.5) / n; return h * math.Min(x*x, u) }
		for i := range n {
			x := (float64(i) + 0.5) / n
			mean += z(i) / n
			off += math.Max(h*(x*x-u), 0) / n
		}
		for i := range n {
			dev += math.Abs(z(i)-mean) / n
			square += (z(i) - mean) * (z(i) - mean) / n
		}
		if math.Abs(dev-cut.Ra) > 1e-5*h || math.Abs(math.Sqrt(square)-cut.Rq) > 1e-5*h || math.Abs(off-cut.Removed) > 1e-5*h {
			t.Fatalf("Ra %g Rq %g removed %g, summed %g %g %g", cut.Ra, cut.Rq, cut.Removed, dev, math.Sqrt(square), off)
		}
	})
}

func TestCrossedPassesAgainstASum(t *testing.T) {
	got, err := Crossed(1)
	if err != nil {
		t.Fatal(err)
	}
	const n = 600
	mean, sa, sq := 0.0, 0.0, 0.0
	z := func(i, j int) float64 {
		x, y := (float64(i)+0.5)/n, (float64(j)+0.5)/n
		return math.Min(x*x, y*y)
	}
	for i := range n {
		for j := range n {
			mean += z(i, j) / (n * n)
		}
	}
	for i := range n {
		for j := range n {
			sa += math.Abs(z(i, j)-mean) / (n * n)
			sq += (z(i, j) - mean) * (z(i, j) - mean) / (n * n)
		}
	}
	near(t, "mean", got.Mean, mean, 1e-5)
	near(t, "Sa", got.Sa, sa, 1e-5)
	near(t, "Sq", got.Sq, math.Sqrt(sq), 1e-5)
	near(t, "peak", got.Peak, 1, 0)
	near(t, "same path", got.SamePathHeight, 0.25, 0)
}

func TestNonsenseIsRefused(t *testing.T) {
	nan := math.NaN()
	for name, f := range map[string]func() error{
		"no nose":           func() error { _, err := Height(0, 1); return err },
		"NaN nose":          func() error { _, err := Height(nan, 1); return err },
		"infinite nose":     func() error { _, err := Height(math.Inf(1), 1); return err },
		"negative step":     func() error { _, err := Height(3, -1); return err },
		"ridge":             func() error { _, err := Height(3, 6.1); return err },
		"hollow as tight":   func() error { _, err := HeightOn(Concave, 3, 3, 0.1); return err },
		"hollow tighter":    func() error { _, err := HeightOn(Concave, 3, 2, 0.1); return err },
		"bulge ridge":       func() error { _, err := HeightOn(Convex, 1, 2, 2); return err },
		"off the bulge":     func() error { _, err := HeightOn(Convex, 5, 1, 2.1); return err },
		"side":              func() error { _, err := HeightOn("saddle", 5, 10, 1); return err },
		"cusp over nose":    func() error { _, err := Stepover(3, 3.1); return err },
		"cusp over nose 2":  func() error { _, err := StepoverOn(Convex, 3, 10, 3.1); return err },
		"no cusp":           func() error { _, err := StepoverOn(Concave, 3, 10, 0); return err },
		"vertical":          func() error { _, err := OnSlope(1, math.Pi/2); return err },
		"level levels":      func() error { _, err := OnLevels(1, 0); return err },
		"corner too big":    func() error { _, err := LeaningRadius(6, 4, 0.1); return err },
		"ratio":             func() error { _, err := ProfileRatios(2.01); return err },
		"ratio zero":        func() error { _, err := ProfileRatios(0); return err },
		"tolerance":         func() error { _, err := ChordFacet(1, 2); return err },
		"depth":             func() error { _, err := EffectiveDiameter(6, 0, 0); return err },
		"tilt":              func() error { _, err := EffectiveDiameter(6, 1, 2); return err },
		"level":             func() error { _, err := Truncate(1, 1.5); return err },
		"removal":           func() error { _, err := LevelAfter(1, -1); return err },
		"lattice":           func() error { _, _, err := Lattice(3, 0.1, 0); return err },
		"closed no ball":    func() error { _, err := Closed(Input{StepMM: 1}); return err },
		"closed no side":    func() error { _, err := Closed(Input{BallMM: 6, StepMM: 0.2, RadiusMM: 10}); return err },
		"closed no radius":  func() error { _, err := Closed(Input{BallMM: 6, StepMM: 0.2, Side: Convex}); return err },
		"closed slope":      func() error { _, err := Closed(Input{BallMM: 6, StepMM: 0.2, SlopeDeg: 90}); return err },
		"closed feed":       func() error { _, err := Closed(Input{BallMM: 6, StepMM: 0.2, FeedMM: -1}); return err },
		"closed flat facet": func() error { _, err := Closed(Input{BallMM: 6, StepMM: 0.2, ToleranceU: 1}); return err },
		"closed bad side":   func() error { _, err := Closed(Input{BallMM: 6, StepMM: 0.2, RadiusMM: 9, Side: "up"}); return err },
	} {
		if err := f(); fettle.CodeOf(err) != fettle.Invalid {
			t.Errorf("%s: %v, want a refusal", name, err)
		}
	}
}

func TestClosedPutsTheFormsTogether(t *testing.T) {
	got, err := Closed(Input{BallMM: 6, StepMM: 0.2, RadiusMM: 25, Side: Convex, FeedMM: 0.1, ToleranceU: 10})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "cusp", got.CuspUM, 1.867395, 6e-7)
	near(t, "feed mark", *got.FeedMarkUM, 0.416696, 6e-7)
	near(t, "facet", *got.FacetMM, 1.41407, 6e-6)
	near(t, "turn", *got.FacetTurnDeg, 3.2412, 6e-5)
	near(t, "Ra", got.RaUM, 1.867395*0.2566, 2e-4)
	near(t, "half step quarters", got.HalfStepUM, got.CuspUM/4, 1e-3)
	plain, err := Closed(Input{BallMM: 6, StepMM: 0.1, SlopeDeg: 60})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "on the slope", plain.CuspUM, 1.667130, 6e-7)
	if plain.FeedMarkUM != nil || plain.FacetMM != nil || plain.FacetTurnDeg != nil {
		t.Error("what was not asked is answered")
	}
	if err := func() error {
		_, err := Closed(Input{BallMM: 6, StepMM: 0.1, RadiusMM: 3, Side: Concave})
		return err
	}(); fettle.CodeOf(err) != fettle.Invalid {
		t.Errorf("a ball in a hollow of its own radius: %v", err)
	}
}
