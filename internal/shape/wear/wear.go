// Package wear rounds edges as loose media do: by Bloore's flow on a
// cross-section (F. J. Bloore, "The shape of pebbles", Mathematical Geology 9
// (1977) 113). A surface recedes along its normal with
//
//	v = 1 + 2bH + cK
//
// for each unit that an open flat face loses, where H is the mean and K the
// Gauss curvature, both positive on a ball. With κ₁ the curvature in the plane
// of the section and κ₂ the one across it that is v = 1 + bκ₂ + (b + cκ₂)κ₁: a
// uniform recession and a diffusion along the curve.
//
// Places that curve in are worn less. Where the law would give them less than
// nothing they are left alone: media take off and never add.
//
// [Flow] moves any section, straight or of a solid of revolution; [Edge] is the
// radius of one edge against what has come off. Both are pure functions.
package wear

import "math"

// Law is how strongly wear goes to where a surface bulges.
type Law struct {
	B float64 // mm
	C float64 // mm²
}

// Default is a starting guess, not a measurement: no series of edge radii could
// be found in print.
//
// B makes a straight square edge grow at first as r = √(4hL) with a reach of
// media of L = 0.3 mm (0.1 to 0.5 mm), h being what an open face has lost: the
// flow gives r = k·√(Bh) with k = 1.982 for the radius as [Edge] measures it,
// from the curve that expands by curvature without changing its form, so that
// B = 4L/k². A factor of 2.5 either way on the radius is a factor of 6 on B.
//
// C = B² belongs to round media: balls of radius ρ meet a surface in proportion
// to the area that their centres can take up, that of the parallel surface,
// which is (1 + ρκ₁)(1 + ρκ₂) = 1 + 2ρH + ρ²K times as large.
var Default = LawFor(0.3)

// squareGrowth is k in r = k·√(bh) for a square edge at first (see the test,
// which gets it from an ordinary differential equation).
const squareGrowth = 1.982

// LawFor is the law under which a square edge grows as r = √(4hL) at first, for
// a reach L in mm, and round media.
func LawFor(reach float64) Law {
	b := 4 * reach / (squareGrowth * squareGrowth)
	return Law{B: b, C: b * b}
}

// split parts the speed into what does not depend on the curvature in the plane
// of the section and what multiplies it. Inside a narrow bore, where a piece
// that large would not fit, neither falls below nothing.
func (l Law) split(across float64) (even, along float64) {
	return math.Max(0, 1+l.B*across), math.Max(0, l.B+l.C*across)
}
