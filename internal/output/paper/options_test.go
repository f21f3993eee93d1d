package paper

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"fettle"
	"fettle/internal/output/draw"
	"fettle/internal/output/tongue"
)

// linked is the address of a step's page in an invented shop.
func linked(step int) string { return fmt.Sprintf("http://shop.local:8080/run/0195f3a2-7c1e/%d", step) }

// promised is when the steps of a plan are due: one after the other from a Tuesday at
// 08:00, two hours each, a load every hour.
func promised(p *fettle.Plan) *fettle.Promise {
	at := time.Date(2026, 3, 3, 8, 0, 0, 0, time.FixedZone("", 3600))
	out := &fettle.Promise{Day: "2026-03-06"}
	for i, st := range p.Route {
		loads := 1
		if st.Charge != nil {
			loads = max(1, st.Charge.Loads)
		}
		for l := range loads {
			s := fettle.PromiseStep{Step: i, Name: st.Name, From: at.Add(time.Duration(l) * time.Hour), To: at.Add(time.Duration(l+2) * time.Hour), Load: l + 1}
			if st.Charge != nil {
				for _, h := range st.Charge.LooksH {
					s.Looks = append(s.Looks, s.From.Add(time.Duration(h*float64(time.Hour))))
				}
			}
			out.Steps = append(out.Steps, s)
		}
		at = at.Add(2 * time.Hour)
	}
	return out
}

// agreed is what a signed-off sample of the plates asks.
func agreed() *fettle.Acceptance {
	lo, hi := 0.31, 0.62
	least, most := 67.9, 68.1
	thin, thick := 0.1634, 0.1674
	return &fettle.Acceptance{Look: "satin", Sample: "7", Day: "2026-02-20",
		Limits: []fettle.AcceptLimit{
			{Kind: fettle.ReadRa, Place: "show", Unit: "µm", Sample: 0.44, N: 3, Low: &lo, High: &hi, Basis: "common practice"},
			{Kind: fettle.ReadMarkGone, Place: "show", Sample: 1, N: 1, Low: &lo},
		},
		First: []fettle.FirstArticle{
			{Number: 1, What: "Overall size along Y", Wanted: "68.000 ± 0.10 mm", Unit: "mm", Low: &least, High: &most},
			{Number: 2, What: "Diameter", Place: "hole-2", Wanted: "0.1654 ± 0.002 in", Unit: "in", Low: &thin, High: &thick},
		},
		Sampling: fettle.SamplingPlan{Lot: 12, Level: "II", AQL: 1, Severity: "normal", Letter: "B", Size: 3, Accept: 0, Reject: 1, Says: "look at 3 of 12 pieces", Source: "ISO 2859-1"}}
}

// full is everything that a traveler can be told besides its plan.
func full(p *fettle.Plan) Options {
	return Options{Link: linked, Job: "26-017", Promise: promised(p), Acceptance: agreed(), Cutters: []fettle.Cutter{{Name: "ball-6", Flutes: 2}}}
}

func TestWhatOptionsPutOnPaper(t *testing.T) {
	for size, sys := range map[Size]fettle.System{A4: fettle.Metric, Letter: fettle.Inch} {
		p := samplePlan()
		o := full(p)
		o.Size, o.Display = size, sys
		pages, err := Pages(p, drawnPlate(t), o)
		if err != nil {
			t.Fatal(err)
		}
		sound(t, pages, size)
		all := flowing(pages)
		tolerances := map[fettle.System][]string{fettle.Metric: {"68.000 mm ± 0.100 mm", "4.200 mm ± 0.051 mm"}, fettle.Inch: {"2.6772 in ± 0.0039 in", "0.1654 in ± 0.0020 in"}}[sys]
		if strings.Count(all, "± ") != 2 || !strings.Contains(all, tolerances[0]) || !strings.Contains(all, tolerances[1]) {
			t.Errorf("%s: the sample's tolerances do not stand in the inspection: want %q", sys, tolerances)
		}
		ra := map[fettle.System]string{fettle.Metric: "0.44 µm", fettle.Inch: "17 µin"}[sys]
		for _, w := range []string{
			"Promised for 2026-03-06 Fri", "Job no. 26-017", "Job 26-017 · escutcheon-plate.3mf",
			"Due 08:00–10:00 Tue 2026-03-03", "Due 16:00–18:00 Tue 2026-03-03", // the first step and the fifth
			"Started at Tue 2026-03-03 16:00 Look after 48 min 16:48",
			"Scan to open step 1: http://shop.local:8080/run/0195f3a2-7c1e/0",
			"As the signed-off sample", "signed a sample of satin off on 2026-02-20", "Run 7 made the sample.", ra,
			"Look at 3 of 12", "0 that fail", "1 that fail", "After ISO 2859-1.", "ball-6 2 1 1", // flutes, set-up, step
		} {
			if !strings.Contains(all, w) {
				t.Errorf("%s: %q does not stand on the traveler", sys, w)
			}
		}
	}
	bare := flowing(pagesOf(t, samplePlan(), Options{}))
	for _, w := range []string{"Promised", "signed-off sample", "Due ", "Scan"} {
		if strings.Contains(bare, w) {
			t.Errorf("%q stands on a traveler that was told nothing of it", w)
		}
	}
}

// A charge of many loads has a line for each as far as they are a handful, and says how
// many more there are; none has the boxes of a single one.
func TestLoads(t *testing.T) {
	for loads, want := range map[int]struct {
		lines int
		more  string
	}{1: {0, ""}, 3: {3, ""}, 24: {24, ""}, 833: {24, "809 more loads: print this page again."}} {
		p := samplePlan()
		c := *p.Route[4].Charge
		c.Loads, c.LastLoadParts, p.Brief.Lot = loads, 5, 12*loads
		p.Route[4].Charge = &c
		pages := pagesOf(t, p, Options{Promise: promised(p)})
		sound(t, pages, A4)
		all := flowing(pages)
		planned := strings.Count(all, "planned Tue 2026-03-03") + strings.Count(all, "planned Wed 2026-03-04")
		if planned != want.lines || !strings.Contains(all, want.more) || (want.more == "") == strings.Contains(all, "more load") {
			t.Errorf("%d loads: %d lines, want %d and %q", loads, planned, want.lines, want.more)
		}
		if single := strings.Contains(all, "Look after 48 min"); single != (loads == 1) {
			t.Errorf("%d loads: boxes of a single load: %v", loads, single)
		}
		if loads == 3 && !strings.Contains(all, "3 5 planned") {
			t.Error("the last load's 5 pieces are not said")
		}
	}
}

// A set-up that is given says where the blank lies; nothing of it is assumed. The zero
// at a lower corner of the part, 5 mm above it: the blank then reads from what it has
// over on the near side.
func TestGivenSetup(t *testing.T) {
	s := fettle.Setup{Title: "Face, in the plain jaws", Offset: "G56", Zero: [3]float64{-21, -34, 12}, Mill: "bench-mill",
		Stock: &fettle.SetupStock{Over: &[6]float64{3, 2, 1, 4, 0.5, 1.5}, SawCutMM: 0.8, Sawn: []string{"x+"}},
		Jaws:  &fettle.SetupJaws{Name: "plain", OpeningMM: 60},
		Tools: map[string]fettle.SetupTool{"T3": {Cutter: "ball-6", StickOut: 22, Flutes: 4}}}
	p := samplePlan()
	pages, err := Pages(p, plate(t), Options{Setups: []fettle.Setup{s}})
	if err != nil {
		t.Fatal(err)
	}
	sound(t, pages, A4)
	all := flowing(pages)
	for _, w := range []string{"Set-up 1: Face, in the plain jaws", "Work offset G56 Jaws plain open 60.00 mm", "may read up to 0.80 mm more: X+.", "T3 ball-6 4 1 1", "22.00 mm"} {
		if !strings.Contains(all, w) {
			t.Errorf("%q does not stand on the traveler", w)
		}
	}
	if strings.Contains(all, "Assumed") || strings.Contains(all, "assumed Jaws") || strings.Contains(all, "Set-up 2") {
		t.Error("something is assumed beside the set-up that was given")
	}
	over, read := readouts(t, pages, 1)
	// The part's box is 0..42, 0..68, -12..-5 from that zero.
	if want := []string{"−3.00", "+44.00", "−1.00", "+72.00", "−3.50", "−12.50"}; !slices.Equal(read, want) {
		t.Errorf("the readout must show %v, want %v", read, want)
	}
	if want := []string{"3.00 mm", "2.00 mm", "1.00 mm", "4.00 mm", "1.50 mm", "0.50 mm"}; !slices.Equal(over, want) {
		t.Errorf("over the part %v, want %v", over, want)
	}
	s.ToleranceMM = -1
	if _, err := Pages(p, nil, Options{Setups: []fettle.Setup{s}}); fettle.CodeOf(err) != fettle.Invalid {
		t.Errorf("a set-up that cannot be is taken: %v", err)
	}
}

// The texture that the finish asks for stands on the drawing with its lay: two limits
// of a look, or what the drawing says; and each step's own stands at it.
func TestTexturesOnPaper(t *testing.T) {
	m := plate(t)
	of := func(p *fettle.Plan) (*draw.Symbol, string) {
		tr := &traveler{plan: p, mesh: m, sys: fettle.Metric, up: upOf(p), sheet: newSheet(A4)}
		if err := tr.drawing(); err != nil {
			t.Fatal(err)
		}
		return tr.finalSymbol(), read(tr.sheet.page())
	}
	p := samplePlan()
	p.Look.Lay = fettle.LayOne
	// The last stroke runs along Y, the part's long side.
	s, page := of(p)
	if s.Lay != draw.LayParallel || !strings.Contains(page, "U Ra 0.80 µm\nL Ra 0.30 µm\n") {
		t.Errorf("satin asks for %+v; the page has\n%s", s, page)
	}
	p.Route[3].Marks[0].Lay = "along the short side"
	if s, _ := of(p); s.Lay != draw.LaySquare {
		t.Errorf("stroked across, the lay is %q", s.Lay)
	}
	p.Look.Lay = fettle.LayNone
	p.Brief.RaMaxUM, p.Brief.RzMaxUM = 1.6, 6.3
	if s, page := of(p); s.Lay != draw.LayMulti || !strings.Contains(page, "Ra 1.6 µm\nRz 6.3 µm\n") {
		t.Errorf("no direction and limits from the drawing: %+v", s)
	}
	tr := &traveler{plan: samplePlan(), sys: fettle.Metric}
	want := []draw.Lay{draw.LaySquare, draw.LayNone, draw.LaySquare, draw.LayParallel, draw.LayMulti, draw.LayNone, draw.LayNone, draw.LayNone}
	for i := range tr.plan.Route {
		if got := tr.stepLay(i); got != want[i] {
			t.Errorf("step %d leaves lay %q, want %q", i+1, got, want[i])
		}
	}
}

// Brief's language where it is known, else English; a tongue given wins.
func TestLanguageOfThePaper(t *testing.T) {
	p := samplePlan()
	p.Brief.Language = "tlh"
	if tag := (Options{}).tongueFor(p).Tag(); tag != "en" {
		t.Errorf("a language that is not there gives %q", tag)
	}
	if tag := (Options{Tongue: tongue.Marked()}).tongueFor(p).Tag(); tag == "en" {
		t.Error("the tongue that was given is not heeded")
	}
}

// Nothing is told by a shade of grey alone: letters are black, or white on black, and
// what lies behind black letters is nearly white.
func TestBlackAndWhite(t *testing.T) {
	p := samplePlan()
	pages, err := Pages(p, drawnPlate(t), full(p))
	if err != nil {
		t.Fatal(err)
	}
	for n, d := range pages {
		for _, x := range d.Texts {
			if x.Shade != 0 && x.Shade != 1 {
				t.Errorf("page %d: %q is grey", n+1, x.S)
			}
			f := x.Frame(Metric)
			for _, a := range d.Fills {
				b := draw.Drawing{Fills: []draw.Fill{a}}
				if g, _ := b.Bounds(Metric); len(a.Pts) == 4 && g.Overlaps(f) && x.Shade == 0 && a.Shade < 0.8 {
					t.Errorf("page %d: %q lies on grey %.2f", n+1, x.S, a.Shade)
				}
			}
		}
		for _, l := range d.Lines {
			if l.Shade > 0.5 {
				t.Errorf("page %d: a line is too pale to copy: %.2f", n+1, l.Shade)
			}
		}
	}
}

// From one piece to ten thousand, with forty steps, long names, many openings and
// letters of any kind.
func TestAnyJobIsSound(t *testing.T) {
	long := strings.Repeat("Escutcheon plate for the garden door, ", 12)
	odd := "ß ﬁ 中文 😀 é\u0301 \u202e<>&\"'\\ \x00\t⌀ µ ± ½ " + strings.Repeat("W", 90)
	for name, change := range map[string]func(p *fettle.Plan){
		"one piece":     func(p *fettle.Plan) { p.Brief.Lot = 1 },
		"ten thousand":  func(p *fettle.Plan) { p.Brief.Lot = 10_000 },
		"long title":    func(p *fettle.Plan) { p.Title, p.Shop, p.Survey.File = long, long, strings.ReplaceAll(long, " ", "_") },
		"odd letters":   func(p *fettle.Plan) { p.Title, p.Route[0].Name, p.Stock.Says, p.Brief.Notes = odd, odd, odd, odd },
		"nothing known": func(p *fettle.Plan) { *p = fettle.Plan{Route: fettle.Route{{}, {Kind: fettle.StepTumble}}} },
		"forty steps": func(p *fettle.Plan) {
			for own := len(p.Route); len(p.Route) < 40; {
				p.Route = append(p.Route, p.Route[len(p.Route)%own])
			}
		},
		"many openings": func(p *fettle.Plan) {
			for i := range 60 {
				o := p.Survey.Openings[i%4]
				o.ID = fmt.Sprintf("%s-%d", o.Kind, i+10)
				p.Survey.Openings = append(p.Survey.Openings, o)
			}
		},
	} {
		p := samplePlan()
		change(p)
		for _, size := range []Size{A4, Letter} {
			o := full(p)
			o.Size, o.Display, o.Link = size, fettle.Inch, nil
			pages, err := Pages(p, nil, o)
			if err != nil {
				t.Errorf("%s: %v", name, err)
				continue
			}
			bad := &named{name: name, t: t}
			sound(bad, pages, size)
			if name == "forty steps" && len(pages) > 30 {
				t.Errorf("forty steps take %d pages of %s", len(pages), size.Name)
			}
		}
	}
}

// named puts a name before what a test complains of.
type named struct {
	name string
	t    *testing.T
}

func (n *named) Errorf(format string, args ...any) {
	n.t.Helper()
	n.t.Errorf(n.name+": "+format, args...)
}
