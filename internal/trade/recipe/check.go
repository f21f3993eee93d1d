package recipe

import (
	"math"

	"fettle"
)

// mostSteps is more than any route has.
const mostSteps = 200

// Validate checks a recipe that came from somewhere else: names, sizes and intervals
// that a shelf would take, and numbers that can be reckoned with. It fails with
// Invalid, and names the step.
func Validate(r fettle.Recipe) error {
	bad := func(what string, args ...any) error {
		return fettle.Errorf(fettle.Invalid, "the recipe cannot be used: "+what, args...)
	}
	switch {
	case r.Material.Name == "":
		return bad("it names no material")
	case r.Look.Name == "":
		return bad("it names no finish")
	case len(r.Steps) == 0:
		return bad("it has no steps")
	case len(r.Steps) > mostSteps:
		return bad("it has %d steps, and no route has more than %d", len(r.Steps), mostSteps)
	case r.Lot < 0 || r.Lot > 1_000_000:
		return bad("a lot of %d makes no sense", r.Lot)
	case !(r.Material.Density > 0) || r.Material.Density > 100:
		return bad("a density of %g g/cm³ makes no sense", r.Material.Density)
	case !r.Look.RaUM.Valid() || !(r.Look.RaUM.Low > 0):
		return bad("its finish has no band of Ra")
	}
	for _, v := range []float64{r.Piece.SizeMM[0], r.Piece.SizeMM[1], r.Piece.SizeMM[2], r.Piece.VolumeMM3, r.Piece.AreaMM2} {
		if !(v >= 0) || v > 1e12 {
			return bad("a size of its piece is %g", v)
		}
	}
	for i, s := range r.Steps {
		if err := checkStep(s); err != nil {
			return bad("step %d, %q: %v", i+1, s.Key, err)
		}
	}
	return nil
}

func checkStep(s fettle.RecipeStep) error {
	// The shelf's own checks say what a thing must have. Money may have been taken out,
	// and what nobody asks of a lone step stands in for itself.
	some := fettle.Exactly(1, fettle.BasisGuess)
	shelf := fettle.Shelf{Rates: fettle.Rates{
		Currency: "XXX", PersonPerH: some, ProgramH: some, SetupMin: some, HandlingMin: some, RoughMinCM3: some,
	}}
	if s.Cutter != nil {
		shelf.Cutters = []fettle.Cutter{*s.Cutter}
		if !(s.Cutter.CornerMM >= 0) || s.Cutter.CornerMM > s.Cutter.DiameterMM/2*(1+1e-9) {
			return fettle.Errorf(fettle.Invalid, "a corner radius of %g mm does not fit a cutter of %g mm", s.Cutter.CornerMM, s.Cutter.DiameterMM)
		}
	}
	if s.Grit != nil {
		g := *s.Grit
		g.PriceSheet = some
		shelf.Grits = []fettle.Grit{g}
	}
	if s.Mop != nil {
		m := *s.Mop
		m.BarCost = some
		shelf.Mops = []fettle.Mop{m}
	}
	if s.Media != nil {
		shelf.Media = []fettle.Media{*s.Media}
	}
	if s.Vessel != nil {
		v := *s.Vessel
		v.RatePerH = some
		shelf.Vessels = []fettle.Vessel{v}
	}
	if err := shelf.Validate(); err != nil {
		return err
	}
	numbers := []float64{s.RaUM.Value}
	if s.Pass != nil {
		numbers = append(numbers, s.Pass.StepoverMM, s.Pass.CuspUM)
	}
	if s.Charge != nil {
		h := s.Charge.Hours
		numbers = append(numbers, h.Value, h.Low, h.High)
		if h.Value > 0 && (!h.Valid() || !(h.Low > 0)) {
			return fettle.Errorf(fettle.Invalid, "its hours need value, low and high in order, and a basis")
		}
	}
	for _, v := range numbers {
		if !(v >= 0) || v > 1e9 || math.IsInf(v, 0) {
			return fettle.Errorf(fettle.Invalid, "it has a number of %g", v)
		}
	}
	for _, p := range s.Learned {
		if !p.Value.Valid() || !(p.Value.Low > 0) || p.N < 0 {
			return fettle.Errorf(fettle.Invalid, "what was learned of %s needs value, low and high above zero in order, and a basis", p.Name)
		}
		if beyond(p.Value) {
			return fettle.Errorf(fettle.Invalid, "what was learned of %s is beyond all measure, %g", p.Name, p.Value.Value)
		}
	}
	if m := s.Media; m != nil && (beyond(m.LimitRaUM) || beyond(m.TimeFactor) || beyond(m.CutFactor)) {
		return fettle.Errorf(fettle.Invalid, "a number of %s is beyond all measure", m.Name)
	}
	if v := s.Vessel; v != nil && beyond(v.Speedup) {
		return fettle.Errorf(fettle.Invalid, "the speed-up of %s is beyond all measure, %g", v.Name, v.Speedup.Value)
	}
	return nil
}

// beyond reports whether an estimate of anything in a shop is so small or so large that
// sums with it overflow.
func beyond(e fettle.Estimate) bool {
	const most = 1e6
	return e.Low < 1/most || e.High > most
}
