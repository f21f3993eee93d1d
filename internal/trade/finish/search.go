package finish

import (
	"context"
	"fmt"
	"math"
	"slices"

	"fettle"
	"fettle/internal/trade/cusp"
	"fettle/internal/trade/rub"
)

// Limits of the search.
const (
	longestH  = 72   // of one charge: past it a shop does something else
	shortestH = 0.25 // below it loading and rinsing take longer than the work
	unlikely  = 0.95 // a route that misses more often than this is not a way
	minReach  = 0.95 // share of the face that a cutter must get into
	nearLimit = 1.08 // how close to its limit a charge is run, at most
	evenShare = 0.35 // time constants until a new texture lies evenly over an old one
	approach  = 1.6  // time constants of a charge that only prepares the next
	handOffUM = 0.25 // finest Ra for which the first of two charges is worth it
)

// start is a way to the door of the barrel: a finishing pass and a ladder.
type start struct {
	pass   fettle.Pass
	raUM   float64 // that geometry says it leaves
	cutMin float64 // of the pass, a piece
	rungs  []rub.Rung
	after  surface
	cost   float64 // a piece, for comparing starts with the same last grit
}

// candidate is a whole route.
type candidate struct {
	start
	baths []bath
	hours []fettle.Estimate
	final surface
	score float64 // cost over the chance of being right
	miss  float64
	shows []fettle.Mark // marks that should not show and do
	lay   bool          // the direction of the texture is wrong
	edge  bool          // edges are rounder than allowed
	rough bool          // too rough, or likelier to miss the band than to meet it
}

// search tries every ladder with no charge, one, or two, and keeps the best.
func (p *planner) search(ctx context.Context) (*candidate, error) {
	passes, err := p.passes()
	if err != nil {
		return nil, err
	}
	return p.searchFrom(ctx, p.starts(undominated(passes)))
}

// searchFrom is the search over given starts.
func (p *planner) searchFrom(ctx context.Context, starts []start) (*candidate, error) {
	var best *candidate
	try := func(s start, baths ...bath) {
		c := p.run(s, baths)
		if c == nil {
			return
		}
		if best == nil || p.better(c, best) {
			best = c
		}
	}
	if len(starts) == 0 {
		return nil, fettle.Errorf(fettle.No, "no cutter on the shelf can finish the %s: %s", lowerFirst(p.main.Name), p.whyNot())
	}
	for _, s := range starts {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		try(s)
		for _, a := range p.baths {
			try(s, a)
			for _, b := range p.baths {
				// The second charge must be finer, or it undoes the first.
				if b.proc.LimitRaUM.Value < a.proc.LimitRaUM.Value {
					try(s, a, b)
				}
			}
		}
	}
	if best == nil {
		return nil, fettle.Errorf(fettle.No, "nothing on the shelf leads to %s in %s", p.look.Name, p.mat.Title)
	}
	return best, nil
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
	if best == nil {
		return "the shelf holds no cutters; enter at least one ball"
	}
	return fmt.Sprintf("the one that gets furthest is %s, but %s", best.Cutter, best.Why)
}

// passes lists every pass of every cutter that gets everywhere on the judged
// face, with the edges broken by hand afterwards.
func (p *planner) passes() ([]start, error) {
	var bare []start
	for _, c := range p.curves {
		if c.Zone != p.main.ID || !c.Fits || c.Reach < minReach {
			continue
		}
		for _, pt := range c.Points {
			pass, err := p.passOf(c, pt)
			if err != nil {
				return nil, err
			}
			s := start{pass: pass, raUM: pt.RaUM, cutMin: pt.Minutes, after: p.cut(pass, pt.RaUM)}
			s.after.deburr()
			s.cost = p.cutCost(s)
			bare = append(bare, s)
		}
	}
	return bare, nil
}

// starts lists the passes, and the cheapest way from them to each last grit.
func (p *planner) starts(bare []start) []start {
	out := slices.Clone(bare)
	for _, g := range p.in.Shelf.Grits {
		if best, ok := p.toGrit(bare, g); ok {
			out = append(out, best)
		}
	}
	return out
}

// undominated drops passes that another one beats in minutes and equals or beats
// in everything it leaves, which makes the search some ten times quicker. A face
// can be too fine for a look, so this is no proof; a test holds the answer
// against the search over all passes.
func undominated(all []start) []start {
	beats := func(a, b start) bool {
		if a.cost > b.cost || a.raUM > b.raUM || len(a.after.marks) > len(b.after.marks) {
			return false
		}
		for i, m := range a.after.marks {
			n := b.after.marks[i]
			if m.Cause != n.Cause || m.DepthUM.Value > n.DepthUM.Value || m.WavelengthMM > n.WavelengthMM {
				return false
			}
		}
		return a.cost < b.cost || a.raUM < b.raUM
	}
	var out []start
	for _, b := range all {
		if !slices.ContainsFunc(all, func(a start) bool { return beats(a, b) }) {
			out = append(out, b)
		}
	}
	return out
}

// passOf is a point of a curve as a pass with its speeds.
func (p *planner) passOf(c fettle.Curve, pt fettle.CurvePoint) (fettle.Pass, error) {
	cutter, err := p.in.Shelf.Cutter(c.Cutter)
	if err != nil {
		return fettle.Pass{}, err
	}
	pass, _, err := cusp.PassAt(p.main, cutter, p.mat, p.mill, pt.StepoverMM, p.curveOptions())
	return pass, err
}

// toGrit is the cheapest pass and ladder that end with a grit: cutting finer
// saves sanding, and somewhere between lies the least money.
func (p *planner) toGrit(bare []start, last fettle.Grit) (best start, ok bool) {
	f := p.face()
	for _, s := range bare {
		from := toErase(s.after)
		rungs, err := rub.Ladder(f, p.in.Shelf.Grits, from, last.Name)
		if err != nil {
			continue
		}
		s.rungs = rungs
		for i, r := range rungs {
			s.after.rubbed(p.main.ID, p.mat.Class, r, strokeLay(len(rungs)-1-i))
			s.cost += r.Minutes.Value / 60 * p.in.Shelf.Rates.PersonPerH.Value
		}
		if !ok || s.cost < best.cost {
			best, ok = s, true
		}
	}
	return best, ok
}

// toErase is what the first grit has to take off: the deepest thing the cutter
// left. Facets ride on the cusps and add to them.
func toErase(s surface) rub.Left {
	m := s.marks[0]
	l := rub.Left{Cause: m.Cause, DepthUM: m.DepthUM, Mean: meanDepth(m) / m.DepthUM.Value}
	for _, m := range s.marks[1:] {
		l.DepthUM = l.DepthUM.Plus(m.DepthUM)
	}
	return l
}

// face is the show face as the sander sees it.
func (p *planner) face() rub.Face {
	f := rub.Face{AreaMM2: p.area, Class: p.mat.Class, Wet: true, Curved: p.main.ConvexMM > 0 || p.main.ConcaveMM > 0}
	if p.main.ConcaveMM > 0 && p.main.ConcaveMM < 10 {
		f.CornerShare = 0.1 // a cove or corner that a stiff block does not get into
	}
	return f
}

// strokeLay names the direction of the stroke with so many grits still to come:
// the last goes along the long side, and each turns by a quarter so that the
// scratches before it show.
func strokeLay(toCome int) string {
	if toCome%2 == 0 {
		return "along the long side"
	}
	return "across the long side"
}

// run carries a start through charges and judges the end; nil where it is no
// way at all.
func (p *planner) run(s start, baths []bath) *candidate {
	c := &candidate{start: s, baths: baths, final: s.after}
	for i, b := range baths {
		if b.StartRaUM > 0 && c.final.ra.Value > b.StartRaUM {
			return nil
		}
		// Left too long, a charge must still end inside the band: nobody stops a
		// barrel to the minute.
		if i == len(baths)-1 && b.proc.LimitRaUM.Value > p.need.HighUM {
			return nil
		}
		h, ok := p.hoursIn(b, &c.final, i == len(baths)-1)
		if !ok {
			return nil
		}
		c.hours = append(c.hours, h)
		c.final.tumbled(b, h)
	}
	p.judge(c)
	return c
}

// hoursIn is how long a charge runs: until the aim is met, and until the marks
// that must not show are gone.
func (p *planner) hoursIn(b bath, s *surface, last bool) (fettle.Estimate, bool) {
	t := b.proc.TimeConstantH
	var h fettle.Estimate
	switch {
	case !last:
		if s.ra.Value < math.Max(handOffUM, b.proc.LimitRaUM.Value) {
			return h, false // nothing to prepare
		}
		h = t.Scale(approach)
	default:
		aim := math.Max(p.need.AimUM, b.proc.LimitRaUM.Value*nearLimit)
		if b.proc.LimitRaUM.Value > s.ra.Value { // this bath roughens
			aim = math.Min(p.need.AimUM, b.proc.LimitRaUM.Value/nearLimit)
		}
		h = b.proc.HoursTo(s.ra.Value, aim)
		if even := t.Scale(evenShare); p.need.Lay == fettle.LayNone && h.Value < even.Value {
			h = even
		}
	}
	for i, m := range s.marks {
		if p.need.CuspsMayShow || !last && !isMachined(m) {
			continue
		}
		todo := meanDepth(m)*0.9 - s.worn[i]
		if todo <= 0 {
			continue
		}
		if e := b.proc.HoursToRemove(todo / levelling(m, b.contactMM())); e.Value > h.Value {
			h = e
		}
	}
	if h.Value < shortestH {
		h = fettle.Guess(shortestH, shortestH, 2*shortestH, fettle.BasisPractice)
	}
	return h, h.Value <= longestH && !math.IsNaN(h.Value)
}

// judge fills a candidate's chance, its faults and its score.
func (p *planner) judge(c *candidate) {
	c.miss = p.need.miss(c.final.ra)
	if !p.need.CuspsMayShow {
		for _, m := range c.final.showing() {
			if p.need.Lay == fettle.LayOne && !isMachined(m) && len(c.baths) == 0 && len(c.rungs) > 0 {
				continue // the grain that a satin wants
			}
			c.shows = append(c.shows, m)
		}
	}
	switch p.need.Lay {
	case fettle.LayOne:
		c.lay = len(c.rungs) == 0 || len(c.baths) > 0
	case fettle.LayNone:
		c.lay = len(c.baths) == 0
	}
	c.edge = p.need.EdgeUM > 0 && c.final.edge.Value > p.need.EdgeUM
	c.rough = c.final.ra.Value > p.need.HighUM*1.0001 || c.miss >= 0.5
	c.score = p.cost(c) / (1 - math.Min(c.miss, unlikely))
}

// right reports whether a route is expected to meet its need.
func (c *candidate) right() bool { return c.faults() == 0 }

func (c *candidate) faults() int {
	n := len(c.shows)
	for _, wrong := range []bool{c.lay, c.edge, c.rough} {
		if wrong {
			n++
		}
	}
	return n
}

// better orders candidates: right before wrong, right ones by their score,
// wrong ones by how far the roughness is out, so that a finish that cannot be
// met is at least approached.
func (p *planner) better(a, b *candidate) bool {
	if fa, fb := a.faults(), b.faults(); fa != fb {
		return fa < fb
	}
	if !a.right() {
		out := func(c *candidate) float64 { return math.Max(0, math.Log(c.final.ra.Value/p.need.AimUM)) }
		if oa, ob := out(a), out(b); math.Abs(oa-ob) > 1e-9 {
			return oa < ob
		}
	}
	return a.score < b.score
}
