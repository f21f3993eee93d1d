package cusp

import (
	"math"

	"fettle"
)

// Input is one question about one ball. Fields that are zero were not asked.
type Input struct {
	BallMM     float64 // diameter
	StepMM     float64 // between passes, in the plane square to the cutter's axis
	RadiusMM   float64 // of the surface across the passes; 0 for a plane
	Side       Side    // "convex" or "concave" when a radius is given
	SlopeDeg   float64 // of the surface across the passes
	FeedMM     float64 // per tooth
	ToleranceU float64 // chord tolerance of the path, µm
	DepthMM    float64 // of cut, for the effective diameter
	// In place of StepMM: a step in depth of passes at constant height, or the
	// cusp height that is wanted.
	LevelMM, TargetUM float64
	// In place of BallMM: a flat or bull-nosed end that leans in the direction
	// of feed.
	EndMM, CornerMM, LeanDeg float64
}

// Result answers an Input. What was not asked is nil.
type Result struct {
	BallMM      float64 `json:"ball_mm,omitempty"`
	NoseMM      float64 `json:"nose_radius_mm"`
	StepMM      float64 `json:"step_mm"`
	StepOnMM    float64 `json:"step_on_surface_mm"`
	CuspUM      float64 `json:"cusp_um"`
	CuspSmallUM float64 `json:"cusp_small_step_um"` // by the parabola
	RaUM        float64 `json:"ra_um"`
	RqUM        float64 `json:"rq_um"`
	Rsk         float64 `json:"rsk"`
	Rku         float64 `json:"rku"`
	// CrossedSqUM and HalfStepUM compare two ways to spend twice the minutes:
	// crossing the passes, or halving the step.
	CrossedSqUM float64 `json:"crossed_sq_um"`
	HalfStepUM  float64 `json:"half_step_cusp_um"`

	FeedMarkUM   *float64 `json:"feed_mark_um,omitempty"`
	LatticeSqUM  *float64 `json:"lattice_sq_um,omitempty"`
	FacetMM      *float64 `json:"facet_mm,omitempty"`
	FacetTurnDeg *float64 `json:"facet_turn_deg,omitempty"`
	FacetsPerRev *float64 `json:"facets_per_rev,omitempty"`
	EffectiveMM  *float64 `json:"effective_diameter_mm,omitempty"`

	// CutoffMM is the shortest profile filter that keeps such cusps.
	CutoffMM float64 `json:"cutoff_at_least_mm"`
	Basis    string  `json:"basis"`
}

// Closed answers a question from geometry. A nonsensical one is an error that
// says which number to change.
//
// The parameters Ra to Rku are those of circular cusps on a plane, scaled to
// the height on the curved surface: a profile has its form removed before it is
// evaluated.
func Closed(in Input) (Result, error) {
	r, err := in.nose()
	if err != nil {
		return Result{}, err
	}
	side, err := in.side()
	if err != nil {
		return Result{}, err
	}
	step, s, err := in.spacing(side, r)
	if err != nil {
		return Result{}, err
	}
	h, err := HeightOn(side, r, in.RadiusMM, s)
	if err != nil {
		return Result{}, err
	}
	// On a convex surface passes may meet that would not on a plane's ratios.
	ratios, err := ProfileRatios(math.Min(s/r, 2))
	if err != nil {
		return Result{}, err
	}
	crossed, err := Crossed(h)
	if err != nil {
		return Result{}, err
	}
	half, err := HeightOn(side, r, in.RadiusMM, s/2)
	if err != nil {
		return Result{}, err
	}
	out := Result{
		BallMM: in.BallMM, NoseMM: r, StepMM: step, StepOnMM: s,
		CuspUM:      h * 1000,
		CuspSmallUM: HeightOnSmall(side, r, in.RadiusMM, s) * 1000,
		RaUM:        ratios.RaOverH * h * 1000,
		RqUM:        ratios.RqOverH * h * 1000,
		Rsk:         ratios.Rsk,
		Rku:         ratios.Rku,
		CrossedSqUM: crossed.Sq * 1000,
		HalfStepUM:  half * 1000,
		CutoffMM:    2.5 * s,
		Basis:       fettle.BasisGeometry + ": an ideal ball without runout, wear or deflection",
	}
	if in.DepthMM != 0 {
		d, err := EffectiveDiameter(in.BallMM, in.DepthMM, in.SlopeDeg*math.Pi/180)
		if err != nil {
			return Result{}, err
		}
		out.EffectiveMM = &d
	}
	if in.FeedMM != 0 {
		if err := positive("the feed per tooth", in.FeedMM); err != nil {
			return Result{}, err
		}
		mark, err := FeedMark(r, in.FeedMM)
		if err != nil {
			return Result{}, err
		}
		sq := ParabolaRq * math.Hypot(h, mark) * 1000
		mark *= 1000
		out.FeedMarkUM, out.LatticeSqUM = &mark, &sq
	}
	if in.ToleranceU != 0 {
		if in.RadiusMM == 0 {
			return Result{}, fettle.Errorf(fettle.Invalid, "a tolerance makes facets on a curved surface only; give its --radius and --side too")
		}
		f, err := ChordFacet(in.RadiusMM, in.ToleranceU/1000)
		if err != nil {
			return Result{}, err
		}
		turn := f.Turn * 180 / math.Pi
		out.FacetMM, out.FacetTurnDeg, out.FacetsPerRev = &f.Length, &turn, &f.PerRev
	}
	return out, nil
}

func (in Input) side() (Side, error) {
	switch {
	case in.RadiusMM == 0 && (in.Side == "" || in.Side == Level):
		return Level, nil
	case in.RadiusMM == 0:
		return "", fettle.Errorf(fettle.Invalid, "a %s surface needs its radius; give --radius", in.Side)
	case in.Side == Convex || in.Side == Concave:
		return in.Side, nil
	case in.Side == "":
		return "", fettle.Errorf(fettle.Invalid, "a radius of %g mm bends one way or the other; give --side convex or --side concave", in.RadiusMM)
	}
	return "", fettle.Errorf(fettle.Invalid, "side %q is not known; choose convex or concave", in.Side)
}
