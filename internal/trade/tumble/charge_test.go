package tumble

import (
	"strings"
	"testing"

	"fettle"
	"fettle/internal/trade/stock"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// Worked by hand for the barrel of 180 mm, 55 % full, 2.2 l of load. The segment
// of 55 % is 97 mm deep, that of 0.8 × 55 = 44 % is 81.5 mm: 16 mm, a finger.
func TestWaterStandsWhereItsLitresPutIt(t *testing.T) {
	l := brassPlate(t, "ceramic-general-8", "wet barrel")
	near(t, "half full", l.depthMM(0.5), 90, 1e-9)
	near(t, "full", l.depthMM(1), 180, 1e-6)
	// A segment of a third of the angle is 1/3 − sin(120°)/2π of the circle and a
	// quarter of its width deep.
	near(t, "a third of the angle", l.depthMM(0.333333-0.866025/6.283185), 45, 1e-3)
	near(t, "the load", l.depthMM(0.55), 97, 0.1)
	near(t, "the water", l.depthMM(0.44), 81.5, 0.1)
	for tone, row := range map[fettle.Tone]struct {
		litres, compound, fresh float64
		level                   string
	}{
		fettle.ToneUsual:  {0.4 * 0.8 * 2.2, 0.4 * 0.8 * 2.2 * 10, 6, "to about a finger's width below the top of the load"},
		fettle.ToneBright: {0.4 * 2.2, 0.4 * 2.2 * 12.5, 6, "level with the top of the load"},
		fettle.ToneDark:   {0.4 * 0.12 * 2.2, 0.4 * 0.12 * 2.2 * 7.5, 3, "just wet: the load glistens, and no water stands under it"},
	} {
		l.Tone = tone
		c := must(Plan(l))(t)
		near(t, "litres", c.WaterL.Value, row.litres, 1e-9)
		near(t, "compound", c.CompoundML.Value, row.compound, 1e-9)
		near(t, "fresh liquid", c.ChangeLiquidH, row.fresh, 0)
		if c.WaterLevel != row.level || c.Tone != tone {
			t.Errorf("%q: %q", c.Tone, c.WaterLevel)
		}
		if len(c.Tones) != 2 {
			t.Fatalf("%d other tones", len(c.Tones))
		}
		// What another tone is said to do is what it does when it is chosen, in a
		// charge of the hours that it takes.
		for _, o := range c.Tones {
			other := l
			other.Tone, other.Hours = o.Tone, o.Hours
			got := must(Plan(other))(t)
			if d := cmp.Diff([]any{o.WaterL, o.CompoundML, o.Level}, []any{got.WaterL, got.CompoundML, got.WaterLevel}); d != "" || o.Says == "" {
				t.Errorf("%q said %s", o.Tone, d)
			}
		}
	}
	// From dark to usual and to bright it gets quicker: 0.8 and 0.8/1.15 of 8 h.
	l.Tone = fettle.ToneDark
	c := must(Plan(l))(t)
	near(t, "usual", c.Tones[0].Hours.Value, 6.4, 1e-9)
	near(t, "bright", c.Tones[1].Hours.Value, 6.4/1.15, 1e-9)
	l.Tone = "pink"
	if _, err := Plan(l); fettle.CodeOf(err) != fettle.Invalid {
		t.Errorf("pink: %v", err)
	}
}

func TestTheShopsOwnDoseIsTaken(t *testing.T) {
	for _, media := range []string{"ceramic-general-8", "porcelain-ball-4", "steel-pin-1"} {
		l := brassPlate(t, media, "wet barrel")
		l.Vessel.DoseMLL = 20
		c := must(Plan(l))(t)
		near(t, "compound", c.CompoundML.Value, 20*c.WaterL.Value, 1e-9)
		if c.CompoundML.Basis != BasisShopDose || !c.CompoundML.Valid() {
			t.Errorf("%+v", c.CompoundML)
		}
	}
}

// Water runs through a bowl, and shot stands in it; dry media have no water, no
// level and no tone.
func TestWaterByVesselAndMedia(t *testing.T) {
	c := must(Plan(brassPlate(t, "ceramic-general-8", "bowl")))(t)
	// 0.165 l an hour for each of 8.5 l, 8 h.
	near(t, "through", c.WaterL.Value, 0.165*8.5*8, 1e-9)
	if !strings.Contains(c.WaterLevel, "drain open") || !strings.HasPrefix(c.WaterLevel, "1.4 l an hour") {
		t.Errorf("%q", c.WaterLevel)
	}
	c = must(Plan(brassPlate(t, "steel-ball-3", "bowl")))(t)
	if !strings.Contains(c.WaterLevel, "drain closed") {
		t.Errorf("%q", c.WaterLevel)
	}
	l := brassPlate(t, "cob-1", "dry barrel")
	l.Tone = fettle.ToneDark
	c = must(Plan(l))(t)
	if c.WaterLevel != "" || c.Tone != fettle.ToneUsual || c.Tones == nil || len(c.Tones) != 0 {
		t.Errorf("%+v", c)
	}
}

func TestLooksRiseToTheEnd(t *testing.T) {
	l := brassPlate(t, "ceramic-general-8", "wet barrel")
	bowl := brassPlate(t, "ceramic-general-8", "bowl")
	for _, row := range []struct {
		l     Load
		hours fettle.Estimate
		want  []float64
	}{
		// 2 h grow to 8 h in 3 steps of 4^⅓: 3.17, 5.04.
		{l, fettle.Guess(8, 3, 20, "test"), []float64{2, 3, 5, 8}},
		// A log that has narrowed the hours saves looks: two thirds of 6.5 h are 4.3.
		{l, fettle.Guess(8, 6.5, 10, "test"), []float64{4, 6, 8}},
		// A quarter of 20 minutes is 5, and a barrel is not looked into before 15.
		{l, fettle.Guess(1.0/3, 0.1, 1, "test"), []float64{0.25}},
		// From a quarter of an hour in 5 steps of 4^⅕ in a bowl.
		{bowl, fettle.Guess(1, 0.3, 3, "test"), []float64{0.25, 4.0 / 12, 5.0 / 12, 0.5, 0.75, 1}},
		{bowl, fettle.Exactly(0.01, "test"), []float64{1.0 / 12}},
	} {
		row.l.Hours = row.hours
		c := must(Plan(row.l))(t)
		if d := cmp.Diff(row.want, c.LooksH); d != "" {
			t.Errorf("%v: %s", row.hours, d)
		}
	}
	s := stock.Shelf()
	rapid.Check(t, func(t *rapid.T) {
		l := Load{Vessel: rapid.SampledFrom(s.Vessels).Draw(t, "vessel")}
		l.Hours = fettle.LogNormal(rapid.Float64Range(0.01, 100).Draw(t, "hours"), rapid.Float64Range(0, 2).Draw(t, "spread"), "test")
		looks := Looks(l.Hours, l.Vessel.Kind)
		if n := len(looks); n < 1 || n > 6 || looks[n-1] != byTheClock(l.Hours.Value, l.Vessel.Kind) {
			t.Fatalf("%v for %v", looks, l.Hours)
		}
		for i, h := range looks {
			if h < 1.0/12 || i > 0 && h <= looks[i-1] {
				t.Fatalf("%v", looks)
			}
		}
	})
}

// Media of a usual charge keep small parts apart; heavier, softer and flatter ones
// want more of them, a pound of brass a place of its own, and a bowl sooner than a
// barrel.
func TestPartsAreKeptApart(t *testing.T) {
	plate := func(media, vessel, metal string, by float64) Load {
		l := brassPlate(t, media, vessel)
		_, _, l.Material = pick(t, media, vessel, metal)
		l.PartVolumeMM3 *= by
		return l
	}
	for _, row := range []struct {
		l     Load
		says  string
		ratio float64
	}{
		{plate("ceramic-general-8", "wet barrel", "6061", 1), "", 6},
		{plate("ceramic-general-8", "wet barrel", "naval brass", 1), "", 6},
		{plate("ceramic-general-8", "wet barrel", "naval brass", 2), "at least 10 times", 10},
		// Harder steel of the same weight is still held apart.
		{plate("ceramic-general-8", "wet barrel", "316L", 1.3), "", 6},
		{plate("ceramic-general-8", "wet barrel", "naval brass", 5), "wire", 10},
		{plate("ceramic-general-8", "bowl", "naval brass", 5), "dividers", 10},
		{plate("ceramic-general-8", "bowl", "naval brass", 1), "at least 10 times", 10},
		{plate("ceramic-fine-5", "centrifugal barrel", "naval brass", 1), "fixture", 10},
		// Light media hold heavy parts apart less well.
		{plate("plastic-triangle-10", "wet barrel", "naval brass", 1), "at least 10 times", 10},
		{plate("plastic-triangle-10", "wet barrel", "6061", 1), "", 6},
	} {
		l := row.l
		if l.Vessel.Kind != fettle.Vibratory {
			l.Vessel.VolumeL, l.Vessel.MaxLoadKg = 8, 16 // for two and more
		}
		c := must(Plan(l))(t)
		if c.PartsPerLoad < 2 {
			t.Errorf("%s in %s: %d to a load", l.Material.Name, l.Vessel.Name, c.PartsPerLoad)
		}
		if (row.says == "") != (c.Apart == "") || !strings.Contains(c.Apart, row.says) || c.MediaToParts < row.ratio*(1-1e-9) {
			t.Errorf("%s, %.0f mm³ in %s with %s: %q, %.3g to one", l.Material.Name, l.PartVolumeMM3, l.Vessel.Name, l.Media.Name, c.Apart, c.MediaToParts)
		}
		l.Cosmetic = false
		if c := must(Plan(l))(t); c.Apart != "" {
			t.Errorf("nobody looks at it: %q", c.Apart)
		}
		l.Cosmetic, l.Lot = true, 1
		if c := must(Plan(l))(t); c.Apart != "" {
			t.Errorf("a part alone: %q", c.Apart)
		}
	}
	// So heavy that one fills the barrel: 1.3 kg.
	l := plate("ceramic-general-8", "wet barrel", "naval brass", 10)
	if c := must(Plan(l))(t); c.PartsPerLoad != 1 || !strings.Contains(c.Apart, "alone") {
		t.Errorf("%d to a load, %q", c.PartsPerLoad, c.Apart)
	}
	// Sheet of 1 mm sticks when wet, and not when dry.
	sheet := plate("ceramic-general-8", "wet barrel", "316L", 0.2)
	sheet.PartSizeMM, sheet.PartAreaMM2 = [3]float64{68, 42, 1}, 5900
	if c := must(Plan(sheet))(t); !strings.Contains(c.Apart, "stick") {
		t.Errorf("%q", c.Apart)
	}
	sheet.Media, sheet.Vessel, _ = pick(t, "cob-1", "dry barrel", "316L")
	if c := must(Plan(sheet))(t); c.Apart != "" {
		t.Errorf("%q", c.Apart)
	}
	// 40 rpm are 39 % of 103 rpm.
	fast := plate("ceramic-general-8", "wet barrel", "316L", 1)
	fast.Vessel.RPMRange = [2]float64{40, 60}
	if c := must(Plan(fast))(t); !strings.Contains(c.Apart, "at 40 rpm") || c.MediaToParts < 10 {
		t.Errorf("%q, %g to one", c.Apart, c.MediaToParts)
	}
}
