package words

import (
	"fmt"
	"strings"

	"fettle"
	"fettle/internal/trade/cusp"
)

// Cusp says what one ball leaves.
func Cusp(r cusp.Result, sys fettle.System) string {
	var p page
	cutter := "A ball of " + sys.Length(r.BallMM)
	if r.BallMM == 0 {
		cutter = "An end that shows a radius of " + sys.Length(r.NoseMM)
	}
	p.say("", "%s, passes %s apart (%s on the surface): cusps %s high, Ra %s, Rq %s.",
		cutter, sys.Small(r.StepMM), sys.Small(r.StepOnMM), sys.Height(r.CuspUM), sys.Height(r.RaUM), sys.Height(r.RqUM))
	if r.EffectiveMM != nil {
		p.item("At this depth the ball cuts with a diameter of %s: set the speed by that.", sys.Length(*r.EffectiveMM))
	}
	if r.FeedMarkUM != nil {
		p.item("Feed marks %s high; cusps and marks together Sq %s.", sys.Height(*r.FeedMarkUM), sys.Height(*r.LatticeSqUM))
	}
	if r.FacetMM != nil {
		p.item("The tolerance cuts the curve into facets %s long, each turned by %.2f° against the next; a reflection turns twice that.", sys.Small(*r.FacetMM), *r.FacetTurnDeg)
	}
	p.item("Twice the minutes: crossed passes keep peaks of %s at their corners and have no lay (Sq %s); half the stepover one way leaves %s.",
		sys.Height(r.CuspUM), sys.Height(r.CrossedSqUM), sys.Height(r.HalfStepUM))
	p.item("To measure it, use a cut-off of at least %s.", sys.Length(r.CutoffMM))
	p.item("%s", sentence(r.Basis))
	return p.String()
}

// CuspRows compares the balls of the shelf.
func CuspRows(rows []cusp.Row, sys fettle.System) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%-12s %10s %11s %11s %12s %10s %6s\n", "cutter", "stepover", "cusps", "Ra", "feed marks", "time", "rpm")
	for _, r := range rows {
		mark := "-"
		if r.FeedMarkUM != nil {
			mark = sys.Height(*r.FeedMarkUM)
		}
		fmt.Fprintf(&b, "%-12s %10s %11s %11s %12s %10s %6.0f\n", r.Cutter, sys.Small(r.StepMM), sys.Height(r.CuspUM), sys.Height(r.RaUM), mark, fettle.Minutes(r.Minutes), r.SpindleRPM)
	}
	return b.String()
}
