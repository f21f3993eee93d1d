package finish

import (
	"math"
	"slices"

	"fettle"
	"fettle/internal/trade/cusp"
	"fettle/internal/trade/rub"
)

// surface is the judged face on its way through a route.
type surface struct {
	ra      fettle.Estimate
	marks   []fettle.Mark
	worn    []float64       // µm taken off each mark on average, as far as it levelled
	removed fettle.Estimate // since the cutter, mean, µm
	edge    fettle.Estimate // radius, µm
}

const (
	causeCusps  = "cusps"
	causeFeed   = "feed marks"
	causeFacets = "chord facets"
	byMachine   = "geometry, × 1–2 for the machine (common practice)"
	byGeometry  = fettle.BasisGeometry
	byLexikon   = "ground stainless steel, Lexikon der Pharmatechnologie (2013), scaled; starting guess for other metals"
)

// parabola holds the ratios of parabolic cusps: Ra = 4/(9√3)·h, Rq = √(4/45)·h.
const raOfCusp, rqOfCusp = 0.2566001, 0.2981424

// machineShare widens what geometry says a cutter leaves: runout, deflection
// and the edge's own chips add to the cusps. Common practice finds 1 to 2 times
// the theoretical height.
var machineShare = fettle.Guess(1.3, 1, 2, fettle.BasisPractice)

// bareRaUM is the finest that a small mill leaves however small the cusps.
const bareRaUM = 0.2

// cut is the surface after the finishing pass; raUM is what geometry says it
// leaves.
func (p *planner) cut(pass fettle.Pass, raUM float64) surface {
	machine := func(v float64) fettle.Estimate { return machineShare.Scale(v).Because(byMachine) }
	raUM = math.Max(raUM, bareRaUM)
	m := fettle.Mark{Cause: causeCusps, Zone: p.main.ID, WavelengthMM: pass.StepoverMM, Lay: "along the passes", Left: 1}
	if pass.Crossed {
		m.Lay = "crossed"
	}
	height := math.Max(pass.CuspUM, raUM/raOfCusp)
	if pass.CuspUM == 0 { // the end of a flat cutter on a level face
		m.Cause, m.Lay = causeFeed, "across the feed"
		m.WavelengthMM = pass.FeedMMMin / math.Max(pass.SpindleRPM, 1)
		height = raUM * 4
	}
	m.HeightUM, m.DepthUM, m.RqUM = machine(height), machine(height), machineShare.Value*height*rqOfCusp
	s := surface{
		ra: machine(raUM), marks: []fettle.Mark{m}, removed: fettle.Exactly(0, byGeometry),
		edge: asCut,
	}
	if pass.FacetMM > 0 {
		// A chord stands off the curve by the tolerance at most.
		tol := fettle.Exactly(p.curveOptions().ToleranceUM, byGeometry)
		s.marks = append(s.marks, fettle.Mark{
			Cause: causeFacets, Zone: p.main.ID, WavelengthMM: pass.FacetMM, Lay: "across the passes",
			HeightUM: tol, DepthUM: tol, RqUM: tol.Value * rqOfCusp, Left: 1,
		})
	}
	s.worn = make([]float64, len(s.marks))
	return s
}

// asCut is the radius of an edge from the cutter, burrs aside.
var asCut = fettle.Guess(15, 5, 40, fettle.BasisGuess)

// deburr breaks the edges by hand.
func (s *surface) deburr() {
	s.edge = widest(s.edge, fettle.Guess(80, 40, 180, fettle.BasisGuess))
}

// scratchPitch is the spacing of scratches as a share of the grain: common
// practice, only good for telling them from cusps.
const scratchPitch = 1.0

// rubbed is the surface after one grit has erased what it was meant to. A stiff
// block levels all marks shorter than itself; the grit leaves its own.
func (s *surface) rubbed(zone string, class fettle.HardnessClass, r rub.Rung, lay string) {
	s.ra = rub.Ra(r.Grit, class).Because(byLexikon)
	depth := r.Grit.RzUM.Scale(rub.Depth(class)).Because(byLexikon)
	s.marks = []fettle.Mark{{
		Cause: r.Grit.Name + " scratches", Zone: zone, WavelengthMM: r.Grit.GrainUM / 1000 * scratchPitch, Lay: lay,
		HeightUM: depth, RqUM: s.ra.Value * 1.25, DepthUM: depth, Left: 1,
	}}
	s.worn = []float64{0}
	s.removed = s.removed.Plus(r.TakeUM.Scale(r.MeanUM / math.Max(r.TakeUM.Value, 1e-9)).Because(fettle.BasisGuess))
	s.edge = grown(s.edge, fettle.Guess(20, 5, 60, fettle.BasisGuess))
}

// tumbled is the surface after some hours in a bath.
func (s *surface) tumbled(b bath, hours fettle.Estimate) {
	took := b.proc.Removed(hours)
	s.marks, s.worn = slices.Clone(s.marks), slices.Clone(s.worn)
	for i, m := range s.marks {
		s.worn[i] += took.Value * levelling(m, b.contactMM())
		s.marks[i].Left = leftAfter(m, s.worn[i])
	}
	s.ra = b.proc.Ra(s.ra, hours)
	s.removed = s.removed.Plus(took)
	s.edge = grown(s.edge, b.proc.Edge(took))
}

// levelling is the share of a removal that goes into levelling a mark under a
// contact of length a: marks much longer than the contact are followed, not
// levelled.
func levelling(m fettle.Mark, a float64) float64 {
	return 1 / (1 + math.Pow(m.WavelengthMM/a, 2))
}

// leftAfter is the share of a mark's height that still stands when a mean
// thickness x has been levelled off it: exact for parabolic cusps, linear for
// scratches.
func leftAfter(m fettle.Mark, x float64) float64 {
	if x >= meanDepth(m) {
		return 0
	}
	if !isCusps(m) {
		return 1 - x/meanDepth(m)
	}
	level, err := cusp.LevelAfter(m.DepthUM.Value, x)
	if err != nil {
		panic("finish: a mark without depth: " + err.Error())
	}
	return level
}

// meanDepth is the mean thickness that must come off to erase a whole mark.
func meanDepth(m fettle.Mark) float64 {
	if isCusps(m) {
		return m.DepthUM.Value / 3
	}
	return m.DepthUM.Value / 2
}

// isCusps tells marks of parabolic section from the rest.
func isCusps(m fettle.Mark) bool { return m.Cause == causeCusps || m.Cause == causeFacets }

// showing are the marks that an eye would still find: what is left of one
// stands out of the texture it lies in. The threshold is a starting guess.
func (s *surface) showing() []fettle.Mark {
	var ms []fettle.Mark
	for _, m := range s.marks {
		if m.RqUM*m.Left > 0.3*1.25*s.ra.Value {
			ms = append(ms, m)
		}
	}
	return ms
}

// grown adds radii in quadrature: recession goes with the square of the radius,
// so that what two steps take from an edge adds up.
func grown(a, b fettle.Estimate) fettle.Estimate {
	return fettle.Estimate{
		Value: math.Hypot(a.Value, b.Value), Low: math.Hypot(a.Low, b.Low), High: math.Hypot(a.High, b.High), Basis: b.Basis,
	}
}

func widest(a, b fettle.Estimate) fettle.Estimate {
	if a.Value > b.Value {
		return a
	}
	return b
}

// isMachined tells what the cutter left from what came after.
func isMachined(m fettle.Mark) bool {
	return m.Cause == causeCusps || m.Cause == causeFeed || m.Cause == causeFacets
}
