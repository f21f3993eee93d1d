package learn

import (
	"math"
	"slices"

	"fettle"
)

// fromGrid and toGrid bound the time constants that are looked at, as a share
// of the shortest gap and of the whole span of the readings: shorter ones look
// like a step and longer ones like a straight line.
const (
	fromGrid  = 0.1
	toGrid    = 30.0
	gridSteps = 60
)

// Exponential is the plain least squares fit of R(t) = RL + (R0 − RL)·e^(−t/T)
// to readings ra at hours, every reading counted alike: R0 and RL in the unit of
// the readings, T in hours.
//
// For a given T the rest is a straight line in e^(−t/T), so only T is searched
// for (variable projection; G. H. Golub and V. Pereyra, SIAM J. Numer. Anal. 10
// (1973) 413), on a grid first and then by Newton's method on the gradient. It
// fails with Invalid on fewer than three different hours or on readings that are
// not numbers, and with No where no time constant fits better than a step or a
// straight line does.
func Exponential(hours, ra []float64) (r0, rl, t float64, err error) {
	w := make([]float64, len(ra))
	for i := range w {
		w[i] = 1
	}
	f, err := single(hours, ra, w)
	if err != nil {
		return 0, 0, 0, err
	}
	return f.limit + f.amp[0], f.limit, f.t[0], nil
}

// decay is a fitted sum of exponentials over a limit; the second amplitude and
// time constant are 0 where there is one.
type decay struct {
	limit  float64
	amp, t [2]float64
	sse    float64 // weighted
}

func (d decay) at(h float64) float64 {
	v := d.limit
	for k, a := range d.amp {
		if a != 0 {
			v += a * math.Exp(-h/d.t[k])
		}
	}
	return v
}

// span checks readings and returns the shortest gap and the span of their hours.
func span(hours, ra []float64) (gap, whole float64, distinct int, err error) {
	if len(hours) != len(ra) {
		return 0, 0, 0, fettle.Errorf(fettle.Invalid, "%d hours do not belong to %d readings", len(hours), len(ra))
	}
	for i := range hours {
		if math.IsNaN(hours[i]) || math.IsInf(hours[i], 0) || math.IsNaN(ra[i]) || math.IsInf(ra[i], 0) {
			return 0, 0, 0, fettle.Errorf(fettle.Invalid, "reading %d is not a number", i+1)
		}
	}
	s := slices.Clone(hours)
	slices.Sort(s)
	s = slices.Compact(s)
	if len(s) < 2 {
		return 0, 0, len(s), nil
	}
	gap = math.Inf(1)
	for i := 1; i < len(s); i++ {
		gap = math.Min(gap, s[i]-s[i-1])
	}
	return gap, s[len(s)-1] - s[0], len(s), nil
}

// single fits one exponential with weights.
func single(hours, ra, w []float64) (decay, error) {
	gap, whole, distinct, err := span(hours, ra)
	if err != nil {
		return decay{}, err
	}
	if distinct < 3 {
		return decay{}, fettle.Errorf(fettle.Invalid, "an exponential needs readings at three different hours at least; there are %d", distinct)
	}
	lo, hi := math.Log(fromGrid*gap), math.Log(toGrid*whole)
	best, at := decay{sse: math.Inf(1)}, 0
	for i := range gridSteps + 1 {
		u := lo + (hi-lo)*float64(i)/gridSteps
		if d := project1(hours, ra, w, math.Exp(u)); d.sse < best.sse {
			best, at = d, i
		}
	}
	if at == 0 || at == gridSteps || !(math.Abs(best.amp[0]) > 0) {
		return best, fettle.Errorf(fettle.No, "the readings do not bend like an exponential; read on until they level off")
	}
	// Golden section down to where rounding of the sum of squares stops it, and
	// Newton on its gradient, which is exact to rounding, from there.
	step := (hi - lo) / gridSteps
	mid := lo + step*float64(at)
	a, b := mid-step, mid+step
	const golden = 0.6180339887498949
	x1, x2 := b-golden*(b-a), a+golden*(b-a)
	f := func(u float64) float64 { return project1(hours, ra, w, math.Exp(u)).sse }
	f1, f2 := f(x1), f(x2)
	for range 30 {
		if f1 < f2 {
			b, x2, f2 = x2, x1, f1
			x1 = b - golden*(b-a)
			f1 = f(x1)
		} else {
			a, x1, f1 = x1, x2, f2
			x2 = a + golden*(b-a)
			f2 = f(x2)
		}
	}
	best = polish(hours, ra, w, project1(hours, ra, w, math.Exp((a+b)/2)))
	return best, nil
}

// polish takes Gauss-Newton steps in all three numbers at once for as long as
// they help.
func polish(hours, ra, w []float64, d decay) decay {
	for range 20 {
		var n normal
		for i, h := range hours {
			e := math.Exp(-h / d.t[0])
			n.add(w[i]*w[i], ra[i]-d.at(h), 1, e, d.amp[0]*e*h/d.t[0])
		}
		x, ok := n.solve(3)
		if !ok {
			return d
		}
		next := project1(hours, ra, w, d.t[0]*math.Exp(math.Max(-1, math.Min(1, x[2]))))
		// At the bottom the sum of squares is flat to rounding: take the step.
		if next.sse > d.sse*(1+1e-9)+1e-300 {
			return d
		}
		small := math.Abs(x[2]) < 1e-14
		d = next
		if small {
			return d
		}
	}
	return d
}

// project1 is the best limit and amplitude for a given time constant.
func project1(hours, ra, w []float64, t float64) decay {
	var n normal
	for i, h := range hours {
		n.add(w[i]*w[i], ra[i], 1, math.Exp(-h/t), 0)
	}
	x, ok := n.solve(2)
	if !ok {
		return decay{sse: math.Inf(1)}
	}
	d := decay{limit: x[0], amp: [2]float64{x[1], 0}, t: [2]float64{t, 0}}
	d.sse = sumOfSquares(hours, ra, w, d)
	return d
}

func sumOfSquares(hours, ra, w []float64, d decay) float64 {
	s := 0.0
	for i, h := range hours {
		r := w[i] * (ra[i] - d.at(h))
		s += r * r
	}
	return s
}

// normal holds the normal equations of up to three unknowns.
type normal struct {
	a [3][3]float64
	b [3]float64
}

func (n *normal) add(w, y, x0, x1, x2 float64) {
	x := [3]float64{x0, x1, x2}
	for i := range x {
		for j := range x {
			n.a[i][j] += w * x[i] * x[j]
		}
		n.b[i] += w * x[i] * y
	}
}

// solve eliminates with the largest pivots first; false where the first k
// unknowns cannot be told apart.
func (n *normal) solve(k int) ([3]float64, bool) {
	a, b := n.a, n.b
	var scale [3]float64
	for i := range k {
		scale[i] = a[i][i]
	}
	for c := range k {
		p := c
		for r := c + 1; r < k; r++ {
			if math.Abs(a[r][c]) > math.Abs(a[p][c]) {
				p = r
			}
		}
		a[c], a[p], b[c], b[p] = a[p], a[c], b[p], b[c]
		if !(math.Abs(a[c][c]) > 1e-13*scale[c]) {
			return [3]float64{}, false
		}
		for r := c + 1; r < k; r++ {
			f := a[r][c] / a[c][c]
			for j := c; j < k; j++ {
				a[r][j] -= f * a[c][j]
			}
			b[r] -= f * b[c]
		}
	}
	var x [3]float64
	for i := k - 1; i >= 0; i-- {
		x[i] = b[i]
		for j := i + 1; j < k; j++ {
			x[i] -= a[i][j] * x[j]
		}
		x[i] /= a[i][i]
	}
	return x, true
}
