package recipe

import (
	"bytes"
	"context"
	"encoding/json"
	"slices"
	"strings"
	"testing"

	"fettle"
	"fettle/internal/trade/finish"
	"fettle/internal/trade/learn"
	"fettle/internal/trade/stock"
	"fettle/internal/trade/tumble"

	"github.com/google/go-cmp/cmp"
)

// cube is a block of 20 mm, 12 of them.
var cube = fettle.Survey{File: "block.stl", Closed: true, SizeMM: [3]float64{20, 20, 20}, VolumeMM3: 8000, AreaMM2: 2400}

// made is a plan by hand: a ball's pass, edges, two papers, a wet charge and a dry one, on
// mild steel from the built-in shelf. Hours are whatever a test says.
func made(t testing.TB, shelf *fettle.Shelf, wetH, dryH fettle.Estimate) *fettle.Plan {
	t.Helper()
	mat, err := shelf.Material("mild steel")
	if err != nil {
		t.Fatal(err)
	}
	look, err := shelf.Look("bright")
	if err != nil {
		t.Fatal(err)
	}
	charge := func(media, vessel string, hours fettle.Estimate) *fettle.Charge {
		m, err := shelf.MediaNamed(media)
		if err != nil {
			t.Fatal(err)
		}
		v, err := shelf.Vessel(vessel)
		if err != nil {
			t.Fatal(err)
		}
		c, err := tumble.Plan(tumble.Load{
			PartVolumeMM3: cube.VolumeMM3, PartAreaMM2: cube.AreaMM2, PartSizeMM: cube.SizeMM, Lot: 12,
			Material: mat, Media: m, Vessel: v, Hours: hours, Cosmetic: true, Tone: fettle.ToneBright,
		})
		if err != nil {
			t.Fatal(err)
		}
		return &c
	}
	ra := func(v float64) fettle.Estimate { return fettle.LogNormal(v, 0.2, fettle.BasisGuess) }
	return &fettle.Plan{
		Title: "Blocks for the harbour office", Shop: "A shop", Material: mat, Look: look, Survey: cube,
		Brief: fettle.Brief{Material: "mild steel", Finish: "bright", Lot: 12, Notes: "for the harbour office"},
		Route: fettle.Route{
			{Key: "pass ball-8", Kind: fettle.StepSurface, Zone: "show", RaUM: ra(1.6), Pass: &fettle.Pass{Cutter: "ball-8", StepoverMM: 0.4, CuspUM: 5}},
			{Key: "pass flat-6", Kind: fettle.StepSurface, Zone: "sides", RaUM: ra(0.8), Pass: &fettle.Pass{Cutter: "flat-6"}},
			{Key: "deburr", Kind: fettle.StepDeburr, Zone: "show", RaUM: ra(1.6)},
			{Key: "rub P240", Kind: fettle.StepRub, Zone: "show", RaUM: ra(0.6), Rub: &fettle.Rub{Grit: "P240"}},
			{Key: "rub P400", Kind: fettle.StepRub, Zone: "show", RaUM: ra(0.4), Rub: &fettle.Rub{Grit: "P400"}},
			{Key: "tumble plastic-fine-cone-10 in wet barrel", Kind: fettle.StepTumble, Zone: "show", RaUM: ra(0.24), Charge: charge("plastic-fine-cone-10", "wet barrel", wetH)},
			{Key: "wash", Kind: fettle.StepWash, Zone: "show", RaUM: ra(0.24)},
			{Key: "tumble cob-2 in dry barrel", Kind: fettle.StepTumble, Zone: "show", RaUM: ra(0.1), Charge: charge("cob-2", "dry barrel", dryH)},
			{Key: "buff loose cotton", Kind: fettle.StepBuff, Zone: "show", RaUM: ra(0.08), Buff: &fettle.Buff{Mop: "loose cotton"}},
			{Key: "inspect", Kind: fettle.StepInspect, Zone: "show", RaUM: ra(0.08)},
		},
	}
}

func hours(v float64) fettle.Estimate { return fettle.LogNormal(v, 0.6, fettle.BasisGuess) }

func mapped(t testing.TB, r fettle.Recipe, shelf *fettle.Shelf, book *learn.Book) fettle.Mapping {
	t.Helper()
	m, err := Map(context.Background(), r, shelf, book)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

func ofCharge(t testing.TB, m fettle.Mapping, was string) fettle.MappedStep {
	t.Helper()
	for _, s := range m.Steps {
		if strings.Contains(s.Was, was) {
			return s
		}
	}
	t.Fatalf("no step %q", was)
	panic("unreached")
}

func TestARecipeHoldsNoCustomerAndNoMoney(t *testing.T) {
	shelf := stock.Shelf()
	r := Of(made(t, shelf, hours(8), hours(12)), shelf, nil, "fettle test")
	text, err := json.Marshal(r)
	if err != nil {
		t.Fatal(err)
	}
	for _, bad := range []string{"harbour", "A shop"} {
		if bytes.Contains(text, []byte(bad)) {
			t.Errorf("%q is in it", bad)
		}
	}
	var none fettle.Estimate
	priced := func(r fettle.Recipe) (n int) {
		for _, s := range r.Steps {
			for _, e := range []fettle.Estimate{
				deref(s.Cutter).Price, deref(s.Grit).PriceSheet, deref(s.Mop).BarCost, deref(s.Media).PricePerKg, deref(s.Vessel).RatePerH,
			} {
				if e != none {
					n++
				}
			}
		}
		if r.Material.PricePerKg != none {
			n++
		}
		return n
	}
	if n := priced(r); n != 0 {
		t.Errorf("%d prices", n)
	}
	if n := priced(Of(made(t, shelf, hours(8), hours(12)), shelf, nil, "fettle test", Options{Money: true})); n != 10 {
		t.Errorf("%d prices, want 10: 2 cutters, 2 papers, 2 media, 2 vessels, mop, metal", n)
	}
	if r.Title != "Bright on "+r.Material.Title || r.Tone != fettle.ToneBright || r.Lot != 12 || r.Piece.VolumeMM3 != 8000 {
		t.Errorf("%+v", r)
	}
	if shelf.Media[0].PricePerKg == none {
		t.Error("the shelf was changed")
	}
	if err := Validate(r); err != nil {
		t.Error(err)
	}
}

func deref[T any](p *T) T {
	if p == nil {
		var none T
		return none
	}
	return *p
}

func TestWhatWasLearnedGoesWithItsStep(t *testing.T) {
	shelf := stock.Shelf()
	moved := fettle.LogNormal(3, 0.1, "shop log (n = 5)")
	p := func(name, media, vessel string, c fettle.HardnessClass, tone fettle.Tone) fettle.Parameter {
		return fettle.Parameter{Name: name, Media: media, Vessel: vessel, Class: c, Tone: tone, Value: moved, Prior: fettle.LogNormal(2, 0.7, fettle.BasisGuess), N: 5}
	}
	wet := []string{"plastic-fine-cone-10", "wet barrel"}
	learned := []fettle.Parameter{
		p(learn.NameTime, wet[0], wet[1], fettle.ClassMildSteel, fettle.ToneBright),
		p(learn.NameTime, wet[0], "bowl", fettle.ClassMildSteel, fettle.ToneBright),
		p(learn.NameTime, wet[0], wet[1], fettle.ClassBrass, fettle.ToneBright),
		p(learn.NameTime, wet[0], wet[1], fettle.ClassMildSteel, fettle.ToneDark),
		p(learn.NameLimit, "cob-2", "dry barrel", fettle.ClassMildSteel, ""), // dry media have no tone
		p(learn.NameJam+", hole-1 of Harbour office", wet[0], wet[1], fettle.ClassMildSteel, fettle.ToneBright),
		p(learn.NamePace+", P400", "", "", fettle.ClassMildSteel, ""),
		{Name: learn.NameTake, Media: wet[0], Vessel: wet[1], Class: fettle.ClassMildSteel, Tone: fettle.ToneBright, Value: moved, Prior: moved},
	}
	r := Of(made(t, shelf, hours(8), hours(12)), shelf, learned, "x")
	got := map[string][]string{}
	for _, s := range r.Steps {
		for _, p := range s.Learned {
			got[s.Key] = append(got[s.Key], p.Name)
		}
	}
	want := map[string][]string{
		"tumble plastic-fine-cone-10 in wet barrel": {learn.NameTime},
		"tumble cob-2 in dry barrel":                {learn.NameLimit},
		"rub P400":                                  {learn.NamePace + ", P400"},
	}
	if d := cmp.Diff(want, got); d != "" {
		t.Error(d)
	}
}

// On the shelf that it came from all is the same and runs as long, whatever the log
// says, lent or its own.
func TestOntoItsOwnShelf(t *testing.T) {
	shelf := stock.Shelf()
	log := fettle.Logbook{Runs: []fettle.Run{{
		ID: "1", Kind: fettle.StepTumble, Material: "mild steel", Media: "plastic-fine-cone-10", Vessel: "wet barrel", Tone: fettle.ToneBright,
		Readings: []fettle.Reading{{Kind: fettle.ReadRa, Value: 0.9}, {Kind: fettle.ReadRa, AtH: 4, Value: 0.6}, {Kind: fettle.ReadRa, AtH: 9, Value: 0.4}, {Kind: fettle.ReadRa, AtH: 20, Value: 0.22}},
	}}}
	book, err := learn.Read(context.Background(), log, shelf)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name  string
		book  *learn.Book
		taken []fettle.Parameter
	}{{"guess", nil, nil}, {"lent", nil, book.Learned().Parameters}, {"own", book, book.Learned().Parameters}} {
		plan := made(t, shelf, hours(8), hours(12))
		r := Of(plan, shelf, c.taken, "x")
		if c.taken != nil && len(r.Steps[5].Learned) == 0 {
			t.Fatal("nothing was learned")
		}
		m := mapped(t, r, shelf, c.book)
		if !m.Ready || len(m.Missing) > 0 {
			t.Errorf("%s: %v", c.name, m.Missing)
		}
		for i, s := range m.Steps {
			if s.Grade != fettle.SameThing || s.Now != s.Was {
				t.Errorf("%s: %+v", c.name, s)
			}
			if ch := plan.Route[i].Charge; ch != nil {
				if d := cmp.Diff(&ch.Hours, s.HoursNow); d != "" || *s.HoursWas != ch.Hours {
					t.Errorf("%s: %s: %s", c.name, s.Was, d)
				}
			}
		}
		want := []fettle.StepWish{
			{Do: "keep", Step: "pass ball-8"}, {Do: "keep", Step: "deburr"}, {Do: "keep", Step: "rub P240"}, {Do: "keep", Step: "rub P400"},
			{Do: "keep", Step: "tumble plastic-fine-cone-10 in wet barrel", Hours: 8}, {Do: "keep", Step: "tumble cob-2 in dry barrel", Hours: 12},
			{Do: "keep", Step: "buff loose cotton"},
		}
		if d := cmp.Diff(want, m.Wishes); d != "" {
			t.Errorf("%s: %s", c.name, d)
		}
	}
}

// A plan that was searched for, written down, laid over the shelf of its own shop, and
// planned again by its wishes: the planner understands every one of them.
func TestAPlannedRecipeIsPlannedAgain(t *testing.T) {
	if testing.Short() {
		t.Skip("two searches")
	}
	shelf := stock.Shelf()
	// Fewer ways to search.
	shelf.Grits, shelf.Mops, shelf.Vessels, shelf.Cutters = shelf.Grits[3:4], nil, shelf.Vessels[2:3], shelf.Cutters[5:6]
	shelf.Looks = slices.DeleteFunc(shelf.Looks, func(l fettle.Look) bool { return l.Name != "matte" })
	var media []fettle.Media
	for _, n := range []string{"ceramic-general-6", "plastic-triangle-10"} {
		m, err := shelf.MediaNamed(n)
		if err != nil {
			t.Fatal(err)
		}
		media = append(media, m)
	}
	shelf.Media = media
	s := cube
	s.SharpEdgeMM = 240
	s.Zones = []fettle.Zone{{ID: "show", Name: "Show face", Class: fettle.Show, AreaMM2: 400, SizeMM: [3]float64{20, 20, 2}, Up: [3]float64{0, 0, 1}, SlopeDeg: fettle.Quantiles{P50: 3, P95: 8, Max: 10}, ConvexMM: 100}}
	brief := fettle.Brief{Material: "304", Finish: "matte", Lot: 12}
	first, err := finish.Plan(context.Background(), finish.Input{Survey: s, Shelf: shelf, Brief: brief})
	if err != nil {
		t.Fatal(err)
	}
	r := Of(first, shelf, nil, "x")
	m := mapped(t, r, shelf, nil)
	charges := 0
	for i, st := range m.Steps {
		if st.Grade != fettle.SameThing {
			t.Errorf("%+v", st)
		}
		if ch := first.Route[i].Charge; ch != nil {
			charges++
			if *st.HoursNow != ch.Hours {
				t.Errorf("%v, want %v", st.HoursNow, ch.Hours)
			}
		}
	}
	if charges == 0 {
		t.Fatal("the plan has no charge")
	}
	brief.Steps = m.Wishes
	again, err := finish.Plan(context.Background(), finish.Input{Survey: s, Shelf: shelf, Brief: brief})
	if err != nil {
		t.Fatal(err)
	}
	// All wishes in their order; pinned hours may leave it something to add.
	left := m.Wishes
	for _, s := range again.Route {
		if len(left) > 0 && s.Key == left[0].Step {
			if s.Charge != nil && s.Charge.Hours.Value != left[0].Hours {
				t.Errorf("%s runs %g h, want %g", s.Key, s.Charge.Hours.Value, left[0].Hours)
			}
			left = left[1:]
		}
	}
	if len(left) > 0 {
		t.Errorf("not kept: %v", left)
	}
}
