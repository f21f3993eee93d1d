// Package mark knows what becomes of a pattern that some step left on a face: how
// it is worn down from its peaks, how a soft or short tool follows it instead, and
// whether an eye still finds it in the texture around it.
//
// A [Curve] is the way of one kind of pattern from whole to gone: [Parabola] for
// cusps, [Sine], [Furrows] for scratches, [Measured] for a surface that was
// simulated or scanned. [Threshold], [Seen] and [Hides] judge slopes by eye.
// Nothing here allocates once a curve is made, and a look-up takes well under a
// microsecond: whole ensembles of faces are carried through these laws.
package mark

import "math"

// Rest is what is left of a pattern, as shares of the whole.
type Rest struct {
	// Height is the peak-to-valley height that still stands over the height of the
	// whole, 1 to 0.
	Height float64
	// Rq is the rms height about the mean of what is left, over the height of the
	// whole: 0.298 for whole parabolic cusps.
	Rq float64
	// Slope is the rms slope of what is left over the rms slope of the whole, 1 to 0.
	// The flats that were made count in, with no slope.
	Slope float64
}

// Curve is how a pattern of height 1 is worn down from above, when everything that
// stands over a level is taken off and nothing under it: a stiff tool that bridges
// the valleys. What comes off down to a level is the integral of the material
// ratio above it. A curve may be read by many at a time.
type Curve struct {
	mean float64
	// Node i of what is left after a mean removal of mean·removal(i/steps).
	nodes [steps + 1]Rest
	// The rms slope of the whole, mrad: of 1 µm at a wavelength of 1 mm, and of 1 µm
	// at whatever wavelength was measured. One of them is 0.
	perWave, perHeight float64
}

// steps are the stretches that a curve is tabulated in.
const steps = 256

// The nodes lie closer to both ends, by their square: where it begins the level
// falls like the root of what comes off, and where it ends slopes go like a power.

// place is where in the table, 0 to 1, a share of the mean removal stands.
func place(share float64) float64 {
	if share < 0.5 {
		return math.Sqrt(share / 2)
	}
	return 1 - math.Sqrt((1-share)/2)
}

// removal is the inverse of place.
func removal(q float64) float64 {
	if q < 0.5 {
		return 2 * q * q
	}
	return 1 - 2*(1-q)*(1-q)
}

// Mean is the mean removal that takes the whole pattern off, as a share of its
// height: 1/3 for parabolic cusps.
func (c *Curve) Mean() float64 { return c.mean }

// Left is what is left after a mean removal of x heights. All of it for x ≤ 0,
// nothing from [Curve.Mean] on.
func (c *Curve) Left(x float64) Rest {
	if x <= 0 {
		return c.nodes[0]
	}
	if !(x < c.mean) {
		return Rest{}
	}
	q := steps * place(x/c.mean)
	i := min(int(q), steps-1)
	f := q - float64(i)
	a, b := &c.nodes[i], &c.nodes[i+1]
	return Rest{
		Height: a.Height + f*(b.Height-a.Height),
		Rq:     a.Rq + f*(b.Rq-a.Rq),
		Slope:  a.Slope + f*(b.Slope-a.Slope),
	}
}

// Takes is the mean removal, in heights, that leaves that share of the height: the
// inverse of Left. 0 for a share of 1 and more, Mean for 0 and less.
func (c *Curve) Takes(height float64) float64 {
	return c.find(height, func(r *Rest) float64 { return r.Height })
}

// TakesSlope is the mean removal, in heights, that leaves that share of the rms
// slope.
func (c *Curve) TakesSlope(slope float64) float64 {
	return c.find(slope, func(r *Rest) float64 { return r.Slope })
}

// find is the mean removal at which a share that falls from 1 to 0 has come to v.
func (c *Curve) find(v float64, of func(*Rest) float64) float64 {
	if v >= 1 {
		return 0
	}
	if !(v > 0) {
		return c.mean
	}
	lo, hi := 0, steps // of(lo) > v >= of(hi)
	for hi-lo > 1 {
		if mid := (lo + hi) / 2; of(&c.nodes[mid]) > v {
			lo = mid
		} else {
			hi = mid
		}
	}
	a, b := of(&c.nodes[lo]), of(&c.nodes[hi])
	f := 0.0
	if a > b {
		f = (a - v) / (a - b)
	}
	return c.mean * removal((float64(lo)+f)/steps)
}

// Slope is the rms slope of the whole pattern in mrad, at a height in µm and a
// wavelength in mm. A measured curve scales its own slope with the height and does
// not ask for the wavelength.
func (c *Curve) Slope(heightUM, wavelengthMM float64) float64 {
	if heightUM <= 0 {
		return 0
	}
	if c.perHeight > 0 {
		return c.perHeight * heightUM
	}
	if wavelengthMM <= 0 {
		return 0
	}
	return c.perWave * heightUM / wavelengthMM
}

// Levelling is the share of what a tool takes off that goes to level a pattern of
// that wavelength, where it touches over a length of contactMM: 1/(1 + (λ/a)²), the
// form of a low-pass filter of first order in power. Patterns much longer than
// the contact are followed; it is 0 for a contact without length.
func Levelling(wavelengthMM, contactMM float64) float64 {
	if contactMM <= 0 {
		return 0
	}
	r := wavelengthMM / contactMM
	return 1 / (1 + r*r)
}

// cut is a pattern of heights 0 to 1 from which everything over a level was taken:
// the mean of min(z, level), the mean of its square, and the share of the squares
// of the slopes that lies under the level.
type cut struct{ m1, m2, slope2 float64 }

// tabulate makes the curve of a pattern from what it is when cut at any level from
// 0 to 1. at(1).slope2 must be 1 and at(0) all 0.
func tabulate(at func(level float64) cut) *Curve {
	c := &Curve{mean: at(1).m1}
	for i := range c.nodes {
		level := 1.0
		if i > 0 {
			level = 0
		}
		if 0 < i && i < steps {
			want := c.mean * (1 - removal(float64(i)/steps))
			lo, hi := 0.0, 1.0
			for range 52 {
				if mid := (lo + hi) / 2; at(mid).m1 < want {
					lo = mid
				} else {
					hi = mid
				}
			}
			level = (lo + hi) / 2
		}
		w := at(level)
		c.nodes[i] = Rest{
			Height: level,
			Rq:     math.Sqrt(math.Max(0, w.m2-w.m1*w.m1)),
			Slope:  math.Sqrt(math.Max(0, w.slope2)),
		}
	}
	return c
}
