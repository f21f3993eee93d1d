// Package rub knows work by hand: sanding with a grit on a block, deburring, and
// a mop with a bar of compound. Its laws take and give plain numbers, because a
// plan asks them many thousand times.
//
// [Minutes] is the way in. Every grit must cut at least to the bottom of what
// came before it, the cusps first and then the furrows of the coarser grit, so
// a step's work is a depth and its pace is the grain's: coarse grains cut fast
// and leave deep furrows, fine ones the other way round. How the minutes go with
// the size of a piece is fitted to pieces that were really ground and polished.
// A mop tends to a roughness of its own: [MopMinutes].
package rub

import "fettle"

// Metal is how long a material takes compared with mild steel, as a factor on
// the time.
func Metal(c fettle.HardnessClass) float64 {
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

// Ra is the roughness that a grit leaves across its stroke in a material,
// micrometres.
func Ra(g fettle.Grit, c fettle.HardnessClass) fettle.Estimate { return g.RaUM.Scale(Depth(c)) }
