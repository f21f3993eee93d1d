package finish

import (
	"context"
	"fmt"
	"math"

	"fettle"
	"fettle/internal/trade/law"
	"fettle/internal/trade/search"
)

// Worlds in which routes are compared and in which the chosen one is told.
const (
	searchWorlds = 40
	tellWorlds   = 256
)

// mostNodes stops a search that finds no end; what it then proves is said.
const mostNodes = 60_000

// wrong lifts the score of routes that miss their need above all that meet it.
const wrong = 1e9

// surestShare is how many times the least money the surest route may cost: past it
// another round with the customer is cheaper.
const surestShare = 2.0

// surestSlack is the chance that all of the money it may cost is worth: a route a
// fraction of a per cent surer is not worth the double.
const surestSlack = 0.05

// route is what a search found.
type route struct {
	*node
	found   fettle.Search
	rules   []fettle.Rule
	verdict verdict
	score   float64
}

// find searches the shelf for the best route to an aim from some passes. most is the
// most it may cost; 0 for no limit.
func (p *planner) find(ctx context.Context, aim fettle.Aim, most float64, options []*option) (*route, error) {
	p.rb = p.base.clone()
	t := p.newKit(law.Sample(searchWorlds))
	res, err := search.Best(ctx, p.problem(t, aim, most, options), search.Options{MaxNodes: mostNodes, Beam: 40})
	if err != nil {
		return nil, err
	}
	if !res.Found {
		return nil, p.nothing()
	}
	r := &route{node: res.Best, rules: p.rb.list(), verdict: res.Best.verdict(p), score: res.Score}
	r.found = fettle.Search{Ways: res.Ways, Cut: res.Cut, Proved: res.Proved, Within: res.Within}
	return r, nil
}

// problem is the search for an aim over some worlds.
func (p *planner) problem(t *kit, aim fettle.Aim, most float64, options []*option) search.Problem[*node] {
	none := &node{grain: math.Inf(1), limit: math.Inf(1)}
	var start []*node
	for _, o := range options {
		m := &move{kind: fettle.StepSurface, key: o.key, pass: o}
		if p.wish.dropped(o.key) {
			continue
		}
		if n := t.after(none, m); !p.lost(n) {
			start = append(start, n)
		}
	}
	more := p.leastMore()
	person := p.in.Shelf.Rates.PersonPerH.Value / 60
	// What comes at the end of a route, in minutes and in money; the last charge is
	// washed off even where charges between are not.
	endOf := func(n *node) (minutes, money float64) {
		minutes = p.endMinutes()
		money = minutes * person
		if n.last.kind == fettle.StepTumble && !p.rb.holds(ruleWashBetween) {
			wash := washMinutes(n.last.bath.loads, float64(p.in.Brief.Lot))
			minutes += wash
			money += p.spent(wash*person, washMinutes(1, 1)*person)
		}
		return minutes, money
	}
	if !(most > 0) {
		most = math.Inf(1)
	}
	weigh := func(n *node) float64 {
		minutes, money := endOf(n)
		if aim == fettle.Soonest {
			return n.ready + minutes/60*p.night
		}
		return n.cost + money
	}
	bare := func(n *node) float64 {
		if aim == fettle.Soonest {
			return n.ready
		}
		return n.cost
	}
	return search.Problem[*node]{
		Start: start,
		Next:  func(n *node, visit func(*node)) { p.next(t, n, visit) },
		Value: func(n *node) (float64, bool) {
			if n.cost > most || n.kept != p.wish.all() || p.rb.holds(ruleBurrsFirst) && t.median(n.face.Burr) > burrLeft {
				return 0, false
			}
			v, w := n.verdict(p), weigh(n)
			if !v.right() {
				return wrong * (1 + v.short + w/(w+1e6)), true
			}
			if aim == fettle.Surest {
				return 1 - v.chance + surestSlack*w/most, true
			}
			return w / v.chance, true
		},
		Bound: func(n *node) float64 {
			w := weigh(n)
			if !p.rb.holds(ruleWashBetween) { // what follows a charge saves its washing
				w = bare(n)
			}
			if p.need.Lay == fettle.LayNone && n.face.Lay != law.NoLay { // something must still take the lay away
				switch aim {
				case fettle.Soonest:
					w += more / 60 * p.night
				default:
					w += more * person
				}
			}
			if n.cost > most {
				return math.Inf(1)
			}
			if aim == fettle.Surest {
				return surestSlack * w / most
			}
			return w
		},
		Key:   p.stands,
		Beats: func(a, b *node) bool { return p.beats(weigh, a, b) },
	}
}

// leastMore is the least that a person spends on a lot for anything that leaves no
// lay, in minutes.
func (p *planner) leastMore() float64 {
	lot := float64(p.in.Brief.Lot)
	least := p.learnedLot * buffMin.Value
	if len(p.in.Shelf.Mops) == 0 {
		least = math.Inf(1)
	}
	for _, b := range p.baths {
		least = math.Min(least, b.loads*(loadMin.Value+lookMin.Value)+washMinutes(b.loads, lot))
	}
	if math.IsInf(least, 1) {
		return 0
	}
	return least
}

// stands names the place of a node among those that can stand for each other: a
// face that paper has just been over, and all of it the paper's. Whether a mark still
// stands on it opens ways of its own.
func (p *planner) stands(n *node) string {
	if n.last == nil || n.last.kind != fettle.StepRub || n.done {
		return ""
	}
	return fmt.Sprintf("%s %t %t %t %d %d", n.last.key, n.lastGrit, n.smoothed, p.marksStand(n.face), n.kept, n.charges)
}

// beats tells that whatever may follow one face just rubbed may follow another, and
// comes out no worse: it has cost no more in money and time, and in every world it
// has lost no more, its edges are no rounder and no older mark stands higher on it.
func (p *planner) beats(weigh func(*node) float64, a, b *node) bool {
	if weigh(a) > weigh(b) || a.cost > b.cost || a.ready > b.ready || a.rungs > b.rungs || len(a.face.Marks) > len(b.face.Marks) {
		return false
	}
	for i := range a.face.Marks {
		if a.face.Marks[i].Cause != b.face.Marks[i].Cause || a.face.Marks[i].WaveMM != b.face.Marks[i].WaveMM {
			return false
		}
	}
	for k := range a.face.Edge {
		if a.face.Edge[k] > b.face.Edge[k] || a.face.Removed[k] > b.face.Removed[k] || a.face.Burr[k] > b.face.Burr[k] {
			return false
		}
		for i := range a.face.Marks {
			ma, mb := &a.face.Marks[i], &b.face.Marks[i]
			if ma.Left[k]*ma.Height[k] > mb.Left[k]*mb.Height[k] {
				return false
			}
		}
	}
	return true
}

// nothing says why no route was found at all.
func (p *planner) nothing() error {
	if missing := p.wish.missing(0); len(missing) > 0 {
		says := fmt.Sprintf("no route over this shelf keeps %s", list(missing))
		if ids := p.rb.standing(); len(ids) > 0 {
			says += fmt.Sprintf("; what stands against it is %s: set that rule aside, or keep less", list(ids[:min(3, len(ids))]))
		}
		return fettle.Errorf(fettle.No, "%s", says)
	}
	if len(p.options) == 0 {
		return fettle.Errorf(fettle.No, "no cutter on the shelf can finish the %s: %s", lowerFirst(p.main.Name), p.whyNot())
	}
	return fettle.Errorf(fettle.No, "nothing on the shelf leads to %s in %s", p.look.Name, p.mat.Title)
}

// whyNot says what keeps the cutter that gets furthest from the judged face.
func (p *planner) whyNot() string {
	var best *fettle.Curve
	for i := range p.curves {
		c := &p.curves[i]
		if c.Zone == p.main.ID && (best == nil || c.Reach > best.Reach) {
			best = c
		}
	}
	switch {
	case best == nil:
		return "the shelf holds no cutters; enter at least one ball"
	case best.Fits && best.Reach >= minReach:
		return "those that get into it are dropped by the brief"
	}
	return fmt.Sprintf("the one that gets furthest is %s, but %s", best.Cutter, best.Why)
}
