package texture

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

func line(n int, dx float64, height func(x float64) float64) []float64 {
	z := make([]float64, n)
	for i := range z {
		z[i] = height((float64(i) + 0.5) * dx)
	}
	return z
}

// Profiles whose parameters follow by integration, after the definitions of
// ISO 21920-2: h height in µm, L wavelength in mm, five sections of 0.8 mm.
func TestIdealProfiles(t *testing.T) {
	const h, L, dx = 2.0, 0.08, 0.0005
	third := h / 3
	for _, c := range []struct {
		name   string
		height func(x float64) float64
		want   want
	}{
		{"sine", func(x float64) float64 { return h * math.Sin(2*math.Pi*x/L) }, want{
			"Ra": {2 * h / math.Pi, 1e-3}, "Rq": {h / math.Sqrt2, 1e-4}, "Rsk": {0, 1e-6}, "Rku": {1.5, 1e-4}, "Rz": {2 * h, 1e-3}, "Rt": {2 * h, 1e-3},
			"Rp": {h, 1e-3}, "Rv": {h, 1e-3}, "Rzx": {2 * h, 1e-3}, "Rsm": {L, 1e-6}, "Rsm_sections": {L, 1e-6},
			"Rdq": {math.Sqrt2 * math.Pi * h / 1000 / L, 2e-4}, "Ra_sections": {2 * h / math.Pi, 1e-3},
		}},
		{"cusps", func(x float64) float64 { u := math.Mod(x, L)/L - 0.5; return h*4*u*u - third }, want{
			"Ra": {0.2566001 * h, 2e-4}, "Rq": {0.2981424 * h, 2e-4}, "Rsk": {0.638877, 1e-3}, "Rku": {2.142857, 2e-3}, "Rsm": {L, 1e-6}, "Rz": {h, 0.03},
		}},
		{"triangle", func(x float64) float64 { return h * (2*math.Abs(math.Mod(x, L)/L-0.5) - 0.5) }, want{
			"Ra": {h / 4, 1e-4}, "Rq": {h / 2 / math.Sqrt(3), 1e-4}, "Rku": {1.8, 1e-3}, "Rk": {h, 0.03}, "Rpk": {0, 0.01}, "Rvk": {0, 0.01}, "Mr1": {0, 1}, "Mr2": {100, 1}, "Rsm": {L, 1e-6},
		}},
		// A fine ripple under a tenth of Rz is no spacing of its own.
		{"rippled", func(x float64) float64 {
			return h*math.Sin(2*math.Pi*x/L) + 0.08*h*math.Sin(2*math.Pi*x/L*13)
		}, want{"Rsm": {L, 1e-3}}},
	} {
		z := line(8000, dx, c.height)
		p, err := Profile(z, dx, Sections{LengthMM: 0.8, Count: 5})
		if err != nil {
			t.Fatal(err)
		}
		c.want.check(t, c.name, p)
		if c.name == "sine" {
			var names []string
			for _, n := range p {
				names = append(names, n.Name)
			}
			if d := cmp.Diff("Ra Rq Rz Rt Rp Rv Rsm Rdq Rsk Rku Rk Rpk Rvk Mr1 Mr2", strings.Join(names[:15], " ")); d != "" {
				t.Error(d)
			}
		}
		// One gap, across which neither slopes nor spacings are counted.
		for i := 3333; i < 3400; i++ {
			z[i] = math.NaN()
		}
		if p, err = Profile(z, dx, Sections{LengthMM: 0.8, Count: 5}); err != nil {
			t.Fatal(err)
		}
		loose := want{}
		for name, v := range c.want {
			loose[name] = [2]float64{v[0], v[1] + 0.01*math.Abs(v[0]) + 0.01}
		}
		loose.check(t, c.name+" with a gap", p)
	}
}

// Cusps of circular arcs, s apart and of radius R, in shares of their height:
// integrals of the arc, worked out to six digits apart from this code. The first
// rows are the parabola's, Ra 4/(9√3) = 0.256600, Rq √(4/45) = 0.298142.
func TestCircularCusps(t *testing.T) {
	for _, r := range []struct{ s, h, ra, rq, skew, kurtosis float64 }{
		{0.01, 0.00001250, 0.256600, 0.298142, 0.638881, 2.142864},
		{0.1, 0.00125078, 0.256568, 0.298116, 0.639288, 2.143526},
		{0.5, 0.03175416, 0.255763, 0.297447, 0.649469, 2.160268},
		{1, 0.13397460, 0.252742, 0.294917, 0.685874, 2.222946},
		{1.5, 0.33856217, 0.244810, 0.288133, 0.771185, 2.387456},
		{2, 1, 0.181303, 0.223196, 1.151342, 3.493943},
	} {
		const per, cusps = 20000, 5
		dx := r.s / per
		z := line(per*cusps, dx, func(x float64) float64 {
			u := math.Mod(x, r.s) - r.s/2
			return 1000 * (1 - math.Sqrt(1-u*u))
		})
		z, _, err := LevelProfile(z, dx, Form{Shape: Polynomial, Order: 1})
		if err != nil {
			t.Fatal(err)
		}
		p, err := Profile(z, dx, Sections{Count: cusps})
		if err != nil {
			t.Fatal(err)
		}
		h := 1000 * r.h
		want{"Ra": {r.ra * h, 1e-4 * h}, "Rq": {r.rq * h, 1e-4 * h}, "Rsk": {r.skew, 2e-3}, "Rku": {r.kurtosis, 5e-3}, "Rz": {h, 0.02 * h}}.check(t, "cusps", p)
	}
}

// Spikes narrower than 1 % of a section are no elements either.
func TestSpacingLeavesSpikesOut(t *testing.T) {
	const L, dx = 0.2, 0.001
	z := line(4000, dx, func(x float64) float64 { return math.Sin(2 * math.Pi * x / L) })
	for i := 150; i < 4000; i += 200 {
		z[i] = 0.9 // in the middle of a dale, one point wide
	}
	p, err := Profile(z, dx, Sections{LengthMM: 0.8, Count: 5})
	if err != nil {
		t.Fatal(err)
	}
	want{"Rsm": {L, 1e-3}}.check(t, "spikes", p)
}

func TestSectionsDiffer(t *testing.T) {
	// Two sections, of 1 µm and of 3 µm: Rz is the mean, Rt and Rzx the greatest.
	z := append(line(1000, 0.001, func(x float64) float64 { return math.Sin(2 * math.Pi * x / 0.1) }),
		line(1000, 0.001, func(x float64) float64 { return 3 * math.Sin(2*math.Pi*x/0.1) })...)
	p, err := Profile(z, 0.001, Sections{LengthMM: 1, Count: 2})
	if err != nil {
		t.Fatal(err)
	}
	want{"Rz": {4, 0.01}, "Rt": {6, 0.01}, "Rzx": {6, 0.01}, "Rp": {2, 0.01}, "Rv": {2, 0.01}, "Ra": {4 / math.Pi, 0.001},
		"Rq": {math.Sqrt(5.0 / 2), 0.001}, "Rq_sections": {2 / math.Sqrt2, 0.001}, "Rku_sections": {1.5, 0.001}}.check(t, "two sections", p)
	if _, err := Profile(z, 0.001, Sections{LengthMM: 1, Count: 3}); err == nil {
		t.Error("three sections fitted into two")
	}
	if _, err := Profile([]float64{math.NaN()}, 0.001, Sections{}); err == nil {
		t.Error("a profile without heights has parameters")
	}
}

func TestTransmissionOfProfiles(t *testing.T) {
	const dx, cutoff = 0.004, 0.8
	for _, row := range transmissions {
		z := line(6000, dx, func(x float64) float64 { return 3 + math.Cos(2*math.Pi*(x-12)/(row[0]*cutoff)) })
		low, high, err := Filter(z, dx, cutoff, Normalised)
		if err != nil {
			t.Fatal(err)
		}
		for i := 1500; i < 4500; i++ {
			if full := z[i] - 3; math.Abs(low[i]-3-row[1]*full) > 2e-5 || math.Abs(high[i]-(1-row[1])*full) > 2e-5 {
				t.Fatalf("wave of %g cut-offs: %.6f passes of %.6f", row[0], low[i]-3, full)
			}
		}
	}
}

// Both ways of filtering agree, with gaps and at the ends, and with the same
// filter of maps.
func TestProfileFilterBothWays(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	z := line(777, 0.01, func(x float64) float64 { return rng.NormFloat64() + 4*x })
	for i := 200; i < 300; i++ {
		z[i] = math.NaN()
	}
	k := gaussian(80)
	z0 := slices.Clone(z)
	for i := range z0 {
		if math.IsNaN(z0[i]) {
			z0[i] = 0
		}
	}
	a, b := direct(z0, k), spectral(z0, k)
	for i := range a {
		if math.Abs(a[i]-b[i]) > 1e-10 {
			t.Fatalf("point %d: %g directly, %g by transform", i, a[i], b[i])
		}
	}
	low, _, err := Filter(z, 0.01, 0.8, Normalised)
	if err != nil {
		t.Fatal(err)
	}
	m := made(777, 1, 0.01, 0.01, func(x, _ float64) float64 { return z[int(math.Round(x/0.01))] })
	areal, err := LowPass(t.Context(), m, 0.8, Normalised)
	if err != nil {
		t.Fatal(err)
	}
	for i := range z {
		if math.IsNaN(z[i]) != math.IsNaN(low[i]) {
			t.Fatalf("point %d: %g of %g", i, low[i], z[i])
		}
		if got := 1000 * (areal.Base + float64(areal.Z[i])); math.Abs(got-low[i]) > 2e-3 {
			t.Fatalf("point %d: %g as a profile, %g as a map", i, low[i], got)
		}
	}
	short, _, err := Filter(z, 0.01, 0.8, Dropped)
	if err != nil {
		t.Fatal(err)
	}
	if len(short) != 777-80 || short[0] != low[40] {
		t.Errorf("%d points are left of 777", len(short))
	}
	if _, _, err := Filter(z, 0.01, 8, Dropped); err == nil {
		t.Error("a profile shorter than its run-in was filtered")
	}
}

// A plateau with deep grooves: the second mean line lies on the plateau, where
// the first is pulled into the grooves.
func TestValleySuppressed(t *testing.T) {
	z := line(8000, 0.001, func(x float64) float64 {
		if math.Mod(x, 0.3) < 0.03 {
			return -5
		}
		return 0
	})
	_, plain, err := Filter(z, 0.001, 0.8, Dropped)
	if err != nil {
		t.Fatal(err)
	}
	got, err := ValleySuppressed(z, 0.001, 0.8, Dropped)
	if err != nil {
		t.Fatal(err)
	}
	if len(got) != len(plain) {
		t.Fatalf("%d points, %d", len(got), len(plain))
	}
	// Grooves are a tenth of the way: they pull a mean line 0.5 µm down, and the
	// line of the filled profile a tenth of that.
	for i := 1000; i < len(got)-1000; i++ {
		if z[i+400] == 0 && (math.Abs(plain[i]-0.5) > 0.15 || math.Abs(got[i]-0.05) > 0.03) {
			t.Fatalf("point %d of the plateau stands %g above the first line and %g above the second", i, plain[i], got[i])
		}
	}
}

// Rows of ISO 4288 and ISO 21920-3 as secondary sources print them.
func TestCutoffs(t *testing.T) {
	for _, c := range []struct {
		rsm, ra float64
		cutoff  float64
		ok      bool
	}{
		{0.02, 0, 0.08, true}, {0.1, 0, 0.25, true}, {0.3, 0, 0.8, true}, {1, 0, 2.5, true}, {3, 0, 8, true}, {3.9, 0, 8, false},
		// 0.35 mm is in the row of 0.8 mm, which would hold less than 2.5 spacings.
		{0.35, 0, 2.5, true},
		{0, 0.015, 0.08, true}, {0, 0.05, 0.25, true}, {0, 0.26, 0.8, true}, {0, 2, 0.8, true}, {0, 2.1, 2.5, true}, {0, 50, 8, true}, {0, 500, 8, false},
		{0, 0, 0.8, false},
	} {
		s, ok := CutoffFor(c.rsm, c.ra)
		if s.CutoffMM != c.cutoff || ok != c.ok {
			t.Errorf("Rsm %g mm, Ra %g µm: cut-off %g mm (%v), not %g", c.rsm, c.ra, s.CutoffMM, ok, c.cutoff)
		}
		if s.EvaluationMM != 5*s.SectionMM || s.SectionMM != s.CutoffMM || s.Sections != 5 {
			t.Errorf("%+v", s)
		}
	}
	if s, ok := CutoffForRz(12); s.Class != "Sc4" || !ok {
		t.Errorf("Rz 12 µm: %+v", s)
	}
	if KeepsSpacing(0.8, 0.33) || !KeepsSpacing(0.8, 0.32) {
		t.Error("a cut-off of 0.8 mm holds 2.5 spacings of 0.32 mm and no more")
	}
	// At 2.5 spacings 1.3 % of the fundamental goes.
	if g := Transmission(1, 2.5); math.Abs(g-0.01314) > 1e-5 {
		t.Errorf("%g goes", g)
	}
}
