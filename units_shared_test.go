package fettle

import (
	"encoding/json"
	"flag"
	"os"
	"testing"

	"github.com/google/go-cmp/cmp"
)

var update = flag.Bool("update", false, "write testdata/units.json anew")

// TestUnitsOnThePage writes down how numbers read, so that the page, which has rules of
// its own in web/face/src/say/units.ts, is held to the same words by web/browser.
func TestUnitsOnThePage(t *testing.T) {
	type row struct {
		As     string  `json:"as"`
		Value  float64 `json:"value"`
		Metric string  `json:"metric"`
		Inch   string  `json:"inch"`
	}
	var rows []row
	for _, as := range []struct {
		name string
		show func(System, float64) string
	}{
		{"length", System.Length}, {"small", System.Small}, {"fine", System.Fine}, {"height", System.Height}, {"area", System.Area},
		{"volume", System.Volume}, {"feed", System.Feed}, {"mass", System.Mass}, {"liquid", System.Liquid}, {"dose", System.Dose},
		{"minutes", func(_ System, v float64) string { return Minutes(v) }},
	} {
		for _, v := range []float64{0, 0.0123, 0.25, 0.949, 0.96, 1, 2.96, 9.46, 12.345, 89.4, 99.96, 133, 477, 999.5, 1400, 12345} {
			rows = append(rows, row{as.name, v, as.show(Metric, v), as.show(Inch, v)})
		}
	}
	sentences := []string{
		"cusps 0.315 mm apart, 2.9 µm high, over 190 mm² at 1400 mm/min", "a piece of 3.97 × 6.35 mm, 0.2–0.5 mm deep",
		"4.5 l of water, 20 ml of compound, 1.25 kg of media and 79.8 g of brass", "no number at all",
	}
	said := map[string]string{}
	for _, s := range sentences {
		said[s] = Inch.Reword(s)
	}
	text, err := json.MarshalIndent(map[string]any{"numbers": rows, "sentences": said}, "", "\t")
	if err != nil {
		t.Fatal(err)
	}
	text = append(text, '\n')
	const file = "testdata/units.json"
	if *update {
		if err := os.MkdirAll("testdata", 0o777); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(file, text, 0o666); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(string(want), string(text)); d != "" {
		t.Errorf("%s is not as numbers read now (-file +now); write it with -update:\n%s", file, d)
	}
}
