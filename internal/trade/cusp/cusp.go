// Package cusp knows what a round-nosed cutter leaves between its passes, and
// what it costs to leave less.
//
// Two functions are what most callers need: [Closed], which answers one
// question about one ball from geometry alone, and [Curves], which sets
// minutes against micrometres for every cutter on every zone; [Choose] picks
// from the same numbers. Below them stand the closed forms themselves. They
// are exact for an ideal cutter without runout, wear or deflection, on a
// surface of constant curvature; a simulated surface is the truth that they
// preview.
//
// In the closed forms all lengths share one unit (millimetres where a name
// says so) and angles are radians. They were derived from plane geometry: two
// circles of the nose radius whose centres lie on the surface's offset meet in
// the peak of the cusp.
package cusp

import (
	"math"

	"fettle"
)

// Side says how the surface bends across the passes.
type Side string

// The sides.
const (
	Level   Side = "flat"
	Convex  Side = "convex"
	Concave Side = "concave"
)

// Height is the height of the cusps that a nose of radius r leaves on a plane
// when neighbouring passes stand s apart, measured on the surface:
// r − √(r² − s²/4). It fails where a length is not positive and finite, or where
// s exceeds 2r so that an uncut ridge stays between the passes.
func Height(r, s float64) (float64, error) {
	if err := checkNose(r, s); err != nil {
		return 0, err
	}
	// The textbook difference loses digits for small s; this is the same value
	// with its numerator rationalised.
	q := s * s / 4
	return q / (r + math.Sqrt(r*r-q)), nil
}

// HeightSmall is the parabola that everyone remembers, s²/8r; it is low by
// under 1.6 % up to s/r = 0.5 (Qu and Shih, Machining Science and Technology 7
// (2003) 281).
func HeightSmall(r, s float64) float64 { return s * s / (8 * r) }

// HeightOn is Height on a surface of radius rho across the passes, with s the
// chord between neighbouring points of contact. A concave surface as tight as
// the nose or tighter cannot be entered, and passes whose circles do not meet
// leave a ridge: both are errors.
func HeightOn(side Side, r, rho, s float64) (float64, error) {
	if side == Level {
		return Height(r, s)
	}
	if err := checkBend(side, r, rho); err != nil {
		return 0, err
	}
	if err := positive("the stepover", s); err != nil {
		return 0, err
	}
	if s > 2*rho {
		return 0, fettle.Errorf(fettle.Invalid, "a stepover of %.4g mm does not fit on a radius of %.4g mm; take less than %.4g mm", s, rho, 2*rho)
	}
	half := math.Asin(s/(2*rho)) / 2
	k := 2 * math.Sin(half) * math.Sin(half) // 1 − cos θ
	// With the peak at distance rho ± h from the centre of the surface, the law
	// of cosines in h is h² − 2bh + 2·rho·c·k = 0; the smaller root, written so
	// that nothing cancels.
	c, b := rho+r, 0.0
	if side == Convex {
		b = r - c*k
	} else {
		c = rho - r
		b = r + c*k
	}
	p := 2 * rho * c * k
	d := b*b - p
	// Beyond the widest stepover that still meets, the discriminant is negative;
	// exactly there rounding may push it under zero.
	if b <= 0 || d < -1e-12*r*r {
		return 0, tooWide(r, s)
	}
	return p / (b + math.Sqrt(math.Max(d, 0))), nil
}

// HeightOnSmall is the parabola on a curved surface, s²/8 · (1/r ± 1/rho).
func HeightOnSmall(side Side, r, rho, s float64) float64 {
	return s * s / 8 * bend(side, r, rho)
}

// bend is the curvature that the cusp sees: of the nose, and of the surface
// towards or away from it.
func bend(side Side, r, rho float64) float64 {
	switch side {
	case Convex:
		return 1/r + 1/rho
	case Concave:
		return 1/r - 1/rho
	}
	return 1 / r
}

// Stepover is the inverse of Height: the distance between passes that leaves
// cusps of height h, 2√(2rh − h²). h may be at most r.
func Stepover(r, h float64) (float64, error) {
	if err := positive("the nose radius", r); err != nil {
		return 0, err
	}
	if err := positive("the cusp height", h); err != nil {
		return 0, err
	}
	if h > r {
		return 0, fettle.Errorf(fettle.Invalid, "a cusp of %.4g mm is higher than the nose radius %.4g mm; ask for a lower one", h, r)
	}
	return 2 * math.Sqrt(h*(2*r-h)), nil
}

// StepoverOn is the inverse of HeightOn, as the chord between points of
// contact.
func StepoverOn(side Side, r, rho, h float64) (float64, error) {
	if side == Level {
		return Stepover(r, h)
	}
	if err := checkBend(side, r, rho); err != nil {
		return 0, err
	}
	if err := positive("the cusp height", h); err != nil {
		return 0, err
	}
	if h > r {
		return 0, fettle.Errorf(fettle.Invalid, "a cusp of %.4g mm is higher than the nose radius %.4g mm; ask for a lower one", h, r)
	}
	c, peak := rho+r, rho+h
	if side == Concave {
		c, peak = rho-r, rho-h
	}
	// sin²(θ/2) by the law of cosines; (c − peak)² = (r − h)² on both sides.
	q := h * (2*r - h) / (4 * c * peak)
	if q > 0.5 {
		return 0, fettle.Errorf(fettle.Invalid, "no stepover leaves cusps of %.4g mm with a nose of %.4g mm on a radius of %.4g mm; ask for a lower cusp", h, r, rho)
	}
	sin := 2 * math.Sqrt(q*(1-q))
	return 2 * rho * sin, nil
}

// OnSlope is the distance between passes measured on a surface that leans
// slope radians from the plane in which the passes stand stepover apart:
// stepover / cos slope.
func OnSlope(stepover, slope float64) (float64, error) {
	if err := positive("the stepover", stepover); err != nil {
		return 0, err
	}
	if !(slope >= 0 && slope < math.Pi/2-1e-9) {
		return 0, fettle.Errorf(fettle.Invalid, "a slope of %.4g° across the passes has no stepover; give 0 to under 90, or use passes at constant height", slope*180/math.Pi)
	}
	return stepover / math.Cos(slope), nil
}

// OnLevels is the distance between passes measured on a surface that leans
// slope radians from the horizontal, cut at levels dz apart: dz / sin slope.
func OnLevels(dz, slope float64) (float64, error) {
	if err := positive("the step in depth", dz); err != nil {
		return 0, err
	}
	if !(slope > 1e-9 && slope <= math.Pi/2) {
		return 0, fettle.Errorf(fettle.Invalid, "passes at constant height do not cover a slope of %.4g°; give more than 0 to 90", slope*180/math.Pi)
	}
	return dz / math.Sin(slope), nil
}

// LeaningRadius is the radius that a flat or bull-nosed end of diameter d and
// corner radius r shows across the passes when it leans by lean radians in the
// direction of feed: r + (d/2 − r)/sin lean. A flat end has r = 0. Upright, the
// end is a plane and the radius infinite.
func LeaningRadius(d, r, lean float64) (float64, error) {
	if err := positive("the diameter", d); err != nil {
		return 0, err
	}
	if !(r >= 0 && r <= d/2) {
		return 0, fettle.Errorf(fettle.Invalid, "a corner radius of %.4g mm does not fit a cutter of %.4g mm; give 0 to %.4g", r, d, d/2)
	}
	if !(lean >= 0 && lean <= math.Pi/2) {
		return 0, fettle.Errorf(fettle.Invalid, "a lean of %.4g° is not between 0 and 90", lean*180/math.Pi)
	}
	if r == d/2 {
		return r, nil
	}
	return r + (d/2-r)/math.Sin(lean), nil
}

// FeedMark is the height of the marks along a pass: the cusp law with the
// feed per tooth in place of the stepover.
func FeedMark(r, feedPerTooth float64) (float64, error) { return Height(r, feedPerTooth) }

// Lattice is the height Sz and the root mean square height Sq of the field of
// craters that a ball leaves with stepover s and feed per tooth f, for small
// s and f: Sz = (s² + f²)/8r; the two parabolas are independent, so their
// variances add.
func Lattice(r, s, f float64) (sz, sq float64, err error) {
	if err := checkNose(r, s); err != nil {
		return 0, 0, err
	}
	if err := checkNose(r, f); err != nil {
		return 0, 0, err
	}
	hs, hf := HeightSmall(r, s), HeightSmall(r, f)
	return hs + hf, ParabolaRq * math.Hypot(hs, hf), nil
}

// EffectiveDiameter is the largest diameter of a ball of diameter d that cuts
// at depth ap when the surface leans tilt radians away from square to the axis:
// d·sin(tilt + acos(1 − 2ap/d)), and d once the equator cuts. A ball that
// stands upright on a plane cuts with its slow tip.
func EffectiveDiameter(d, ap, tilt float64) (float64, error) {
	if err := positive("the diameter", d); err != nil {
		return 0, err
	}
	if err := positive("the depth of cut", ap); err != nil {
		return 0, err
	}
	if !(tilt >= 0 && tilt <= math.Pi/2) {
		return 0, fettle.Errorf(fettle.Invalid, "a tilt of %.4g° is not between 0 and 90", tilt*180/math.Pi)
	}
	if ap >= d/2 {
		return d, nil
	}
	angle := tilt + math.Acos(1-2*ap/d)
	if angle >= math.Pi/2 {
		return d, nil
	}
	return d * math.Sin(angle), nil
}

func positive(what string, v float64) error {
	if !(v > 0) || math.IsInf(v, 0) {
		return fettle.Errorf(fettle.Invalid, "%s is %g; it must be more than zero", what, v)
	}
	return nil
}

func checkNose(r, s float64) error {
	if err := positive("the nose radius", r); err != nil {
		return err
	}
	if err := positive("the stepover", s); err != nil {
		return err
	}
	if s > 2*r {
		return tooWide(r, s)
	}
	return nil
}

func tooWide(r, s float64) error {
	return fettle.Errorf(fettle.Invalid, "passes %.4g mm apart do not overlap with a nose radius of %.4g mm; take a smaller stepover", s, r)
}

func checkBend(side Side, r, rho float64) error {
	if side != Convex && side != Concave {
		return fettle.Errorf(fettle.Invalid, "side %q is not known; choose convex or concave", side)
	}
	if err := positive("the nose radius", r); err != nil {
		return err
	}
	if err := positive("the radius of the surface", rho); err != nil {
		return err
	}
	if side == Concave && r >= rho {
		return fettle.Errorf(fettle.Invalid, "a nose radius of %.4g mm cannot enter a hollow of radius %.4g mm; take a ball under %.4g mm diameter", r, rho, 2*rho)
	}
	return nil
}
