package offer

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"fettle"
	"fettle/internal/output/tongue"
)

// planned is a plan of a satin plate in brass with everything that a promise looks at.
func planned() *fettle.Plan {
	end := fettle.Step{
		Key: "rub P360", Kind: fettle.StepRub, Zone: "show", Rub: &fettle.Rub{Grit: "P360"},
		RaUM: fettle.Guess(0.33, 0.16, 1.3, "guess"), EdgeRadiusUM: fettle.Guess(83, 40, 190, "guess"),
		Marks: []fettle.Mark{
			{Cause: "cusps", Zone: "show", Seen: fettle.ChanceOf(0.02)},
			{Cause: "P360 scratches", Zone: "show", Seen: fettle.ChanceOf(0.9)},
		},
	}
	tumble := fettle.Step{Key: "tumble", Kind: fettle.StepTumble, Zone: "show", Charge: &fettle.Charge{Leaves: []fettle.LeftAsCut{
		{Place: "inside corners of pocket-1", Zone: "openings", Opening: "pocket-1"},
		{Place: "walls of hole-1", Zone: "openings", Opening: "hole-1"},
		{Place: "walls of hole-2", Zone: "openings", Opening: "hole-2"},
		{Place: "hollow of the back", Zone: "back"},
	}}}
	return &fettle.Plan{
		Brief:    fettle.Brief{Lot: 25, Display: fettle.Metric},
		Material: fettle.Material{Name: "naval brass", Class: fettle.ClassBrass},
		Look:     fettle.Look{Name: "satin", RaUM: fettle.Guess(0.4, 0.2, 0.8, "agreed"), Lay: fettle.LayOne, MarkChance: 0.25},
		Meets:    true,
		Route:    fettle.Route{tumble, end, {Key: "inspect", Kind: fettle.StepInspect, Zone: "back"}},
		Zones:    []fettle.Zone{{ID: "show", Name: "Show face", Class: fettle.Show}, {ID: "sides", Name: "Sides", Class: fettle.Plain}, {ID: "back", Name: "Back", Class: fettle.Hidden}},
		Survey: fettle.Survey{Openings: []fettle.Opening{
			{ID: "hole-1", Kind: fettle.Hole, WidthMM: 4}, {ID: "hole-2", Kind: fettle.Hole, WidthMM: 4.001}, {ID: "pocket-1", Kind: fettle.Pocket, WidthMM: 22},
		}},
	}
}

// What is promised follows from the numbers: what is changed in the plan is found in
// the sentences.
func TestPromises(t *testing.T) {
	for _, c := range []struct {
		name    string
		change  func(*fettle.Plan)
		yes, no string // in a sentence of the one list and of none of the other
	}{
		{"the band of the look", nil, "between 0.20 µm and 0.80 µm", ""},
		{"the band in inches", func(p *fettle.Plan) { p.Brief.Display = fettle.Inch }, "between 7.9 µin and 31 µin", ""},
		{"the drawing's roughness", func(p *fettle.Plan) { p.Brief.RaMaxUM = 0.5 }, "no rougher than your drawing allows: Ra 0.50 µm", ""},
		{"not reached", func(p *fettle.Plan) { p.Meets = false }, "", "do not expect the faces that show to come out as smooth"},
		{"the drawing's Rz", func(p *fettle.Plan) { p.Brief.RzMaxUM = 3 }, "", "Rz 3.0 µm"},
		{"edges", nil, "a radius of 0.04 mm to 0.19 mm", ""},
		{"edges of the drawing, kept", func(p *fettle.Plan) { p.Brief.EdgeMaxUM = 200 }, "none is rounder than the 0.20 mm radius", ""},
		{"edges of the drawing, not kept", func(p *fettle.Plan) { p.Brief.EdgeMaxUM = 100 }, "", "rounder than the 0.10 mm radius that your drawing allows, at up to 0.19 mm"},
		{"marks", nil, "no marks of the cutter", ""},
		{"a mark that shows", func(p *fettle.Plan) { p.Route[1].Marks[0].Seen.P = 0.4 }, "", "some lines of the cutter may still be found"},
		{"small chances add up", func(p *fettle.Plan) {
			m := p.Route[1].Marks[0]
			m.Seen.P = 0.15 // 1 − 0.85² = 0.28, over the 0.25 that the look allows
			p.Route[1].Marks = []fettle.Mark{m, m}
		}, "", "some lines of the cutter may still be found"},
		{"scratches of another grit", func(p *fettle.Plan) { p.Route[1].Marks[1].Cause = "P240 scratches" }, "", "some scratches of the sanding"},
		{"scratches where none are wanted", func(p *fettle.Plan) { p.Look.Lay = fettle.LayNone }, "", "some scratches of the sanding"},
		{"cusps that belong", func(p *fettle.Plan) { p.Look.CuspsMayShow = true }, "The cutter's fine lines stay", ""},
		{"alike", nil, "Once you have signed off a sample", ""},
		{"the pattern", nil, "", "differs from piece to piece"},
		{"colour", nil, "", "Colour and gloss are not exact"},
		{"faces", nil, "", "(sides and back)"},
		{"places", nil, "", "the inside corners of the 22.00 mm wide pocket, the walls of the 4.00 mm holes and hollow of the back."},
		{"holes", nil, "", "the sizes of holes are promised only where"},
		{"brass", nil, "", "Copper alloys darken"},
		{"steel", func(p *fettle.Plan) { p.Material = fettle.Material{Class: fettle.ClassMildSteel, Rusts: true} }, "", "rusts where it is kept damp"},
	} {
		pl := planned()
		if c.change != nil {
			c.change(pl)
		}
		yes, no := Promises(pl, tongue.English())
		has := func(list []string, s string) bool {
			return slices.ContainsFunc(list, func(l string) bool { return strings.Contains(l, s) })
		}
		if c.yes != "" && (!has(yes, c.yes) || has(no, c.yes)) {
			t.Errorf("%s: %q is not promised: %q", c.name, c.yes, yes)
		}
		if c.no != "" && (!has(no, c.no) || has(yes, c.no)) {
			t.Errorf("%s: %q is not held back: %q", c.name, c.no, no)
		}
		for _, s := range append(yes, no...) {
			if !strings.HasSuffix(s, ".") || strings.ToUpper(s[:1]) != s[:1] || strings.Contains(s, "%!") || strings.Contains(s, "-1") {
				t.Errorf("%s: %q is no sentence for a customer", c.name, s)
			}
		}
	}
	// What does not hold of a plan is not said of it.
	pl := planned()
	pl.Brief.Lot, pl.Survey.Openings, pl.Zones, pl.Material = 1, nil, pl.Zones[:1], fettle.Material{Class: fettle.ClassTitanium}
	pl.Route = pl.Route[1:]
	yes, no := Promises(pl, tongue.English())
	for _, s := range []string{"signed off", "piece to piece", "holes", "do not show", "Tumbling", "darken", "rusts"} {
		if all := fmt.Sprint(yes, no); strings.Contains(all, s) {
			t.Errorf("one piece of titanium without holes: %q is said: %s", s, all)
		}
	}
	// An empty plan promises nothing but what is true of all.
	if yes, no := Promises(&fettle.Plan{}, tongue.English()); len(yes) != 0 || len(no) != 2 {
		t.Errorf("of nothing: %q, %q", yes, no)
	}
}
