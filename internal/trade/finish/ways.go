package finish

import (
	"context"
	"fmt"

	"fettle"
	"fettle/internal/trade/law"
)

// aims are the three ways that are laid side by side.
var aims = []fettle.Aim{fettle.LeastMoney, fettle.Soonest, fettle.Surest}

// mostTrials bounds how often a pass that was chosen is put on trial and loses.
const mostTrials = 4

// settle finds the route to an aim whose pass has been on trial: the pass that is
// chosen by closed forms is simulated, and the search runs again with what was found
// until the pass that it chooses is one that was.
func (p *planner) settle(ctx context.Context, aim fettle.Aim, most float64) (*route, error) {
	for trial := 0; ; trial++ {
		r, err := p.find(ctx, aim, most)
		if err != nil {
			return nil, err
		}
		o := r.pass()
		if o.sim || trial >= mostTrials {
			return r, nil
		}
		if err := p.trial(ctx, o); err != nil {
			return nil, err
		}
	}
}

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
// finishes next to it.
func (p *planner) plan(ctx context.Context) (*fettle.Plan, error) {
	want := p.in.Brief.Aim
	if want == "" {
		want = fettle.LeastMoney
	}
	var plan *fettle.Plan
	var offers []fettle.Offer
	least := 0.0
	for _, aim := range aims {
		most := 0.0
		if aim == fettle.Surest {
			most = surestShare * least
		}
		pl, c, err := p.chosen(ctx, aim, most)
		if err != nil {
			return nil, err
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
	for _, look := range p.neighbours() {
		other := *p
		other.look, other.need = look, needOf(look, p.in.Brief)
		other.wish = &wishes{drops: p.wish.drops} // what is kept is kept for the finish that was asked for
		if err := other.findBaths(); err != nil { // the tone may be another
			return nil, err
		}
		pl, _, err := other.chosen(ctx, fettle.LeastMoney, 0)
		switch {
		case fettle.CodeOf(err) == fettle.No:
			continue
		case err != nil:
			return nil, err
		}
		offers = append(offers, other.offer(pl, false))
	}
	plan.Offers = offers
	return plan, nil
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
