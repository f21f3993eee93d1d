package words

import (
	"fmt"
	"strings"

	"fettle"
	"fettle/internal/trade/cusp"
)

// Cusp says what one ball leaves.
func (l Voice) Cusp(r cusp.Result, sys fettle.System) string {
	v := l.in(sys)
	p := v.page()
	step, on, high, ra, rq := v.Small(r.StepMM), v.Small(r.StepOnMM), v.Height(r.CuspUM), v.Height(r.RaUM), v.Height(r.RqUM)
	if r.BallMM == 0 {
		p.say("", "An end that shows a radius of %s, passes %s apart (%s on the surface): cusps %s high, Ra %s, Rq %s.", v.Length(r.NoseMM), step, on, high, ra, rq)
	} else {
		p.say("", "A ball of %s, passes %s apart (%s on the surface): cusps %s high, Ra %s, Rq %s.", v.Length(r.BallMM), step, on, high, ra, rq)
	}
	if r.EffectiveMM != nil {
		p.item("At this depth the ball cuts with a diameter of %s: set the speed by that.", v.Length(*r.EffectiveMM))
	}
	if r.FeedMarkUM != nil {
		p.item("Feed marks are %s high; cusps and marks together have Sq %s.", v.Height(*r.FeedMarkUM), v.Height(*r.LatticeSqUM))
	}
	if r.FacetMM != nil {
		p.item("The tolerance cuts the curve into facets %s long, each turned by %.2f° against the next; a reflection turns twice that.", v.Small(*r.FacetMM), *r.FacetTurnDeg)
	}
	p.item("Twice the minutes: crossed passes keep peaks of %s at their corners and have no lay (Sq %s); half the stepover one way leaves %s.",
		v.Height(r.CuspUM), v.Height(r.CrossedSqUM), v.Height(r.HalfStepUM))
	p.item("To measure it, use a cut-off of at least %s.", v.Length(r.CutoffMM))
	p.item("%s", v.Sentence(r.Basis))
	return p.String()
}

// CuspRows compares the balls of the shelf.
func (l Voice) CuspRows(rows []cusp.Row, sys fettle.System) string {
	v := l.in(sys)
	var b strings.Builder
	line := func(cutter, step, cusps, ra, marks, time, rpm string) {
		fmt.Fprintf(&b, "%-12s %10s %11s %11s %12s %10s %6s\n", cutter, step, cusps, ra, marks, time, rpm)
	}
	line(v.Say("cutter"), v.Say("stepover"), v.Say("cusps"), "Ra", v.Say("feed marks"), v.Say("time"), v.Say("rpm"))
	for _, r := range rows {
		mark := "-"
		if r.FeedMarkUM != nil {
			mark = v.Height(*r.FeedMarkUM)
		}
		line(r.Cutter, v.Small(r.StepMM), v.Height(r.CuspUM), v.Height(r.RaUM), mark, fettle.Minutes(r.Minutes), fmt.Sprintf("%.0f", r.SpindleRPM))
	}
	return b.String()
}
