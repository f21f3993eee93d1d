package work

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"sync"
	"time"

	"fettle"
	"fettle/internal/output/closeup"
	"fettle/internal/shape/relief"
	"fettle/internal/trade/cusp"
	"fettle/internal/trade/grain"
)

// TryPass is a pass to be tried on a zone of a planned part.
type TryPass struct {
	Zone       string
	Cutter     string
	StepoverMM float64
	Crossed    bool
}

// TriedPass is what a pass would leave, and take.
type TriedPass struct {
	Pass    fettle.Pass `json:"pass"`
	Minutes float64     `json:"minutes"` // a piece
	RaUM    float64     `json:"ra_um"`   // by geometry
	// Picture is the address of the close-up; WideMM how much of the face lies across it.
	Picture string  `json:"picture"`
	WideMM  float64 `json:"wide_mm"`
	// Says is why nothing was simulated; empty where it was.
	Says string `json:"says"`
}

// PassBench tries passes on a planned part. It may be used from several places at
// once.
type PassBench struct {
	plan  *fettle.Plan
	shelf *fettle.Shelf
	load  func(context.Context) (*Part, error)

	mu   sync.Mutex
	part *Part
	// contrast is one for all that is tried, so that pictures can be compared.
	contrast float64
}

// NewPassBench is a bench for a plan and the shelf it was made from. The part is read
// by load when the first pass is simulated, with the faces as fine as for the plan.
func NewPassBench(plan *fettle.Plan, shelf *fettle.Shelf, load func(context.Context) (*Part, error)) *PassBench {
	return &PassBench{plan: plan, shelf: shelf, load: load}
}

// longestTry is how long a page waits for a simulation; very fine passes take longer.
const longestTry = 6 * time.Second

// PassModel is how the part of a plan is read for its passes.
func PassModel(m Model, b fettle.Brief) (Model, PartOptions) {
	m.Units, m.Body, m.Up = b.ModelUnits, b.Body, b.Up
	return m, PartOptions{Fine: true}
}

// ByGeometry is what a pass leaves by closed forms. It fails with NotFound for a zone
// or cutter that the plan has no curve of, and with Invalid for a pass that cannot be.
func (b *PassBench) ByGeometry(a TryPass) (TriedPass, error) {
	z, c, err := b.zone(a)
	if err != nil {
		return TriedPass{}, err
	}
	cutter, err := b.shelf.Cutter(a.Cutter)
	if err != nil {
		return TriedPass{}, err
	}
	opt := cusp.Options{ToleranceUM: b.tolerance(a.Zone), Crossed: a.Crossed, Reached: []cusp.Reached{{Zone: a.Zone, Cutter: a.Cutter, Share: c.Reach}}}
	pass, minutes, err := cusp.PassAt(z, cutter, b.plan.Material, b.plan.Mill, a.StepoverMM, opt)
	if err != nil {
		return TriedPass{}, err
	}
	point, err := cusp.PointAt(z, cutter, b.plan.Material, b.plan.Mill, a.StepoverMM, opt)
	if err != nil {
		return TriedPass{}, err
	}
	return TriedPass{Pass: pass, Minutes: minutes, RaUM: point.RaUM, WideMM: likeWideMM * likeShown}, nil
}

// zone is the zone of a pass and the curve of its cutter there.
func (b *PassBench) zone(a TryPass) (fettle.Zone, *fettle.Curve, error) {
	zi := slices.IndexFunc(b.plan.Zones, func(z fettle.Zone) bool { return z.ID == a.Zone })
	ci := slices.IndexFunc(b.plan.Curves, func(c fettle.Curve) bool { return c.Zone == a.Zone && c.Cutter == a.Cutter })
	switch {
	case zi < 0:
		return fettle.Zone{}, nil, fettle.Errorf(fettle.NotFound, "the plan has no zone %q; take one of its zones", a.Zone)
	case ci < 0:
		return fettle.Zone{}, nil, fettle.Errorf(fettle.NotFound, "the plan has no curve of %q on the zone %q; take a cutter of its curves", a.Cutter, a.Zone)
	case !b.plan.Curves[ci].Fits:
		return fettle.Zone{}, nil, fettle.Errorf(fettle.Invalid, "%s does not do for the zone %q: %s", a.Cutter, a.Zone, b.plan.Curves[ci].Why)
	}
	return b.plan.Zones[zi], &b.plan.Curves[ci], nil
}

// tolerance is the chord tolerance of the plan's passes over a zone.
func (b *PassBench) tolerance(zone string) float64 {
	tol := 0.0
	for _, s := range b.plan.Route {
		if s.Pass != nil && (tol == 0 || s.Zone == zone) {
			tol = s.Pass.ToleranceUM
		}
	}
	return tol
}

// Sketch is a close-up of the cusps of a pass, drawn from its numbers: quick enough to
// follow a hand. It is a PNG, lit as [PassBench.Simulate] lights its surface.
func (b *PassBench) Sketch(ctx context.Context, a TryPass) ([]byte, error) {
	t, err := b.ByGeometry(a)
	if err != nil {
		return nil, err
	}
	m, err := cuspsOf(t.Pass)
	if err != nil {
		return nil, err
	}
	return b.lit(ctx, m, t.WideMM)
}

// cuspsOf draws the cusps of a pass and nothing else; a pass without any is level.
func cuspsOf(p fettle.Pass) (*relief.Map, error) {
	var s fettle.Step
	if p.CuspUM > 0 {
		lay := "along the passes"
		if p.Crossed {
			lay = "crossed"
		}
		s.Marks = []fettle.Mark{{Cause: "cusps", WavelengthMM: p.StepoverMM, Lay: lay, RqUM: parabolaRq * p.CuspUM, Left: 1}}
	}
	return grain.Surface(s, grain.Patch{WideMM: likeWideMM, HighMM: likeHighMM, Cells: likeWidthPX})
}

// parabolaRq is the rms height of parabolic cusps of height 1, 2/(3√5).
const parabolaRq = 0.2981424

// Simulate makes a pass tooth by tooth on a piece of its zone where that leans most, and
// shows it under the lamp of the plan's close-ups, at one exposure for all that is tried. A pass that takes too long to wait
// for, or leaves no cusps, comes as geometry has it, with the reason in Says and without
// a picture.
func (b *PassBench) Simulate(ctx context.Context, a TryPass) (TriedPass, []byte, error) {
	t, err := b.ByGeometry(a)
	if err != nil {
		return t, nil, err
	}
	if t.Pass.CuspUM == 0 {
		t.Says = "This cutter leaves no cusps here, so there is nothing to simulate."
		return t, nil, nil
	}
	part, err := b.read(ctx)
	if err != nil {
		return t, nil, err
	}
	zi := slices.IndexFunc(part.Survey.Zones, func(z fettle.Zone) bool { return z.ID == a.Zone })
	if zi < 0 {
		return t, nil, fettle.Errorf(fettle.NotFound, "the part has no zone %q any more; plan it again", a.Zone)
	}
	cutter, err := b.shelf.Cutter(a.Cutter)
	if err != nil {
		return t, nil, err
	}
	soon, done := context.WithTimeout(ctx, longestTry)
	defer done()
	piece, err := cusp.Simulate(soon, part.Mesh, part.Survey.Zones[zi], cutter, t.Pass, cusp.SimulateOptions{Steep: true, SizeMM: tryMM(a.StepoverMM)})
	switch {
	case fettle.CodeOf(err) == fettle.NotFound:
		t.Says = fmt.Sprintf("It is told by closed forms only: %v.", err)
		return t, nil, nil
	case errors.Is(err, context.DeadlineExceeded) && ctx.Err() == nil:
		t.Says = "So fine a pass takes too long to simulate while one waits; it is told by closed forms. The plan simulates the one that it takes."
		return t, nil, nil
	case err != nil:
		return t, nil, err
	}
	t.Pass.Simulated = &piece.Simulated
	t.WideMM = math.Min(t.WideMM, likeShown*piece.SizeMM[0])
	pic, err := b.lit(ctx, piece.Rough, t.WideMM)
	return t, pic, err
}

// tryMM is how long a piece is simulated: enough across for three cut-offs of ISO
// 21920-3 at the spacing of the passes (0.8 mm for up to 0.4 mm, 0.25 mm for up to
// 0.13 mm, 0.08 mm for up to 0.04 mm), and as much as a picture shows where
// that does not take long. 0 is the piece that plans simulate.
func tryMM(step float64) float64 {
	switch {
	case step > 0.4:
		return 0
	case step > 0.13:
		return 3.7
	case step > 0.06:
		return likeWideMM
	case step > 0.04:
		return 1.5
	}
	return 0.8
}

func (b *PassBench) read(ctx context.Context) (*Part, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.part == nil {
		part, err := b.load(ctx)
		if err != nil {
			return nil, err
		}
		b.part = part
	}
	return b.part, nil
}

// lit is a surface as a picture, at the exposure that suits the plan's own pass: of two
// passes that are tried, the smoother looks it.
func (b *PassBench) lit(ctx context.Context, m *relief.Map, wideMM float64) ([]byte, error) {
	opt := likeOptions(b.plan)
	opt.Bare, opt.WideMM = true, wideMM
	var err error
	if opt.Contrast, err = b.exposed(opt); err != nil {
		return nil, err
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	pic, err := closeup.Light(m, opt)
	if err != nil {
		return nil, err
	}
	var out bytes.Buffer
	err = pic.PNG(&out)
	return out.Bytes(), err
}

// exposed is the contrast for the cusps of the plan's own pass.
func (b *PassBench) exposed(opt closeup.Options) (float64, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.contrast > 0 {
		return b.contrast, nil
	}
	_, pass := shownPass(b.plan)
	if pass == nil {
		pass = &fettle.Pass{StepoverMM: 0.3, CuspUM: 3} // nothing to go by: as a usual pass
	}
	m, err := cuspsOf(*pass)
	if err != nil {
		return 0, err
	}
	opt.WideMM = likeWideMM * likeShown
	pic, err := closeup.Light(m, opt)
	if err != nil {
		return 0, err
	}
	b.contrast = pic.Contrast
	return b.contrast, nil
}
