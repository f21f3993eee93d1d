package cusp

import (
	"math"

	"fettle"
	"fettle/internal/shape/relief"
	"fettle/internal/trade/mark"
)

// wear fills in how the pattern of the passes is worn down from its peaks, from the
// piece as it was simulated. profiles are those across the passes, form taken off:
// crests fall between the cells of a map, which would cut them short by up to two
// cells in a stepover, but not between the points of a profile. Profiles do not
// show what a second set of passes leaves, nor feed marks, which are a ninth as
// high as cusps where a tooth goes a third of the stepover; where either counts,
// the map is taken. tooth is the feed per tooth, 0 where teeth leave no marks.
func (p *Piece) wear(profiles *relief.Map, pass fettle.Pass, tooth float64) error {
	var flat *relief.Map
	switch {
	case pass.Crossed:
		flat = level(p.Rough, pass.StepoverMM, pass.StepoverMM)
	case tooth > pass.StepoverMM/3: // over a whole number of feed marks
		flat = level(p.Rough, tooth*math.Ceil(pass.StepoverMM/tooth-1e-9), pass.StepoverMM)
	default:
		flat = level(profiles, 0, pass.StepoverMM)
	}
	c, um, err := mark.Measured(flat)
	if fettle.CodeOf(err) == fettle.Invalid { // a flat end on a flat face leaves nothing
		c, um, err = mark.Parabola(), 0, nil
	}
	p.Curve, p.CurveHeightUM = c, um
	return err
}

// level takes the mean over a box of wx by wy mm off every cell, and leaves out the
// cells by the edge that have no whole box. Over whole periods a pattern has one
// mean wherever the box lies, so the pattern itself stays as it is, while what is
// much longer goes: what the polynomial left of the part's form, worst at the
// edges, and the flats and ridges of the model's facets, which are marks of their
// own with their own length. What is left over of a last period goes too, for part
// of one would count its crest or its valley twice. With wx 0 the box is a line
// along Y. A map with no room for two boxes comes back as it is.
func level(m *relief.Map, wx, wy float64) *relief.Map {
	cx, cy := math.Max(1, wx/m.DX), wy/m.DY
	kx, ky := int(math.Ceil((cx-1)/2)), int(math.Ceil((cy-1)/2)) // cells on either side
	if wx > 0 && kx < 1 || ky < 1 || m.W < 4*kx+2 || m.H < 4*ky+2 {
		return m
	}
	g := m.Grid
	g.W, g.H, g.X0, g.Y0 = m.W-2*kx, m.H-2*ky, m.X(kx), m.Y(ky)
	if kx > 0 {
		g.W = whole(g.W, cx)
	}
	g.H = whole(g.H, cy)
	out := &relief.Map{Grid: g, Base: m.Base, Z: make([]float32, g.Cells())}
	// The outermost cells of a box count in part.
	fx, fy := (cx-float64(2*kx-1))/2, (cy-float64(2*ky-1))/2
	column := make([]float64, m.W) // sums of the rows that lie inside for good
	row := func(j int) []float32 { return m.Z[j*m.W : (j+1)*m.W] }
	for j := 1; j < 2*ky; j++ {
		for i, z := range row(j) {
			column[i] += float64(z)
		}
	}
	boxed := make([]float64, m.W)
	for j := range g.H {
		if j > 0 {
			gone, come := row(j), row(j+2*ky-1)
			for i := range column {
				column[i] += float64(come[i]) - float64(gone[i])
			}
		}
		first, last := row(j), row(j+2*ky)
		for i := range boxed {
			boxed[i] = column[i] + fy*(float64(first[i])+float64(last[i]))
		}
		mid := row(j + ky)[kx:]
		if kx == 0 {
			for i := range g.W {
				out.Z[j*g.W+i] = float32(float64(mid[i]) - boxed[i]/cy)
			}
			continue
		}
		sum := 0.0
		for _, v := range boxed[1 : 2*kx] {
			sum += v
		}
		for i := range g.W {
			if i > 0 {
				sum += boxed[i+2*kx-1] - boxed[i]
			}
			mean := (sum + fx*(boxed[i]+boxed[i+2*kx])) / (cx * cy)
			out.Z[j*g.W+i] = float32(float64(mid[i]) - mean)
		}
	}
	return out
}

// whole is how many of n cells hold a whole number of periods.
func whole(n int, period float64) int {
	return int(math.Round(math.Floor(float64(n)/period+1e-9) * period))
}
