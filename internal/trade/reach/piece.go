package reach

import (
	"math"

	"fettle"
	"fettle/internal/shape/convex"
	"fettle/internal/trade/jam"
)

// Edges of media are sharp only for the first hours. How far they are rounded,
// as a share of the least caliper, are starting guesses.
const (
	tipNew  = 0.10
	tipWorn = 0.25
)

// piece is one piece of media as far as reach asks, all radii in mm.
type piece struct {
	out   float64 // of the smallest sphere round it about its centre
	in    float64 // of the largest sphere in it about its centre
	tip   float64 // that its edges are rounded to
	equal float64 // half its middle caliper: the ball that stands for it
	// core is the piece less its rounding all round: the piece is what lies within
	// tip of it. It is nil for a ball.
	core *convex.Body
}

// dust is the smallest size that is told from none, mm.
const dust = 0.02

// pieceOf is a piece of media worn to a share of its size. Grains are balls: the
// finest that the sieve holds reach furthest, the mean stands for how they come.
func pieceOf(m fettle.Media, share float64) piece {
	// Dust is as small as is asked about; a size that was left out is no size.
	a, b := max(m.SizeMM[0]*share, dust), max(m.SizeMM[1]*share, dust)
	if m.Shape == fettle.Grain {
		r := min(a, b) / 2
		return piece{out: r, in: r, tip: r, equal: (a + b) / 4}
	}
	m.SizeMM = [2]float64{a, b}
	body, err := jam.BodyOf(m)
	if err != nil || m.Shape == fettle.Sphere {
		return piece{out: a / 2, in: a / 2, tip: a / 2, equal: a / 2}
	}
	calipers := body.Calipers()
	p := piece{out: body.OutRadius(), in: body.InRadius(), tip: tipNew, equal: calipers[1] / 2}
	if share < 1 {
		p.tip = tipWorn
	}
	// Something must be left of the core.
	p.tip = min(p.tip*calipers[0], 0.8*p.in)
	t := p.tip
	switch m.Shape {
	case fettle.Cylinder, fettle.Pin:
		p.core = convex.Cylinder(a-2*t, b-2*t)
	case fettle.Triangle:
		// The circle in the triangle, of radius side/√12, shrinks by the rounding.
		p.core = convex.Triangle(a-math.Sqrt(12)*t, b-2*t)
	case fettle.AngleCut:
		// Along the axis slanted ends lose a little more than the rounding.
		p.core = convex.AngleCut(a-2*t, b-2*t/math.Sin(convex.CutDeg*math.Pi/180))
	default:
		// A shape whose sides all touch the sphere in it shrinks about its middle.
		p.core = body.Scaled(1 - t/p.in)
	}
	return p
}
