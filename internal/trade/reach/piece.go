package reach

import (
	"math"
	"slices"

	"fettle"
)

// Edges of media are sharp only for the first hours. How far they are rounded,
// as a share of the least caliper, are starting guesses.
const (
	tipNew  = 0.10
	tipWorn = 0.25
)

// piece is one piece of media as far as reach asks, all radii in mm.
type piece struct {
	out   float64 // of the smallest sphere round it
	in    float64 // of the largest sphere in it
	tip   float64 // that its edges are rounded to
	equal float64 // half its middle caliper: the ball that stands for it
	round bool    // it is a ball
	least float64 // caliper
	size  [2]float64
}

// wornShare is the share of the size at which media are discarded.
func wornShare(m fettle.Media) float64 {
	if m.Worn > 0 && m.Worn <= 1 {
		return m.Worn
	}
	return 1
}

// pieceOf is a piece of media worn to a share of its size. Grains are balls: the
// finest that the sieve lets through reaches furthest, the mean stands for how
// they come.
func pieceOf(m fettle.Media, share float64) piece {
	a, b := m.SizeMM[0]*share, m.SizeMM[1]*share
	tip := tipNew
	if share < 1 {
		tip = tipWorn
	}
	p := piece{size: [2]float64{a, b}}
	var calipers [3]float64
	switch m.Shape {
	case fettle.Cylinder, fettle.AngleCut, fettle.Pin:
		calipers = [3]float64{a, a, b}
		p.out, p.in = math.Hypot(a, b)/2, min(a, b)/2
	case fettle.Cone:
		// The section through the axis is an isosceles triangle of base a and height
		// b: its inscribed circle, and the circle round it unless the base is wider.
		calipers = [3]float64{a, a, b}
		p.in = a / 2 * b / (a/2 + math.Hypot(a/2, b))
		p.out = a / 2
		if b > a/2 {
			p.out = (b*b + a*a/4) / (2 * b)
		}
	case fettle.Triangle:
		calipers = [3]float64{b, a * math.Sqrt(3) / 2, a}
		p.in, p.out = min(b/2, a/(2*math.Sqrt(3))), math.Hypot(a/math.Sqrt(3), b/2)
	case fettle.Tetra:
		// Opposite edges are a/√2 apart, a corner and the face below it a √(2/3).
		calipers = [3]float64{a / math.Sqrt2, a * math.Sqrt(2.0/3), a}
		p.in, p.out = a*math.Sqrt(6)/12, a*math.Sqrt(6)/4
	case fettle.Grain:
		lo, hi := min(a, b), max(a, b)
		p.in, p.out, p.tip, p.least, p.equal, p.round = lo/2, lo/2, lo/2, lo, (lo+hi)/4, true
		return p
	default:
		p.in, p.out, p.tip, p.least, p.equal, p.round = a/2, a/2, a/2, a, a/2, true
		return p
	}
	slices.Sort(calipers[:])
	p.least, p.equal = calipers[0], calipers[1]/2
	p.tip = min(tip*p.least, p.in)
	return p
}
