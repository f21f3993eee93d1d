package learn

import (
	"math"
	"strings"
	"testing"

	"fettle"
	"fettle/internal/trade/stock"
)

// Every complaint is one sentence that names the run and, where it is one, the
// reading.
func TestWhatCannotBeIsNamed(t *testing.T) {
	good := func() fettle.Run { return runOf(fine5, "r7", raAt(0, 1.5), raAt(1, 1)) }
	for name, c := range map[string]struct {
		edit func(*fettle.Run)
		says string
	}{
		"kind":       {func(r *fettle.Run) { r.Kind = "" }, "what was done"},
		"tone":       {func(r *fettle.Run) { r.Tone = "soggy" }, `tone "soggy"`},
		"day":        {func(r *fettle.Run) { r.Day = "yesterday" }, "not a date"},
		"area":       {func(r *fettle.Run) { r.AreaMM2 = math.NaN() }, "area"},
		"size":       {func(r *fettle.Run) { r.SizeMM = -1 }, "size"},
		"pieces":     {func(r *fettle.Run) { r.Pieces = -2 }, "pieces"},
		"before":     {func(r *fettle.Run) { r.Readings[1].AtH = -1 }, "run r7, reading 2 (ra): it was taken at -1 h"},
		"NaN hours":  {func(r *fettle.Run) { r.Readings[1].AtH = math.NaN() }, "reading 2 (ra)"},
		"for ever":   {func(r *fettle.Run) { r.Readings[1].AtH = 1e5 }, "longer than any run"},
		"NaN":        {func(r *fettle.Run) { r.Readings[0].Value = math.NaN() }, "reading 1 (ra): NaN µm cannot be"},
		"zero":       {func(r *fettle.Run) { r.Readings[0].Value = 0 }, "must lie between 0.001 and 100"},
		"infinite":   {func(r *fettle.Run) { r.Readings[0].Value = math.Inf(1) }, "cannot be"},
		"spread":     {func(r *fettle.Run) { r.Readings[0].Spread = -1 }, "spread"},
		"wide":       {func(r *fettle.Run) { r.Readings[0].Spread = 12 }, "spread of 12"},
		"new kind":   {func(r *fettle.Run) { r.Readings[0].Kind = "taste" }, "this kind is not known"},
		"half grade": {func(r *fettle.Run) { r.Readings[0] = fettle.Reading{Kind: fettle.ReadGrade, Value: 6.5} }, "whole numbers"},
		"half gone":  {func(r *fettle.Run) { r.Readings[0] = fettle.Reading{Kind: fettle.ReadMarkGone, Value: 0.5, DepthUM: 1} }, "1 for gone"},
		"no depth":   {func(r *fettle.Run) { r.Readings[0] = fettle.Reading{Kind: fettle.ReadMarkGone, Value: 1} }, "depth_um"},
		"all jammed": {func(r *fettle.Run) { r.Readings[0] = fettle.Reading{Kind: fettle.ReadJammed, Value: 3} }, "3 of 1 pieces"},
		"no area": {func(r *fettle.Run) {
			r.AreaMM2, r.Readings[0] = 0, fettle.Reading{Kind: fettle.ReadGrams, AtH: 1, Value: 0.1}
		}, "area_mm2"},
		"whole part":  {func(r *fettle.Run) { r.Readings[0] = fettle.Reading{Kind: fettle.ReadGrams, AtH: 1, Value: 500} }, "what one piece lost"},
		"hand minute": {func(r *fettle.Run) { r.Readings[0] = fettle.Reading{Kind: fettle.ReadMinutes, Value: 5} }, "belong to a run of kind rub"},
	} {
		r := good()
		c.edit(&r)
		_, err := Read(t.Context(), fettle.Logbook{Runs: []fettle.Run{r}}, stock.Shelf())
		if fettle.CodeOf(err) != fettle.Invalid || !strings.Contains(err.Error(), c.says) || strings.Contains(err.Error(), "\n") {
			t.Errorf("%s: %v", name, err)
		}
	}
	if _, err := Read(t.Context(), fettle.Logbook{Runs: []fettle.Run{good(), good()}}, stock.Shelf()); fettle.CodeOf(err) != fettle.Invalid || !strings.Contains(err.Error(), "run r7 stands in the log twice") {
		t.Errorf("twice: %v", err)
	}
	if _, err := Read(t.Context(), fettle.Logbook{}, nil); fettle.CodeOf(err) != fettle.Invalid {
		t.Errorf("no shelf: %v", err)
	}
}

// What a shop no longer has, or calls by another name, costs it one run and not the
// log.
func TestRunsWithWhatIsGoneAreLeftOut(t *testing.T) {
	for name, c := range map[string]struct {
		edit func(*fettle.Run)
		says string
	}{
		"media":  {func(r *fettle.Run) { r.Media = "sand" }, `Run r8 is left out: media "sand" is not on the shelf`},
		"vessel": {func(r *fettle.Run) { r.Vessel = "bucket" }, `Run r8 is left out: barrel or bowl "bucket"`},
		"alloy":  {func(r *fettle.Run) { r.Material = "mithril" }, `Run r8 is left out: material "mithril"`},
		"grit":   {func(r *fettle.Run) { r.Kind, r.Grit = fettle.StepRub, "P7" }, `Run r8 is left out: grit "P7" is not on the shelf`},
	} {
		keep, gone := runOf(fine5, "r7", raAt(0, 1.5), raAt(1, 1)), runOf(fine5, "r8", raAt(0, 1.5), raAt(1, 1))
		c.edit(&gone)
		l := read(t, keep, gone).Learned()
		if l.Runs != 1 || !strings.Contains(strings.Join(l.Warnings, " "), c.says) {
			t.Errorf("%s: %d runs, %q", name, l.Runs, l.Warnings)
		}
	}
}

// What is logged and teaches nothing is said, not lost.
func TestWhatTeachesNothingIsSaid(t *testing.T) {
	hand := fettle.Run{ID: "h", Kind: fettle.StepRub, Material: "1018", Grit: "P400", Readings: []fettle.Reading{{Kind: fettle.ReadMinutes, Value: 5}, raAt(0, 1)}}
	l := read(t, hand).Learned()
	if len(l.Warnings) != 2 || !strings.Contains(l.Warnings[0], "Run h") || !strings.Contains(l.Warnings[0], "area_mm2") {
		t.Errorf("%q", l.Warnings)
	}
}
