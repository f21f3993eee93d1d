package finish

import (
	"fmt"
	"math"
	"strings"

	"fettle"
	"fettle/internal/trade/mark"
)

func (p *planner) verdict(c *told, missing []string) string {
	sys := p.in.Brief.Display
	got := sys.Range(c.end().RaUM(fettle.BasisGuess))
	want := fmt.Sprintf("%s to %s for %s", sys.Height(p.need.LowUM), sys.Height(p.need.HighUM), lowerFirst(p.need.Source))
	if c.says.right() {
		t := fmt.Sprintf("yes: it should come out at Ra %s, wanted %s; about %.0f in 100 such lots would need another round", got, want, math.Max(1, 100*(1-c.says.chance)))
		if c.says.chance < 0.95 {
			t += ", most often because " + p.because(c)
		}
		return t
	}
	return fmt.Sprintf("no: with what is on the shelf it comes out at Ra %s, wanted %s; %s", got, want, strings.Join(missing, "; "))
}

// because is what most often goes wrong with a route.
func (p *planner) because(c *told) string {
	switch p.worst(c.says) {
	case wrongRough:
		return "it stays rougher"
	case wrongFine:
		return "it comes out finer"
	case wrongMarks:
		if m := likeliest(c.end().Tell(p.main.ID), c.end().Own); m != nil {
			return m.Cause + " are still found"
		}
		return "an earlier mark is still found"
	case wrongEdge:
		return "edges come out too round, or a burr stays"
	case wrongGloss:
		return "it does not mirror enough"
	}
	return "the direction is not what was wanted"
}

// likeliest is the older mark that is most often found.
func likeliest(ms []fettle.Mark, own bool) *fettle.Mark {
	if own && len(ms) > 0 {
		ms = ms[:len(ms)-1]
	}
	var best *fettle.Mark
	for i := range ms {
		if best == nil || ms[i].Seen.P > best.Seen.P {
			best = &ms[i]
		}
	}
	return best
}

// Chances at which a mark is spoken of.
const (
	likelySeen = 0.3
	followed   = 0.5 // share of the height that still stands, of one that a tool follows
)

// sayMarks says in words what becomes of the older marks on a step's face.
func (p *planner) sayMarks(s *fettle.Step, c *told) {
	st := c.stage(s.Key)
	if st == nil || s.Zone != p.main.ID {
		return
	}
	contact, under := p.hold().ContactMM(), "the block"
	switch {
	case st.bath != nil:
		contact, under = c.t.barrel(st.bath).ContactMM, "the media"
	case st.mop != nil:
		contact, under = st.mop.ContactMM, "the mop"
	case st.grit == nil:
		return
	}
	older := s.Marks
	if st.face.Own && len(older) > 0 {
		older = older[:len(older)-1]
	}
	for i := range older {
		m := &older[i]
		switch {
		case m.Left > followed && mark.Levelling(m.WavelengthMM, contact) < 0.5:
			m.Says = fmt.Sprintf("%s this long follow %s and stay", m.Cause, under)
		case m.Seen.P >= likelySeen && p.need.CuspsMayShow:
			m.Says = m.Cause + " still show, as this finish lets them"
		case m.Seen.P >= likelySeen:
			m.Says = m.Cause + " still show through"
		}
	}
}

// warnings are what may go wrong, worst first.
func (p *planner) warnings(c *told) []string {
	var ws []string
	if m := likeliest(c.end().Tell(p.main.ID), c.end().Own); m != nil && !p.need.CuspsMayShow && m.Seen.P >= 0.1 {
		ws = append(ws, fmt.Sprintf("%s may still show under low light: about %.0f in 100", m.Cause, 100*m.Seen.P))
	}
	charges := false
	for _, st := range c.stages {
		if st.bath == nil {
			continue
		}
		charges = true
		if w := jamWarning(st.bath, p.in.Brief.Display); w != "" {
			ws = append(ws, w)
		}
		ws = append(ws, p.missed(st.bath)...)
	}
	if p.jamming > 0 && (charges || !c.says.right()) {
		w := fmt.Sprintf("%d of the %d kinds of media on the shelf may stay in an opening and are left out", p.jamming, len(p.in.Shelf.Media))
		if plug := p.bestPlug(); plug != "" {
			w += "; " + plug
		}
		ws = append(ws, w)
	}
	for _, r := range c.rules {
		if r.SetAside && r.Cut > 0 {
			ws = append(ws, "set aside by the brief: "+r.Says)
		}
	}
	ws = append(ws, p.warn...)
	for _, w := range p.in.Book.LeftOut() {
		ws = append(ws, "of the log: "+strings.TrimSuffix(lowerFirst(w), "."))
	}
	return append(ws, p.in.Survey.Warnings...)
}
