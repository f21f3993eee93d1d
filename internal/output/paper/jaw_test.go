package paper

import (
	"bytes"
	"strings"
	"testing"

	"fettle"
	"fettle/internal/output/draw"
	"fettle/internal/output/draw/drawtest"

	"pgregory.net/rapid"
)

func jawPage(t *testing.T, p fettle.JawPocket, o Options) *draw.Drawing {
	t.Helper()
	d, err := JawPage(p, drawtest.Jaws(), o)
	if err != nil {
		t.Fatal(err)
	}
	sound(t, []*draw.Drawing{d}, o.size())
	return d
}

// What the machinist needs at the vise stands on the sheet, on one page of either
// paper.
func TestJawSheetSays(t *testing.T) {
	p := drawtest.Pocket()
	metric := flowing([]*draw.Drawing{jawPage(t, p, Options{})})
	for _, w := range []string{
		"Latch plate, back", "latch-plate.3mf", "41d9a07c6be2", "soft-100", "6061-T6", "flat-4", "Ø 4.00 mm", "0.05 mm", "10.00 mm",
		// 8 mm off the middle: 50 + 8 − 26.05 from the left end.
		"31.95", "52.10", "17.05", "100.00", "22.00", "32.00", "8.00", "4.60",
		"Fixed jaw, as new", "Moving jaw, end for end", "push the part here", "knob, stem 8.00 deep", "Section A–A, 1:1", "corner relief, 4 ×, Ø 4.00",
		"Likely, by the numbers, but not surely. What holds is at the least 4.7 (1.9–11) times what pulls before it tips over the jaws' edge, where 2.5 is wanted.",
		"Taken for granted:", "the cutter is sharp", "its +Z side down, turned 90° anticlockwise",
		"CAUTION", "guards shut", "advice, never permission", "Cut on", "by", "Date",
	} {
		if !strings.Contains(metric, w) {
			t.Errorf("%q does not stand on the sheet: %s", w, metric)
		}
	}
	if inch := flowing([]*draw.Drawing{jawPage(t, p, Options{Size: Letter, Display: fettle.Inch})}); strings.Contains(inch, " mm") || !strings.Contains(inch, "1.258") {
		t.Errorf("not in inches: %s", inch)
	}
}

// What speaks against cutting it comes first in the caution, the warning sign
// beside it.
func TestJawSheetRefuses(t *testing.T) {
	p := drawtest.Pocket()
	p.LoadsClear, p.Loads = false, "its rim catches"
	p.Room[0] = fettle.JawRoom{To: "mounting hole 1", Jaw: fettle.FixedJaw, MM: -0.5, WantsMM: 2}
	h := *p.Holding
	h.OK = false
	p.Holding = &h
	all := flowing([]*draw.Drawing{jawPage(t, p, Options{})})
	for _, w := range []string{"CAUTION It cuts 0.50 mm into mounting hole 1. It does not go in freely: Its rim catches. The numbers say it does not hold well enough.", "Not well enough, by the numbers"} {
		if !strings.Contains(all, w) {
			t.Errorf("%q does not stand on the sheet: %s", w, all)
		}
	}
}

// Whatever the answer says, the sheet is one page with nothing overlapping, and
// the same bytes come out again.
func TestJawSheetHoldsAnything(t *testing.T) {
	text := rapid.StringMatching(`[a-z]{1,9}( [a-zé0-9]{1,14}){0,40}`)
	rapid.Check(t, func(t *rapid.T) {
		p, pair := drawtest.Pocket(), drawtest.Jaws()
		p.Name, p.Part, p.Cutter, pair.Title, pair.Metal = text.Draw(t, "name"), text.Draw(t, "part"), text.Draw(t, "cutter"), text.Draw(t, "title"), text.Draw(t, "metal")
		p.Warnings = rapid.SliceOfN(text, 0, 4).Draw(t, "warnings")
		h := *p.Holding
		h.Assumes = rapid.SliceOfN(text, 0, 6).Draw(t, "assumes")
		p.Holding = &h
		p.Cautions[0].Says = text.Draw(t, "caution")
		p.Levels[1].Says = text.Draw(t, "level")
		p.Stepped = rapid.Bool().Draw(t, "stepped")
		pair.Cuts[1].Name = text.Draw(t, "older")
		size := rapid.SampledFrom([]Size{A4, Letter}).Draw(t, "paper")
		o := Options{Size: size, Display: rapid.SampledFrom([]fettle.System{fettle.Metric, fettle.Inch}).Draw(t, "system")}
		d, err := JawPage(p, pair, o)
		if err != nil {
			t.Fatal(err)
		}
		sound(t, []*draw.Drawing{d}, size)
	})
	a, err := JawSheet(drawtest.Pocket(), drawtest.Jaws(), Options{})
	if err != nil {
		t.Fatal(err)
	}
	if b, _ := JawSheet(drawtest.Pocket(), drawtest.Jaws(), Options{}); !bytes.Equal(a, b) {
		t.Error("made twice, the bytes differ")
	}
	if _, err := JawSheet(drawtest.Pocket(), drawtest.Jaws(), Options{Size: Size{"stamp", 60, 90}}); fettle.CodeOf(err) != fettle.Invalid {
		t.Errorf("a stamp is taken for paper: %v", err)
	}
}
