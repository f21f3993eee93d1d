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
	// contrast is that of the plan's close-ups, so that what is tried is shown as they are.
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

// Sketch is a close-up of what a pass leaves, drawn from its numbers: quick enough to
// follow a hand. It is a PNG under the lamp of the plan's close-ups.
func (b *PassBench) Sketch(ctx context.Context, a TryPass) ([]byte, error) {
	t, err := b.ByGeometry(a)
	if err != nil {
		return nil, err
	}
	m, err := grain.Surface(b.after(a.Zone, t), grain.Patch{WideMM: likeWideMM, HighMM: likeHighMM, Cells: likeWidthPX})
	if err != nil {
		return nil, err
	}
	return b.lit(ctx, m, t.WideMM)
}

// after is the plan's step over a zone with another pass: its cusps are the pass's, with
// what the plan takes the machine to add; facets and fine texture stay.
func (b *PassBench) after(zone string, t TriedPass) fettle.Step {
	const rq = 0.2981424 // of parabolic cusps of height 1
	s := fettle.Step{}
	for _, own := range b.plan.Route {
		if own.Pass != nil && own.Zone == zone {
			s = own
			break
		}
	}
	adds, fine := 1.0, square(gaussRq*s.RaUM.Value)
	marks := []fettle.Mark{}
	for _, m := range s.Marks {
		fine -= square(m.RqUM * m.Left)
		if m.Cause == causeCusps {
			if s.Pass.CuspUM > 0 {
				adds = math.Max(1, m.HeightUM.Value/s.Pass.CuspUM)
			}
			continue
		}
		marks = append(marks, m)
	}
	h := adds * t.Pass.CuspUM
	lay := "along the passes"
	if t.Pass.Crossed {
		lay = "crossed"
	}
	sum := math.Max(fine, 0)
	if h > 0 {
		own := fettle.Mark{Cause: causeCusps, Zone: zone, WavelengthMM: t.Pass.StepoverMM, Lay: lay, HeightUM: fettle.Exactly(h, fettle.BasisGeometry), RqUM: rq * h, Left: 1}
		marks = append([]fettle.Mark{own}, marks...)
	}
	for _, m := range marks {
		sum += square(m.RqUM * m.Left)
	}
	s.Marks, s.RaUM.Value = marks, math.Sqrt(sum)/gaussRq
	return s
}

const (
	causeCusps = "cusps"
	gaussRq    = 1.2533 // Rq over Ra of Gaussian heights, √(π/2)
)

func square(v float64) float64 { return v * v }

// Simulate makes a pass tooth by tooth on a piece of its zone where that leans most, and
// shows it under the lamp of the plan's close-ups. A pass that takes too long to wait
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

// lit is a surface as a picture under the lamp, and at the exposure, of the plan's.
func (b *PassBench) lit(ctx context.Context, m *relief.Map, wideMM float64) ([]byte, error) {
	opt := likeOptions(b.plan)
	var err error
	if opt.Contrast, err = b.exposed(ctx); err != nil {
		return nil, err
	}
	opt.Bare, opt.WideMM = true, wideMM
	pic, err := closeup.Light(m, opt)
	if err != nil {
		return nil, err
	}
	var out bytes.Buffer
	err = pic.PNG(&out)
	return out.Bytes(), err
}

func (b *PassBench) exposed(ctx context.Context) (float64, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.contrast > 0 {
		return b.contrast, nil
	}
	panels, _, err := stripPanels(ctx, b.plan)
	if err != nil || len(panels) == 0 {
		return 0, err
	}
	pic, _, err := closeup.Strip(panels, likeOptions(b.plan), true)
	if err != nil {
		return 0, err
	}
	b.contrast = pic.Contrast
	return b.contrast, nil
}
