package fettle

import "math"

// Estimate is a predicted number: the median, the 10 % and 90 % bounds, and
// why it may be believed. Basis names the standard or paper it rests on,
// "shop log (n = 12)", "common practice", "starting guess" or "geometry".
type Estimate struct {
	Value float64 `json:"value"`
	Low   float64 `json:"low"`
	High  float64 `json:"high"`
	Basis string  `json:"basis"`
}

// Bases that recur. A basis that rests on a publication names it in full.
const (
	BasisGeometry = "geometry"
	BasisGuess    = "starting guess"
	BasisPractice = "common practice"
)

// z90 is the standard normal deviate at 90 %.
const z90 = 1.2815515655446004

// Exactly is an estimate without an interval: computed, not predicted.
func Exactly(v float64, basis string) Estimate { return Estimate{v, v, v, basis} }

// Guess is a median with its 10 % and 90 % bounds as priors are written down.
func Guess(median, low, high float64, basis string) Estimate {
	return Estimate{median, low, high, basis}
}

// LogSD is the standard deviation of the natural logarithm when the estimate
// is read as log-normal with these bounds; 0 for a value without an interval or
// one that is not positive.
func (e Estimate) LogSD() float64 {
	if e.Low <= 0 || e.High <= e.Low {
		return 0
	}
	return math.Log(e.High/e.Low) / (2 * z90)
}

// LogNormal is the estimate with the given median and standard deviation of
// its natural logarithm.
func LogNormal(median, logSD float64, basis string) Estimate {
	f := math.Exp(z90 * logSD)
	return Estimate{median, median / f, median * f, basis}
}

// Scale multiplies by an exactly known factor.
func (e Estimate) Scale(k float64) Estimate {
	e.Value *= k
	e.Low *= k
	e.High *= k
	if k < 0 {
		e.Low, e.High = e.High, e.Low
	}
	return e
}

// Times multiplies two independent positive estimates, both read as
// log-normal. The basis is e's.
func (e Estimate) Times(f Estimate) Estimate {
	return spread(e.Value*f.Value, e, f)
}

// Over divides by an independent positive estimate, both read as log-normal.
// The basis is e's.
func (e Estimate) Over(f Estimate) Estimate {
	return spread(e.Value/f.Value, e, f)
}

// spread widens the median v by the independent log-normal spreads above and
// below the medians of e and f, kept apart so that a skewed prior stays skewed.
func spread(v float64, e, f Estimate) Estimate {
	side := func(a, b float64) float64 { return math.Exp(math.Hypot(logRatio(a), logRatio(b))) }
	return Estimate{
		Value: v,
		Low:   v / side(ratio(e.Value, e.Low), ratio(f.Value, f.Low)),
		High:  v * side(ratio(e.High, e.Value), ratio(f.High, f.Value)),
		Basis: e.Basis,
	}
}

func ratio(a, b float64) float64 {
	if a <= 0 || b <= 0 {
		return 1
	}
	return a / b
}

func logRatio(r float64) float64 { return math.Log(math.Max(r, 1e-300)) }

// Plus adds estimates that share their error (the bounds add): the cautious
// sum for steps of one route, whose guesses tend to be wrong together.
func (e Estimate) Plus(f Estimate) Estimate {
	if e.Basis == "" {
		e.Basis = f.Basis
	}
	return Estimate{e.Value + f.Value, e.Low + f.Low, e.High + f.High, e.Basis}
}

// Because is the same numbers for another stated reason.
func (e Estimate) Because(basis string) Estimate {
	e.Basis = basis
	return e
}

// Valid reports whether the bounds are finite and in order around the value.
func (e Estimate) Valid() bool {
	for _, v := range []float64{e.Value, e.Low, e.High} {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return false
		}
	}
	return e.Low <= e.Value && e.Value <= e.High && e.Basis != ""
}
