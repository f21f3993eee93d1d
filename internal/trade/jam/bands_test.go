package jam

import (
	"math"
	"strings"
	"testing"

	"fettle"
	"fettle/internal/trade/stock"

	"pgregory.net/rapid"
)

// Derived exactly from geometry: n equal spheres in a ring.
func TestRingBridges(t *testing.T) {
	for i, want := range []float64{1.0000, 2.0000, 2.1547, 2.4142, 2.7013, 3.0000} {
		near(t, "ring", RingBridge(i+1), want, 6e-5)
	}
	near(t, "no ring", RingBridge(0), 0, 0)
	// Without friction a pair only locks in line; friction widens the band.
	near(t, "smooth pair", PairLocks(0), 2, 0)
	if p := PairLocks(0.4); p >= 2 || p <= 1 {
		t.Errorf("a pair locks from %g", p)
	}
}

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if math.IsNaN(got) || math.Abs(got-want) > tol {
		t.Errorf("%s = %.9g, want %.9g ± %.2g", what, got, want, tol)
	}
}

func sphere(d float64) fettle.Media {
	return fettle.Media{Name: "balls", Kind: fettle.Porcelain, Shape: fettle.Sphere, SizeMM: [2]float64{d, d}, Worn: 0.794, WearBowlPctH: fettle.Exactly(0.08, "test")}
}

func bore(d float64) []fettle.Opening {
	return []fettle.Opening{{ID: "hole-1", Kind: fettle.Hole, Through: true, WidthMM: d, WidestMM: d, LengthMM: d, DepthMM: 5}}
}

func TestBandsOfARoundHole(t *testing.T) {
	for _, row := range []struct {
		ratio    float64
		low, top float64
	}{
		{0.5, 0, 0}, {0.83, 0, 0}, {1.0, 0.79, 0.81}, {1.5, 0.3, 0.79}, {2, 0.2, 0.6}, {2.9, 0.02, 0.1}, {5.1, 0, 1e-6}, {20, 0, 1e-6},
	} {
		j := Jams(bore(row.ratio*4), sphere(4))[0]
		if j.State != "new" || j.Chance.P < row.low || j.Chance.P > row.top || j.Why == "" {
			t.Errorf("ratio %g: %+v", row.ratio, j)
		}
		near(t, "ratio", j.Ratio, row.ratio, 1e-12)
	}
}

func TestTheChanceFallsAsTheHoleWidens(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := rapid.Float64Range(1, 12).Draw(t, "ratio")
		b := a + rapid.Float64Range(0, 5).Draw(t, "more")
		slot := rapid.Bool().Draw(t, "slot")
		pa, pb := chanceAt(a, slot), chanceAt(b, slot)
		if pb > pa || pa > jamTop || pb < 0 {
			t.Fatalf("%g at %g, %g at %g", pa, a, pb, b)
		}
		if c := chanceAt(a, true); c > chanceAt(a, false)+1e-6 {
			t.Fatalf("at %g a slot holds more than a hole", a)
		}
	})
}

func TestWornMediaAreJudgedOnTheirWay(t *testing.T) {
	// 4 mm balls end at 3.18 mm: a bore of 3.6 mm is passed on the way.
	j := Jams(bore(3.6), sphere(4))
	if j[2].State != "worn" || j[2].Chance.Word != "near certain" || j[0].Chance.P >= j[2].Chance.P {
		t.Errorf("%+v", j)
	}
	near(t, "worst", j[2].Ratio, 1, 1e-12)
	// From 1.2 times the bore the rule to sieve them out in time helps.
	j = Jams(bore(3.3), sphere(4))
	if j[0].Chance.Word != "none" || j[2].Chance.Word != "slight" || !strings.Contains(j[2].Why, "sieve them out at 3.46 mm") {
		t.Errorf("%+v", j)
	}
	// Worn down to 3.18 mm they still do not enter 2.5 mm.
	j = Jams(bore(2.5), sphere(4))
	if j[2].Chance.P != 0 {
		t.Errorf("%+v", j[2])
	}
	near(t, "retire", RetireMM(4), 4.2, 1e-12)
}

// What a shop learns the hard way, as the judgement must say it.
func TestShapesAndOpenings(t *testing.T) {
	s := stock.Shelf()
	media := func(name string) fettle.Media {
		m, err := s.MediaNamed(name)
		if err != nil {
			t.Fatal(err)
		}
		return m
	}
	slot := []fettle.Opening{{ID: "slot-1", Kind: fettle.Slot, Through: true, WidthMM: 3.2, LengthMM: 30, DepthMM: 4}}
	keyhole := []fettle.Opening{{ID: "slot-1", Kind: fettle.Slot, Form: "keyhole", Through: true, WidthMM: 2, WidestMM: 8.2, LengthMM: 20, DepthMM: 4}}
	shallow := []fettle.Opening{{ID: "pocket-1", Kind: fettle.Pocket, WidthMM: 9, LengthMM: 30, DepthMM: 1.5}}
	deep := []fettle.Opening{{ID: "pocket-1", Kind: fettle.Pocket, WidthMM: 9, LengthMM: 30, DepthMM: 9}}
	p := func(o []fettle.Opening, m fettle.Media) float64 { return Jams(o, m)[0].Chance.P }
	if got := p(slot, media("porcelain-cylinder-3")); got < 0.5 {
		t.Errorf("3 mm cylinders in a 3.2 mm slot: %g", got)
	}
	if got := p(slot, media("plastic-cone-15")); got >= 0.1 || got == 0 {
		t.Errorf("points of cones in a slot: %g", got)
	}
	if got := p(slot, media("steel-pin-1")); got >= 0.1 {
		t.Errorf("1 mm pins in a 3.2 mm slot: %g", got)
	}
	if got := p(keyhole, media("ceramic-general-8")); got < 0.5 {
		t.Errorf("8 mm cylinders in the 8.2 mm end of a keyhole: %g", got)
	}
	if got := p(keyhole, media("ceramic-fast-15")); got >= 0.1 {
		t.Errorf("15 mm pieces on a keyhole: %g", got)
	}
	if a, b := p(shallow, media("ceramic-general-8")), p(deep, media("ceramic-general-8")); a >= b {
		t.Errorf("a shallow pocket holds %g, a deep one %g", a, b)
	}
	// Cob of 1 to 2 mm: the coarse end decides in a 2.1 mm hole.
	if got := Jams(bore(2.1), media("cob-2"))[0]; got.Chance.Word != "near certain" {
		t.Errorf("cob in a hole of its size: %+v", got)
	}
	if got := p(bore(4), media("cob-1")); got >= 0.01 {
		t.Errorf("fine cob in a 4 mm hole: %g", got)
	}
	// A length that falls into the band counts, if less.
	long := Jams(bore(14), media("ceramic-fine-5"))[0]
	if long.Chance.P <= 0 || !strings.Contains(long.Why, "lengthwise") {
		t.Errorf("5 × 8 mm cylinders in a 14 mm hole: %+v", long)
	}
}

func TestEveryJudgementIsAWordAndANumber(t *testing.T) {
	s := stock.Shelf()
	rapid.Check(t, func(t *rapid.T) {
		o := fettle.Opening{
			ID: "x", Kind: rapid.SampledFrom([]fettle.OpeningKind{fettle.Hole, fettle.Slot, fettle.Pocket}).Draw(t, "kind"),
			Through: rapid.Bool().Draw(t, "through"), WidthMM: rapid.Float64Range(0, 60).Draw(t, "width"),
			DepthMM: rapid.Float64Range(0, 40).Draw(t, "depth"),
			Form:    rapid.SampledFrom([]string{"", "keyhole", "countersunk"}).Draw(t, "form"),
		}
		o.LengthMM = o.WidthMM * rapid.Float64Range(1, 10).Draw(t, "length")
		o.WidestMM = o.WidthMM * rapid.Float64Range(1, 3).Draw(t, "widest")
		m := rapid.SampledFrom(s.Media).Draw(t, "media")
		jams := Jams([]fettle.Opening{o}, m)
		if len(jams) != 3 || jams[0].State != fettle.New || jams[1].State != fettle.Now || jams[2].State != fettle.Worn {
			t.Fatalf("%+v", jams)
		}
		for _, j := range jams {
			if math.IsNaN(j.Chance.P) || j.Chance.P < 0 || j.Chance.P > 1 || j.Chance.Word == "" || j.Why == "" || j.Enters == "" || j.Opening != "x" || j.Media != m.Name {
				t.Fatalf("%+v", j)
			}
		}
	})
}
