package tumble

import (
	"math"
	"testing"

	"fettle"
	"fettle/internal/trade/stock"
)

// The tests here hold the starting guesses of the built-in shelf to what the trade
// takes for granted: common practice, no source.

// within asks an interval to take in hours from lo to hi.
func within(t *testing.T, what string, e fettle.Estimate, lo, hi float64) {
	t.Helper()
	if !e.Valid() || e.Low > lo || e.High < hi {
		t.Errorf("%s: %.2g h (%.2g–%.2g), and the trade says %.2g to %.2g", what, e.Value, e.Low, e.High, lo, hi)
	}
}

// Light pointed plastic after a sanded face: 1 to 2 h in a rotary barrel. The
// scratches of P600 are hidden when their mean depth, half of their Rz, has come off.
func TestPlasticAfterFineSandingTakesAnHourOrTwo(t *testing.T) {
	s, found := stock.Shelf(), false
	for metal, softer := range map[string]float64{"naval brass": 1.3, "316L": 1} {
		for _, g := range s.Grits {
			if g.Name != "P600" {
				continue
			}
			found = true
			depth := g.RzUM.Scale(0.5 * softer)
			for _, media := range []string{"plastic-triangle-10", "plastic-cone-15"} {
				p := process(t, media, "wet barrel", metal)
				within(t, media+" on "+metal, depth.Over(p.RemovalUMH), 1, 2)
				if h := p.HoursToRemove(depth.Value).Value; h < 0.5 || h > 4 {
					t.Errorf("%s on %s: %.2g h in the median", media, metal, h)
				}
			}
		}
	}
	if !found {
		t.Error("there is no P600 on the shelf")
	}
}

// And 20 minutes bring that look back onto a polished part.
func TestTwentyMinutesBringTheLookBack(t *testing.T) {
	for _, metal := range []string{"naval brass", "316L", "6061"} {
		for _, media := range []string{"plastic-triangle-10", "plastic-cone-15"} {
			p := process(t, media, "wet barrel", metal)
			most := 0.05 + 0.6*(p.LimitRaUM.Value-0.05)
			within(t, media+" on "+metal, p.HoursTo(0.05, most), 1.0/3, 1.0/3)
			// Levelling to the same distance takes far longer.
			if up, down := p.HoursTo(0.05, most).Value, p.HoursTo(2*p.LimitRaUM.Value, 1.4*p.LimitRaUM.Value).Value; 4*up > down {
				t.Errorf("%s on %s: %.2g h up, %.2g h down", media, metal, up, down)
			}
		}
	}
}

// A polish overnight, 8 to 14 h, in dry cob with paste: from Ra 0.2 nine tenths of
// the way to its limit. Stainless is no job for one night in the median, and may be.
func TestCobPolishesOvernight(t *testing.T) {
	for _, metal := range []string{"naval brass", "6061", "mild steel", "316L"} {
		p := process(t, "cob-2", "dry barrel", metal)
		rl := p.LimitRaUM.Value
		h := p.HoursTo(0.2, rl+0.1*(0.2-rl))
		if h.Low > 14 || h.High < 8 {
			t.Errorf("cob on %s: %.2g h (%.2g–%.2g)", metal, h.Value, h.Low, h.High)
		}
		if metal == "naval brass" {
			within(t, "cob on brass", h, 8, 14)
		}
	}
}

// A rotary barrel is slower than a bowl by 3 to 8 where media cut.
func TestABarrelIsSlowerThanABowlByThreeToEight(t *testing.T) {
	for _, media := range []string{"ceramic-fast-10", "ceramic-general-8", "ceramic-fine-5", "plastic-triangle-10", "plastic-fine-cone-10"} {
		for _, metal := range []string{"naval brass", "6061", "1018", "316L", "Ti-6Al-4V"} {
			barrel, bowl := process(t, media, "wet barrel", metal), process(t, media, "bowl", metal)
			rl := bowl.LimitRaUM.Value
			for what, k := range map[string]float64{
				"levelling": barrel.HoursTo(4*rl, 1.5*rl).Value / bowl.HoursTo(4*rl, 1.5*rl).Value,
				"removal":   barrel.HoursToRemove(3).Value / bowl.HoursToRemove(3).Value,
			} {
				if k < 3 || k > 8 {
					t.Errorf("%s on %s, %s: slower by %.3g", media, metal, what, k)
				}
			}
		}
	}
}

// Wet and dry are different processes (Baghbanan et al., Wear 255 (2003) 1369,
// abstract): the same two vessels that are a factor of five apart for wet cutting are
// 12 h against 8 h for a dry polish, in starting guesses of stages.
func TestDryRunsByItsOwnFactor(t *testing.T) {
	for _, media := range []string{"cob-1", "cob-2", "walnut-1.5"} {
		barrel, bowl := process(t, media, "dry barrel", "naval brass").Rates(), process(t, media, "bowl", "naval brass").Rates()
		near(t, media, barrel.T/bowl.T, 12.0/8, 0.1)
		near(t, media+" roughening", barrel.Roughen/bowl.Roughen, barrel.T/bowl.T, 1e-9)
	}
}

// A barrel forgives hours where a bowl forgives minutes: near the end of levelling
// half an hour more or less is under the noise of a reading in a barrel, and not in
// a bowl, where five minutes are.
func TestABarrelForgivesHoursWhereABowlForgivesMinutes(t *testing.T) {
	for _, metal := range []string{"naval brass", "1018", "316L"} {
		moved := func(vessel string, by float64) float64 {
			r := process(t, "ceramic-general-8", vessel, metal).Rates()
			h := r.HoursTo(4*r.RL, 1.5*r.RL)
			return r.Ra(4*r.RL, h-by)/r.Ra(4*r.RL, h) - 1
		}
		if d := moved("wet barrel", 0.5); d > 0.08 {
			t.Errorf("half an hour in the barrel moves Ra on %s by %.2g", metal, d)
		}
		if d := moved("bowl", 0.5); d < 0.11 {
			t.Errorf("half an hour in the bowl moves Ra on %s by only %.2g", metal, d)
		}
		if d := moved("bowl", 1.0/12); d > 0.08 {
			t.Errorf("five minutes in the bowl move Ra on %s by %.2g", metal, d)
		}
	}
}

// More liquid is faster and brighter, less slower and darker, and all of it by less
// than lots of media differ. Shot is cushioned, and dry media have no tone.
func TestTonesKeepTheirOrder(t *testing.T) {
	s := stock.Shelf()
	for _, m := range s.Media {
		usual := ProcessOf(m, must(s.Vessel("bowl"))(t), must(s.Material("316L"))(t))
		bright, dark := usual.Toned(fettle.ToneBright, m), usual.Toned(fettle.ToneDark, m)
		if m.Dry {
			if bright != usual || dark != usual {
				t.Errorf("%s has a tone", m.Name)
			}
			continue
		}
		u, b, d := usual.Rates(), bright.Rates(), dark.Rates()
		if !(b.RL < u.RL && u.RL < d.RL) {
			t.Errorf("%s: limits %g %g %g", m.Name, b.RL, u.RL, d.RL)
		}
		if m.Kind == fettle.Steel {
			if !(b.T > u.T && b.Ms < u.Ms) {
				t.Errorf("more water round %s is not gentler: T %g after %g", m.Name, b.T, u.T)
			}
		} else if !(b.T < u.T && u.T < d.T && b.Roughen < u.Roughen && u.Roughen < d.Roughen && b.Ms > u.Ms && u.Ms > d.Ms) {
			t.Errorf("%s: %+v %+v %+v", m.Name, b, u, d)
		}
		for _, p := range []Process{bright, dark} {
			for _, e := range []fettle.Estimate{p.TimeConstantH, p.RoughenH, p.LimitRaUM, p.RemovalUMH} {
				if !e.Valid() {
					t.Errorf("%s: %+v", m.Name, e)
				}
			}
			if f := math.Abs(math.Log(p.TimeConstantH.Value / u.T)); f > 0.35 {
				t.Errorf("%s: a tone moves T by e^%.2g", m.Name, f)
			}
		}
		if again := usual.Toned("pink", m); again != usual {
			t.Errorf("%s has a tone that nobody knows", m.Name)
		}
	}
}

// Finer kinds leave a shorter and flatter pattern, and worn pieces a shorter one of
// the same slope.
func TestTexturesOfMedia(t *testing.T) {
	s := stock.Shelf()
	slope := func(name string) float64 {
		m := must(s.MediaNamed(name))(t)
		p := process(t, name, "bowl", "1018")
		return 2 * math.Pi * 1.25 * p.LimitRaUM.Value / (1000 * Texture(m)) // Rq about 1.25 Ra
	}
	for _, pair := range [][2]string{
		{"ceramic-fast-10", "ceramic-general-8"}, {"ceramic-general-8", "ceramic-fine-5"}, {"ceramic-fine-5", "porcelain-ball-4"},
		{"plastic-triangle-10", "plastic-fine-cone-10"}, {"plastic-fine-cone-10", "porcelain-ball-4"}, {"porcelain-ball-4", "cob-2"},
	} {
		if a, b := slope(pair[0]), slope(pair[1]); a <= b {
			t.Errorf("%s leaves a slope of %.3g, %s of %.3g", pair[0], a, pair[1], b)
		}
	}
	m := must(s.MediaNamed("ceramic-general-8"))(t)
	near(t, "contact", Contact(m), math.Sqrt(8*12), 1e-12)
	worn := m
	worn.HoursRun = 100
	if !(Texture(worn) < Texture(m)) || !(Contact(worn) < Contact(m)) {
		t.Errorf("worn: %g mm over %g mm", Texture(worn), Contact(worn))
	}
	// Unknown kinds leave the pattern of general ceramic.
	near(t, "pebbles", Texture(fettle.Media{Kind: "pebbles"}), 0.06, 0)
}
