package learn

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// A run is refused on these chances of a single exponential scattering so by
// luck. The time constant of a second exponential is free where there is none and
// so finds luck more often than its test allows for; the chances were set by trials
// to refuse fewer than one good run in fifty, of all tests together.
const (
	chanceScatter = 0.004
	chanceSecond  = 0.002 // with the scatter stated
	chanceFree    = 0.010 // with the scatter judged by what is left
	leastReadings = 6     // below that two exponentials fit anything
	pairGrid      = 32
	leastApart    = 2.0 // ratio of two time constants that are told apart
)

// refused says what a run's roughness looks like when no single exponential
// fits it, and is empty where one does or where too little was read to tell.
func refused(s series) string {
	var h, y, sd []float64
	free := false
	factors := len(s.own) > 1
	for _, o := range s.obs {
		if !rough(o.Kind) || factors && o.offset >= 0 {
			continue // two factors in one series would look like two processes
		}
		h, y, sd = append(h, o.AtH), append(y, math.Exp(o.asRa())), append(sd, o.sd)
		free = free || o.free
	}
	_, _, distinct, err := span(h, y)
	if err != nil || len(h) < leastReadings || distinct < leastReadings-1 {
		return ""
	}
	one := reweighed(h, y, sd, func(w []float64) decay {
		d, _ := single(h, y, w) // the best there is, even where it lies at the end of the grid
		return d
	})
	two := reweighed(h, y, sd, func(w []float64) decay { return double(h, y, w) })
	if math.IsInf(one.sse, 0) || math.IsNaN(one.sse) {
		return ""
	}
	n := float64(len(h))
	if better := one.sse - two.sse; better > 0 && len(h) >= leastReadings {
		p, least := distuv.ChiSquared{K: 2}.Survival(better), chanceSecond
		if free {
			// The scatter is not stated: it is judged by what the second one leaves.
			least = chanceFree
			p = distuv.F{D1: 2, D2: n - 5}.Survival(better / 2 / (two.sse / (n - 5)))
		}
		if p < least {
			return lookOf(two, h)
		}
	}
	if !free && n > 3 && (distuv.ChiSquared{K: n - 3}).Survival(one.sse) < chanceScatter {
		return fmt.Sprintf("scatters %.1f times as far about any single exponential as its stated errors allow: more than one surface, or errors stated too small", math.Sqrt(one.sse/(n-3)))
	}
	return ""
}

// reweighed fits with errors that are shares of the fit itself, and returns the
// sum of squares of the logarithms in units of their errors.
func reweighed(h, y, sd []float64, fit func(w []float64) decay) decay {
	w := make([]float64, len(y))
	for i := range w {
		w[i] = 1 / (sd[i] * y[i])
	}
	d := fit(w)
	for range 2 {
		for i := range w {
			if v := d.at(h[i]); v > 0 {
				w[i] = 1 / (sd[i] * v)
			}
		}
		d = fit(w)
	}
	d.sse = 0
	for i := range y {
		v := d.at(h[i])
		if !(v > 0) {
			d.sse = math.Inf(1)
			break
		}
		r := math.Log(y[i]/v) / sd[i]
		d.sse += r * r
	}
	return d
}

// double is the best sum of two exponentials on a grid of time constants.
func double(h, y, w []float64) decay {
	gap, whole, _, _ := span(h, y)
	lo, hi := math.Log(fromGrid*gap), math.Log(toGrid*whole)
	var ts [pairGrid]float64
	var es [pairGrid][]float64
	for i := range ts {
		ts[i] = math.Exp(lo + (hi-lo)*float64(i)/(pairGrid-1))
		es[i] = make([]float64, len(h))
		for k := range h {
			es[i][k] = math.Exp(-h[k] / ts[i])
		}
	}
	best := decay{sse: math.Inf(1)}
	for i, t1 := range ts {
		for j := i + 1; j < pairGrid; j++ {
			if ts[j] < leastApart*t1 {
				continue
			}
			var n normal
			for k := range h {
				n.add(w[k]*w[k], y[k], 1, es[i][k], es[j][k])
			}
			x, ok := n.solve(3)
			if !ok {
				continue
			}
			sse := 0.0
			for k := range h {
				v := x[0] + x[1]*es[i][k] + x[2]*es[j][k]
				r := w[k] * (y[k] - v)
				sse += r * r
				ok = ok && v > 0
			}
			if ok && sse < best.sse {
				best = decay{limit: x[0], amp: [2]float64{x[1], x[2]}, t: [2]float64{t1, ts[j]}, sse: sse}
			}
		}
	}
	return best
}

// lookOf says what two exponentials look like.
func lookOf(d decay, h []float64) string {
	first, last := d.at(h[0]), d.at(h[len(h)-1])
	low, high := first, first
	for _, t := range h {
		low, high = math.Min(low, d.at(t)), math.Max(high, d.at(t))
	}
	switch {
	case d.amp[0] > 0 && d.amp[1] > 0:
		return "falls fast, then slowly: two processes, such as new media wearing in"
	case d.amp[0] < 0 && d.amp[1] < 0:
		return "roughens fast, then slowly: two processes, such as a coarse mark coming up under a fine one"
	case low < 0.9*last && low < 0.9*first:
		return "falls and then rises again: something roughens it later, such as broken media or liquid that is spent"
	case high > 1.1*first && high > 1.1*last:
		return "rises and then falls: something roughens it at first, such as media with sharp new edges"
	}
	return "starts slowly and then goes faster: the process changed on the way, such as water or compound added"
}

// refusal is the sentence about a run that is refused.
func refusal(j job, why string) string {
	return fmt.Sprintf("Run %s (%s in %s on %s): roughness %s. No single exponential fits, so its roughness teaches nothing here.", j.label(), j.media.Name, j.vessel.Name, j.mat.Name, why)
}

// label is what a run is called.
func (j job) label() string {
	switch {
	case j.ID != "":
		return j.ID
	case j.Day != "":
		return "of " + j.Day
	}
	return "without a name"
}
