package finish

import (
	"math"
	"slices"
	"strings"
	"testing"

	"fettle"
	"fettle/internal/trade/learn"
	"fettle/internal/trade/stock"
)

// freely is a shelf's media that touch everything and jam nowhere.
func freely(shelf *fettle.Shelf) *fettle.Reach {
	r := &fettle.Reach{Plugs: []fettle.Plug{{Opening: "slot-1", Says: "close it"}}}
	for _, m := range shelf.Media {
		x := fettle.MediaReach{Name: m.Name, Title: m.Title, ReachedShare: 1, WornShare: 1}
		for _, z := range plate().Zones {
			x.Zones = append(x.Zones, fettle.ZoneReach{Zone: z.ID, ReachedShare: 1, WornShare: 1, Exposure: 1, Removal: 1})
		}
		r.Media = append(r.Media, x)
	}
	for _, o := range plate().Openings {
		r.Allowances = append(r.Allowances, fettle.FaceAllowance{Opening: o.ID, Place: o.ID, Ratio: 0.5})
	}
	return r
}

// What the void says of media decides whether they are used: those that jam or do
// not touch the face are left out, each with its reason, and never run.
func TestMediaThatJamOrMissTheFaceAreLeftOut(t *testing.T) {
	if testing.Short() {
		t.Skip("long under the race detector, which other tests of this room feed")
	}
	shelf := stock.Shelf()
	plan := func(r *fettle.Reach) *fettle.Plan {
		t.Helper()
		pl, err := oneWay(Input{
			Survey: plate(), Shelf: shelf, Reach: r,
			Brief: fettle.Brief{Material: "304", Finish: "stonewash", Lot: 12, Title: "Plate"},
		})
		if err != nil {
			t.Fatal(err)
		}
		return pl
	}
	all := plan(freely(shelf))
	if len(all.Charges) == 0 || len(all.Plugs) != 1 {
		t.Fatalf("%d charges and %d plugs where all media may be used", len(all.Charges), len(all.Plugs))
	}
	if all.Charges[0].ReachedShare != 1 {
		t.Errorf("the charge reaches %g of the face", all.Charges[0].ReachedShare)
	}
	used := all.Charges[0].Media

	r := freely(shelf)
	i := slices.IndexFunc(r.Media, func(m fettle.MediaReach) bool { return m.Name == used })
	r.Media[i].Zones[0].ReachedShare = 0.9
	r.Media[i].Leaves = []fettle.LeftAsCut{{Zone: "show", Says: "The hollow round hole-1 stays as cut."}}
	missing := plan(r)
	told := func(pl *fettle.Plan, parts ...string) bool {
		return slices.ContainsFunc(pl.LeftOut, func(s string) bool {
			return !slices.ContainsFunc(parts, func(p string) bool { return !strings.Contains(s, p) })
		})
	}
	if !told(missing, r.Media[i].Title, "touches 90 % of the show face", "the hollow round hole-1 stays as cut") {
		t.Errorf("media that miss a tenth of the face are left out as %q", missing.LeftOut)
	}
	r = freely(shelf)
	r.Media[i].Jams = []fettle.Jam{{Opening: "hole-2", Media: used, State: fettle.Worn, Enters: fettle.CanBeHeld, Why: "it locks across hole-2", Chance: fettle.Chance{Word: "real", P: 0.3}}}
	jamming := plan(r)
	if !told(jamming, r.Media[i].Title, "locks across hole-2") {
		t.Errorf("media that jam are left out as %q", jamming.LeftOut)
	}
	for _, pl := range []*fettle.Plan{missing, jamming} {
		for _, c := range pl.Charges {
			if c.Media == used {
				t.Errorf("%s is run all the same", used)
			}
		}
	}

	// A second face that is looked at is spoken of.
	second := freely(shelf)
	for k := range second.Media {
		second.Media[k].Zones[1].ReachedShare = 0.6
	}
	pl, err := oneWay(Input{
		Survey: plate(), Shelf: shelf, Reach: second,
		Brief: fettle.Brief{Material: "304", Finish: "stonewash", Lot: 12, Title: "Plate", Show: []string{"show", "sides"}},
	})
	if err != nil {
		t.Fatal(err)
	}
	if len(pl.Charges) == 0 || !slices.ContainsFunc(pl.Warnings, func(w string) bool { return strings.Contains(w, "touches 60 % of the sides") }) {
		t.Errorf("%d charges, warnings %q", len(pl.Charges), pl.Warnings)
	}

	// Walls that lie half as openly lose half as much as the back, which lies open.
	back, wall := all.AllowanceUM["back"], all.AllowanceUM["hole-1"]
	if math.Abs(wall.Value-back.Value/2) > 1e-9 || !(wall.Low < wall.Value && wall.Value < wall.High) {
		t.Errorf("%+v is left on the wall and %+v on the back", wall, back)
	}
}

// What was counted on a part wins over what was worked out for it, for that part alone.
func TestCountedJamsWin(t *testing.T) {
	shelf := stock.Shelf()
	log := fettle.Logbook{Runs: []fettle.Run{{
		ID: "a", Part: "Plate", Material: "304", Kind: fettle.StepTumble, Media: "ceramic-fine-5", Vessel: "bowl", Pieces: 40,
		Readings: []fettle.Reading{{Kind: fettle.ReadJammed, AtH: 2, Value: 20, Place: "slot-1"}},
	}}}
	book, err := learn.Read(t.Context(), log, shelf)
	if err != nil {
		t.Fatal(err)
	}
	for title, want := range map[string]bool{"plate": true, "lid": false} {
		in := Input{Survey: plate(), Shelf: shelf, Book: book, Reach: freely(shelf), Brief: fettle.Brief{Material: "304", Finish: "matte", Lot: 12, Title: title}}
		in.Survey.File = title + ".stl"
		for i := range in.Reach.Media {
			if m := &in.Reach.Media[i]; m.Name == "ceramic-fine-5" {
				m.Jams = []fettle.Jam{{Opening: "slot-1", Media: m.Name, Chance: fettle.ChanceOf(0.01), Why: "worked out"}}
			}
		}
		p, err := newPlanner(t.Context(), in)
		if err != nil {
			t.Fatal(err)
		}
		told := slices.ContainsFunc(p.refused, func(s string) bool {
			return strings.Contains(s, "shop log (n = 40)") && strings.Contains(s, "of 50 in 100 parts")
		})
		if told != want {
			t.Errorf("%s: counted %v, want %v: %v", title, told, want, p.refused)
		}
	}
}
