package finish

import (
	"fmt"

	"fettle/internal/trade/cusp"
)

// whyPass gives the reasons for a cutter and its stepover: what the room of
// cusps says about the others at the same height, and what handwork the height
// rests on.
func (p *planner) whyPass(c *told) []string {
	sys := p.in.Brief.Display
	var why []string
	if c.pass().pass.CuspUM > 0 {
		choice, err := cusp.Choose(p.main, p.in.Shelf.Cutters, p.mat, p.mill, c.pass().pass.CuspUM, p.curveOptions())
		if err == nil && choice.Cutter.Name == c.pass().pass.Cutter {
			for _, w := range choice.Why {
				why = append(why, sys.Reword(w))
			}
		}
	}
	switch {
	case p.wish.pins(c.pass().pass):
		why = append(why, "the brief keeps this pass as it is; the rest was solved again around it")
	case c.rungs > 0:
		why = append(why, fmt.Sprintf("cusps of %s are where the mill's minutes and the sander's together cost least: finer passes take the mill longer than they save at the bench", sys.Height(c.pass().pass.CuspUM)))
	}
	return why
}
