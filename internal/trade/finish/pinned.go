package finish

import (
	"math"
	"strings"

	"fettle"
	"fettle/internal/trade/cusp"
)

// checkPinned fails with Invalid where a wish says how far apart something lies that
// has no passes, or says it without sense.
func checkPinned(s fettle.StepWish) error {
	if s.StepoverMM == 0 && s.Crossed == nil {
		return nil
	}
	what := s.Step
	switch s.Do {
	case "drop":
		return fettle.Errorf(fettle.Invalid, "the brief drops %q and says how far apart its passes lie; keep it, or leave that out", what)
	case "replace":
		what = s.With
	}
	if s.StepoverMM < 0 || math.IsNaN(s.StepoverMM) || s.StepoverMM > widestStepMM {
		return fettle.Errorf(fettle.Invalid, "the brief keeps %q with passes %g mm apart; give a stepover above zero, up to %d mm, or none", what, s.StepoverMM, widestStepMM)
	}
	return nil
}

// widestStepMM is past any pass that finishes a face.
const widestStepMM = 100

// samePass tells that a pass is as a wish has it.
func samePass(k fettle.StepWish, p fettle.Pass) bool {
	return (k.StepoverMM == 0 || math.Abs(k.StepoverMM-p.StepoverMM) < 1e-9) && (k.Crossed == nil || *k.Crossed == p.Crossed)
}

// keptPass are the bits of the wishes that a pass fulfils.
func (w *wishes) keptPass(p fettle.Pass) (bits uint32) {
	for i, k := range w.keep {
		if names(k.Step, passKey(p.Cutter)) && samePass(k, p) {
			bits |= 1 << i
		}
	}
	return bits
}

// pins tells that a pass is as the brief wants it and no other.
func (w *wishes) pins(p fettle.Pass) bool {
	for _, k := range w.keep {
		if (k.StepoverMM > 0 || k.Crossed != nil) && names(k.Step, passKey(p.Cutter)) && samePass(k, p) {
			return true
		}
	}
	return false
}

// fulfilled are the bits of the wishes that a move fulfils.
func (w *wishes) fulfilled(m *move) uint32 {
	if m.kind == fettle.StepSurface {
		return w.keptPass(m.pass.pass)
	}
	bits, _ := w.kept(m.key)
	return bits
}

// pinned are the passes that the brief wants just so: at a stepover of its own, or
// crossed. It fails with Invalid where there is no such pass, and with No where the
// cutter cannot be used on the judged face.
func (p *planner) pinned() ([]*option, error) {
	var out []*option
	for _, k := range p.wish.keep {
		if k.StepoverMM == 0 && k.Crossed == nil {
			continue
		}
		found := false
		for i := range p.curves {
			c := &p.curves[i]
			if c.Zone != p.main.ID || !names(k.Step, passKey(c.Cutter)) {
				continue
			}
			found = true
			more, err := p.pinnedTo(k, c)
			if err != nil {
				return nil, err
			}
			out = append(out, more...)
		}
		if !found {
			return nil, fettle.Errorf(fettle.Invalid, "the brief says how far apart the passes of %q lie, and that is no pass of a cutter; name one, like \"pass ball-10\"", k.Step)
		}
	}
	return out, nil
}

// pinnedTo are the passes of one cutter that a wish pins: the one at its stepover, or
// all of the curve where it says only whether they are crossed.
func (p *planner) pinnedTo(k fettle.StepWish, c *fettle.Curve) ([]*option, error) {
	cutter, err := p.in.Shelf.Cutter(c.Cutter)
	if err != nil {
		return nil, err
	}
	face := strings.ToLower(p.main.Name)
	if !c.Fits || c.Reach < minReach {
		return nil, fettle.Errorf(fettle.No, "the brief keeps %q, and %s does not do for the %s: %s", k.Step, cutter.Name, face, c.Why)
	}
	if k.StepoverMM == 0 && !*k.Crossed {
		return nil, nil // those of the curve are one way
	}
	opt := p.curveOptions()
	opt.Crossed = k.Crossed != nil && *k.Crossed
	var steps []float64
	if k.StepoverMM > 0 {
		steps = []float64{k.StepoverMM}
	} else {
		for _, pt := range c.Points {
			steps = append(steps, pt.StepoverMM)
		}
	}
	var out []*option
	for _, step := range steps {
		pass, _, err := cusp.PassAt(p.main, cutter, p.mat, p.mill, step, opt)
		if err != nil {
			return nil, fettle.Errorf(fettle.Invalid, "the brief keeps %q with passes %g mm apart, and that cannot be cut on the %s: %w", k.Step, step, face, err)
		}
		if pass.CuspUM == 0 && (opt.Crossed || k.StepoverMM > 0 && math.Abs(step-c.Points[0].StepoverMM) > 1e-9) {
			return nil, fettle.Errorf(fettle.Invalid, "the brief keeps %q with passes of its own, and on the %s %s leaves no cusps whatever lies between them; leave stepover and crossing out", k.Step, face, cutter.Name)
		}
		pt, err := cusp.PointAt(p.main, cutter, p.mat, p.mill, step, opt)
		if err != nil {
			return nil, err
		}
		out = append(out, p.option(pass, pt))
	}
	return out, nil
}
