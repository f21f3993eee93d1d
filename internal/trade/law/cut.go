package law

import (
	"math"

	"fettle"
	"fettle/internal/trade/mark"
)

// Pass is what a finishing pass leaves, by geometry.
type Pass struct {
	Cause  string // Cusps or FeedMarks
	WaveMM float64
	Lay    string
	// HeightUM is of the pattern; Curve how it is worn down: parabolic, or as
	// measured on the simulated surface.
	HeightUM float64
	Curve    *mark.Curve
	// Facets of the program's tolerance ride on it; none where FacetMM is 0.
	FacetMM, FacetUM float64
}

// Causes of marks from the cutter.
const (
	Cusps     = "cusps"
	FeedMarks = "feed marks"
	Facets    = "chord facets"
)

// machineShare widens what geometry says a cutter leaves: runout, deflection and
// the edge's own chips add to the cusps. Common practice finds 1 to 2 times the
// theoretical height.
var machineShare = fettle.Guess(1.3, 1, 2, ByMachine)

// MachineShare is the factor of a real mill on the height of what it leaves.
func MachineShare() fettle.Estimate { return machineShare }

// BareRaUM is the finest that a small mill leaves however small the cusps.
const BareRaUM = 0.2

// asCut is the radius of an edge from the cutter, burrs aside, and the height of
// its burr, µm.
var (
	asCut = fettle.Guess(15, 5, 40, fettle.BasisGuess)
	burr  = fettle.Guess(50, 20, 120, fettle.BasisGuess)
)

// AsCut is the radius of an edge as the cutter leaves it, µm.
func AsCut() fettle.Estimate { return asCut }

// Cut is the face after a finishing pass.
func Cut(w *Worlds, p Pass) *Surface {
	n := w.N()
	share := w.Of("what the mill adds to geometry", "×", machineShare)
	s := &Surface{
		W: w, Ra: make([]float64, n), WaveMM: 0.03, Lay: p.Lay, Removed: make([]float64, n),
		Edge: w.Of("edges from the cutter", "µm", asCut), Burr: w.Of("height of burrs", "µm", burr),
	}
	scaled := func(um float64) []float64 {
		v := make([]float64, n)
		for k := range v {
			v[k] = um * share[k]
		}
		return v
	}
	for k := range s.Ra {
		s.Ra[k] = BareRaUM
	}
	if p.HeightUM > 0 {
		s.Marks = append(s.Marks, newMark(p.Cause, p.WaveMM, p.Lay, p.Curve, scaled(p.HeightUM)))
	}
	exactly := func(um float64) []float64 {
		v := make([]float64, n)
		for k := range v {
			v[k] = um
		}
		return v
	}
	if p.FacetMM > 0 && p.FacetUM > 0 { // a chord stands off the curve by the tolerance at most
		s.Marks = append(s.Marks, newMark(Facets, p.FacetMM, "across the passes", mark.Parabola(), exactly(p.FacetUM)))
	}
	return s
}

// heldBack is the share of the largest radius allowed at which a person who knows it
// stops breaking an edge.
const heldBack = 0.75

// Deburred is the face after its edges were broken by hand to a radius, by a person
// who stops short of the largest that is allowed; 0 for no limit.
func (s *Surface) Deburred(radius fettle.Estimate, mostUM float64) *Surface {
	out := *s
	r := s.W.Of("edges broken by hand", "µm", radius)
	out.Edge, out.Burr = make([]float64, len(r)), make([]float64, len(r))
	for k := range r {
		own := r[k]
		if mostUM > 0 {
			own = math.Min(own, heldBack*mostUM)
		}
		out.Edge[k] = math.Max(s.Edge[k], own)
	}
	return &out
}
