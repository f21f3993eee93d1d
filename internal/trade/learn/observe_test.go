package learn

import (
	"math"
	"testing"

	"fettle"
	"fettle/internal/trade/tumble"

	"pgregory.net/rapid"
)

// The derivatives that the fit climbs by, against differences of the law itself.
func TestDerivatives(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var x [params]float64
		x[iT] = rapid.Float64Range(-2, 3).Draw(t, "T")
		x[iRL] = rapid.Float64Range(-3, 0.5).Draw(t, "RL")
		x[iMs] = rapid.Float64Range(-4, 2).Draw(t, "Ms")
		x[iRough] = rapid.Float64Range(-3, 0).Draw(t, "share")
		u := rapid.Float64Range(-3, 1.5).Draw(t, "R0")
		h := rapid.Float64Range(0, 20).Draw(t, "h")
		early := rapid.SampledFrom([]float64{0, 2}).Draw(t, "Mt")
		if math.Abs(u-x[iRL]) < 0.01 {
			return // the law bends where a face passes from levelling to roughening
		}
		const step = 1e-5
		value := func(x [params]float64, u float64) (float64, float64) {
			r := rates(x[:], early)
			return math.Log(r.Ra(math.Exp(u), h)), r.Removed(h)
		}
		_, d, du := logRa(rates(x[:], early), math.Exp(u), h)
		_, dm := removed(rates(x[:], early), h)
		for i := range params {
			up, down := x, x
			up[i] += step
			down[i] -= step
			a, ma := value(up, u)
			b, mb := value(down, u)
			if math.Abs((a-b)/(2*step)-d[i]) > 1e-5 || math.Abs((ma-mb)/(2*step)-dm[i]) > 1e-5*(1+math.Abs(dm[i])) {
				t.Fatalf("number %d: %g and %g by difference, %g and %g", i, (a-b)/(2*step), (ma-mb)/(2*step), d[i], dm[i])
			}
		}
		a, _ := value(x, u+step)
		b, _ := value(x, u-step)
		if math.Abs((a-b)/(2*step)-du) > 1e-5 {
			t.Fatalf("start: %g by difference, %g", (a-b)/(2*step), du)
		}
	})
}

// Grades N1 to N12 as ISO 1302:1992 lists them, µm.
func TestGrades(t *testing.T) {
	for i, ra := range []float64{0.025, 0.05, 0.1, 0.2, 0.4, 0.8, 1.6, 3.2, 6.3, 12.5, 25, 50} {
		o := observation{Reading: fettle.Reading{Kind: fettle.ReadGrade, Value: float64(i + 1)}, offset: -1}
		o.roughness()
		close(t, "grade", math.Exp(o.asRa())/ra, 1, 0.03) // the standard rounds
	}
}

// The prior's covariance of any processes of the shelf can be inverted, and holds
// the spread of the guesses.
func TestThePriorKeepsTheGuesses(t *testing.T) {
	for _, n := range []names{fine5, fine2, general, cob} {
		m, v, mt := things(t, n)
		p := processOf(m, v, mt, fettle.ToneUsual)
		c := covariance(p, p)
		g := tumble.ProcessOf(m, v, mt)
		for i, e := range []fettle.Estimate{g.TimeConstantH, g.LimitRaUM, g.RemovalUMH} {
			close(t, n.media, math.Sqrt(c[i][i]), e.LogSD(), 1e-9)
		}
		if r := c[iT][iMs] / math.Sqrt(c[iT][iT]*c[iMs][iMs]); r > -0.3 || r < -0.9 {
			t.Errorf("%s: pace goes with removal as %.2f", n.media, r)
		}
	}
}
