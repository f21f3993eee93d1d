package finish

import (
	"context"
	"fmt"
	"math"
	"slices"

	"fettle"
	"fettle/internal/shape/cores"
	"fettle/internal/trade/law"
)

// aims are the three ways that are laid side by side.
var aims = []fettle.Aim{fettle.LeastMoney, fettle.Soonest, fettle.Surest}

// nearEnough is how much worse a route may come out than the search said before its
// pass was on trial, and still be taken; past it the other passes are asked again.
const nearEnough = 0.03

// mostTrials bounds how often a pass that was chosen is put on trial and loses.
const mostTrials = 3

// settle finds the route to an aim whose pass has been on trial. The pass that the
// search chooses by closed forms is simulated, and the rest is solved again from what
// it leaves. By its closed forms no other pass does better than the score before the
// trial, so that score is what is proved; where the route comes out much worse the
// search runs over all passes again.
func (p *planner) settle(ctx context.Context, aim fettle.Aim, most float64) (*route, error) {
	for trial := 1; ; trial++ {
		r, err := p.find(ctx, aim, most, p.options)
		if err != nil || r.pass().sim {
			return r, err
		}
		o, err := p.trial(ctx, r.pass())
		if err != nil {
			return nil, err
		}
		again, err := p.find(ctx, aim, most, []*option{o})
		if fettle.CodeOf(err) == fettle.No && trial < mostTrials {
			continue
		}
		if err != nil {
			return nil, err
		}
		worse := math.Max(0, 1-r.score/again.score)
		if worse > nearEnough && trial < mostTrials {
			continue
		}
		again.found.Ways += r.found.Ways
		again.found.Cut += r.found.Cut
		again.found.Within = math.Max(again.found.Within, math.Max(worse, r.found.Within))
		again.found.Proved = again.found.Proved && r.found.Proved && worse < sameScore
		return again, nil
	}
}

// sameScore is a difference that money is not told to.
const sameScore = 1e-3

// pass is the finishing pass of a route.
func (n *node) pass() *option { return n.last.list()[0].pass }

// told is a route with its stages in the worlds in which it is told.
type told struct {
	*route
	t      *kit
	stages []stage
	says   verdict
}

func (p *planner) tell(r *route) *told {
	t := p.newKit(law.Sample(tellWorlds))
	stages := t.replay(withLays(r.last.list()))
	return &told{route: r, t: t, stages: stages, says: p.need.judge(stages[len(stages)-1].face)}
}

// end is the face as it comes out.
func (c *told) end() *law.Surface { return c.stages[len(c.stages)-1].face }

// chosen is the plan for an aim.
func (p *planner) chosen(ctx context.Context, aim fettle.Aim, most float64) (*fettle.Plan, *told, error) {
	r, err := p.settle(ctx, aim, most)
	if err != nil {
		return nil, nil, err
	}
	c := p.tell(r)
	pl, err := p.compose(ctx, c)
	return pl, c, err
}

// plan answers the brief: the route to its aim, the other two beside it, and the
// finishes next to it, which are worked out at the same time.
func (p *planner) plan(ctx context.Context) (*fettle.Plan, []*fettle.Plan, error) {
	looks := p.neighbours()
	others := make([]*fettle.Plan, len(looks))
	errs := make([]error, len(looks)+1)
	var plan *fettle.Plan
	var offers []fettle.Offer
	err := cores.Each(ctx, len(errs), func(i int) {
		own := *p
		own.warn = slices.Clip(p.warn)
		if i == 0 {
			plan, offers, errs[0] = own.byAims(ctx)
			return
		}
		others[i-1], errs[i] = own.forLook(ctx, looks[i-1])
	})
	if err != nil {
		return nil, nil, err
	}
	if err := first(errs); err != nil {
		return nil, nil, err
	}
	others = slices.DeleteFunc(others, func(o *fettle.Plan) bool { return o == nil })
	for _, o := range others {
		offers = append(offers, o.Offers...)
	}
	plan.Offers = offers
	for _, pl := range append([]*fettle.Plan{plan}, others...) {
		p.simpler(pl, offers)
	}
	return plan, others, nil
}

// simpler says beside the step that costs most what the next simpler finish would cost,
// where one was worked out.
func (p *planner) simpler(pl *fettle.Plan, offers []fettle.Offer) {
	d := pl.Price.Dearest
	if d == nil {
		return
	}
	var next *fettle.Offer
	aim := math.Inf(1)
	for i := range offers {
		o := &offers[i]
		l, err := p.in.Shelf.Look(o.Look)
		if err == nil && o.Look != pl.Look.Name && l.RaUM.Value >= pl.Look.RaUM.Value && l.RaUM.Value < aim && o.Each.Value.Minor < pl.Price.Each.Value.Minor {
			next, aim = o, l.RaUM.Value
		}
	}
	if next != nil {
		d.Says += fmt.Sprintf("; the next simpler finish, %s, would cost %s a piece", lowerFirst(next.Title), next.Each.Value)
	}
}

// first is the first error of several.
func first(errs []error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

// byAims are the three ways to the finish, and the plan of the one that is asked for.
func (p *planner) byAims(ctx context.Context) (plan *fettle.Plan, offers []fettle.Offer, err error) {
	want := p.in.Brief.Aim
	if want == "" {
		want = fettle.LeastMoney
	}
	least := 0.0
	for _, aim := range aims {
		most := 0.0
		if aim == fettle.Surest {
			most = surestShare * least
		}
		pl, c, err := p.chosen(ctx, aim, most)
		if err != nil {
			return nil, nil, err
		}
		if aim == fettle.LeastMoney {
			least = c.cost
		}
		o := p.offer(pl, true)
		o.Aim = aim
		if aim == want {
			plan = pl
		}
		offers = append(offers, o)
	}
	tradeOffs(offers)
	return plan, offers, nil
}

// forLook is the plan of another finish for the same part, with what it offers; nil
// where nothing leads to it.
func (p *planner) forLook(ctx context.Context, look fettle.Look) (*fettle.Plan, error) {
	p.look, p.need = look, needOf(look, p.in.Brief)
	p.wish = &wishes{drops: p.wish.drops} // what is kept is kept for the finish that was asked for
	if err := p.findBaths(); err != nil { // the tone may be another
		return nil, err
	}
	pl, _, err := p.chosen(ctx, fettle.LeastMoney, 0)
	switch {
	case fettle.CodeOf(err) == fettle.No:
		return nil, nil
	case err != nil:
		return nil, err
	}
	pl.Offers = []fettle.Offer{p.offer(pl, false)}
	return pl, nil
}

// tradeOffs says of each way to one finish what it gives for what.
func tradeOffs(offers []fettle.Offer) {
	same := func(a, b fettle.Offer) bool {
		if len(a.Steps) != len(b.Steps) {
			return false
		}
		for i := range a.Steps {
			if a.Steps[i] != b.Steps[i] {
				return false
			}
		}
		return true
	}
	base := offers[0]
	for i := range offers {
		o := &offers[i]
		switch {
		case i == 0:
			o.Says = fmt.Sprintf("the least money: %s a piece, ready in about %s, right the first time in %.0f lots of 100", o.Each.Value, fettle.Minutes(o.ReadyH.Value*60), 100*o.Chance)
		case same(*o, base) && o.Each.Value == base.Each.Value:
			o.Says = fmt.Sprintf("%s: the same route; nothing on the shelf does better", o.Aim)
		default:
			more := o.Each.Value.Minor - base.Each.Value.Minor
			word := "more"
			if more < 0 {
				more, word = -more, "less"
			}
			how := ""
			if same(*o, base) {
				how = "the same steps with another stepover, "
			}
			o.Says = fmt.Sprintf("%s: %s%s a piece %s, ready in about %s against %s, right the first time in %.0f lots of 100 against %.0f",
				o.Aim, how, fettle.Money{Minor: more, Currency: o.Each.Value.Currency}, word, fettle.Minutes(o.ReadyH.Value*60), fettle.Minutes(base.ReadyH.Value*60), 100*o.Chance, 100*base.Chance)
		}
	}
}
