package finish

import (
	"context"
	"fmt"
	"math"
	"slices"
	"sync"

	"fettle"
	"fettle/internal/trade/cusp"
	"fettle/internal/trade/law"
	"fettle/internal/trade/mark"
)

// findReach lowers the cutters of the shelf onto the part, where there is one.
func (p *planner) findReach(ctx context.Context) (err error) {
	if p.in.Mesh == nil {
		return nil
	}
	p.reached, err = cusp.Reach(ctx, p.in.Mesh, p.cutZones(), p.in.Shelf.Cutters)
	return err
}

// findOptions lists every pass of every cutter that gets everywhere on the judged
// face, but for those that another beats in every respect.
func (p *planner) findOptions() error {
	var all []*option
	for _, c := range p.curves {
		if c.Zone != p.main.ID || !c.Fits || c.Reach < minReach {
			continue
		}
		cutter, err := p.in.Shelf.Cutter(c.Cutter)
		if err != nil {
			return err
		}
		for _, pt := range c.Points {
			pass, _, err := cusp.PassAt(p.main, cutter, p.mat, p.mill, pt.StepoverMM, p.curveOptions())
			if err != nil {
				return err
			}
			all = append(all, p.option(pass, pt))
		}
	}
	pinned, err := p.pinned()
	if err != nil {
		return err
	}
	all = append(all, pinned...)
	for _, b := range all {
		if !slices.ContainsFunc(all, func(a *option) bool { return p.beatsPass(a, b) }) {
			p.options = append(p.options, b)
		}
	}
	return nil
}

// option is a pass as the search takes it.
func (p *planner) option(pass fettle.Pass, pt fettle.CurvePoint) *option {
	o := &option{pass: pass, key: passKey(pass.Cutter), cutMin: pt.Minutes, cost: pt.Minutes * p.millMinute(pass.Cutter), raUM: pt.RaUM}
	o.left = p.leaves(pass, pt.RaUM, mark.Parabola())
	o.sim = p.in.Mesh == nil || pass.CuspUM == 0
	return o
}

// beatsPass reports that one pass takes less time than another, and no more money, and
// leaves no more of anything. Passes of a cutter that is kept are kept.
func (p *planner) beatsPass(a, b *option) bool {
	if bits := p.wish.keptPass(b.pass); bits != 0 && p.wish.keptPass(a.pass) != bits {
		return false
	}
	if p.wish.dropped(a.key) {
		return false
	}
	x, y := a.left, b.left
	if a.cutMin > b.cutMin || a.cost > b.cost || x.Cause != y.Cause || x.HeightUM > y.HeightUM || x.WaveMM > y.WaveMM || x.FacetUM > y.FacetUM || x.FacetMM > y.FacetMM {
		return false
	}
	return a.cutMin < b.cutMin || x.HeightUM < y.HeightUM
}

// leaves is what a pass leaves in the terms of the laws; raUM is what geometry says.
func (p *planner) leaves(pass fettle.Pass, raUM float64, c *mark.Curve) law.Pass {
	l := law.Pass{Cause: law.Cusps, WaveMM: pass.StepoverMM, Lay: "along the passes", HeightUM: pass.CuspUM, Curve: c}
	if pass.Crossed {
		l.Lay = "crossed"
	}
	if pass.CuspUM == 0 { // the end of a flat cutter on a level face
		l.Cause, l.Lay = law.FeedMarks, "across the feed"
		l.WaveMM = pass.FeedMMMin / math.Max(pass.SpindleRPM, 1)
		l.HeightUM = math.Max(raUM, law.BareRaUM) * 4
	}
	if pass.FacetMM > 0 {
		l.FacetMM, l.FacetUM = pass.FacetMM, p.curveOptions().ToleranceUM
	}
	return l
}

// trial simulates a pass where the face leans most: the same pass, with what was found
// there, worn down through the surface as it was measured. It takes the place of the
// one that was chosen. The closed forms stay where there is no mesh, no cusp, or no
// room for a piece.
func (p *planner) trial(ctx context.Context, chosen *option) (*option, error) {
	o := *chosen
	o.sim = true
	piece, err := p.trials.piece(func() (*cusp.Piece, error) { return p.piece(ctx, p.main, o.pass) }, o.pass)
	if err != nil {
		return nil, err
	}
	if piece != nil {
		sim := piece.Simulated
		o.pass.Simulated = &sim
		o.pass.CuspUM = math.Max(o.pass.CuspUM, sim.CuspUM)
		o.raUM = sim.RaUM
		o.left = p.leaves(o.pass, sim.RaUM, piece.Curve)
		if piece.CurveHeightUM > 0 { // without the facets, which are a mark of their own
			o.left.HeightUM = piece.CurveHeightUM
		}
	}
	p.options = slices.Clone(p.options)
	if i := slices.Index(p.options, chosen); i >= 0 {
		p.options[i] = &o
	}
	return &o, nil
}

// trials are the passes that were simulated, for all finishes of a plan that are
// worked out at the same time.
type trials struct {
	mu   sync.Mutex
	done map[string]*cusp.Piece
}

// piece makes a trial, or remembers it.
func (t *trials) piece(make func() (*cusp.Piece, error), pass fettle.Pass) (*cusp.Piece, error) {
	t.mu.Lock()
	defer t.mu.Unlock()
	key := fmt.Sprintf("%s %g %t", pass.Cutter, pass.StepoverMM, pass.Crossed)
	if got, ok := t.done[key]; ok {
		return got, nil
	}
	got, err := make()
	if err == nil {
		t.done[key] = got
	}
	return got, err
}

// simulated is what a pass leaves on a zone; nil where that cannot be told.
func (p *planner) simulated(ctx context.Context, z fettle.Zone, pass fettle.Pass) (*fettle.Simulated, error) {
	piece, err := p.piece(ctx, z, pass)
	if err != nil || piece == nil {
		return nil, err
	}
	return &piece.Simulated, nil
}

// piece is a small piece of a zone with what a pass leaves on it; nil where that
// cannot be told.
func (p *planner) piece(ctx context.Context, z fettle.Zone, pass fettle.Pass) (*cusp.Piece, error) {
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
	return piece, nil
}

// cuspRq is the rms height of parabolic cusps of height 1.
const cuspRq = 0.2981424

// whySimulated says what the trial found, beside what crossing would do.
func (p *planner) whySimulated(pass fettle.Pass, minutes float64) []string {
	sys := p.in.Brief.Display
	var why []string
	if s := pass.Simulated; s != nil {
		why = append(why, fmt.Sprintf("simulated tooth by tooth where the face leans %.0f°: cusps of %s, Ra %s and Rz %s across the passes, slopes of %.0f mrad",
			s.SlopeDeg, sys.Height(s.CuspUM), sys.Height(s.RaUM), sys.Height(s.RzUM), s.SdqMrad))
		if own := cuspRq * s.CuspUM; s.SqUM > 1.5*own {
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
