package words

import (
	"strings"
	"testing"
	"unicode/utf8"

	"fettle"
	"fettle/internal/trade/finish"
	"fettle/internal/trade/stock"
)

// The voices of most tests.
var metric, inches = voice{nil, fettle.Metric}, voice{nil, fettle.Inch}

// slab is a survey as of a slab of 60 × 40 × 10 mm with one countersunk hole.
func slab() fettle.Survey {
	return fettle.Survey{
		File: "slab.stl", Format: "binary STL", Units: "mm", UnitsFrom: "guessed", Triangles: 1200, Vertices: 602, Bodies: 1, Closed: true,
		VolumeMM3: 23600, AreaMM2: 6900, SizeMM: [3]float64{60, 40, 10}, SharpEdgeMM: 400,
		Repairs:  []fettle.Repair{{Kind: "welded", Count: 3, Says: "3 vertices at the same place were joined"}},
		Openings: []fettle.Opening{{ID: "hole-1", Kind: fettle.Hole, Form: "countersunk", Through: true, WidthMM: 5, WidestMM: 10, LengthMM: 5, DepthMM: 10}},
		Corners:  []fettle.Corner{{ID: "corner-1", LengthMM: 12, Opening: "hole-1"}},
		Faces:    []fettle.Face{{Kind: fettle.PlaneFace}, {ID: 1, Kind: fettle.CylinderFace}, {ID: 2, Kind: fettle.PlaneFace}},
		Zones: []fettle.Zone{
			{ID: "show", Name: "Show face", Class: fettle.Show, AreaMM2: 2300, SizeMM: [3]float64{60, 40, 0}, Up: [3]float64{0, 0, 1}},
			{ID: "sides", Name: "Sides", Class: fettle.Plain, AreaMM2: 2000, SizeMM: [3]float64{60, 40, 10}, SlopeDeg: fettle.Quantiles{P50: 90, P95: 90, Max: 90}},
		},
		Warnings: []string{"the file names no unit; taken as mm: 60 × 40 × 10 mm"},
	}
}

// plans are made once for each system of units: each takes a second.
var plans = map[fettle.System]*fettle.Plan{}

// planOf is a plan of the slab, its own to change at the top.
func planOf(t *testing.T, sys fettle.System) *fettle.Plan {
	t.Helper()
	if plans[sys] == nil {
		pl, err := finish.Plan(t.Context(), finish.Input{
			Survey: slab(), Shelf: stock.Shelf(), Brief: fettle.Brief{Material: "Ti-6Al-4V", Finish: "stonewash", Lot: 6, Title: "Slab", Display: sys},
		})
		if err != nil {
			t.Fatal(err)
		}
		plans[sys] = pl
	}
	own := *plans[sys]
	return &own
}

// Every page fits a terminal of 80 columns and holds no doubled full stops,
// empty sentences or verbs of formatting.
func TestPagesAreClean(t *testing.T) {
	shelf := stock.Shelf()
	for _, sys := range []fettle.System{fettle.Metric, fettle.Inch} {
		pl := planOf(t, sys)
		for name, text := range map[string]string{
			"survey": Survey(slab(), sys), "plan": Plan(*pl), "others": Others([]*fettle.Plan{pl}), "shelf": Shelf(shelf, sys), "explain": Explain(*pl),
		} {
			for i, line := range strings.Split(text, "\n") {
				if n := utf8.RuneCountInString(line); n > 80 {
					t.Errorf("%s, line %d has %d columns: %s", name, i+1, n, line)
				}
				for _, bad := range []string{"..", "%!", "NaN", "Inf", "+Inf", " ,", "  .", "()", ": ."} {
					if strings.Contains(line, bad) {
						t.Errorf("%s, line %d has %q: %s", name, i+1, bad, line)
					}
				}
			}
		}
	}
}

// In inch units no length of the part or the plan is left in millimetres; names
// of media and papers keep the sizes they are sold by.
func TestInchMeansInch(t *testing.T) {
	text := Survey(slab(), fettle.Inch)
	if strings.Contains(strings.Split(text, "What to know")[0], " mm") || !strings.Contains(text, "2.362 × 1.575 × 0.394 in") {
		t.Errorf("millimetres in an inch survey:\n%s", text)
	}
	plan := Plan(*planOf(t, fettle.Inch))
	if !strings.Contains(plan, "µin") || strings.Contains(plan, " µm") || strings.Contains(plan, "mm/min") {
		t.Errorf("micrometres in an inch plan:\n%s", plan)
	}
}

// What a plan knows, its page says: the verdict, each step with its caution,
// the allowance, each line of the price, each hazard.
func TestPlanPageIsComplete(t *testing.T) {
	pl := planOf(t, fettle.Metric)
	page := strings.Join(strings.Fields(Plan(*pl)), " ")
	want := []string{"hole-1", pl.Stock.Says[1:], "Leave on before finishing"}
	for _, s := range pl.Route {
		want = append(want, s.Name, s.Do[1:])
		if s.Caution != "" {
			want = append(want, "CAUTION: "+s.Caution)
		}
	}
	for _, l := range pl.Price.Lines {
		want = append(want, l.Name[1:]+": "+l.Cost.Value.String())
	}
	for _, c := range pl.Cautions {
		want = append(want, c.Says[1:])
	}
	for _, w := range want {
		if !strings.Contains(page, strings.Join(strings.Fields(w), " ")) {
			t.Errorf("the page lacks %q", w)
		}
	}
}
