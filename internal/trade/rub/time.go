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
	// baseCM2 is the area for which it holds.
	baseCM2 = 100
	// refGrainUM and refTakeUM say at which grain and which mean take-off the
	// base time holds: P320 on the furrows of P240.
	refGrainUM, refTakeUM = 46, 0.62
	// paperShare is cm² of paper used up per cm² of face, wet.
	paperShare, paperLow, paperHigh = 0.6, 0.25, 2.0
	// dryPaper is how much more paper a dry face eats.
	dryPaper = 2.5
	// ownShare is how much of the depth of its own furrows a grit takes off on top
	// of what it erases, until they lie evenly.
	ownShare = 0.1
)

// sizePower is how minutes go with the area of a piece. 59 pieces of cast alloy,
// ground and polished, took a time that goes with diameter to the 0.950 (data set
// in the R package GLMsData of P. K. Dunn and G. K. Smyth), and so with area to
// half of that: edges and handling drive the time more than the face does.
const sizePower = 0.950 / 2

// deepestShare is the depth, as a share of its grain, that a paper works at its
// best: past it the spaces between the grains fill up before the work is done,
// and its pace falls in proportion. A starting guess for a thing that is common
// practice: deep cusps want coarse paper.
const deepestShare = 0.1

// scale is the time of a face against 100 cm² of flat steel.
func (f Face) scale() float64 {
	return math.Pow(f.AreaMM2/(100*baseCM2), sizePower) * Metal(f.Class) * f.hardship()
}

// Minutes are the minutes at one piece, without the change of paper, in which a
// grit on a hold takes off a mean thickness of meanUM where the deepest thing to
// erase is depthUM from peak to valley, and evens out its own furrows. It is a
// median; [Pace] is its interval.
//
// Removal at one pressure and speed goes with the grain (Preston's law with a
// coefficient in proportion to it), more slowly past the depth at which the paper
// packs.
func Minutes(f Face, g fettle.Grit, h Hold, depthUM, meanUM float64) float64 {
	take := meanUM + ownShare*g.RzUM.Value*Depth(f.Class)
	t := baseMinutes * f.scale() * h.pace() * take / refTakeUM * refGrainUM / g.GrainUM
	return t * math.Max(1, depthUM/(deepestShare*g.GrainUM))
}

// Pace is the factor on [Minutes] by which people and shops differ: one number for
// all that is sanded by hand in one shop.
func Pace() fettle.Estimate {
	return fettle.Guess(1, baseLow/baseMinutes, baseHigh/baseMinutes, fettle.BasisGuess)
}

// Change is the minutes of a change of paper, a wipe and a look at one piece.
func Change() fettle.Estimate { return fettle.Guess(0.7, 0.4, 1.2, fettle.BasisGuess) }

// Drying is the minutes in which a piece that was rubbed wet is dried before the
// next thing that must be dry.
func Drying() fettle.Estimate { return fettle.Guess(0.3, 0.1, 0.6, fettle.BasisGuess) }

// Paper is the paper that one grit uses up on one piece, cm².
func Paper(f Face) fettle.Estimate {
	p := fettle.Guess(paperShare, paperLow, paperHigh, fettle.BasisGuess).Scale(f.AreaMM2 / 100)
	if !f.Wet {
		p = p.Scale(dryPaper)
	}
	return p
}

// Deburr is breaking the sharp outside edges of one piece by hand, edgeMM of them
// in mm: the minutes, picking it up included, and the radius that is left, µm.
func Deburr(edgeMM float64, c fettle.HardnessClass) (minutes, radiusUM fettle.Estimate) {
	perM := fettle.Guess(8, 4, 16, fettle.BasisGuess).Scale(Metal(c))
	pick := fettle.Guess(0.7, 0.3, 1.5, fettle.BasisGuess)
	return perM.Scale(edgeMM / 1000).Plus(pick), fettle.Guess(80, 40, 180, fettle.BasisGuess)
}
