// Package rub works out sanding by hand: which grits in which order take a
// face from what the cutter left to a given grit, what each must take off, and
// how long it takes.
//
// [Ladder] is the way in. Every grit must cut at least to the bottom of what
// came before it, the cusps first and then the furrows of the coarser grit, so
// a step's work is a depth and its pace is the grain's: coarse grains cut fast
// and leave deep furrows, fine ones the other way round. The cheapest way down
// is a shortest path over the grits on the shelf, and is found exactly.
package rub

import (
	"math"

	"fettle"
)

// Numbers to start from until the shop's log replaces them.
const (
	// baseMinutes is the time for 100 cm² of flat reachable steel with one grit
	// that erases the one before, at P240 to P400.
	baseMinutes, baseLow, baseHigh = 6, 2.5, 15
	// refGrainUM and refTakeUM say at which grain and which mean take-off the
	// base time holds: P320 on the furrows of P240.
	refGrainUM, refTakeUM = 46, 0.62
	// changeMinutes is what a change of paper, a wipe and a look cost a piece.
	changeMinutes = 0.7
	// paperShare is cm² of paper used up per cm² of face, wet.
	paperShare, paperLow, paperHigh = 0.6, 0.25, 2.0
	// dryPaper is how much more paper a dry face eats.
	dryPaper = 2.5
)

// meanOfFurrows is the share of a furrow's depth that has to come off on
// average to reach its bottom: the mean line of a random scratched face lies
// half way.
const meanOfFurrows = 0.5

// meanOfCusps is the same for parabolic cusps, exactly: the mean line lies a
// third of the way up.
const meanOfCusps = 1.0 / 3

// deepestShare is the depth, as a share of its grain, that a paper works at its
// best: past it the spaces between the grains fill up before the work is done,
// and its pace falls in proportion. A starting guess for a thing that is common
// practice: deep cusps want coarse paper.
const deepestShare = 0.1

// Pace is how quickly a material is sanded compared with mild steel, as a
// factor on the time.
func Pace(c fettle.HardnessClass) float64 {
	switch c {
	case fettle.ClassAluminium, fettle.ClassBrass:
		return 0.5
	case fettle.ClassStainless:
		return 1.3
	case fettle.ClassTitanium:
		return 1.5
	case fettle.ClassHardened:
		return 2
	}
	return 1
}

// Depth is how deep a material is furrowed compared with the austenitic
// stainless steel for which the grits' roughness was tabulated.
func Depth(c fettle.HardnessClass) float64 {
	switch c {
	case fettle.ClassAluminium, fettle.ClassBrass:
		return 1.3
	case fettle.ClassHardened:
		return 0.8
	}
	return 1
}

// Face is what is to be sanded.
type Face struct {
	AreaMM2 float64
	Class   fettle.HardnessClass
	// Curved faces take longer than flat ones, inside corners longer still.
	Curved bool
	// CornerShare is the share of the area that lies in inside corners, 0 to 1.
	CornerShare float64
	Wet         bool
}

// hardship is the factor on time for the shape of the face.
func (f Face) hardship() float64 {
	k := 1.0
	if f.Curved {
		k = 1.5
	}
	return k*(1-f.CornerShare) + 3*f.CornerShare
}

// Left is what has to come off: a depth from the highest peak to the deepest
// valley, in micrometres, and the share of it that comes off on average.
type Left struct {
	Cause   string
	DepthUM fettle.Estimate
	Mean    float64
}

// Cusps is what a cutter left, by cusp height in micrometres. Chord facets or
// feed marks on top of the cusps add to the depth before the call.
func Cusps(h fettle.Estimate) Left { return Left{"cusps", h, meanOfCusps} }

// Furrows is what a grit leaves in a material.
func Furrows(g fettle.Grit, c fettle.HardnessClass) Left {
	return Left{g.Name + " scratches", g.RzUM.Scale(Depth(c)), meanOfFurrows}
}

// Ra is the roughness that a grit leaves across its stroke in a material,
// micrometres.
func Ra(g fettle.Grit, c fettle.HardnessClass) fettle.Estimate { return g.RaUM.Scale(Depth(c)) }

// Rung is one grit of a ladder.
type Rung struct {
	Grit    fettle.Grit
	Erases  Left
	TakeUM  fettle.Estimate // depth to take off, at the peaks
	MeanUM  float64         // mean removal
	Minutes fettle.Estimate // for one piece
	Paper   fettle.Estimate // cm² for one piece
}

// rung works out one grit on one thing to erase. The first grit also has to be
// taken to where its own furrows are even, which its own depth stands for.
func rung(f Face, g fettle.Grit, l Left) Rung {
	own := g.RzUM.Value * Depth(f.Class)
	mean := l.DepthUM.Value*l.Mean + 0.1*own
	pace := g.GrainUM / refGrainUM // removal at one pressure and speed goes with the grain
	k := f.AreaMM2 / 1e4 * Pace(f.Class) * f.hardship() * mean / refTakeUM / pace
	k *= math.Max(1, l.DepthUM.Value/(deepestShare*g.GrainUM))
	t := fettle.Guess(baseMinutes, baseLow, baseHigh, fettle.BasisGuess).Scale(k)
	t = t.Plus(fettle.Guess(changeMinutes, 0.4, 1.2, fettle.BasisGuess))
	paper := fettle.Guess(paperShare, paperLow, paperHigh, fettle.BasisGuess).Scale(f.AreaMM2 / 100)
	if !f.Wet {
		paper = paper.Scale(dryPaper)
	}
	return Rung{Grit: g, Erases: l, TakeUM: l.DepthUM, MeanUM: mean, Minutes: t, Paper: paper}
}
