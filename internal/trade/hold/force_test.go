package hold

import (
	"math"
	"testing"

	"fettle"
	"fettle/internal/trade/stock"

	"pgregory.net/rapid"
)

// austenitic is group 14 of VDI 3323 in the catalogue's table: kc1.1 = 2150 N/mm²,
// mc = 0.20.
var austenitic = fettle.Material{Name: "austenitic stainless", KC11: 2150, MC: 0.20, FeedPerTooth: fettle.Guess(0.025, 0.015, 0.035, "supplier")}

func near(t *testing.T, what string, got, want, share float64) {
	t.Helper()
	if !(math.Abs(got-want) <= share*math.Abs(want)) {
		t.Errorf("%s: %.6g, want %.6g", what, got, want)
	}
}

// TestKienzleByHand is worked by hand. A cutter of 10 mm with four straight teeth
// goes along a side 5 mm deep and 1 mm wide with 0.05 mm a tooth:
//
//	cos φ = 1 − 2·1/10 = 0.8, so φ = 36.87° and sin φ = 0.6; teeth are 90° apart, so
//	one cuts at a time. h = 0.05·0.6 = 0.03 mm.
//	ln 0.03 = −3.506558; ·0.8 = −2.805246; h^0.8 = 0.0604919.
//	Fc = 2150·5·0.0604919 = 650.29 N.
//	With 0.4 of it outwards: ·√1.16 = ·1.0770330 → 700.38 N.
//	With a worn edge in the middle, ·1.2 → 840.46 N.
func TestKienzleByHand(t *testing.T) {
	c := fettle.Cut{DiameterMM: 10, Flutes: 4, DepthMM: 5, WideMM: 1, FeedMM: 0.05}
	e := engaged(c, austenitic)
	near(t, "arc", e.arc*180/math.Pi, 36.8699, 1e-5)
	near(t, "thickest chip", e.chip(e.arc), 0.03, 1e-9)
	near(t, "force of a tooth", e.tooth(e.arc, 5), 650.29, 1e-4)
	plane, along := e.peak(0.4)
	near(t, "in the plane", plane, 700.38, 1e-4)
	near(t, "along the teeth's ways", along, 650.29, 1e-4)
	force, lift := Force(c, austenitic)
	near(t, "with wear", force.Value, 840.46, 1e-4)
	if lift.Value != 0 {
		t.Errorf("straight teeth lift with %g N", lift.Value)
	}
	if !force.Valid() || force.Low >= force.Value*0.85 || force.High <= force.Value*1.2 {
		t.Errorf("the force has the bounds %.0f to %.0f about %.0f", force.Low, force.High, force.Value)
	}
}

// TestFourTeethInASlot: with mc = 0 a chip's force is kc·b·f·sin φ. Two of four teeth
// are in a slot, 90° apart. Their forces add to kc·b·f·√(1 + k²) whatever the
// rotation, for Σ sin φ·cos φ = 0 and Σ sin² φ = 1; their sizes to at most
// kc·b·f·√2, at 45°.
func TestFourTeethInASlot(t *testing.T) {
	m := fettle.Material{KC11: 1000}
	c := fettle.Cut{DiameterMM: 8, Flutes: 4, DepthMM: 2, WideMM: 8, FeedMM: 0.05}
	plane, along := engaged(c, m).peak(0.4)
	near(t, "in the plane", plane, 100*math.Sqrt(1.16), 1e-9)
	near(t, "sum along", along, 100*math.Sqrt2, 1e-9)
}

// TestHelixSpreadsTheTeeth: an edge whose lag is a whole pitch makes the sum over
// the slices the same at all rotations, the mean of a turn. With mc = 0 that is, by
// ∫ sin φ dφ = 1 − cos φe = 2·wide/D, teeth/2π·kc·b·f·2·wide/D.
func TestHelixSpreadsTheTeeth(t *testing.T) {
	m := fettle.Material{KC11: 1000}
	c := fettle.Cut{DiameterMM: 10, Flutes: 4, WideMM: 1, FeedMM: 0.05, HelixDeg: 45}
	c.DepthMM = math.Pi / 2 * 10 / 2 // lag 2·depth·tan 45°/D = π/2
	_, along := engaged(c, m).peak(0.4)
	near(t, "sum along", along, 4/(2*math.Pi)*1000*c.DepthMM*0.05*2*1/10, 1e-5)
	_, lift := Force(c, m)
	near(t, "lift at 45°", lift.Value, along*1.2, 1e-9)
	c.HelixDeg = -45
	if _, lift := Force(c, m); lift.Value != 0 {
		t.Errorf("a left-hand helix lifts with %g N", lift.Value)
	}
}

// TestForceGrowsWithTheCut: deeper, wider or faster never pulls less, and the bounds
// stay in order.
func TestForceGrowsWithTheCut(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := func(name string, lo, hi float64) float64 { return rapid.Float64Range(lo, hi).Draw(t, name) }
		d := r("diameter", 1, 16)
		c := fettle.Cut{
			DiameterMM: d, Flutes: rapid.IntRange(1, 6).Draw(t, "teeth"), HelixDeg: r("helix", 0, 45),
			DepthMM: r("deep", 0.1, 2) * d, WideMM: r("wide", 0.02, 0.5) * d, FeedMM: r("feed", 0.005, 0.1),
		}
		p, l := Force(c, austenitic)
		if !p.Valid() || !l.Valid() {
			t.Fatalf("not valid: %+v %+v", p, l)
		}
		for i, more := range []func(*fettle.Cut){
			func(c *fettle.Cut) { c.FeedMM *= 1.3 },
			func(c *fettle.Cut) {
				c.DepthMM *= 1.3
				c.HelixDeg = math.Atan(math.Tan(c.HelixDeg*math.Pi/180)/1.3) * 180 / math.Pi
			},
		} {
			b := c
			more(&b)
			if q, _ := Force(b, austenitic); q.Value < p.Value*(1-1e-9) {
				t.Fatalf("change %d: %.3f N, before %.3f", i, q.Value, p.Value)
			}
		}
	})
}

// TestCustomaryCuts: roughing pulls harder than the last pass with the same cutter,
// and a ball cuts on the circle where it enters: 2√(0.21·(2·3 − 0.21)) = 2.2054 mm.
func TestCustomaryCuts(t *testing.T) {
	s := stock.Shelf()
	m, err := s.Material("304")
	if err != nil {
		t.Fatal(err)
	}
	ball := fettle.Cutter{Name: "ball", Shape: fettle.Ball, DiameterMM: 6, CornerMM: 3, Flutes: 2, FluteMM: 10}
	flat := fettle.Cutter{Name: "flat", Shape: fettle.Flat, DiameterMM: 6, Flutes: 3, FluteMM: 16}
	pass := &fettle.Pass{Cutter: "ball", StepoverMM: 0.3, CuspUM: 10, SpindleRPM: 8000, FeedMMMin: 480}
	last := CutOf(pass, ball, m, 10)
	near(t, "circle of entry", last.DiameterMM, 2.2054, 1e-4)
	near(t, "feed", last.FeedMM, 0.03, 1e-9)
	rough := Rough(flat, m, 10)
	if rough.DepthMM != 6 || rough.WideMM != 0.6000000000000001 && rough.WideMM != 0.6 {
		t.Errorf("roughing is %g mm deep and %g mm wide", rough.DepthMM, rough.WideMM)
	}
	if low := Rough(flat, m, 4); low.DepthMM != 4 {
		t.Errorf("roughing of 4 mm is %g mm deep", low.DepthMM)
	}
	a, _ := Force(rough, m)
	b, _ := Force(last, m)
	if !(a.Value > 2*b.Value && b.Value > 0) {
		t.Errorf("roughing pulls with %.0f N, the last pass with %.0f", a.Value, b.Value)
	}
	side := CutOf(&fettle.Pass{}, flat, m, 8)
	if side.DepthMM != 8 || side.WideMM != 0.2 {
		t.Errorf("the last pass along a side is %g mm deep and %g wide", side.DepthMM, side.WideMM)
	}
	if f, _ := Force(fettle.Cut{}, m); f.Value != 0 {
		t.Errorf("no cut pulls with %g N", f.Value)
	}
}
