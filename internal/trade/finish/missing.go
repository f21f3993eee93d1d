package finish

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"fettle"
	"fettle/internal/trade/rub"
)

// missing says what would make a finish possible that the shelf does not lead to:
// an opening closed, or one thing more on the shelf, of those that the trade has.
// Each is tried: the search runs again with it.
func (p *planner) missing(ctx context.Context, now *route) ([]string, error) {
	out := []string{p.wall(now.verdict)}
	try := func(q *planner) (bool, error) {
		r, err := q.find(ctx, fettle.LeastMoney, 0, []*option{now.pass()})
		switch {
		case fettle.CodeOf(err) == fettle.No:
			return false, nil
		case err != nil:
			return false, err
		}
		return r.verdict.right(), nil
	}
	if p.in.Reach != nil {
		for _, g := range p.in.Reach.Plugs {
			q := *p
			q.plugged = append(slices.Clone(p.plugged), g)
			if err := q.findBaths(); err != nil {
				return nil, err
			}
			ok, err := try(&q)
			if err != nil {
				return nil, err
			}
			if ok {
				out = append(out, "with "+strings.Join(append([]string{g.Opening}, g.With...), " and ")+" closed it can be done: "+lowerFirst(p.in.Brief.Display.Reword(strings.TrimSuffix(g.Says, "."))))
				break
			}
		}
	}
	if p.in.Trade == nil {
		return out, nil
	}
	for _, thing := range p.notOnShelf() {
		q := *p
		shelf := *p.in.Shelf
		thing.put(&shelf)
		q.in.Shelf = &shelf
		if err := q.findBaths(); err != nil {
			return nil, err
		}
		ok, err := try(&q)
		if err != nil {
			return nil, err
		}
		if ok {
			out = append(out, thing.title+" would do it; it is not on the shelf")
			if len(out) > 2 {
				break
			}
		}
	}
	return out, nil
}

// addition is one thing that a shop could buy.
type addition struct {
	title string
	put   func(*fettle.Shelf)
	limit float64
}

// notOnShelf are the things of the trade that the shop does not have, those that
// come nearest to the aim first.
func (p *planner) notOnShelf() []addition {
	var out []addition
	s, t := p.in.Shelf, p.in.Trade
	kinds := map[fettle.MediaKind]bool{}
	for _, m := range s.Media {
		kinds[m.Kind] = true
	}
	for _, m := range t.Media {
		if _, err := s.MediaNamed(m.Name); err == nil || kinds[m.Kind] {
			continue
		}
		out = append(out, addition{m.Title, func(s *fettle.Shelf) { s.Media = append(slices.Clone(s.Media), m) }, m.LimitRaUM.Value})
	}
	for _, m := range t.Mops {
		if _, err := s.Mop(m.Name); err != nil {
			out = append(out, addition{m.Title, func(s *fettle.Shelf) { s.Mops = append(slices.Clone(s.Mops), m) }, rub.MopLimit(m, p.mat.Class).Value})
		}
	}
	if len(s.Grits) == 0 {
		out = append(out, addition{"paper of grades P120 to P1200", func(s *fettle.Shelf) { s.Grits = t.Grits }, 0.1})
	}
	off := func(a addition) float64 { return math.Abs(math.Log(a.limit / p.need.AimUM)) }
	slices.SortStableFunc(out, func(a, b addition) int {
		if off(a) < off(b) {
			return -1
		}
		if off(a) > off(b) {
			return 1
		}
		return 0
	})
	return out
}

// wall names what stands in the way.
func (p *planner) wall(v verdict) string {
	sys := p.in.Brief.Display
	switch p.worst(v) {
	case wrongRough:
		finest, title := math.Inf(1), ""
		for _, b := range p.baths {
			if l := b.proc.LimitRaUM.Value; l < finest {
				finest, title = l, b.Title
			}
		}
		if p.openShare() >= minReach {
			for _, m := range p.in.Shelf.Mops {
				if l := rub.MopLimit(m, p.mat.Class).Value; l < finest {
					finest, title = l, m.Title
				}
			}
		}
		if title == "" {
			return "no media on the shelf may be used on this part"
		}
		if p.mopsShut() {
			title += p.mopsWhy()
		}
		return fmt.Sprintf("nothing that may be used here goes below about Ra %s, which %s leaves in the end; Ra %s at most is wanted", sys.Height(finest), lowerFirst(title), sys.Height(p.need.HighUM))
	case wrongMarks:
		return "whatever follows, marks from earlier steps are likely to be found on so fine a face"
	case wrongLay:
		if p.need.Lay == fettle.LayNone {
			return "no media on the shelf may be used on this part, and handwork alone leaves a direction"
		}
		return "no ladder of grits on the shelf leads to a single direction"
	case wrongEdge:
		return fmt.Sprintf("edges would be rounder than %s, or burrs would stay", sys.Fine(p.need.EdgeUM))
	case wrongGloss:
		says := "nothing that may be used here throws enough of the light back as a mirror does"
		if p.mopsShut() {
			says += p.mopsWhy()
		}
		return says
	}
	return "everything that could be used leaves it finer than is wanted"
}

// mopsShut tells that there are mops and that this face is not for them.
func (p *planner) mopsShut() bool {
	return len(p.in.Shelf.Mops) > 0 && p.openShare() < minReach && p.need.AimUM <= mopAimUM
}

// mopsWhy says why mops are left out.
func (p *planner) mopsWhy() string {
	return fmt.Sprintf(" (mops are left out: a wheel gets to about %.0f %% of a face with hollows of %s)", 100*p.openShare(), p.in.Brief.Display.Length(p.main.ConcaveMM))
}

// Things that can be wrong with a face.
const (
	wrongRough = iota
	wrongFine
	wrongMarks
	wrongEdge
	wrongGloss
	wrongLay
)

// worst is what is most often wrong.
func (p *planner) worst(v verdict) int {
	chances := []float64{v.rough, v.fine, v.marks, v.edge, v.gloss, v.lay}
	at := 0
	for i, c := range chances {
		if c < chances[at] {
			at = i
		}
	}
	return at
}
