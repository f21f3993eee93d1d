package cusp

import (
	"math"

	"fettle"
)

// PassAt is the finishing pass of one cutter over a zone at a stepover, with
// its speeds, what it leaves at the worst place of 95 % of the zone, and
// its minutes a piece. It
// fails as [Curves] does, and where the passes would not meet.
func PassAt(z fettle.Zone, c fettle.Cutter, mat fettle.Material, mill fettle.Machine, step float64, opt Options) (pass fettle.Pass, minutes float64, err error) {
	s, err := newSetup(z, c, mat, mill, opt)
	if err != nil {
		return fettle.Pass{}, 0, err
	}
	if pass, err = s.pass(step); err != nil {
		return fettle.Pass{}, 0, err
	}
	return pass, s.minutes(step), nil
}

// PointAt is the point of a curve at any stepover. It fails as [PassAt] does.
func PointAt(z fettle.Zone, c fettle.Cutter, mat fettle.Material, mill fettle.Machine, step float64, opt Options) (fettle.CurvePoint, error) {
	s, err := newSetup(z, c, mat, mill, opt)
	if err != nil {
		return fettle.CurvePoint{}, err
	}
	if _, err := s.height(step); err != nil {
		return fettle.CurvePoint{}, err
	}
	return s.point(step), nil
}

// pass is the setup at one stepover.
func (s *setup) pass(step float64) (fettle.Pass, error) {
	h, err := s.height(step)
	if err != nil {
		return fettle.Pass{}, err
	}
	p := fettle.Pass{
		Cutter: s.cutter.Name, StepoverMM: step, Crossed: s.opt.Crossed && s.manner == passes,
		ToleranceUM: s.opt.ToleranceUM, CuspUM: h * 1000, FeedMarkUM: s.feedMark() * 1000,
		SpindleRPM: math.Round(s.rpm), FeedMMMin: math.Round(s.feed), Reach: s.reach,
	}
	if _, tight := s.bends(); tight > 0 && s.manner != facing {
		if f, err := ChordFacet(tight, math.Min(s.opt.ToleranceUM/1000, tight)); err == nil {
			p.FacetMM, p.FacetDeg = f.Length, f.Turn*180/math.Pi
		}
	}
	return p, nil
}
