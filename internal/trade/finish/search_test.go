package finish

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"fettle"
	"fettle/internal/trade/law"
	"fettle/internal/trade/price"
	"fettle/internal/trade/search"
	"fettle/internal/trade/stock"

	"pgregory.net/rapid"
)

// small is a shelf of a few things, with the plate's brief.
func small(t interface{ Fatal(...any) }, look string, media, grits, mops []string, passes int) *planner {
	full := stock.Shelf()
	shelf := *full
	pick := func(name string, from []string) bool { return slices.Contains(from, name) }
	shelf.Media = slices.DeleteFunc(shelf.Media, func(m fettle.Media) bool { return !pick(m.Name, media) })
	shelf.Grits = slices.DeleteFunc(shelf.Grits, func(g fettle.Grit) bool { return !pick(g.Name, grits) })
	shelf.Mops = slices.DeleteFunc(shelf.Mops, func(m fettle.Mop) bool { return !pick(m.Name, mops) })
	p, err := newPlanner(noContext, Input{Survey: plate(), Shelf: &shelf, Reach: freely(&shelf), Brief: fettle.Brief{Material: "naval brass", Finish: look, Lot: 12}})
	if err != nil {
		t.Fatal(err)
	}
	p.options = p.options[:min(passes, len(p.options))]
	return p
}

// The route that the search finds is the best of all routes, tried one by one without
// bounds and without one face standing for another, for each aim.
func TestSearchEqualsBruteForce(t *testing.T) {
	full := stock.Shelf()
	names := func(n int) []string {
		var out []string
		switch n {
		case 0:
			for _, m := range full.Media {
				out = append(out, m.Name)
			}
		case 1:
			for _, g := range full.Grits[6:16] {
				out = append(out, g.Name)
			}
		default:
			for _, m := range full.Mops {
				out = append(out, m.Name)
			}
		}
		return out
	}
	draw := func(t *rapid.T, label string, from []string, most int) []string {
		return rapid.SliceOfNDistinct(rapid.SampledFrom(from), 0, most, rapid.ID).Draw(t, label)
	}
	runs := 0
	rapid.Check(t, func(t *rapid.T) {
		if runs++; runs > 40 { // each is a brute force
			return
		}
		look := rapid.SampledFrom(full.Looks).Draw(t, "look").Name
		p := small(t, look, draw(t, "media", names(0), 2), draw(t, "grits", names(1), 3), draw(t, "mops", names(2), 1), 2)
		if testing.Short() && runs > 8 {
			return
		}
		for _, aim := range aims {
			most := 0.0
			if aim == fettle.Surest {
				most = 1e4
			}
			kit := p.newKit(law.Sample(12))
			p.rb = p.base.clone()
			quick, err := search.Best(noContext, p.problem(kit, aim, most, p.options), search.Options{})
			if err != nil {
				t.Fatal(err)
			}
			p.rb = p.base.clone()
			all, err := search.All(noContext, p.problem(p.newKit(law.Sample(12)), aim, most, p.options))
			if err != nil {
				t.Fatal(err)
			}
			if quick.Found != all.Found || math.Abs(quick.Score-all.Score) > 1e-9*all.Score {
				t.Fatalf("%s, %s: the search finds %.9g in %d ways, all %d have %.9g", look, aim, quick.Score, quick.Ways, all.Ways, all.Score)
			}
			if !quick.Proved {
				t.Fatalf("%s, %s: nothing is proved", look, aim)
			}
		}
	})
}

// The bound never lies above what a route that follows really scores.
func TestBoundsHold(t *testing.T) {
	p := small(t, "bright", []string{"ceramic-general-8", "cob-2"}, []string{"P240", "P400"}, []string{"sewn cotton"}, 2)
	kit := p.newKit(law.Sample(12))
	p.rb = p.base.clone()
	pr := p.problem(kit, fettle.LeastMoney, 0, p.options)
	checked := 0
	var walk func(n *node, floor float64)
	walk = func(n *node, floor float64) {
		floor = math.Max(floor, pr.Bound(n))
		if v, ok := pr.Value(n); ok {
			checked++
			if v < floor-1e-9 {
				t.Errorf("%v scores %.6g under a bound of %.6g", keysOf(n), v, floor)
			}
		}
		pr.Next(n, func(m *node) { walk(m, floor) })
	}
	for _, n := range pr.Start {
		walk(n, 0)
	}
	if checked < 50 {
		t.Errorf("only %d routes were checked", checked)
	}
}

func keysOf(n *node) []string {
	var out []string
	for _, m := range n.last.list() {
		out = append(out, m.key)
	}
	return out
}

// What the search reckons a route to cost is what its steps cost, but for the number
// of worlds.
func TestSearchCostsWhatTheStepsCost(t *testing.T) {
	for _, look := range []string{"as machined", "satin", "stonewash", "bright"} {
		p, err := newPlanner(t.Context(), Input{Survey: plate(), Shelf: stock.Shelf(), Brief: fettle.Brief{Material: "naval brass", Finish: look, Lot: 500}})
		if err != nil {
			t.Fatal(err)
		}
		r, err := p.find(t.Context(), fettle.LeastMoney, 0, p.options)
		if err != nil {
			t.Fatal(err)
		}
		c := p.tell(r)
		ws := p.work(c.t, c.stages)
		prices, err := price.Of(500, func(lot int) (price.Job, error) { return p.job(ws, lot) })
		if err != nil {
			t.Fatal(err)
		}
		// What the route itself costs: its lines, a twentieth of them for lost pieces, and
		// one piece by itself for the customer.
		rubs := 0
		again, sum := 1/(1-p.in.Shelf.Rates.ScrapShare), 0.0
		finishing := func(l fettle.LotPrice, times, inspected float64) {
			for _, line := range l.Lines {
				switch line.Key {
				case fettle.LinePass, fettle.LineHand, fettle.LineBarrel, fettle.LinePaper, fettle.LineMediaWear, fettle.LineCompound, fettle.LinePolish:
					sum += times * line.Cost.Value.Major()
				case fettle.LineInspect:
					sum += inspected * line.Cost.Value.Major()
				}
			}
		}
		finishing(prices.LotPrice, again, 1)
		finishing(prices.Ladder[0], p.in.Shelf.Rates.SampleLoops, 0)
		for _, s := range ws {
			if s.step.Pass != nil {
				c, err := p.in.Shelf.Cutter(s.step.Pass.Cutter)
				if err != nil {
					t.Fatal(err)
				}
				worn := s.alone.Value / 60 * price.CutterPerH(c, p.mat).Value
				sum += p.spent(500*worn, worn)
			}
			if s.step.Rub != nil && rubs == 0 {
				sum += p.blockCost()
				rubs++
			}
		}
		got := r.cost + p.endMinutes()*p.in.Shelf.Rates.PersonPerH.Value/60
		if math.Abs(got-sum) > 0.05*sum {
			t.Errorf("%s: searched at %.2f, the steps cost %.2f", look, got, sum)
		}
		if math.Abs(c.says.chance-r.verdict.chance) > 0.08 {
			t.Errorf("%s: searched with a chance of %.2f, told with %.2f", look, r.verdict.chance, c.says.chance)
		}
	}
}

// Steps that are kept are there, steps that are dropped are not, and the rest is solved
// again.
func TestWishesAreKept(t *testing.T) {
	if testing.Short() {
		t.Skip("long under the race detector, which other tests of this room feed")
	}
	has := func(pl *fettle.Plan, key string) bool {
		return slices.ContainsFunc(pl.Route, func(s fettle.Step) bool { return s.Key == key })
	}
	shelf := stock.Shelf()
	shelf.Media = slices.DeleteFunc(shelf.Media, func(m fettle.Media) bool {
		return !slices.Contains([]string{"plastic-cone-15", "plastic-fine-cone-20", "cob-2"}, m.Name)
	})
	plan := func(look string, steps ...fettle.StepWish) (*fettle.Plan, error) {
		return oneWay(Input{Survey: plate(), Shelf: shelf, Brief: fettle.Brief{Material: "naval brass", Finish: look, Lot: 12, Steps: steps}})
	}
	free, err := plan("satin")
	if err != nil {
		t.Fatal(err)
	}
	last := free.Route[len(free.Route)-2].Key
	for name, c := range map[string]struct {
		steps []fettle.StepWish
		ok    func(*fettle.Plan) bool
	}{
		"keep":     {[]fettle.StepWish{{Do: "keep", Step: "P240"}}, func(pl *fettle.Plan) bool { return has(pl, "rub P240") }},
		"drop":     {[]fettle.StepWish{{Do: "drop", Step: last}}, func(pl *fettle.Plan) bool { return !has(pl, last) && pl.Meets }},
		"replace":  {[]fettle.StepWish{{Do: "replace", Step: last, With: "rub p800"}}, func(pl *fettle.Plan) bool { return !has(pl, last) && has(pl, "rub P800") }},
		"pass":     {[]fettle.StepWish{{Do: "keep", Step: "pass ball-10"}}, func(pl *fettle.Plan) bool { return pl.Route[0].Pass.Cutter == "ball-10" }},
		"a vessel": {[]fettle.StepWish{{Do: "drop", Step: "bowl"}}, func(pl *fettle.Plan) bool { return !strings.Contains(fmt.Sprint(keys(pl.Route)), "in bowl") }},
		"with hours": {[]fettle.StepWish{{Do: "keep", Step: "plastic-cone-15 in wet barrel", Hours: 5}}, func(pl *fettle.Plan) bool {
			return len(pl.Charges) > 0 && slices.ContainsFunc(pl.Charges, func(c fettle.Charge) bool {
				return c.Media == "plastic-cone-15" && c.Hours.Value == 5 && c.Hours.High == 5
			})
		}},
	} {
		pl, err := plan("satin", c.steps...)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if !c.ok(pl) {
			t.Errorf("%s: the route is %v", name, keys(pl.Route))
		}
	}
	for name, c := range map[string]struct {
		steps []fettle.StepWish
		code  fettle.Code
		says  string
	}{
		"nothing of the name":   {[]fettle.StepWish{{Do: "keep", Step: "rub P4000"}}, fettle.Invalid, "rub P4000"},
		"no such wish":          {[]fettle.StepWish{{Do: "love", Step: "P400"}}, fettle.Invalid, "keep, drop or replace"},
		"hours":                 {[]fettle.StepWish{{Do: "keep", Step: "cob-2", Hours: -1}}, fettle.Invalid, "above zero"},
		"a rule stands against": {[]fettle.StepWish{{Do: "keep", Step: "P240"}, {Do: "keep", Step: "P2000"}, {Do: "drop", Step: "P400"}, {Do: "drop", Step: "P500"}, {Do: "drop", Step: "P360"}, {Do: "drop", Step: "P320"}, {Do: "drop", Step: "P280"}, {Do: "drop", Step: "P600"}}, fettle.No, ruleGritStep},
	} {
		_, err := plan("satin", c.steps...)
		if fettle.CodeOf(err) != c.code || !strings.Contains(fmt.Sprint(err), c.says) {
			t.Errorf("%s: %v, want %s with %q", name, err, c.code, c.says)
		}
	}
}

// A rule that is set aside stands against nothing, and a name that is none is told.
func TestRulesCanBeSetAside(t *testing.T) {
	in := Input{Survey: plate(), Shelf: stock.Shelf(), Brief: fettle.Brief{Material: "naval brass", Finish: "satin", Lot: 12}}
	in.Brief.SetAside = []string{"no-such-rule"}
	if _, err := oneWay(in); fettle.CodeOf(err) != fettle.Invalid || !strings.Contains(err.Error(), ruleGritStep) {
		t.Errorf("an unknown rule: %v", err)
	}
	in.Brief.SetAside = []string{ruleGritStep}
	in.Brief.Steps = []fettle.StepWish{{Do: "keep", Step: "P240"}, {Do: "keep", Step: "P2000"}}
	for _, g := range stock.Shelf().Grits {
		if g.Name != "P240" && g.Name != "P2000" {
			in.Brief.Steps = append(in.Brief.Steps, fettle.StepWish{Do: "drop", Step: g.Name})
		}
	}
	pl, err := oneWay(in)
	if err != nil {
		t.Fatal(err)
	}
	if ks := keys(pl.Route); !slices.Contains(ks, "rub P2000") || !slices.Contains(ks, "rub P240") {
		t.Errorf("with the rule aside the route is %v", ks)
	}
	i := slices.IndexFunc(pl.Rules, func(r fettle.Rule) bool { return r.ID == ruleGritStep })
	if !pl.Rules[i].SetAside || pl.Rules[i].Cut == 0 || !slices.ContainsFunc(pl.Warnings, func(w string) bool { return strings.HasPrefix(w, "set aside") }) {
		t.Errorf("the rule is told as %+v and warned of in %v", pl.Rules[i], pl.Warnings)
	}
}

// Wet work is dried before what must be dry, and washed off between media, unless the
// brief sets that aside.
func TestDryingAndWashing(t *testing.T) {
	shelf := stock.Shelf()
	shelf.Mops = nil
	shelf.Media = slices.DeleteFunc(shelf.Media, func(m fettle.Media) bool { return m.Name != "cob-2" && m.Name != "ceramic-fine-5" })
	grits := slices.Clone(shelf.Grits)
	kinds := func(aside []string, steps ...string) string {
		t.Helper()
		shelf.Grits = slices.DeleteFunc(slices.Clone(grits), func(g fettle.Grit) bool { return !slices.Contains(steps, rubKey(g.Name)) })
		in := Input{Survey: plate(), Shelf: shelf, Reach: freely(shelf), Brief: fettle.Brief{Material: "naval brass", Finish: "bright", Lot: 12, SetAside: aside}}
		for _, s := range steps {
			in.Brief.Steps = append(in.Brief.Steps, fettle.StepWish{Do: "keep", Step: s})
		}
		pl, err := oneWay(in)
		if err != nil {
			t.Fatal(err)
		}
		var out []string
		for _, s := range pl.Route[1:] {
			if s.Kind != fettle.StepSurface {
				out = append(out, s.Key)
			}
		}
		return strings.Join(out, ", ")
	}
	drop := func(route, from string) string {
		_, after, _ := strings.Cut(route, from)
		return after
	}
	if got := drop(kinds(nil, "rub P600", "cob-2 in dry barrel"), "rub P600"); got != ", dry, tumble cob-2 in dry barrel, wash, inspect" {
		t.Errorf("after P600: %s", got)
	}
	if got := drop(kinds([]string{ruleDryForDry}, "rub P600", "cob-2 in dry barrel"), "rub P600"); got != ", tumble cob-2 in dry barrel, wash, inspect" {
		t.Errorf("after P600, with drying set aside: %s", got)
	}
	const two = ", tumble cob-2 in dry barrel"
	if got := kinds([]string{ruleStartFine}, "ceramic-fine-5 in wet barrel", "cob-2 in dry barrel"); !strings.Contains(got, ", wash"+two) || strings.Contains(got, "dry, ") {
		t.Errorf("two charges: %s", got)
	}
	if got := kinds([]string{ruleStartFine, ruleWashBetween}, "ceramic-fine-5 in wet barrel", "cob-2 in dry barrel"); !strings.Contains(got, ", dry"+two+", wash, inspect") || strings.Contains(got, "wash, tumble") {
		t.Errorf("two charges, with washing set aside: %s", got)
	}
}
