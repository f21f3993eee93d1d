package mark

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// TestCommonPractice holds the judgement of an eye against what any polisher knows.
// Bounds are wide; slopes are in mrad.
func TestCommonPractice(t *testing.T) {
	p, f := Parabola(), Furrows()
	turn := 1.6 * math.Pi / 180 * 1000 // from facet to facet
	for _, c := range []struct {
		what        string
		slope, wave float64
		texture     float64
		least, most float64
	}{
		{"cusps of 2 µm on a bright tumbled face", p.Slope(2, 0.3), 0.3, MaskingSlope(0.12, 0.03), 0.9, 1},
		{"the same on a face of Ra 0.15", p.Slope(2, 0.3), 0.3, MaskingSlope(0.15, 0.04), 0.9, 1},
		{"the same, not erased, through P400 satin", p.Slope(2, 0.3), 0.3, MaskingSlope(0.22, 0.035), 0.3, 1},
		{"a fifth of them through P400 satin", p.Slope(2, 0.3) * p.Left(p.Takes(0.2)).Slope, 0.3, MaskingSlope(0.22, 0.035), 0.05, 0.6},
		{"cusps of 0.1 µm on a matte tumbled face", p.Slope(0.1, 0.3), 0.3, MaskingSlope(0.7, 0.08), 0, 0.01},
		{"a tenth of P120 scratches through a polish", f.Slope(4, 0.12) * f.Left(f.Takes(0.1)).Slope, 0.12, MaskingSlope(0.05, 0.02), 0.6, 1},
		{"the same on a matte face", f.Slope(4, 0.12) * f.Left(f.Takes(0.1)).Slope, 0.12, MaskingSlope(0.7, 0.08), 0, 0.25},
		{"facets that turn by 1.6° on a bright face", turn / math.Sqrt(12), 0.28, MaskingSlope(0.12, 0.03), 0.7, 1},
		{"facets of 0.1 mrad on satin", 0.1, 0.28, MaskingSlope(0.22, 0.035), 0, 0.001},
		// The design band of a mirror for slopes, at the pitch that is seen best.
		{"0.15 mrad on a mirror", 0.15, 1, 0, 0.05, 0.2},
		{"1 mrad on a mirror", 1, 1, MaskingSlope(0.008, 0.01), 0.8, 0.95},
		{"0.1 mrad, a metre long, on a mirror", 0.1, 1000, 0, 0, 0.01},
		{"scratches of 1 µm pitch, on a mirror", 20, 0.001, 0, 0, 0.01},
	} {
		if got := Seen(c.slope, c.wave, c.texture); got < c.least || got > c.most {
			t.Errorf("%s: seen with %.3f, should be %v to %v (%.2f mrad, threshold %.2f)", c.what, got, c.least, c.most, c.slope, Threshold(c.wave, c.texture))
		}
	}
	// What an eye at arm's length sees worst repeats itself every 0.1 to 3 mm.
	for w := 0.1; w <= 3; w *= 1.1 {
		if got := Threshold(w, 0); got > 1.95 {
			t.Errorf("threshold on a mirror at %v mm: %v mrad", w, got)
		}
	}
}

// TestTheEyeSeesBestAtEightCyclesPerDegree: where the published function has its
// peak, of 1 to within 2 %.
func TestTheEyeSeesBestAtEightCyclesPerDegree(t *testing.T) {
	best, at := 0.0, 0.0
	for f := 0.5; f < 60; f += 0.05 {
		if s := sensitivity(f); s > best {
			best, at = s, f
		}
	}
	if math.Abs(at-8) > 0.2 || math.Abs(best-1) > 0.02 {
		t.Errorf("%v at %v cycles per degree", best, at)
	}
	// 1 cycle per mm at 400 mm is 6.98 cycles per degree, so that is about 1 mm.
	least, wave := math.Inf(1), 0.0
	for w := 0.02; w < 50; w *= 1.01 {
		if v := Threshold(w, 0); v < least {
			least, wave = v, w
		}
	}
	if wave < 0.7 || wave > 1.4 || math.Abs(least-math.Sqrt(0.15)) > 0.001 {
		t.Errorf("lowest threshold %v mrad at %v mm", least, wave)
	}
}

func TestSeenRisesAndHidesUndoesIt(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		wave := math.Exp(rapid.Float64Range(math.Log(0.001), math.Log(2000)).Draw(t, "log wave"))
		texture := rapid.Float64Range(0, 200).Draw(t, "texture")
		slope := math.Exp(rapid.Float64Range(-6, 6).Draw(t, "log slope")) * Threshold(wave, texture)
		more := slope * rapid.Float64Range(1, 3).Draw(t, "more")
		rough := texture + rapid.Float64Range(0, 50).Draw(t, "rougher")
		p := Seen(slope, wave, texture)
		if !(p >= 0 && p <= 1) || Seen(more, wave, texture) < p || Seen(slope, wave, rough) > p {
			t.Fatalf("seen %v; %v when steeper, %v on a rougher face", p, Seen(more, wave, texture), Seen(slope, wave, rough))
		}
		if p > 1e-9 && p < 1-1e-9 {
			if back := Hides(p, wave, texture); math.Abs(back/slope-1) > 1e-5 {
				t.Fatalf("seen with %v at %v, hides at %v", p, slope, back)
			}
		}
		if got := Seen(Threshold(wave, texture), wave, texture); math.Abs(got-0.5) > 1e-9 {
			t.Fatalf("%v of all find what half find", got)
		}
	})
	if Hides(0, 1, 0) != 0 || !math.IsInf(Hides(1, 1, 0), 1) || Seen(0, 1, 0) != 0 || Seen(-1, 1, 0) != 0 || Seen(math.NaN(), 1, 0) != 0 {
		t.Error("the ends")
	}
	if got, want := Threshold(0.3, -5), Threshold(0.3, 0); got != want {
		t.Error("a texture below none")
	}
}

// TestSpecular compares with exp(−(4π Rq cos θ/λ)²) at 550 nm (H. E. Bennett and J. O.
// Porteus, J. Opt. Soc. Am. 51 (1961) 123), worked out apart: at 0°, 60° and 20°.
func TestSpecular(t *testing.T) {
	for _, row := range [][4]float64{ // Rq nm
		{2, 0.99791, 0.99948, 0.99816},
		{5, 0.98703, 0.99674, 0.98854},
		{10, 0.94914, 0.98703, 0.95495},
		{20, 0.81155, 0.94914, 0.83162},
		{30, 0.62511, 0.88918, 0.66043},
		{40, 0.43377, 0.81155, 0.47829},
		{50, 0.27115, 0.72161, 0.31588},
		{75, 0.05306, 0.47994, 0.07480},
		{100, 0.00541, 0.27115, 0.00996},
		{150, 0.00001, 0.05306, 0.00003},
	} {
		for i, deg := range []float64{0, 60, 20} {
			if got := Specular(row[0]/1000, deg, 550); math.Abs(got-row[i+1]) > 6e-6 {
				t.Errorf("Rq %v nm at %v°: %v, should be %v", row[0], deg, got, row[i+1])
			}
		}
	}
}

// TestTextureSlope: a sine of 0.1 µm amplitude has the slope 2π·Rq/λ, and so has a
// normal texture of the same Rq, whose Ra is √(2/π) of it.
func TestTextureSlope(t *testing.T) {
	rq := 0.1 / math.Sqrt2
	want := Sine().Slope(0.2, 0.05)
	if got := TextureSlope(rq*math.Sqrt(2/math.Pi), 0.05); math.Abs(got/want-1) > 1e-12 {
		t.Errorf("%v mrad, should be %v", got, want)
	}
	// A mirror hides next to nothing, a rough face what its slopes are.
	if m, s := MaskingSlope(0.002, 0.05), TextureSlope(0.002, 0.05); m > 0.05*s {
		t.Errorf("a mirror of %v mrad masks with %v", s, m)
	}
	if m, s := MaskingSlope(0.5, 0.05), TextureSlope(0.5, 0.05); math.Abs(m/s-1) > 1e-6 {
		t.Errorf("a rough face of %v mrad masks with %v", s, m)
	}
	if TextureSlope(0, 1) != 0 || TextureSlope(1, 0) != 0 || MaskingSlope(-1, 1) != 0 {
		t.Error("no texture has a slope")
	}
}

func BenchmarkSeen(b *testing.B) {
	for i := 0; b.Loop(); i++ {
		sink += Seen(1+float64(i&15), 0.3, 20)
	}
}

func BenchmarkHides(b *testing.B) {
	for i := 0; b.Loop(); i++ {
		sink += Hides(0.05+float64(i&15)/20, 0.3, 20)
	}
}
