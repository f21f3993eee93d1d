package rub

import "fettle"

// Hold is what presses the paper on.
type Hold string

// The holds, from the one that keeps a shape best.
const (
	StiffBlock  Hold = "stiff block"
	FormedBlock Hold = "formed block" // made to the face, and moved so that it keeps lying on it
	SoftPad     Hold = "soft pad"
	FreeHand    Hold = "free hand"
)

// ContactMM is the length over which a hold bears along its stroke, mm: it levels
// what is shorter and follows what is longer. A starting guess for blocks as they
// are held in one hand; a fingertip bears on about its own width.
func (h Hold) ContactMM() float64 {
	switch h {
	case SoftPad:
		return 15
	case FreeHand:
		return 10
	}
	return 60
}

// Edge is the radius that one grit on this hold adds to a sharp edge that it runs
// out over, µm. What gives way wraps round the edge; the block's own reason for
// being is that it does not.
func (h Hold) Edge() fettle.Estimate {
	switch h {
	case FormedBlock:
		return fettle.Guess(25, 7, 70, fettle.BasisGuess)
	case SoftPad:
		return fettle.Guess(40, 15, 110, fettle.BasisGuess)
	case FreeHand:
		return fettle.Guess(60, 20, 160, fettle.BasisGuess)
	}
	return fettle.Guess(20, 5, 60, fettle.BasisGuess)
}

// pace is the factor on the time for what a hold takes off: a hand presses as hard
// as it does, and what gives way spends part of the work in the valleys. A
// starting guess.
func (h Hold) pace() float64 {
	switch h {
	case SoftPad:
		return 1.2
	case FreeHand:
		return 1.4
	}
	return 1
}
