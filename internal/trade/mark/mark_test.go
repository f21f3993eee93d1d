package mark

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"fettle/internal/shape/relief"

	"pgregory.net/rapid"
)

// Closed forms of parabolic cusps: mean thickness over level u (1 − u) − ⅔(1 − u^{3/2}),
// a third to erase them, Rq 2/(3√5) = 0.29814 of the height whole; under level u
// lies the middle √u of a cusp, where the slopes run from 0 to √u of the steepest.
func TestParabolaFollowsItsClosedForms(t *testing.T) {
	c := Parabola()
	if math.Abs(c.Mean()-1.0/3) > 1e-12 || math.Abs(c.Left(0).Rq-2/(3*math.Sqrt(5))) > 1e-12 {
		t.Errorf("mean %v, Rq %v", c.Mean(), c.Left(0).Rq)
	}
	for u := 0.01; u < 1; u += 0.01 {
		x := (1 - u) - (1-math.Pow(u, 1.5))*2/3
		m1, m2 := 1.0/3-x, u*u-0.8*math.Pow(u, 2.5)
		got := c.Left(x)
		if math.Abs(got.Height-u) > 2e-4 || math.Abs(c.Takes(u)-x) > 1e-4 {
			t.Errorf("%v off leave %v and takes %v; should leave %v", x, got.Height, c.Takes(u), u)
		}
		if want := math.Sqrt(m2 - m1*m1); math.Abs(got.Rq-want) > 1e-4 {
			t.Errorf("level %v: Rq %v, should be %v", u, got.Rq, want)
		}
		if want := math.Pow(u, 0.75); math.Abs(got.Slope-want) > 2e-4 {
			t.Errorf("level %v: slope %v, should be %v", u, got.Slope, want)
		}
	}
	// 2 µm at 0.3 mm: z = h(2t/λ)², rms of 8ht/λ².
	if got, want := c.Slope(2, 0.3), 8*2/(0.3*2*math.Sqrt(3)); math.Abs(got-want) > 1e-9 {
		t.Errorf("slope %v mrad, should be %v", got, want)
	}
}

// cutAt is a sampled periodic profile of heights 0 to 1 with everything over a level
// taken off, written out: the mean that came off, Rq, and rms slope from point to
// point.
func cutAt(z []float64, level float64) (off, rq, slope float64) {
	n := float64(len(z))
	var mean, square float64
	for i, v := range z {
		w := math.Min(v, level)
		off += (v - w) / n
		mean += w / n
		square += w * w / n
		d := math.Min(z[(i+1)%len(z)], level) - w
		slope += d * d / n
	}
	return off, math.Sqrt(square - mean*mean), math.Sqrt(slope)
}

// TestCurvesAgreeWithCutProfiles takes the tops off sampled profiles, point by
// point, and compares with what the curves say.
func TestCurvesAgreeWithCutProfiles(t *testing.T) {
	const n = 200000
	shape := func(f func(x float64) float64) []float64 {
		z := make([]float64, n)
		for i := range z {
			z[i] = f((float64(i) + 0.5) / n)
		}
		return z
	}
	for name, c := range map[string]struct {
		curve *Curve
		z     []float64
		most  float64
	}{
		"parabola": {Parabola(), shape(func(x float64) float64 { return 4 * (x - 0.5) * (x - 0.5) }), 3e-4},
		"sine":     {Sine(), shape(func(x float64) float64 { return (1 - math.Cos(2*math.Pi*x)) / 2 }), 3e-4},
		// As many random waves as make normal heights, some 30,000 furrows.
		"furrows": {Furrows(), randomFace(1000000), 0.02},
	} {
		_, _, whole := cutAt(c.z, 1)
		for level := 0.05; level < 1; level += 0.05 {
			off, rq, slope := cutAt(c.z, level)
			got := c.curve.Left(off)
			if math.Abs(got.Height-level) > c.most || math.Abs(got.Rq-rq) > c.most || math.Abs(got.Slope-slope/whole) > c.most {
				t.Errorf("%s cut at %.2f: %+v after %.4f, should be %.4f, %.4f", name, level, got, off, rq, slope/whole)
			}
		}
	}
}

// randomFace is a profile of normal heights that know of their neighbours, scaled so
// that ±2.5 standard deviations are 0 and 1; what lies beyond is bent back inside.
func randomFace(n int) []float64 {
	rng := rand.New(rand.NewPCG(3, 4))
	z := make([]float64, n)
	// A first-order walk, run twice, has slopes.
	const keep = 0.93
	v, w := 0.0, 0.0
	for i := -1000; i < n; i++ {
		v = keep*v + rng.NormFloat64()
		w = keep*w + v
		if i >= 0 {
			z[i] = w
		}
	}
	var mean, square float64
	for _, v := range z {
		mean += v / float64(n)
	}
	for _, v := range z {
		square += (v - mean) * (v - mean) / float64(n)
	}
	out := z[:0]
	for _, v := range z { // the rare ones beyond are left out, as the curve says
		if s := (v - mean) / math.Sqrt(square); math.Abs(s) <= 2.5 {
			out = append(out, s/5+0.5)
		}
	}
	return out
}

// TestFurrowsSlope: the rms average wavelength of a wave is its own, so a sine of
// the same Rq and wavelength has the slope that furrows have.
func TestFurrowsSlope(t *testing.T) {
	f, s := Furrows(), Sine()
	sameRq := f.Left(0).Rq / s.Left(0).Rq
	if got, want := f.Slope(4, 0.12), s.Slope(4*sameRq, 0.12); math.Abs(got/want-1) > 1e-9 {
		t.Errorf("%v mrad, should be %v", got, want)
	}
	if got, want := s.Slope(2, 0.5), math.Pi*2/(math.Sqrt2*0.5); math.Abs(got/want-1) > 1e-12 {
		t.Errorf("sine %v mrad, should be %v", got, want)
	}
}

// TestWornCurvesFall: more off never leaves more of anything, Takes undoes Left, and
// the ends are whole and gone.
func TestWornCurvesFall(t *testing.T) {
	measured, _, err := Measured(cusps(0.25, 3, 300, 200))
	if err != nil {
		t.Fatal(err)
	}
	curves := []*Curve{Parabola(), Furrows(), Sine(), measured}
	rapid.Check(t, func(t *rapid.T) {
		c := curves[rapid.IntRange(0, len(curves)-1).Draw(t, "curve")]
		x := rapid.Float64Range(-0.1, 1.1).Draw(t, "x") * c.Mean()
		y := x + rapid.Float64Range(0, 1).Draw(t, "more")*c.Mean()
		a, b := c.Left(x), c.Left(y)
		if b.Height > a.Height || b.Rq > a.Rq+1e-12 || b.Slope > a.Slope {
			t.Fatalf("%v leaves %+v, %v leaves %+v", x, a, y, b)
		}
		if x <= 0 && a.Height != 1 || (x >= c.Mean()) != (a == Rest{}) {
			t.Fatalf("%v of %v leaves %+v", x, c.Mean(), a)
		}
		if back := c.Takes(a.Height); math.Abs(back-math.Min(math.Max(x, 0), c.Mean())) > 1e-9 {
			t.Fatalf("%v leaves %v, which takes %v", x, a.Height, back)
		}
		// Random heights have fewer levels than a curve: slopes may stand still.
		if got := c.Left(c.TakesSlope(a.Slope)).Slope; math.Abs(got-a.Slope) > 1e-9 {
			t.Fatalf("slope %v comes back as %v", a.Slope, got)
		}
	})
	for _, c := range curves {
		if c.Takes(1.5) != 0 || c.Takes(-1) != c.Mean() || c.Takes(math.NaN()) != c.Mean() || c.Left(math.Inf(1)) != (Rest{}) {
			t.Error("past the ends")
		}
	}
}

// cusps is a map of parabolic cusps of a height in µm, along X, that lean a little so
// that crests meet cells everywhere.
func cusps(step, um float64, w, h int) *relief.Map {
	m := relief.NewMap(relief.Grid{W: w, H: h, DX: 0.008, DY: 0.008, X0: 1, Y0: -2})
	m.Base = 17
	for i := range m.Z {
		u := (m.Y(i/w) + 0.05*m.X(i%w)) / step
		u -= math.Floor(u) + 0.5
		m.Z[i] = float32(4 * u * u * um / 1000)
	}
	return m
}

// TestMeasuredCuspsAreParabolas: a map of parabolic cusps gives the curve, the height
// and the slope of parabolic cusps; a hole and a grain of dust change nothing much.
func TestMeasuredCuspsAreParabolas(t *testing.T) {
	for _, dirty := range []bool{false, true} {
		m := cusps(0.8, 3, 600, 400)
		if dirty {
			for i := range 900 {
				m.Z[5000+i] = float32(math.NaN())
			}
			m.Z[100000], m.Z[130000] = 0.4, -2
		}
		c, um, err := Measured(m)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(um/3-1) > 0.005 {
			t.Errorf("height %v µm, should be 3", um)
		}
		p := Parabola()
		if math.Abs(c.Mean()-p.Mean()) > 0.004 {
			t.Errorf("mean %v", c.Mean())
		}
		for u := 0.05; u < 1; u += 0.05 {
			x := p.Takes(u)
			a, b := c.Left(x), p.Left(x)
			if math.Abs(a.Height-b.Height) > 0.015 || math.Abs(a.Rq-b.Rq) > 0.006 || math.Abs(a.Slope-b.Slope) > 0.02 {
				t.Errorf("after %v: %+v, should be %+v", x, a, b)
			}
		}
		if got, want := c.Slope(um, 99), 4*3/(math.Sqrt(3)*0.8); math.Abs(got/want-1) > 0.015 {
			t.Errorf("slope %v mrad, should be %v", got, want)
		}
	}
}

// TestLevelling is the form of the law at its ends and its middle.
func TestLevelling(t *testing.T) {
	for _, c := range []struct{ wave, contact, want float64 }{
		{0, 1, 1}, {1, 1, 0.5}, {2, 1, 0.2}, {0.3, 0, 0}, {0.3, 25, 0.999856}, {30, 3, 1.0 / 101},
	} {
		if got := Levelling(c.wave, c.contact); math.Abs(got-c.want) > 1e-6 {
			t.Errorf("%v mm under %v mm: %v, should be %v", c.wave, c.contact, got, c.want)
		}
	}
}

func TestMeasuredRefuses(t *testing.T) {
	flat := relief.NewMap(relief.Grid{W: 9, H: 9, DX: 1, DY: 1})
	holes := relief.NewMap(flat.Grid)
	for i := range flat.Z {
		flat.Z[i] = 2
		if i%2 == 0 {
			holes.Z[i] = float32(i)
		}
	}
	for name, m := range map[string]*relief.Map{
		"none": nil, "no cells": relief.NewMap(relief.Grid{}), "missing": relief.NewMap(flat.Grid), "flat": flat, "alone": holes,
		"short": {Grid: flat.Grid, Z: flat.Z[:5]},
	} {
		if _, _, err := Measured(m); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
}

// TestMeasuredAtAnyWidth: one row, one column, and few cells are maps too.
func TestMeasuredAtAnyWidth(t *testing.T) {
	for _, g := range []relief.Grid{{W: 1, H: 500, DX: 1, DY: 0.01}, {W: 500, H: 1, DX: 0.01, DY: 1}, {W: 2, H: 1, DX: 1, DY: 1}} {
		m := relief.NewMap(g)
		for i := range m.Z {
			m.Z[i] = float32(i % 50)
		}
		c, um, err := Measured(m)
		if err != nil {
			t.Fatal(err)
		}
		if c.Mean() <= 0.4 || c.Mean() >= 0.6 || math.Abs(um/1000/float64(slices.Max(m.Z))-1) > 1e-5 {
			t.Errorf("%v: mean %v, %v µm", g, c.Mean(), um)
		}
	}
}

var sink float64

func BenchmarkLeft(b *testing.B) {
	c := Parabola()
	for i := 0; b.Loop(); i++ {
		sink += c.Left(float64(i&1023) / 3100).Slope
	}
}

func BenchmarkTakes(b *testing.B) {
	c := Parabola()
	for i := 0; b.Loop(); i++ {
		sink += c.Takes(float64(i&1023) / 1024)
	}
}

func BenchmarkMeasured(b *testing.B) {
	m := cusps(0.25, 3, 600, 400)
	for b.Loop() {
		if _, _, err := Measured(m); err != nil {
			b.Fatal(err)
		}
	}
}
