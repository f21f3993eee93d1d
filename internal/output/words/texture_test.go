package words

import (
	"strings"
	"testing"
	"unicode/utf8"

	"fettle"
)

// plate is what a milled map comes to.
func plate() fettle.Texture {
	cut, period, radius, axis := 0.8, 0.3, -25.0, 90.0
	return fettle.Texture{
		File: "plate.x3p", Format: "X3P", Kind: "map", Width: 400, Height: 300, SpacingMM: []float64{0.01, 0.02}, SizeMM: []float64{3.99, 5.98},
		Instrument: "Own make", Date: "2024-09-03 14:05",
		Evaluation: fettle.Evaluation{
			Form: fettle.TextureForm{Name: "cylinder", RadiusMM: &radius, AxisDeg: &axis}, CutoffMM: &cut, CutoffFrom: "the spacing of its regular marks, 0.3 mm", FilterEnds: "dropped", PeriodMM: &period,
			Parameters: fettle.Measures{{Name: "Sa", Value: 0.9551, Unit: "µm"}, {Name: "Sz", Value: 3.847, Unit: "µm"}, {Name: "Ssk", Value: -0.648, Unit: "1"}, {Name: "Sku", Value: 1e-17, Unit: "1"},
				{Name: "Sdr", Value: 2e-6, Unit: "%"}, {Name: "Sal", Value: 0.0616, Unit: "mm"}, {Name: "Str", Value: 0.03, Unit: "1"}, {Name: "Std", Value: 29.49, Unit: "deg"}},
		},
		Peaks: []fettle.Wave{{WavelengthMM: 0.3, DirectionDeg: 119.6, AmplitudeUM: 1.51}},
		Notes: []string{"2 % of the points have no height and were left out"},
		Profiles: []fettle.TextureProfile{{Along: "y", Row: 10, AtMM: 0.1, Evaluation: fettle.Evaluation{
			Form: fettle.TextureForm{Name: "plane"}, CutoffFrom: "no filter: too short", Parameters: fettle.Measures{{Name: "Ra", Value: 1, Unit: "µm"}, {Name: "Rz_sections", Value: 4, Unit: "µm"}}}}},
	}
}

// What a machinist looks for is there, in his units, and the page is clean.
func TestTexturePage(t *testing.T) {
	profile := plate()
	profile.Kind, profile.SpacingMM, profile.SizeMM, profile.Peaks, profile.Profiles, profile.PeriodMM = "profile", []float64{0.0005}, []float64{4.8}, nil, nil, nil
	profile.Parameters = fettle.Measures{{Name: "Ra", Value: 0.26, Unit: "µm"}, {Name: "Rz", Value: 2.186, Unit: "µm"}, {Name: "Rsm", Value: 0.1219, Unit: "mm"}}
	profile.Form, profile.Sections = fettle.TextureForm{Name: "none"}, 5
	for _, c := range []struct {
		name string
		text string
		want []string
	}{
		{"map", Texture(plate(), fettle.Metric), []string{"400 × 300 points", "10.0 µm along x and 20.0 µm along y", "  Sa 0.955 µm, Sz 3.85 µm\n", "lay runs at 29°", "Regular marks 0.300 mm apart",
			"hollow of radius 25.00 mm", "Cut-off 0.8 mm", "half a cut-off dropped", "−0.648", "2.00e−06", "Made with Own make, 2024-09-03", "Column 10, at 0.100 mm", "No filter: too short."}},
		{"map", Texture(plate(), fettle.Inch), []string{"Sa 37.6 µin", "marks 0.0118 in apart", "0.00243 in", "hollow of radius 0.984 in"}},
		{"profile", Texture(profile, fettle.Metric), []string{"a profile of 400 points over 4.800 mm, one every 0.500 µm", "Ra 0.260 µm, Rz 2.19 µm", "peaks are 0.122 mm apart", "No form taken off", "5 sections"}},
	} {
		for _, w := range c.want {
			if !strings.Contains(strings.Join(strings.Fields(c.text), " "), strings.Join(strings.Fields(w), " ")) {
				t.Errorf("%s: %q is not on the page:\n%s", c.name, w, c.text)
			}
		}
		for i, line := range strings.Split(c.text, "\n") {
			for _, bad := range []string{"..", "%!", "NaN", "Inf", " ,", "()", "e−17"} {
				if n := utf8.RuneCountInString(line); strings.Contains(line, bad) || n > 80 {
					t.Errorf("%s, line %d has %d columns or %q: %s", c.name, i+1, n, bad, line)
				}
			}
		}
	}
}
