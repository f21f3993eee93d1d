package learn

import (
	"math"
	"testing"

	"fettle"

	"pgregory.net/rapid"
)

// synthetic is R0 1.6 µm, RL 0.2 µm and T 45 min on the published law, computed
// outside the project to seven figures.
var synthetic = [][2]float64{ // min, Ra µm
	{0, 1.600000}, {5, 1.452775}, {10, 1.321032}, {15, 1.203144}, {30, 0.918784}, {45, 0.715031},
	{60, 0.569036}, {90, 0.389469}, {120, 0.297277}, {180, 0.225642}, {240, 0.206759},
}

func close(t testing.TB, what string, got, want, tol float64) {
	t.Helper()
	if math.IsNaN(got) || math.Abs(got-want) > tol {
		t.Errorf("%s = %.9g, want %.9g ± %.2g", what, got, want, tol)
	}
}

func TestTheSyntheticSeriesComesBack(t *testing.T) {
	var h, ra []float64
	for _, row := range synthetic {
		h, ra = append(h, row[0]/60), append(ra, row[1])
	}
	r0, rl, tc, err := Exponential(h, ra)
	if err != nil {
		t.Fatal(err)
	}
	// The readings are rounded to seven figures; six come back.
	close(t, "R0", r0, 1.6, 1.6e-6)
	close(t, "RL", rl, 0.2, 1e-6)
	close(t, "T", tc, 0.75, 0.75e-6)
}

func TestExactSeriesComeBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r0 := rapid.Float64Range(0.05, 5).Draw(t, "r0")
		rl := rapid.Float64Range(0.02, 2).Draw(t, "rl")
		if math.Abs(r0-rl) < 0.05 {
			return
		}
		tc := rapid.Float64Range(0.3, 6).Draw(t, "t")
		var h, ra []float64
		for i := range rapid.IntRange(4, 12).Draw(t, "n") {
			h = append(h, float64(i)*0.8)
			ra = append(ra, rl+(r0-rl)*math.Exp(-h[i]/tc))
		}
		gr0, grl, gt, err := Exponential(h, ra)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(gr0-r0) > 1e-6*r0 || math.Abs(grl-rl) > 1e-5*rl || math.Abs(gt-tc) > 1e-6*tc {
			t.Fatalf("%g %g %g come back as %g %g %g", r0, rl, tc, gr0, grl, gt)
		}
	})
}

func TestWhatIsNoExponentialIsRefused(t *testing.T) {
	nan := math.NaN()
	for name, c := range map[string]struct {
		h, ra []float64
		code  fettle.Code
	}{
		"two hours": {[]float64{0, 1, 1, 0}, []float64{2, 1, 1, 2}, fettle.Invalid},
		"NaN":       {[]float64{0, 1, 2}, []float64{2, nan, 1}, fettle.Invalid},
		"lengths":   {[]float64{0, 1, 2}, []float64{2}, fettle.Invalid},
		"none":      {nil, nil, fettle.Invalid},
		"level":     {[]float64{0, 1, 2, 3}, []float64{1, 1, 1, 1}, fettle.No},
		"bends up":  {[]float64{0, 1, 2, 3}, []float64{1, 0.9, 0.6, 0.1}, fettle.No},
	} {
		if _, _, _, err := Exponential(c.h, c.ra); fettle.CodeOf(err) != c.code {
			t.Errorf("%s: %v", name, err)
		}
	}
}
