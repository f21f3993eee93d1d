package law

import (
	"hash/fnv"
	"math"
	"math/rand/v2"
	"slices"

	"fettle"
)

// Worlds are states of affairs that are equally likely for all that is known. In
// each of them every unknown has one value, so that what depends on one unknown
// twice depends on it alike: two charges of one media are quick together or slow
// together.
//
// An unknown is known by its name. Its values are spread evenly over its
// distribution (a Latin hypercube: M. D. McKay, R. J. Beckman, W. J. Conover,
// Technometrics 21 (1979) 239) and shuffled by its name, so that the same question
// gets the same answer whatever else is asked.
type Worlds struct {
	n     int
	alone []string // for [Alone]
	names []string
	cols  map[string]unknown
}

// unknown is one number that is not known for certain.
type unknown struct {
	unit string
	e    fettle.Estimate
	v    []float64
}

// Sample are n worlds.
func Sample(n int) *Worlds { return &Worlds{n: n, cols: map[string]unknown{}} }

// Alone are the worlds in which one unknown at a time is out: the first has all of
// them at their medians, and each name has two more, the unknown one standard
// deviation down and one up.
func Alone(names []string) *Worlds {
	return &Worlds{n: 1 + 2*len(names), alone: names, cols: map[string]unknown{}}
}

// N is how many worlds there are.
func (w *Worlds) N() int { return w.n }

// Names are the unknowns that have been asked for, in the order in which they were.
// Numbers without an interval are none.
func (w *Worlds) Names() []string { return w.names }

// Known is an unknown's estimate and unit, by its name.
func (w *Worlds) Known(name string) (fettle.Estimate, string) {
	u := w.cols[name]
	return u.e, u.unit
}

// Of are the values of an unknown, one for each world: log-normal above and below
// its median, by its two bounds. A name stands for one unknown; asked again with
// another estimate it is a programmer's mistake and panics.
func (w *Worlds) Of(name, unit string, e fettle.Estimate) []float64 {
	return w.kin(name, name, unit, e)
}

// kin is Of for an unknown with an estimate of its own that is out together with
// others of its kind: where one of them lies high, so do all.
func (w *Worlds) kin(kind, name, unit string, e fettle.Estimate) []float64 {
	if u, ok := w.cols[name]; ok {
		if u.e != e {
			panic("law: two estimates of " + name)
		}
		return u.v
	}
	v := make([]float64, w.n)
	for i := range v {
		v[i] = e.Value
	}
	w.cols[name] = unknown{unit, e, v}
	up, down := side(e.High, e.Value), side(e.Value, e.Low)
	if up == 0 && down == 0 {
		return v
	}
	w.names = append(w.names, name)
	at := func(z float64) float64 {
		if z > 0 {
			return e.Value * math.Exp(z*up)
		}
		return e.Value * math.Exp(z*down)
	}
	if w.alone != nil {
		if i := slices.Index(w.alone, name); i >= 0 {
			v[1+2*i], v[2+2*i] = at(-1), at(1)
		}
		return v
	}
	h := fnv.New64a()
	h.Write([]byte(kind))
	order := rand.New(rand.NewPCG(h.Sum64(), uint64(w.n))).Perm(w.n)
	for i := range v {
		v[i] = at(math.Sqrt2 * math.Erfinv(2*(float64(order[i])+0.5)/float64(w.n)-1))
	}
	return v
}

// z90 is the standard normal deviate at 90 %, where estimates have their bounds.
const z90 = 1.2815515655446004

// side is the standard deviation of the logarithm on one side of a median.
func side(high, low float64) float64 {
	if !(low > 0) || !(high > low) {
		return 0
	}
	return math.Log(high/low) / z90
}

// Median is the middle of what the worlds say.
func (w *Worlds) Median(v []float64) float64 {
	if w.alone != nil {
		return v[0]
	}
	var own [64]float64
	s := append(own[:0], v...)
	slices.Sort(s)
	return quantile(s, 0.5)
}

// Sum is what the worlds say of a number: its median and its 10 % and 90 % points.
func (w *Worlds) Sum(v []float64, basis string) fettle.Estimate {
	if w.alone != nil {
		return fettle.Exactly(v[0], basis)
	}
	s := slices.Clone(v)
	slices.Sort(s)
	return fettle.Guess(quantile(s, 0.5), quantile(s, 0.1), quantile(s, 0.9), basis)
}

// quantile of sorted values, between neighbours where it falls between (the fifth
// definition of Hyndman and Fan, The American Statistician 50 (1996) 361).
func quantile(s []float64, p float64) float64 {
	at := p*float64(len(s)) - 0.5
	i := int(math.Floor(at))
	switch {
	case i < 0:
		return s[0]
	case i+1 >= len(s):
		return s[len(s)-1]
	}
	f := at - float64(i)
	if math.IsInf(s[i+1], 1) {
		return s[i+1]
	}
	return s[i] + f*(s[i+1]-s[i])
}

// Shares tells how much of the variance of the logarithm of a number each unknown
// brings when it alone is out: first-order shares that sum to 1, by the names given
// to [Alone]; nil where nothing does.
func (w *Worlds) Shares(v []float64) []float64 {
	out := make([]float64, len(w.alone))
	var sum float64
	for i := range out {
		lo, hi := v[1+2*i], v[2+2*i]
		if lo > 0 && hi > 0 && !math.IsInf(lo, 0) && !math.IsInf(hi, 0) {
			d := math.Log(hi/lo) / 2
			// A number that rises to either side is uncertain too.
			if v[0] > 0 {
				d = math.Max(math.Abs(d), math.Max(math.Abs(math.Log(hi/v[0])), math.Abs(math.Log(lo/v[0]))))
			}
			out[i] = d * d
			sum += out[i]
		}
	}
	if sum == 0 {
		return nil
	}
	for i := range out {
		out[i] /= sum
	}
	return out
}
