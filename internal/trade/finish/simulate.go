package finish

import (
	"context"
	"fmt"

	"fettle"
	"fettle/internal/trade/cusp"
)

// findReach lowers the cutters of the shelf onto the part, where there is one.
func (p *planner) findReach(ctx context.Context) (err error) {
	if p.in.Mesh == nil {
		return nil
	}
	p.reached, err = cusp.Reach(ctx, p.in.Mesh, p.cutZones(), p.in.Shelf.Cutters)
	return err
}

// proved puts the pass that was chosen on trial: it is simulated where the face
// leans most, and the rest of the route is planned again from the surface that
// is found there. The closed forms, which led the choice, stay where there is no
// mesh, no cusp, or no room for a piece.
func (p *planner) proved(ctx context.Context, c *candidate) (*candidate, error) {
	sim, err := p.simulated(ctx, p.main, c.pass)
	if err != nil || sim == nil {
		return c, err
	}
	bare := start{pass: c.pass, raUM: sim.RaUM, cutMin: c.cutMin}
	bare.pass.Simulated = sim
	if sim.CuspUM > bare.pass.CuspUM {
		bare.pass.CuspUM = sim.CuspUM
	}
	bare.after = p.cut(bare.pass, bare.raUM)
	bare.after.deburr()
	bare.cost = p.cutCost(bare)
	return p.searchFrom(ctx, p.starts([]start{bare}))
}

// simulated is what a pass leaves on a zone; nil where that cannot be told.
func (p *planner) simulated(ctx context.Context, z fettle.Zone, pass fettle.Pass) (*fettle.Simulated, error) {
	if p.in.Mesh == nil || pass.CuspUM == 0 {
		return nil, nil
	}
	cutter, err := p.in.Shelf.Cutter(pass.Cutter)
	if err != nil {
		return nil, err
	}
	piece, err := cusp.Simulate(ctx, p.in.Mesh, z, cutter, pass, cusp.SimulateOptions{Steep: true})
	switch {
	case fettle.CodeOf(err) == fettle.NotFound:
		p.warn = append(p.warn, fmt.Sprintf("the pass over the %s is told by closed forms only: %v", lowerFirst(z.Name), err))
		return nil, nil
	case err != nil:
		return nil, err
	}
	return &piece.Simulated, nil
}

// whySimulated says what the trial found, beside what crossing would do.
func (p *planner) whySimulated(pass fettle.Pass, minutes float64) []string {
	sys := p.in.Brief.Display
	var why []string
	if s := pass.Simulated; s != nil {
		why = append(why, fmt.Sprintf("simulated tooth by tooth where the face leans %.0f°: cusps of %s, Ra %s and Rz %s across the passes, slopes of %.0f mrad",
			s.SlopeDeg, sys.Height(s.CuspUM), sys.Height(s.RaUM), sys.Height(s.RzUM), s.SdqMrad))
		if own := rqOfCusp * s.CuspUM; s.SqUM > 1.5*own {
			why = append(why, fmt.Sprintf("of Sq %s there only %s are cusps; the rest are facets that a tolerance of %s cuts along each pass: a finer tolerance gains more than a finer stepover",
				sys.Height(s.SqUM), sys.Height(own), sys.Fine(pass.ToleranceUM)))
		}
		if s.FacetUM > pass.CuspUM/2 {
			why = append(why, fmt.Sprintf("the facets of the model go up and down by %s there: make the program from a finer one, or the face shows them", sys.Height(s.FacetUM)))
		}
	}
	if pass.CuspUM > 0 && !pass.Crossed {
		why = append(why, fmt.Sprintf("crossing the passes would take %s a piece in place of %s and keep peaks of %s where they meet; the same minutes one way, %s apart, leave %s: cross to lose the lay, not the height",
			fettle.Minutes(2*minutes), fettle.Minutes(minutes), sys.Height(pass.CuspUM), sys.Small(pass.StepoverMM/2), sys.Height(pass.CuspUM/4)))
	}
	return why
}
