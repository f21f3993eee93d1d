package finish

import (
	"math"
	"reflect"
	"slices"
	"testing"

	"fettle"
	"fettle/internal/trade/law"
	"fettle/internal/trade/stock"
)

// ladderOf is a plan over a small shelf with its ladder.
func ladderOf(t *testing.T, look string, lot int, change func(*fettle.Shelf, *fettle.Brief)) *fettle.Plan {
	t.Helper()
	shelf := stock.Shelf()
	keep := []string{"plastic-cone-15", "plastic-fine-cone-20", "cob-2"}
	shelf.Media = slices.DeleteFunc(shelf.Media, func(m fettle.Media) bool { return !slices.Contains(keep, m.Name) })
	in := Input{Survey: plate(), Shelf: shelf, Reach: freely(shelf), Brief: fettle.Brief{Material: "naval brass", Finish: look, Lot: lot}}
	if change != nil {
		change(shelf, &in.Brief)
	}
	pl, err := oneWay(in)
	if err != nil {
		t.Fatal(err)
	}
	return pl
}

// Other lots by the same route: what is paid once is the same, a piece never costs
// more in a larger lot, a lot never less; and the rung of the plan's own lot is its
// price.
func TestLadderOfAPlan(t *testing.T) {
	for _, look := range []string{"satin", "stonewash", "bright"} {
		pl := ladderOf(t, look, 10, nil)
		l := pl.Price.Ladder
		if len(l) != 4 {
			t.Fatalf("%s: %d rungs", look, len(l))
		}
		if !reflect.DeepEqual(l[1], pl.Price.LotPrice) {
			t.Errorf("%s: the rung of 10 is\n%+v\nthe price\n%+v", look, l[1], pl.Price.LotPrice)
		}
		once := func(l fettle.LotPrice) (out []fettle.Cost) {
			for _, line := range l.Lines {
				if line.Once {
					out = append(out, line.Cost)
				}
			}
			return out
		}
		for i := 1; i < len(l); i++ {
			if l[i].Each.Value.Minor > l[i-1].Each.Value.Minor || l[i].Cost.Value.Minor < l[i-1].Cost.Value.Minor {
				t.Errorf("%s: %d pieces at %s, %d at %s", look, l[i-1].Lot, l[i-1].Each.Value, l[i].Lot, l[i].Each.Value)
			}
			if !reflect.DeepEqual(once(l[i]), once(l[0])) || len(once(l[0])) < 4 {
				t.Errorf("%s: once %v for a lot of %d, %v for one", look, once(l[i]), l[i].Lot, once(l[0]))
			}
		}
		p := &planner{in: Input{Shelf: stock.Shelf()}}
		o := p.offer(pl, true)
		if len(o.Ladder) != 4 || o.Ladder[3].Each != l[3].Each || o.Ladder[3].Price != l[3].Price || o.Ladder[3].Lot != 1000 {
			t.Errorf("%s: the offer's ladder is %+v", look, o.Ladder)
		}
	}
}

// With learning the same steps by hand take Σ i^log2(rate) for i up to the lot and not
// the lot times the first piece; a charge and the mill take what they took. Without a
// rate on the shelf or with one of 1 in the brief all is as if there were none.
func TestHandworkIsLearned(t *testing.T) {
	const lot = 16
	p := small(t, "satin", []string{"plastic-fine-cone-20"}, []string{"P240", "P360"}, nil, 2)
	p.in.Brief.Lot, p.in.Shelf.Rates.Learning, p.in.Brief.Learning = lot, fettle.Learning{Rate: 0.95}, 1
	p.learnedLot = p.learning().Lot(lot)
	deburr, rub := &move{kind: fettle.StepDeburr, key: "deburr"}, &move{kind: fettle.StepRub, key: "rub P240", grit: &p.in.Shelf.Grits[0], lay: strokeLay(0)}
	tumble := &move{kind: fettle.StepTumble, key: "tumble", bath: p.baths[0]}
	kit := p.newKit(law.Sample(12))
	ws := p.work(kit, kit.replay([]*move{{kind: fettle.StepSurface, key: p.options[0].key, pass: p.options[0]}, deburr, rub, tumble}))
	at := func(shelf fettle.Learning, brief float64) fettle.Route {
		p.in.Shelf.Rates.Learning, p.in.Brief.Learning = shelf, brief
		r, err := p.forLot(ws, lot)
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	flat, none, learned := at(fettle.Learning{Rate: 0.8}, 1), at(fettle.Learning{}, 0), at(fettle.Learning{Rate: 0.95, Until: lot}, 0.8)
	if !reflect.DeepEqual(flat, none) {
		t.Error("a rate of 1 in the brief is not none on the shelf")
	}
	sum := 0.0
	for i := 1; i <= lot; i++ {
		sum += math.Pow(float64(i), math.Log2(0.8))
	}
	for i, s := range flat {
		a, b, want := s.MinutesAttended.Value, learned[i].MinutesAttended.Value, s.MinutesAttended.Value
		switch s.Kind {
		case fettle.StepDeburr, fettle.StepRub, fettle.StepInspect:
			want = a * sum / lot
		}
		if math.Abs(b-want) > 1e-9*a || s.MinutesAlone != learned[i].MinutesAlone || a+s.MinutesAlone.Value == 0 {
			t.Errorf("%s: %g min without learning and %g with, want %g", s.Key, a, b, want)
		}
		if s.Kind == fettle.StepInspect && math.Abs(a-lot*inspectMin.Value) > 1e-9 {
			t.Errorf("inspection of %d takes %g min", lot, a)
		}
	}
}

// The search reckons handwork as the price does: with learning a route by hand costs as
// much less as its steps do.
func TestSearchLearnsAsThePriceDoes(t *testing.T) {
	for _, rate := range []float64{1, 0.9, 0.7} {
		p, err := newPlanner(noContext, Input{Survey: plate(), Shelf: stock.Shelf(), Brief: fettle.Brief{Material: "naval brass", Finish: "satin", Lot: 40, Learning: rate}})
		if err != nil {
			t.Fatal(err)
		}
		kit := p.newKit(law.Sample(12))
		n := &node{grain: math.Inf(1), limit: math.Inf(1)}
		grit := &p.in.Shelf.Grits[slices.IndexFunc(p.in.Shelf.Grits, func(g fettle.Grit) bool { return g.Name == "P240" })]
		moves := []*move{{kind: fettle.StepSurface, key: p.options[0].key, pass: p.options[0]}, {kind: fettle.StepDeburr, key: "deburr"}, {kind: fettle.StepRub, key: "rub P240", grit: grit, lay: strokeLay(0)}}
		for _, m := range moves {
			n = kit.after(n, m)
		}
		route, err := p.forLot(p.work(kit, kit.replay(moves)), 40)
		if err != nil {
			t.Fatal(err)
		}
		steps := 0.0
		for _, s := range route {
			steps += s.MinutesAttended.Value
		}
		if got := n.minutes + p.endMinutes(); math.Abs(got-steps) > 1e-9*steps {
			t.Errorf("at %g the search reckons with %g min by hand, the steps with %g", rate, got, steps)
		}
	}
}

// With so few media on the shelf that one part alone does not fill the vessel, a smaller
// lot of the ladder is filled up like the lot of the plan.
func TestLadderWithFewMedia(t *testing.T) {
	shelf := stock.Shelf()
	in := Input{Survey: plate(), Shelf: shelf, Reach: freely(shelf), Brief: fettle.Brief{Material: "naval brass", Finish: "matte", Lot: 30}}
	p, err := newPlanner(noContext, in)
	if err != nil {
		t.Fatal(err)
	}
	b := *p.baths[0]
	one, err := p.charge(b, fettle.Exactly(1, fettle.BasisGuess), 1)
	if err != nil {
		t.Fatal(err)
	}
	b.OnShelfL = 0.59 * one.MediaL // under what a single part wants
	if _, err := p.charge(b, fettle.Exactly(1, fettle.BasisGuess), 1); fettle.CodeOf(err) != fettle.No {
		t.Fatalf("a single part: %v", err)
	}
	for _, lot := range []int{1, 7, 30, 200} {
		ch, err := p.chargeFor(b, fettle.Exactly(1, fettle.BasisGuess), lot)
		if err != nil {
			t.Fatalf("%d: %v", lot, err)
		}
		if (ch.Loads-1)*ch.PartsPerLoad+ch.LastLoadParts != lot || ch.LastLoadParts < 1 {
			t.Errorf("%d pieces in %d loads of %d, the last of %d", lot, ch.Loads, ch.PartsPerLoad, ch.LastLoadParts)
		}
	}
}

// Where finishing makes the price, the plan names the step that costs most and what a
// simpler finish would cost.
func TestDearestNamesTheSimplerFinish(t *testing.T) {
	p := &planner{in: Input{Shelf: stock.Shelf()}}
	pl := &fettle.Plan{Look: fettle.Look{Name: "mirror", RaUM: sureUM(0.015)}}
	pl.Price.Each = fettle.CostOf(sureUM(90), "USD")
	pl.Price.Dearest = &fettle.Dearest{Says: "finishing makes 70 % of the price"}
	offer := func(look string, each float64) fettle.Offer {
		l, err := p.in.Shelf.Look(look)
		if err != nil {
			t.Fatal(err)
		}
		return fettle.Offer{Look: look, Title: l.Title, Each: fettle.CostOf(sureUM(each), "USD")}
	}
	p.simpler(pl, []fettle.Offer{offer("mirror", 90), offer("satin", 30), offer("bright", 55)})
	if want := "finishing makes 70 % of the price; the next simpler finish, bright, would cost USD 55.00 a piece"; pl.Price.Dearest.Says != want {
		t.Errorf("it says %q", pl.Price.Dearest.Says)
	}
	pl.Price.Dearest.Says = "so"
	p.simpler(pl, []fettle.Offer{offer("mirror", 90), offer("bright", 95)})
	if pl.Price.Dearest.Says != "so" {
		t.Errorf("a finish that costs more is offered: %q", pl.Price.Dearest.Says)
	}
}

func sureUM(v float64) fettle.Estimate { return fettle.Exactly(v, "agreed") }
