package cusp

import (
	"context"
	"math"
	"slices"

	"fettle"
	"fettle/internal/shape/geom"
	"fettle/internal/shape/mesh"
	"fettle/internal/shape/relief"
	"fettle/internal/shape/texture"
	"fettle/internal/trade/mark"

	"gonum.org/v1/gonum/spatial/r3"
)

// Piece is a small piece of a zone with the surface that a pass leaves on it.
type Piece struct {
	fettle.Simulated
	// Left is the surface, passes along X; Rough the same without the form of the
	// part, base 0. Both in mm.
	Left, Rough *relief.Map
	// Curve is how the pattern of the passes is worn down from its peaks,
	// and CurveHeightUM its height, peak to valley, along the map's own Z;
	// facets of the model, which are longer, are left out of both.
	Curve         *mark.Curve
	CurveHeightUM float64
}

// SimulateOptions are the choices behind a simulated piece; a zero field takes
// the default that stands beside it.
type SimulateOptions struct {
	Steep  bool        // where the zone leans most (95 %), else at its median slope
	Wave   relief.Wave // what the machine adds; none
	SizeMM float64     // along the passes, 4.8; two thirds of it across
	// AsModelled leads the cutter over the facets of the model, as a program made
	// from this file would; without it a ball is led over the smooth surface that
	// they stand for: the slope and the bends of the piece.
	AsModelled bool
}

const (
	pieceMM  = 4.8 // six sampling lengths of 0.8 mm
	cellsPer = 600 // along the piece
	formFit  = 4   // order of the polynomial that stands for the part's form
	// A piece that does not fit is tried smaller, down to this share.
	smallestPiece = 1.0 / 8
	// Profiles are taken across the passes in so many places, with so many points
	// to a stepover: crests are sharp.
	profiles   = 14
	perStep    = 200
	mostPoints = 6000
)

// Simulate leads a cutter over a small piece of a zone as the pass says, every
// tooth of it, and measures what is left. The piece lies in the zone's inside
// where its slope is typical, or steep. It fails with NotFound where the zone has
// no room for a piece or the cutter does not touch it, with Invalid for a pass
// without a stepover, and when ctx is done.
func Simulate(ctx context.Context, m *mesh.Mesh, z fettle.Zone, c fettle.Cutter, pass fettle.Pass, opt SimulateOptions) (*Piece, error) {
	if err := positive("the stepover of the pass to simulate", pass.StepoverMM); err != nil {
		return nil, err
	}
	if opt.SizeMM <= 0 {
		opt.SizeMM = pieceMM
	}
	if len(z.Facets) == 0 {
		return nil, fettle.Errorf(fettle.NotFound, "zone %q has no facets to lay passes over", z.ID)
	}
	s := newScene(m, z)
	sp, err := s.spot(ctx, opt)
	if err != nil {
		return nil, err
	}
	cell := sp.w / cellsPer
	g := relief.Cover(sp.x, sp.y, sp.x+sp.w, sp.y+sp.h, cell)
	t := ToolOf(c)
	// On a slope the tip runs beside what it cuts.
	beside := t.Radius*math.Min(1, math.Sin(math.Atan(sp.steepest))+0.05) + 3*pass.StepoverMM
	x0, y0, x1, y1 := sp.x-beside, sp.y-beside, sp.x+sp.w+beside, sp.y+sp.h+beside
	smooth, facetUM, err := s.smooth(ctx, sp)
	if err != nil {
		return nil, err
	}
	var ground relief.Ground = rolled{smooth, t}
	if opt.AsModelled || t.Corner < t.Radius {
		if ground, err = relief.NewSkin(ctx, m, s.frame, t, x0, y0, x1, y1); err != nil {
			return nil, err
		}
	}
	tooth := 0.0
	if pass.SpindleRPM > 0 && c.Flutes > 0 {
		tooth = pass.FeedMMMin / (pass.SpindleRPM * float64(c.Flutes))
	}
	list, err := relief.Lay(ctx, ground, relief.Passes{
		Step: pass.StepoverMM, Crossed: pass.Crossed, Tolerance: pass.ToleranceUM / 1000, Tooth: tooth, Wave: opt.Wave,
	}, x0, y0, x1, y1)
	if err != nil {
		return nil, err
	}
	left, _, err := relief.Sweep(ctx, g, []relief.Tool{t}, list, relief.Options{NoStock: true})
	if err != nil {
		return nil, err
	}
	if slices.ContainsFunc(left.Z, func(v float32) bool { return math.IsNaN(float64(v)) }) {
		return nil, fettle.Errorf(fettle.NotFound, "the %s does not get to the piece of zone %q that was chosen", c.Title, z.ID)
	}
	p := &Piece{Left: left}
	p.FacetUM = facetUM
	p.AtMM = geom.Array(s.frame.OutOf(r3.Vec{X: sp.x + sp.w/2, Y: sp.y + sp.h/2, Z: left.At(g.W/2, g.H/2)}))
	p.SizeMM, p.CellUM = [2]float64{sp.w, sp.h}, cell*1000
	p.SlopeDeg = math.Atan(sp.slope) * 180 / math.Pi

	across := relief.Grid{W: profiles, DX: sp.w / profiles, X0: sp.x + sp.w/profiles/2, Y0: sp.y}
	across.DY = math.Max(pass.StepoverMM/perStep, sp.h/mostPoints)
	across.H = int(sp.h/across.DY) + 1
	lines := relief.NewMap(across)
	for i := range across.W { // one by one: side by side they lie far apart
		col := across
		col.W, col.X0 = 1, across.X(i)
		line, _, err := relief.Sweep(ctx, col, []relief.Tool{t}, list, relief.Options{NoStock: true})
		if err != nil {
			return nil, err
		}
		lines.Base = line.Base
		for j, z := range line.Z {
			lines.Z[j*across.W+i] = z
		}
	}
	if err := p.areal(ctx); err != nil {
		return nil, err
	}
	lines, _, err = texture.Level(ctx, lines, texture.Form{Shape: texture.Polynomial, Order: formFit})
	if err != nil {
		return nil, err
	}
	if err := p.across(lines, pass.StepoverMM); err != nil {
		return nil, err
	}
	return p, p.wear(lines, pass, tooth)
}

// areal fills in what an instrument would read that maps the piece.
func (p *Piece) areal(ctx context.Context) error {
	rough, _, err := texture.Level(ctx, p.Left, texture.Form{Shape: texture.Polynomial, Order: formFit})
	if err != nil {
		return err
	}
	p.Rough = rough
	all, err := texture.Heights(ctx, rough)
	if err != nil {
		return err
	}
	for name, to := range map[string]*float64{"Sa": &p.SaUM, "Sq": &p.SqUM, "Sz": &p.SzUM, "Sdq": &p.SdqMrad} {
		if v, ok := all.Get(name); ok {
			*to = v.Value
		}
	}
	p.SdqMrad *= 1000
	return nil
}

// across fills in what a stylus would read across the passes, from profiles with
// their form taken off.
func (p *Piece) across(rough *relief.Map, step float64) error {
	set, ok := texture.CutoffFor(step, 0)
	if ok && texture.KeepsSpacing(set.CutoffMM, step) && p.SizeMM[1] >= 3*set.CutoffMM {
		p.CutoffMM = set.CutoffMM
	}
	window := int(math.Round(step / rough.DY))
	var cusps []float64
	for i := range rough.W {
		z := make([]float64, rough.H)
		for j := range z {
			z[j] = rough.At(i, j) * 1000
		}
		for j := 0; window > 1 && j+window < len(z); j += window {
			cusps = append(cusps, slices.Max(z[j:j+window+1])-slices.Min(z[j:j+window+1]))
		}
		if p.CutoffMM > 0 {
			var err error
			if _, z, err = texture.Filter(z, rough.DY, p.CutoffMM, texture.Normalised); err != nil {
				return err
			}
		}
		par, err := texture.Profile(z, rough.DY, texture.Sections{})
		if err != nil {
			return err
		}
		ra, _ := par.Get("Ra")
		rz, _ := par.Get("Rz")
		p.RaUM += ra.Value / float64(rough.W)
		p.RzUM += rz.Value / float64(rough.W)
	}
	if len(cusps) > 0 {
		slices.Sort(cusps)
		p.CuspUM = cusps[len(cusps)/2]
	}
	return nil
}
