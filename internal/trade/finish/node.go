package finish

import (
	"math"

	"fettle"
	"fettle/internal/trade/law"
	"fettle/internal/trade/mark"
	"fettle/internal/trade/rub"
	"fettle/internal/trade/tumble"
)

// option is a finishing pass over the judged face, with what its geometry leaves.
type option struct {
	pass   fettle.Pass
	key    string
	cutMin float64 // a piece
	cost   float64 // a piece: the mill, and the cutter that it wears
	left   law.Pass
	raUM   float64 // by geometry
	sim    bool    // simulated, or beyond simulating
}

// move is one step as it was chosen: what is done, and until when. It holds no
// numbers of any world, so that it can be played again in others.
type move struct {
	prev  *move
	kind  fettle.StepKind
	key   string
	pass  *option
	grit  *fettle.Grit
	lay   string
	bath  *bath
	mop   *fettle.Mop
	until law.Until
	// only tells a charge that takes burrs off and no more.
	only bool
}

// list is the moves in order.
func (m *move) list() []*move {
	if m == nil {
		return nil
	}
	return append(m.prev.list(), m)
}

// node is a part of a route: where it has come to and what it has cost.
type node struct {
	face *law.Surface
	last *move
	// cost is money for the lot, samples and lost pieces in it, attended minutes of the lot and ready hours by the
	// clock, all by the medians of what they are made of.
	cost, minutes, ready float64
	// grain is that of the last grit, limit that of the last charge or mop.
	grain, limit          float64
	rungs, charges, buffs int
	// lastGrit tells that only as a finish this grit was let in; done that nothing
	// may follow.
	lastGrit, done bool
	smoothed       bool // by a charge that sanding would undo
	wet            bool // from the paper or an unwashed charge
	kept           uint32
	says           verdict
	judged         bool
}

// kit is what the moves need in one set of worlds.
type kit struct {
	w      *law.Worlds
	p      *planner
	papers map[string]*law.Paper
	tools  map[string]*law.Tool
}

func (p *planner) newKit(w *law.Worlds) *kit {
	return &kit{w: w, p: p, papers: map[string]*law.Paper{}, tools: map[string]*law.Tool{}}
}

func (t *kit) paper(g *fettle.Grit) *law.Paper {
	if got, ok := t.papers[g.Name]; ok {
		return got
	}
	pace := rub.Pace()
	if b := t.p.in.Book; b != nil {
		if own, ok := b.Pace(*g, t.p.mat); ok {
			pace = own
		}
	}
	got := law.NewPaper(t.w, t.p.face(), *g, t.p.hold(), pace)
	t.papers[g.Name] = got
	return got
}

func (t *kit) barrel(b *bath) *law.Tool {
	key := tumbleKey(b.Name, b.Vessel.Name)
	if got, ok := t.tools[key]; ok {
		return got
	}
	got := law.Barrel(t.w, b.Name+" in the "+b.Vessel.Name, b.proc, b.Media)
	t.tools[key] = got
	return got
}

func (t *kit) wheel(m *fettle.Mop) *law.Tool {
	if got, ok := t.tools[buffKey(m.Name)]; ok {
		return got
	}
	got := law.Wheel(t.w, t.p.face(), *m)
	t.tools[buffKey(m.Name)] = got
	return got
}

// did is what a move made of a face: the face, and what it took in each world.
type did struct {
	face *law.Surface
	// minutes are by hand, a piece; hours of one load of a charge; take is the depth
	// that a grit took off the peaks.
	minutes, hours, take []float64
}

// play makes a move on a face.
func (t *kit) play(face *law.Surface, m *move) did {
	switch m.kind {
	case fettle.StepSurface:
		return did{face: law.Cut(t.w, m.pass.left)}
	case fettle.StepDeburr:
		_, radius := rub.Deburr(t.p.in.Survey.SharpEdgeMM, t.p.mat.Class)
		return did{face: face.Deburred(radius, t.p.need.EdgeUM)}
	case fettle.StepRub:
		after, minutes, take := face.Rubbed(t.paper(m.grit), m.lay)
		return did{face: after, minutes: minutes, take: take}
	case fettle.StepTumble:
		tool := t.barrel(m.bath)
		hours := face.Hours(tool, m.until)
		return did{face: face.Worked(tool, hours), hours: hours}
	case fettle.StepBuff:
		tool := t.wheel(m.mop)
		hours := face.Hours(tool, m.until)
		minutes := make([]float64, len(hours))
		for k, h := range hours {
			minutes[k] = h * 60
		}
		return did{face: face.Worked(tool, hours), minutes: minutes}
	}
	panic("finish: a move of no kind")
}

// after is the node when a move has been made.
func (t *kit) after(n *node, m *move) *node {
	d := t.play(n.face, m)
	out := *n
	out.face, out.last, out.judged = d.face, m, false
	m.prev = n.last
	p := t.p
	lot, learned, person := float64(p.in.Brief.Lot), p.learnedLot, p.in.Shelf.Rates.PersonPerH.Value/60
	attend := func(min, one float64) { // of the lot, and of one piece by itself
		out.minutes += min
		out.cost += p.spent(min*person, one*person)
		out.ready += min / 60 * p.night
	}
	pieces := func(each float64) { out.cost += p.spent(lot*each, each) }
	loads := func(each float64) { out.cost += p.spent(m.bath.loads*each, each) }
	switch m.kind {
	case fettle.StepSurface:
		pieces(m.pass.cost + p.sideCost)
		out.ready += lot * (m.pass.cutMin + p.sideMin) / 60 * p.night
	case fettle.StepDeburr:
		min, _ := rub.Deburr(p.in.Survey.SharpEdgeMM, p.mat.Class)
		attend(learned*min.Value, min.Value)
	case fettle.StepRub:
		each := t.median(d.minutes)
		attend(learned*each, each)
		pieces(p.paperCost(*m.grit))
		if n.rungs == 0 {
			out.cost += p.blockCost()
		}
		out.grain, out.rungs, out.wet = m.grit.GrainUM, n.rungs+1, p.face().Wet
	case fettle.StepTumble:
		b, hours := m.bath, t.w.Sum(d.hours, "")
		h, looks := hours.Value, float64(len(tumble.Looks(hours, b.Vessel.Kind)))
		wet := n.wet && b.Dry
		load := loadMin.Value + looks*lookMin.Value
		attend(b.loads*load+p.dryMinutes(wet, lot), load+p.dryMinutes(wet, 1))
		if out.wet = !b.Dry; p.rb.holds(ruleWashBetween) {
			attend(washMinutes(b.loads, lot), washMinutes(1, 1))
			out.wet = false
		}
		loads(h*(b.Vessel.RatePerH.Value+b.wearPerH) + b.compound)
		out.ready = math.Max(out.ready, b.Vessel.FreeInH) + b.loads*h
		out.charges, out.limit = n.charges+1, b.proc.LimitRaUM.Value
		out.smoothed = n.smoothed || !m.only
	case fettle.StepBuff:
		each := t.median(d.minutes) + buffMin.Value
		attend(learned*each+p.dryMinutes(n.wet, lot), each+p.dryMinutes(n.wet, 1))
		out.wet = false
		pieces(p.area / 1e6 * m.mop.BarCost.Value)
		out.buffs, out.limit = n.buffs+1, rub.MopLimit(*m.mop, p.mat.Class).Value
	}
	out.kept |= p.wish.fulfilled(m)
	return &out
}

// median is the middle of what the worlds say.
func (t *kit) median(v []float64) float64 { return t.w.Median(v) }

// verdict judges a node once.
func (n *node) verdict(p *planner) verdict {
	if !n.judged {
		n.says, n.judged = p.need.judge(n.face), true
	}
	return n.says
}

// seenAtMost is the chance at which a charge leaves older marks: well under what
// the look lets pass, because whoever looks into the barrel looks closer than the
// customer.
func (n *need) seenAtMost() float64 {
	if n.CuspsMayShow {
		return 0
	}
	return math.Max(0.02, n.MarkChance/4)
}

// marksStand tells whether in most worlds any mark but the texture itself would be
// found.
func (p *planner) marksStand(f *law.Surface) bool {
	marks := f.Marks
	if f.Own && len(marks) > 0 {
		marks = marks[:len(marks)-1]
	}
	found := 0
	for k := range f.Ra {
		if p.standsIn(f, marks, k) {
			found++
		}
	}
	return 2*found > len(f.Ra)
}

func (p *planner) standsIn(f *law.Surface, marks []law.Mark, k int) bool {
	for i := range marks {
		if marks[i].Slope(k) > mark.Hides(p.need.seenAtMost(), marks[i].WaveMM, mark.MaskingSlope(f.Ra[k], f.WaveMM)) {
			return true
		}
	}
	return false
}
