package rub

import (
	"math"
	"slices"

	"fettle"
)

// coarsest is how much deeper than the thing it erases a grit's own furrows
// may be: a grit that scratches deeper than the cusps makes work instead of
// saving it.
const coarsest = 1.0

// widest is the largest step down in grain size between neighbours. Past it the
// deep strays of the coarser paper are not reached by the finer one in any
// patience: common practice stops at about two to one.
const widest = 2.2

// Ladder finds the grits, all of one scale and coarse to fine, that take a
// face from what is left on it to the grit named last, in the least expected
// time. It is exact: a shortest path over the grits, of which each may follow
// any coarser one within the widest step. The first grit's own furrows must
// not be deeper than what it erases, unless it is also the last.
//
// It fails with Invalid when the last grit is not among the grits, and with No
// when no ladder leads there.
func Ladder(f Face, grits []fettle.Grit, from Left, last string) ([]Rung, error) {
	i := slices.IndexFunc(grits, func(g fettle.Grit) bool { return g.Name == last })
	if i < 0 {
		return nil, fettle.Errorf(fettle.Invalid, "grit %q is not on the shelf", last)
	}
	end := grits[i]
	var usable []fettle.Grit
	for _, g := range grits {
		if g.Scale == end.Scale && g.GrainUM >= end.GrainUM {
			usable = append(usable, g)
		}
	}
	slices.SortFunc(usable, func(a, b fettle.Grit) int {
		switch {
		case a.GrainUM > b.GrainUM:
			return -1
		case a.GrainUM < b.GrainUM:
			return 1
		}
		return a.Number - b.Number
	})

	// best[j] is the cheapest ladder that ends with usable[j].
	type node struct {
		cost float64
		from int
		rung Rung
	}
	best := make([]node, len(usable))
	for j, g := range usable {
		best[j] = node{cost: math.Inf(1), from: -1}
		single := g.Name == end.Name
		if single || g.RzUM.Value*Depth(f.Class) <= coarsest*from.DepthUM.Value {
			r := rung(f, g, from)
			best[j] = node{cost: r.Minutes.Value, from: -1, rung: r}
		}
		for k := 0; k < j; k++ {
			if math.IsInf(best[k].cost, 1) || usable[k].GrainUM > widest*g.GrainUM {
				continue
			}
			r := rung(f, g, Furrows(usable[k], f.Class))
			if c := best[k].cost + r.Minutes.Value; c < best[j].cost {
				best[j] = node{cost: c, from: k, rung: r}
			}
		}
	}
	at := slices.IndexFunc(usable, func(g fettle.Grit) bool { return g.Name == end.Name })
	if math.IsInf(best[at].cost, 1) {
		return nil, fettle.Errorf(fettle.No, "no ladder of grits on the shelf leads from %s of %.2g µm to %s", from.Cause, from.DepthUM.Value, last)
	}
	var rungs []Rung
	for at >= 0 {
		rungs = append(rungs, best[at].rung)
		at = best[at].from
	}
	slices.Reverse(rungs)
	return rungs, nil
}
