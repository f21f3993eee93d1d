package mark

import (
	"math"
	"sync"
)

// Parabola is the curve of parabolic cusps, as a round tool leaves them side by
// side: the mean removed down to level u is (1 − u) − ⅔(1 − u^{3/2}), a third to
// erase them. The share of the slope that is left is u^{3/4}. All by geometry.
func Parabola() *Curve { return parabola() }

var parabola = sync.OnceValue(func() *Curve {
	// z = t² for t over 0 to 1, so the share of the face under u is √u.
	c := tabulate(func(u float64) cut {
		r := math.Sqrt(u)
		return cut{m1: u - u*r*2/3, m2: u*u - u*u*r*4/5, slope2: u * r}
	})
	c.perWave = 4 / math.Sqrt(3)
	return c
})

// Sine is the curve of a sine wave: half its height to erase it. By geometry.
func Sine() *Curve { return sine() }

var sine = sync.OnceValue(func() *Curve {
	// z = (1 − cos θ)/2 for θ over 0 to π.
	c := tabulate(func(u float64) cut {
		t := math.Acos(1 - 2*u)
		s, d := math.Sin(t), math.Sin(2*t)
		over := 1 - t/math.Pi
		return cut{
			m1:     (t-s)/(2*math.Pi) + u*over,
			m2:     (1.5*t-2*s+d/4)/(4*math.Pi) + u*u*over,
			slope2: (t - d/2) / math.Pi,
		}
	})
	c.perWave = math.Pi / math.Sqrt2
	return c
})

// furrowSigma is how many standard deviations the peaks and the valleys of a
// scratched face lie from its mean line. Rz is a mean of five sampling lengths, and
// each holds some thirty to a hundred furrows across the lay: the range of so many
// normal numbers is 4.1 to 5.0 standard deviations. Judgement.
const furrowSigma = 2.5

// Furrows is the curve of a face that was scratched at random: normal heights,
// those beyond ±2.5 standard deviations left out, so that its height stands for
// Rz. Half its height on average must go to erase it. Slopes of a normal surface
// do not know of heights, so the share of the slope that is left is the root of
// the share of the face that was not touched.
//
// Its wavelength is the rms average one, 2π·Rq/RΔq.
func Furrows() *Curve { return furrows() }

var furrows = sync.OnceValue(func() *Curve {
	const (
		k     = furrowSigma
		sigma = 1 / (2 * k)
	)
	all := phi(k) - phi(-k)
	c := tabulate(func(u float64) cut {
		t := (u - 0.5) / sigma
		f := (phi(t) - phi(-k)) / all
		// Means of the normal deviate s and its square, over what lies under t.
		s1 := (density(k) - density(t)) / all
		s2 := f - (t*density(t)+k*density(k))/all
		return cut{
			m1:     0.5*f + sigma*s1 + u*(1-f),
			m2:     0.25*f + sigma*s1 + sigma*sigma*s2 + u*u*(1-f),
			slope2: f,
		}
	})
	c.perWave = 2 * math.Pi * c.nodes[0].Rq
	return c
})

// density is that of the standard normal distribution.
func density(x float64) float64 { return math.Exp(-x*x/2) / math.Sqrt(2*math.Pi) }

// phi is the standard normal distribution.
func phi(x float64) float64 { return math.Erfc(-x/math.Sqrt2) / 2 }
