package finish

import (
	"math"
	"slices"

	"fettle"
	"fettle/internal/trade/law"
	"fettle/internal/trade/rub"
)

// Limits of the search.
const (
	longestH    = 72   // of one charge: past it a shop does something else
	shortestH   = 0.25 // below it loading and rinsing take longer than the work
	minReach    = 0.95 // share of the face that a cutter must get into
	evenShare   = 0.35 // time constants until a new texture lies evenly over an old one
	approach    = 1.6  // time constants of a charge that only prepares the next
	handOffUM   = 0.25 // finest Ra from which a charge is worth preparing another
	mostRungs   = 6
	mostCharges = 3
	mostBuffs   = 2
	// coarsest is how much deeper than the thing it erases a grit's own furrows may
	// be.
	coarsest = 1.0
	// widest is the largest step down in grain size between neighbours: common
	// practice stops at about two to one.
	widest = 2.2
	// mopAimUM is the roughest aim for which a mop is taken: whatever it leaves shines.
	mopAimUM = 0.25
	// longestBuffH is as long as a piece is held against a mop.
	longestBuffH = 0.5
)

// next visits the ways on from a node, in the order of the work: edges, paper,
// charges, mops.
func (p *planner) next(t *kit, n *node, visit func(*node)) {
	if n.done {
		return
	}
	go1 := func(m *move, set func(*node)) {
		if p.wish.dropped(m.key) {
			return
		}
		out := t.after(n, m)
		if p.barring(m.key)(ruleEdgesInLimit, p.need.EdgeUM > 0 && t.median(out.face.Edge) > p.need.EdgeUM && t.median(n.face.Edge) <= p.need.EdgeUM) {
			return
		}
		if set != nil {
			set(out)
		}
		if p.lost(out) {
			return
		}
		visit(out)
	}
	burr := slices.Max(n.face.Burr) > burrLeft
	if burr {
		go1(&move{kind: fettle.StepDeburr, key: deburrKey}, nil)
		if n.charges == 0 && n.rungs == 0 {
			for _, b := range p.baths {
				if t.barrel(b).Cuts {
					go1(p.tumbleMove(b, law.Until{Burr: true, LeastH: shortestH, MostH: longestH}, true), nil)
				}
			}
		}
	}
	if !p.rb.against(ruleBurrsFirst, burr) {
		p.nextGrits(t, n, go1)
		p.nextMops(t, n, go1)
	}
	p.nextCharges(t, n, burr, go1)
}

// barring holds one step to the rules; what they do to a step that the brief keeps is
// remembered.
func (p *planner) barring(key string) func(rule string, broken bool) bool {
	bits, _ := p.wish.kept(key)
	return func(rule string, broken bool) bool {
		bars := p.rb.against(rule, broken)
		if bars && bits != 0 {
			p.rb.kept[rule]++
		}
		return bars
	}
}

// nextGrits are the papers that may come now.
func (p *planner) nextGrits(t *kit, n *node, go1 func(*move, func(*node))) {
	if n.lastGrit || n.rungs >= mostRungs || p.rb.against(ruleMopLast, n.buffs > 0) || p.rb.against(ruleSandFirst, n.smoothed) {
		return
	}
	deepest, _ := n.face.Depth(p.hold())
	depth := t.median(deepest)
	for i := range p.in.Shelf.Grits {
		g := &p.in.Shelf.Grits[i]
		against := p.barring(rubKey(g.Name))
		if n.rungs > 0 {
			if against(ruleFinerOnly, g.GrainUM >= n.grain) {
				continue
			}
			if against(ruleGritStep, n.grain > widest*g.GrainUM) {
				continue
			}
		}
		last := n.rungs == 0 && g.RzUM.Value*rub.Depth(p.mat.Class) > coarsest*depth
		if p.need.Lay != fettle.LayOne && against(ruleGritDepth, last) {
			continue
		}
		if p.mixes(n, g) {
			continue
		}
		go1(&move{kind: fettle.StepRub, key: rubKey(g.Name), grit: g}, func(out *node) { out.lastGrit = last })
	}
}

// mixes tells a grit of another scale than those before it: their numbers must not
// stand beside each other on one sheet of paper.
func (p *planner) mixes(n *node, g *fettle.Grit) bool {
	for m := n.last; m != nil; m = m.prev {
		if m.grit != nil {
			return m.grit.Scale != g.Scale
		}
	}
	return false
}

// nextCharges are the charges that may come now: each as the last one, and as one
// that prepares another or a mop.
func (p *planner) nextCharges(t *kit, n *node, burr bool, go1 func(*move, func(*node))) {
	if n.charges >= mostCharges || p.rb.against(ruleMopLast, n.buffs > 0) {
		return
	}
	ra := t.median(n.face.Ra)
	measured := n.face.RaUM("").Value
	for _, b := range p.baths {
		limit := b.proc.LimitRaUM.Value
		against := p.barring(tumbleKey(b.Name, b.Vessel.Name))
		if against(ruleStartFine, b.StartRaUM > 0 && measured > b.StartRaUM) {
			continue
		}
		if against(ruleFinerMedia, n.smoothed && limit >= n.limit) {
			continue
		}
		if burr && !t.barrel(b).Cuts && against(ruleBurrsFirst, true) {
			continue
		}
		until := law.Until{Seen: p.need.seenAtMost(), Burr: burr, LeastH: shortestH, MostH: longestH}
		if !p.rb.holds(ruleThreeNights) {
			until.MostH = 10 * longestH
		}
		// As the last. Left too long, a charge must still end inside the band: nobody
		// stops a barrel to the minute.
		if limit <= p.need.HighUM && p.need.Lay != fettle.LayOne {
			final := until
			final.RaUM = p.need.AimUM
			if p.need.Lay == fettle.LayNone {
				final.Even = evenShare
			}
			go1(p.tumbleMove(b, final, false), func(out *node) { out.done = true })
		}
		// As one that prepares another.
		if ra < math.Max(handOffUM, limit) && !burr && !p.marksStand(n.face) || n.charges+1 >= mostCharges && len(p.in.Shelf.Mops) == 0 {
			continue
		}
		first := until
		first.Even, first.Machined = approach, true
		go1(p.tumbleMove(b, first, false), nil)
	}
}

// nextMops are the mops that may come now.
func (p *planner) nextMops(t *kit, n *node, go1 func(*move, func(*node))) {
	if n.buffs >= mostBuffs || p.need.Lay == fettle.LayOne || p.need.AimUM > mopAimUM || p.openShare() < minReach {
		return
	}
	measured := n.face.RaUM("").Value
	for i := range p.in.Shelf.Mops {
		m := &p.in.Shelf.Mops[i]
		limit := rub.MopLimit(*m, p.mat.Class).Value
		against := p.barring(buffKey(m.Name))
		if against(ruleStartFine, m.StartRaUM > 0 && measured > m.StartRaUM) || against(ruleFinerMedia, (n.buffs > 0 || n.smoothed) && limit >= n.limit) {
			continue
		}
		until := law.Until{Seen: p.need.seenAtMost(), LeastH: 1.0 / 120, MostH: longestBuffH}
		if limit <= p.need.HighUM {
			final := until
			final.RaUM, final.Even = p.need.AimUM, evenShare
			go1(p.buffMove(m, final), func(out *node) { out.done = true })
		}
		first := until
		first.Even, first.Machined = approach, true
		go1(p.buffMove(m, first), nil)
	}
}

func (p *planner) tumbleMove(b *bath, until law.Until, only bool) *move {
	key := tumbleKey(b.Name, b.Vessel.Name)
	_, until.PinnedH = p.wish.kept(key)
	return &move{kind: fettle.StepTumble, key: key, bath: b, until: until, only: only}
}

func (p *planner) buffMove(m *fettle.Mop, until law.Until) *move {
	return &move{kind: fettle.StepBuff, key: buffKey(m.Name), mop: m, until: until}
}

// openShare is how much of the judged face a wheel gets to.
func (p *planner) openShare() float64 { return rub.MopReach(p.main.ConcaveMM) }

// hold is what the paper goes on: a block where one can follow the face.
func (p *planner) hold() rub.Hold {
	switch {
	case !p.face().Curved:
		return rub.StiffBlock
	case p.main.ConcaveMM > 0 && p.main.ConcaveMM < 3:
		return rub.SoftPad
	}
	return rub.FormedBlock
}

// face is the show face as the sander sees it.
func (p *planner) face() rub.Face {
	f := rub.Face{AreaMM2: p.area, Class: p.mat.Class, Wet: true, Curved: p.main.ConvexMM > 0 || p.main.ConcaveMM > 0}
	if p.main.ConcaveMM > 0 && p.main.ConcaveMM < 10 {
		f.CornerShare = 0.1 // a cove or corner that a stiff block does not get into
	}
	return f
}
