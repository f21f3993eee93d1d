package words

import (
	"fmt"
	"strings"
	"testing"

	"fettle"
)

// sampleReach is an answer about six kinds of media, of which one sticks.
func sampleReach() fettle.Reach {
	r := fettle.Reach{
		File: "plate.stl", CellMM: 0.2,
		Openings: []fettle.Opening{
			{ID: "hole-1", Kind: fettle.Hole, Form: "countersunk", Through: true, WidthMM: 4, WidestMM: 8, LengthMM: 4, DepthMM: 5,
				Profile: []fettle.Width{{DepthMM: 0, WidthMM: 8}, {DepthMM: 2, WidthMM: 4}, {DepthMM: 5, WidthMM: 4}}},
			{ID: "slot-1", Kind: fettle.Slot, WidthMM: 0.3, LengthMM: 9, DepthMM: 2},
		},
		Plugs:      []fettle.Plug{{Opening: "hole-1", Says: "hole-1 measures 4 mm across; closed with a plug it lets media-0 be used"}},
		Edges:      []fettle.EdgeWear{{Place: "rim of hole-1", LengthMM: 12.6, AngleDeg: 90, Radii: []fettle.EdgeRadius{{RemovedUM: 1, RadiusUM: 30}, {RemovedUM: 2, RadiusUM: 45}, {RemovedUM: 10, RadiusUM: 100}}}},
		Allowances: []fettle.FaceAllowance{{Place: "hole-1", Ratio: 0.46, Least: 0.21, Most: 0.78}},
		Masks:      []fettle.Mask{{Place: "hole-1", Says: "4.20 mm wide, the core of M5: if it is threaded or a fit, plug it."}},
	}
	fit := fettle.Guess(412, 165, 824, "test")
	for i := range 6 {
		m := fettle.MediaReach{Name: fmt.Sprintf("media-%d", i), Title: fmt.Sprintf("Media %d", i), Rank: i + 1, Why: "reaches 100 % of the show face; jams nowhere", ReachedShare: 1, WornShare: 0.93}
		m.Zones = []fettle.ZoneReach{{Zone: "show", ReachedShare: 0.991, WornShare: 1, Exposure: 0.8, Removal: 0.75}}
		m.Leaves = []fettle.LeftAsCut{{Says: "Inside corners of pocket-1: 1.2 mm radius, about 12 mm² stay as cut."}}
		m.Jams = []fettle.Jam{{Opening: "hole-1", Media: m.Name, State: fettle.New, Chance: fettle.Chance{Word: "none"}}}
		if i == 5 {
			m.Jams[0].Chance = fettle.Chance{Word: "real", P: 0.3}
		}
		if i == 0 {
			m.Jams = append(m.Jams, fettle.Jam{Opening: "hole-1", State: fettle.Worn, Chance: fettle.Chance{Word: "slight", P: 0.02}, Why: "a piece of 4 mm just goes in", HoursToFit: &fit})
		}
		r.Media = append(r.Media, m)
	}
	return r
}

func TestReachPage(t *testing.T) {
	flat := func(s string) string { return strings.Join(strings.Fields(s), " ") }
	page := Reach(sampleReach(), fettle.Metric)
	for _, want := range []string{
		"widths and reach to about 0.400 mm",
		"clear 8.00 mm at the mouth, 4.00 mm at 2.00 mm down, 4.00 mm at 5.00 mm down",
		"too small for the grid to be measured across",
		"1. Media 0 (media-0): reaches 100 % of the show face; jams nowhere.",
		"reaches all of the part new and 93 % worn",
		"show: 99.1 % reached (worn all), exposure 0.80, loses 0.75",
		"Inside corners of pocket-1: 1.2 mm radius, about 12 mm² stay as cut.",
		"hole-1: slight chance of a jam (2 %), worn: A piece of 4 mm just goes in; worn small enough after about 412 h in a bowl (165–824).",
		"media-5: reaches all, may jam in hole-1 (real).",
		"Rim of hole-1, 12.6 mm, 90°: radius 45 µm after 2.0 µm and 100 µm after 10 µm off an open face.",
		"Hole-1: 0.46 (0.21–0.78).",
		"the core of M5",
	} {
		if !strings.Contains(flat(page), want) && !strings.Contains(flat(page), strings.ToLower(want[:1])+want[1:]) {
			t.Errorf("the page does not say %q:\n%s", want, page)
		}
	}
	for _, line := range strings.Split(page, "\n") {
		if len([]rune(line)) > 80 {
			t.Errorf("a line of %d columns: %s", len([]rune(line)), line)
		}
	}
	inch := Reach(sampleReach(), fettle.Inch)
	for _, s := range []string{" mm", "µm"} {
		if strings.Contains(inch, s) {
			t.Errorf("in inches the page still has %q:\n%s", s, inch)
		}
	}
	if few := Reach(fettle.Reach{File: "a.stl", CellMM: 0.1}, fettle.Metric); strings.Count(few, "\n") != 1 {
		t.Errorf("an empty answer fills %d lines", strings.Count(few, "\n"))
	}
}
