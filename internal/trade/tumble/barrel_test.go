package tumble

import (
	"math"
	"strings"
	"testing"

	"fettle"
	"fettle/internal/trade/stock"

	"pgregory.net/rapid"
)

// Derived exactly from the balance of weight and centripetal force:
// 42.29/√D, metres.
func TestCriticalSpeed(t *testing.T) {
	for _, row := range [][6]float64{ // D mm, Nc, m/min at Nc, 45, 50 and 60 %
		{50, 189.13, 29.71, 85.11, 94.57, 113.48},
		{75, 154.42, 36.39, 69.49, 77.21, 92.65},
		{100, 133.74, 42.01, 60.18, 66.87, 80.24},
		{150, 109.19, 51.46, 49.14, 54.60, 65.52},
		{200, 94.57, 59.42, 42.55, 47.28, 56.74},
		{250, 84.58, 66.43, 38.06, 42.29, 50.75},
		{300, 77.21, 72.77, 34.75, 38.61, 46.33},
		{457.2, 62.55, 89.84, 28.15, 31.27, 37.53},
		{600, 54.60, 102.91, 24.57, 27.30, 32.76},
		{762, 48.45, 115.98, 21.80, 24.22, 29.07},
		{914.4, 44.23, 127.05, 19.90, 22.11, 26.54},
	} {
		nc := must(CriticalRPM(row[0], 0))(t)
		near(t, "Nc", nc, row[1], 0.006)
		near(t, "wall", WallSpeed(row[0], nc), row[2], 0.006)
		near(t, "45 %", 0.45*nc, row[3], 0.006)
		near(t, "50 %", 0.50*nc, row[4], 0.006)
		near(t, "60 %", 0.60*nc, row[5], 0.006)
		near(t, "pieces count", must(CriticalRPM(row[0]+10, 10))(t), nc, 1e-9)
		near(t, "Froude at 30 %", Froude(0.3*nc, nc), 0.09, 1e-12)
		// ω²r = g at the wall.
		w := nc * 2 * math.Pi / 60
		near(t, "acceleration", w*w*row[0]/2000, 9.80665, 1e-9)
	}
	for _, bad := range [][2]float64{{0, 0}, {10, 10}, {10, -1}, {math.NaN(), 0}, {10, math.NaN()}, {math.Inf(1), 0}} {
		if _, err := CriticalRPM(bad[0], bad[1]); fettle.CodeOf(err) != fettle.Invalid {
			t.Errorf("%v: %v", bad, err)
		}
	}
}

// Litres of hydrogen a gram at 0 °C and 1 atm, derived exactly from
// stoichiometry; 0.1 g of aluminium in a litre of head space gives 13.6 kPa and
// 11.8 % by the law of ideal gases at room temperature.
func TestHydrogen(t *testing.T) {
	for metal, row := range map[string][3]float64{ // electrons, molar mass, l/g
		"Al": {3, 26.982, 1.2461}, "Mg": {2, 24.305, 0.9222}, "Zn": {2, 65.38, 0.3428}, "Ti": {4, 47.867, 0.9365},
		"Fe": {8.0 / 3, 55.845, 0.5351},
	} {
		near(t, metal, row[0]/2*22.414/row[1], row[2], 1e-4)
		g := must(HydrogenIn(2, row[2], 1))(t)
		near(t, metal+" litres", g.LitresSTP, 2*row[2], 1e-12)
	}
	g := must(HydrogenIn(0.1, 1.2461, 1))(t)
	near(t, "rise", g.RiseKPa, 13.6, 0.06)
	near(t, "share", g.Share, 0.118, 5e-4)
	if _, err := HydrogenIn(1, 1, 0); fettle.CodeOf(err) != fettle.Invalid {
		t.Errorf("no head space: %v", err)
	}
	near(t, "fines", Fines(1, 1e6, 2.7), 2.7, 1e-12)
	near(t, "back", RemovalFromMass(2.7, 1e6, 2.7), 1, 1e-12)
	near(t, "nothing to weigh", RemovalFromMass(1, 0, 2.7), 0, 0)
}

func TestVentingNeverAllowsAGasThatBurns(t *testing.T) {
	near(t, "no gas", ventEvery(1, 0, 1), 12, 0)
	near(t, "no head space", ventEvery(1, 1, 0), 0.5, 0)
	rapid.Check(t, func(t *rapid.T) {
		grams := rapid.Float64Range(1e-6, 1).Draw(t, "g/h")
		head := rapid.Float64Range(0.1, 20).Draw(t, "head")
		h := ventEvery(grams, 1.2461, head)
		if h < ventAtLeast || h > ventAtMost {
			t.Fatalf("vent every %g h", h)
		}
		g, err := HydrogenIn(grams*h, 1.2461, head)
		if err != nil {
			t.Fatal(err)
		}
		if h > ventAtLeast && g.Share > burnsFrom*(1+1e-9) {
			t.Fatalf("after %g h hydrogen is %g of the gas", h, g.Share)
		}
	})
}

// brassPlate is a part of the size of a small escutcheon.
func brassPlate(t *testing.T, media, vessel string) Load {
	m, v, mat := pick(t, media, vessel, "naval brass")
	return Load{
		PartVolumeMM3: 15000, PartAreaMM2: 7500, PartSizeMM: [3]float64{68, 42, 7}, Lot: 20,
		Material: mat, Media: m, Vessel: v, Hours: fettle.Guess(8, 3, 20, "test"), Cosmetic: true,
	}
}

// Worked by hand: 4 l at 55 % are 2.2 l; a part takes 15 cm³/0.6 = 25 cm³ in a
// heap, so with six parts of media to one 12 go in, and 20 make two loads of 10.
// 180 mm less pieces of 12 mm give 42.29/√0.168 = 103.2 rpm, 30 % is 30.
func TestAChargeByHand(t *testing.T) {
	c := must(Plan(brassPlate(t, "ceramic-general-8", "wet barrel")))(t)
	near(t, "loads", float64(c.Loads), 2, 0)
	near(t, "parts", float64(c.PartsPerLoad), 10, 0)
	near(t, "fill", c.FillShare, 0.55, 1e-9)
	near(t, "media", c.MediaL, 1.95, 1e-9)
	near(t, "mass", c.MediaKg, 1.95*1.6, 1e-9)
	near(t, "ratio", c.MediaToParts, 7.8, 1e-9)
	near(t, "water", c.WaterL.Value, 0.4*0.8*2.2, 1e-9)
	near(t, "compound", c.CompoundML.Value, 7.04, 1e-9)
	near(t, "critical", c.CriticalRPM, 103.2, 0.05)
	near(t, "rpm", c.RPM, 30, 0)
	near(t, "look", c.FirstLookH, 2, 0)
	near(t, "vent", c.VentEveryH, 12, 0) // brass frees no gas: the barrel's own rule
	near(t, "change", c.ChangeLiquidH, 6, 0)
	if c.Froude > 0.09 {
		t.Errorf("Froude %g dents faces", c.Froude)
	}
}

func TestDriveAndMassLimitAreKept(t *testing.T) {
	l := brassPlate(t, "ceramic-general-8", "wet barrel")
	l.Vessel.RPMRange = [2]float64{40, 40}
	c := must(Plan(l))(t)
	near(t, "one speed", c.RPM, 40, 0)
	l.Vessel.MaxLoadKg = 2.5
	c = must(Plan(l))(t)
	if c.FillShare >= 0.5 {
		t.Errorf("a drive for 2.5 kg is filled to %g", c.FillShare)
	}
	s := stock.Shelf()
	made, tried := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		l := Load{
			PartVolumeMM3: rapid.Float64Range(200, 60000).Draw(t, "volume"), PartAreaMM2: 5000,
			PartSizeMM: [3]float64{40, 30, 10}, Lot: rapid.IntRange(1, 500).Draw(t, "lot"),
			Material: rapid.SampledFrom(s.Materials).Draw(t, "metal"),
			Media:    rapid.SampledFrom(s.Media).Draw(t, "media"),
			Vessel:   rapid.SampledFrom(s.Vessels).Draw(t, "vessel"),
			Hours:    fettle.Guess(rapid.Float64Range(0.1, 48).Draw(t, "hours"), 0.05, 96, "test"),
			Cosmetic: rapid.Bool().Draw(t, "cosmetic"),
			Tone:     rapid.SampledFrom([]fettle.Tone{fettle.ToneUsual, fettle.ToneBright, fettle.ToneDark}).Draw(t, "tone"),
		}
		tried++
		c, err := Plan(l)
		if err != nil {
			if fettle.CodeOf(err) != fettle.No {
				t.Fatal(err)
			}
			return
		}
		made++
		if c.Loads*c.PartsPerLoad < l.Lot || (c.Loads-1)*c.PartsPerLoad >= l.Lot {
			t.Fatalf("%d loads of %d for %d parts", c.Loads, c.PartsPerLoad, l.Lot)
		}
		if (c.Loads-1)*c.PartsPerLoad+c.LastLoadParts != l.Lot || c.LastLoadParts < 1 || c.LastLoadParts > c.PartsPerLoad {
			t.Fatalf("%d loads of %d and a last of %d for %d parts", c.Loads, c.PartsPerLoad, c.LastLoadParts, l.Lot)
		}
		if c.PartsPerLoad > 1 && c.MediaToParts < l.ratio()*(1-1e-9) {
			t.Fatalf("%g of media to one of parts, wanted %g", c.MediaToParts, l.ratio())
		}
		if c.FillShare <= 0 || c.FillShare > l.fill()+1e-9 || c.MediaToParts < 1 || c.MediaL > l.Media.OnShelfL+1e-9 {
			t.Fatalf("%+v", c)
		}
		kg := c.MediaKg + float64(c.PartsPerLoad)*l.PartVolumeMM3/1e6*l.Material.Density
		if !l.Media.Dry && l.Vessel.Kind != fettle.Vibratory {
			kg += c.WaterL.Value
		}
		if kg > l.Vessel.MaxLoadKg*(1+1e-9) {
			t.Fatalf("%g kg on a drive for %g", kg, l.Vessel.MaxLoadKg)
		}
		if !c.WaterL.Valid() || !c.CompoundML.Valid() || c.Compound == "" || c.FirstLookH <= 0 {
			t.Fatalf("%+v", c)
		}
		if l.Media.Dry != (c.WaterL.Value == 0) || l.Media.Dry != (c.WaterLevel == "") {
			t.Fatalf("water %g in %s, %q", c.WaterL.Value, l.Media.Name, c.WaterLevel)
		}
		l.Lot += rapid.IntRange(1, 200).Draw(t, "more")
		if more, err := Plan(l); err != nil || more.Loads < c.Loads {
			t.Fatalf("%d loads for fewer and %d for %d parts: %v", c.Loads, more.Loads, l.Lot, err)
		}
	})
	if 5*made < tried {
		t.Errorf("only %d of %d charges could be made up", made, tried)
	}
}

// Aluminium in a closed barrel must be vented sooner than the barrel's own
// rule, brass not.
func TestReactiveMetalsAreVented(t *testing.T) {
	l := brassPlate(t, "ceramic-general-8", "wet barrel")
	_, _, l.Material = pick(t, "ceramic-general-8", "wet barrel", "6061-T6")
	if c := must(Plan(l))(t); c.VentEveryH >= 12 || c.VentEveryH < 0.5 {
		t.Errorf("aluminium is vented every %g h", c.VentEveryH)
	}
	l.Vessel.Closed = false
	if c := must(Plan(l))(t); c.VentEveryH != 0 {
		t.Errorf("an open barrel is vented every %g h", c.VentEveryH)
	}
}

func TestImpossibleChargesAreRefused(t *testing.T) {
	edit := func(f func(*Load)) error {
		l := brassPlate(t, "ceramic-general-8", "wet barrel")
		f(&l)
		_, err := Plan(l)
		return err
	}
	for name, row := range map[string]struct {
		err  error
		code fettle.Code
		says string
	}{
		"no volume":   {edit(func(l *Load) { l.PartVolumeMM3 = 0 }), fettle.Invalid, "volume"},
		"NaN volume":  {edit(func(l *Load) { l.PartVolumeMM3 = math.NaN() }), fettle.Invalid, "volume"},
		"no lot":      {edit(func(l *Load) { l.Lot = 0 }), fettle.Invalid, "lot"},
		"no hours":    {edit(func(l *Load) { l.Hours = hours(math.Inf(1)) }), fettle.Invalid, "hours"},
		"too long":    {edit(func(l *Load) { l.PartSizeMM[0] = 150 }), fettle.No, "turn over"},
		"too thick":   {edit(func(l *Load) { l.PartVolumeMM3 = 1.5e6 }), fettle.No, "room"},
		"dry":         {edit(func(l *Load) { l.Media.Dry = true }), fettle.No, "dry"},
		"wet":         {edit(func(l *Load) { l.Vessel.Wet = false }), fettle.No, "wet"},
		"few media":   {edit(func(l *Load) { l.Media.OnShelfL = 0.3 }), fettle.No, "get more"},
		"no diameter": {edit(func(l *Load) { l.Vessel.DiameterMM = 0 }), fettle.No, "turn over"},
	} {
		if fettle.CodeOf(row.err) != row.code || !strings.Contains(row.err.Error(), row.says) {
			t.Errorf("%s: %v", name, row.err)
		}
	}
}
