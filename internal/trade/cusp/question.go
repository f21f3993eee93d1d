package cusp

import (
	"math"

	"fettle"
)

// nose is the radius that forms the cusps: half the ball, or what a flat or
// bull-nosed end shows when it leans.
func (in Input) nose() (float64, error) {
	if in.EndMM == 0 {
		if in.CornerMM != 0 || in.LeanDeg != 0 {
			return 0, fettle.Errorf(fettle.Invalid, "a corner radius and a lean belong to a flat or bull-nosed end; give its diameter with --end")
		}
		if err := positive("the ball's diameter", in.BallMM); err != nil {
			return 0, err
		}
		return in.BallMM / 2, nil
	}
	switch {
	case in.BallMM != 0:
		return 0, fettle.Errorf(fettle.Invalid, "a cutter has a ball or an end; give --ball or --end, not both")
	case in.FeedMM != 0:
		return 0, fettle.Errorf(fettle.Invalid, "feed marks are worked out for a ball; leave out --feed-per-tooth or give --ball")
	case in.DepthMM != 0:
		return 0, fettle.Errorf(fettle.Invalid, "the effective diameter is that of a ball; leave out --depth or give --ball")
	}
	r, err := LeaningRadius(in.EndMM, in.CornerMM, in.LeanDeg*math.Pi/180)
	if err == nil && math.IsInf(r, 1) {
		return 0, fettle.Errorf(fettle.Invalid, "an end that stands square to the face leaves no cusps; give its lean with --lean")
	}
	return r, err
}

// spacing is the distance of the passes as the program has it and on the
// surface: from the stepover, from a step in depth, or from the cusp that is
// wanted.
func (in Input) spacing(side Side, r float64) (step, on float64, err error) {
	asked := 0
	for _, v := range []float64{in.StepMM, in.LevelMM, in.TargetUM} {
		if v != 0 {
			asked++
		}
	}
	if asked != 1 {
		return 0, 0, fettle.Errorf(fettle.Invalid, "the distance of the passes is asked for once: give one of --step, --level and --target")
	}
	slope := in.SlopeDeg * math.Pi / 180
	switch {
	case in.LevelMM != 0:
		on, err = OnLevels(in.LevelMM, slope)
		return in.LevelMM, on, err
	case in.TargetUM != 0:
		if on, err = StepoverOn(side, r, in.RadiusMM, in.TargetUM/1000); err != nil {
			return 0, 0, err
		}
		if !(slope >= 0 && slope < math.Pi/2-1e-9) {
			_, err = OnSlope(1, slope)
			return 0, 0, err
		}
		return on * math.Cos(slope), on, nil
	}
	on, err = OnSlope(in.StepMM, slope)
	return in.StepMM, on, err
}
