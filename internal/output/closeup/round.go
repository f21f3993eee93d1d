package closeup

import (
	"math"
	"strconv"
	"strings"
)

var oneTwoFive = []float64{1, 2, 5}

// roundDown is the largest number of the series, times a power of ten, that is
// not above v, for v > 0.
func roundDown(v float64, series []float64) float64 {
	exp := math.Floor(math.Log10(v))
	for _, e := range []float64{exp + 1, exp, exp - 1} {
		p := math.Pow(10, math.Abs(e))
		for i := len(series) - 1; i >= 0; i-- {
			// Divided below one, so that 0.2 is the float nearest to it.
			n := series[i] * p
			if e < 0 {
				n = series[i] / p
			}
			if n <= v*(1+1e-12) {
				return n
			}
		}
	}
	return v
}

// plain writes a number with at most four figures and no more zeros than it
// has.
func plain(v float64) string {
	s := strconv.FormatFloat(v, 'g', 4, 64)
	if f, err := strconv.ParseFloat(s, 64); err == nil {
		s = strconv.FormatFloat(f, 'f', -1, 64)
	}
	return strings.Replace(s, "-", "−", 1)
}

// tick is a round number on an axis and how it is written there.
type tick struct {
	v    float64
	text string
}

// ticks are the multiples of a round step between lo and hi, about n of them.
func ticks(lo, hi float64, n int) []tick {
	if !(hi > lo) || n < 1 {
		return nil
	}
	step := roundDown((hi-lo)/float64(n)*1.6, oneTwoFive)
	digits := max(0, -int(math.Floor(math.Log10(step)+1e-9)))
	var out []tick
	const slack = 1e-6
	for k := math.Ceil(lo/step - slack); k <= hi/step+slack && len(out) < 100; k++ {
		out = append(out, tick{k * step, strings.Replace(strconv.FormatFloat(k*step+0, 'f', digits, 64), "-", "−", 1)})
	}
	return out
}
