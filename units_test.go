package fettle

import (
	"math"
	"testing"
)

func TestSystemShows(t *testing.T) {
	for _, c := range []struct{ got, want string }{
		{Metric.Length(42), "42.00 mm"},
		{Inch.Length(25.4), "1.000 in"},
		{Inch.Length(6.35), "0.250 in"},
		{Metric.Height(0.8), "0.80 µm"},
		{Inch.Height(0.8), "31 µin"}, // 0.8 µm is the 32 µin grade of ISO 1302's N-series, rounded
		{Inch.Fine(25.4), "1.0 thou"},
		{Inch.Fine(2.54), "0.10 thou"},
		{Metric.Fine(9.96), "10 µm"},
		{Metric.Range(Guess(0.8, 0.5, 1.3, BasisGuess)), "0.80 µm (0.50–1.3)"},
		{Metric.Area(2856), "28.6 cm²"},
		{Inch.Area(645.16), "1.00 in²"},
		{Inch.Volume(16387.064), "1.00 in³"},
		{Metric.About(657.62), "658 mm"},
		{Inch.About(657.62), "25.9 in"},
		{Metric.Small(0.315), "0.315 mm"},
		{Inch.Small(0.254), "0.0100 in"},
		{Metric.Feed(1400), "1400 mm/min"},
		{Inch.Feed(1400), "55 in/min"},
		{Metric.Mass(84.2), "84.2 g"},
		{Inch.Mass(453.59237), "1.00 lb"},
		{Inch.Liquid(0.946352946), "1.0 qt"},
		{Minutes(0.5), "30 s"},
		{Minutes(35.2), "35 min"},
		{Minutes(135), "2 h 15 min"},
		{Minutes(119), "2 h"},
		{Minutes(720), "12 h"},
		{sig(0.0999, 2), "0.10"},
		{sig(1234, 2), "1200"},
		{sig(0, 3), "0"},
		{sig(-3.14159, 3), "-3.14"},
	} {
		if c.got != c.want {
			t.Errorf("shown as %q, want %q", c.got, c.want)
		}
	}
}

// The inch is exactly 25.4 mm and the foot twelve of them: the international
// yard and pound agreement of 1959.
func TestParseLengthUnit(t *testing.T) {
	for name, mm := range map[string]float64{"mm": 1, "IN": 25.4, "inches": 25.4, "metre": 1000, "ft": 304.8, "µm": 0.001, "cm": 10} {
		u, err := ParseLengthUnit(name)
		if err != nil || math.Abs(u.MM-mm) > 1e-12*mm {
			t.Errorf("%s: %g mm, %v; want %g", name, u.MM, err, mm)
		}
	}
	if _, err := ParseLengthUnit("furlong"); CodeOf(err) != Invalid {
		t.Errorf("furlong: %v, want a refusal", err)
	}
}

// A metric sentence is said again in inches, number by number; names, angles,
// threads and hours stay.
func TestReword(t *testing.T) {
	for _, c := range []struct{ metric, inch string }{
		{"a piece of 3.97 × 6.35 mm can lock across the hole of 4 mm", "a piece of 0.156 × 0.250 in can lock across the hole of 0.157 in"},
		{"Inside corners of pocket-1: 1.2 mm radius, about 190 mm² stay as cut", "Inside corners of pocket-1: 0.047 in radius, about 0.295 in² stay as cut"},
		{"a radius of about 100 µm while an open face loses 10 µm", "a radius of about 3.9 thou while an open face loses 0.39 thou"},
		{"the core of M5, 90°, after about 412 h, 2 %", "the core of M5, 90°, after about 412 h, 2 %"},
		{"1400 mm/min over 300 mm³", "55 in/min over 0.0183 in³"},
		{"1.4 l an hour, 33 ml of it, from 5 levels", "1.5 qt an hour, 1.1 fl oz of it, from 5 levels"}, // US gallon of 231 in³, NIST Handbook 44, appendix C
		{"saw 48 × 74 × 13 mm, 363 g each", "saw 1.890 × 2.913 × 0.512 in, 12.8 oz each"},
		{"free by 0.2–0.5 mm", "free by 0.008–0.020 in"},
		{"", ""},
	} {
		if got := Inch.Reword(c.metric); got != c.inch {
			t.Errorf("%q becomes %q, want %q", c.metric, got, c.inch)
		}
		if got := Metric.Reword(c.metric); got != c.metric {
			t.Errorf("%q is changed to %q", c.metric, got)
		}
	}
}
