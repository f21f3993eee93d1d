package closeup

import (
	"fmt"
	"math"
	"slices"

	"fettle"
	"fettle/internal/shape/relief"
)

// The two lobes of a cut metal face, as the tangent of their half width: cells
// are micrometres wide and carry a finer roughness of their own.
const (
	broadLobe  = 0.35 // 19°
	glossLobe  = 0.10 // 6°
	glossShare = 0.35
	// dusk is the sine of the angle under which a facet begins to turn away from
	// the lamp.
	dusk = 0.10
)

// lamp is a distant light; the eye stands straight above.
type lamp struct {
	fromDeg, highDeg float64
	l, h             [3]float64 // towards the lamp; the normal that mirrors it into the eye
}

func newLamp(fromDeg, highDeg float64) lamp {
	fromDeg = math.Mod(math.Mod(fromDeg, 360)+360, 360)
	sa, ca := math.Sincos(fromDeg * math.Pi / 180)
	se, ce := math.Sincos(highDeg * math.Pi / 180)
	p := lamp{fromDeg: fromDeg, highDeg: highDeg, l: [3]float64{ca * ce, sa * ce, se}}
	n := math.Sqrt(2 + 2*se)
	p.h = [3]float64{p.l[0] / n, p.l[1] / n, (p.l[2] + 1) / n}
	return p
}

// lamp stands where it was asked for, or across the lay on the side nearer to
// the upper left.
func (o *Options) lamp() lamp {
	const upperLeft = 135.0
	from := upperLeft
	switch {
	case o.FromDeg != nil:
		from = *o.FromDeg
	case o.LayDeg != nil:
		from = *o.LayDeg + 90
		if math.Cos((from-upperLeft)*math.Pi/180) < -1e-9 {
			from += 180
		}
	}
	return newLamp(from, o.HighDeg)
}

// light is the share of light that a facet of slopes p and q sends to the eye.
func (l *lamp) light(p, q float64) float64 {
	s := 1 + p*p + q*q
	d := l.h[2] - p*l.h[0] - q*l.h[1]
	to := l.l[2] - p*l.l[0] - q*l.l[1]
	if d <= 0 || to <= 0 {
		return 0
	}
	t := s/(d*d) - 1 // tan² of the angle to the mirroring normal
	a, b := 1/(1+t/(broadLobe*broadLobe)), 1/(1+t/(glossLobe*glossLobe))
	e := (1-glossShare)*a*a + glossShare*b*b
	if to*to < dusk*dusk*s {
		x := to / (dusk * math.Sqrt(s))
		e *= x * x * (3 - 2*x)
	}
	return e
}

// light is the light of every pixel, row after row from the top, NaN where more
// than half of a pixel has no height.
func (v view) light(m *relief.Map, l lamp) []float32 {
	nx, ny := samples(v.px, m.DX), samples(v.px, m.DY)
	xs, ys := taps(v.w, nx, v.x0, v.px, m.X0, m.DX, m.W), taps(v.h, ny, v.y1, -v.px, m.Y0, m.DY, m.H)
	i0, i1 := int(xs[0].at), int(xs[len(xs)-1].next)
	out := make([]float32, v.w*v.h)
	nan := float32(math.NaN())
	bands(v.h, func(b0, b1 int) {
		// A band is cut finer where a pixel holds many cells, so that what a
		// worker holds stays small.
		step := max(1, bandRows/ny)
		var s slopes
		for j0 := b0; j0 < b1; j0 += step {
			j1 := min(b1, j0+step)
			// The map's rows run up, the picture's down.
			s.rows(m, int(ys[j1*ny-1].at), int(ys[j0*ny].next), i0, i1)
			for j := j0; j < j1; j++ {
				for i := range v.w {
					sum, n := 0.0, 0
					for _, y := range ys[j*ny : (j+1)*ny] {
						for _, x := range xs[i*nx : (i+1)*nx] {
							if p, q, ok := s.at(x, y); ok {
								sum += l.light(p, q)
								n++
							}
						}
					}
					out[j*v.w+i] = nan
					if n > 0 && 2*n >= nx*ny {
						out[j*v.w+i] = float32(sum / float64(n))
					}
				}
			}
		}
	})
	return out
}

// twilight is the share of its light that a place in the shadow keeps.
const twilight = 0.25

// shadows takes light from the pixels that lie behind something higher. Along
// the way of the light the edge of the shadow sinks by the lamp's height with
// every pixel, or starts anew on a surface that stands above it.
func (v view) shadows(m *relief.Map, l lamp, val []float32) {
	z := v.heights(m)
	// Away from the lamp, in pixels, down counted positive; the longer part
	// advances by one row or column at a time.
	dx, dy := -l.l[0], l.l[1]
	flat := math.Hypot(dx, dy)
	if flat < 1e-9 {
		return
	}
	along, side := v.w, v.h
	at := func(k, s int) int { return s*v.w + k }
	major, minor := dx, dy
	if math.Abs(dy) > math.Abs(dx) {
		along, side = v.h, v.w
		at = func(k, s int) int { return k*v.w + s }
		major, minor = dy, dx
	}
	drift := minor / math.Abs(major)
	fall := v.px / math.Abs(major) * l.l[2] // as high as a step is long, times tan
	low := math.Inf(-1)
	edge, prev := make([]float64, side), make([]float64, side)
	for i := range prev {
		prev[i] = low
	}
	read := func(f float64) float64 {
		k := math.Floor(f)
		if k < 0 || int(k) >= side {
			return low
		}
		a, b := prev[int(k)], low
		if int(k)+1 < side {
			b = prev[int(k)+1]
		}
		w := f - k
		switch {
		case w == 0 || math.IsInf(b, -1):
			return a
		case math.IsInf(a, -1):
			return b
		}
		return a + w*(b-a)
	}
	for n := range along {
		k := n
		if major < 0 {
			k = along - 1 - n
		}
		for s := range edge {
			e := read(float64(s)-drift) - fall
			p := at(k, s)
			if h := float64(z[p]); h == h {
				// One pixel of half shadow.
				if dark := min(1, (e-h)/fall); dark > 0 {
					val[p] *= float32(1 - (1-twilight)*dark)
				}
				e = max(e, h)
			}
			edge[s] = e
		}
		edge, prev = prev, edge
	}
}

// exposure is the light that becomes the middle tone, how far the light spreads
// around it as the logarithm of a ratio (98 % of what is lit lies within), and
// the share of pixels without a height. It looks at no more pixels than it
// needs, scattered over the picture so that no pattern of the surface can keep
// step with them.
func exposure(val []float32) (mid, spread, missing float64) {
	const most = 1 << 14
	n := len(val)
	var seen []float64
	none := 0
	for _, v := range val {
		if v != v {
			none++
		}
	}
	if n <= most || none > n*9/10 {
		for _, v := range val {
			seen = append(seen, float64(v))
		}
	} else {
		for k := range uint64(most) {
			seen = append(seen, float64(val[k*2654435761%uint64(n)]))
		}
	}
	seen = slices.DeleteFunc(seen, math.IsNaN)
	missing = float64(none) / float64(n)
	if len(seen) == 0 {
		return math.NaN(), 0, missing
	}
	slices.Sort(seen)
	mid = max(seen[len(seen)/2], faintest)
	// What is turned away from the lamp is dark at any contrast.
	for len(seen) > 1 && seen[0] < mid/10 {
		seen = seen[1:]
	}
	for i, v := range seen {
		seen[i] = math.Abs(math.Log(max(v, faintest) / mid))
	}
	slices.Sort(seen)
	return mid, seen[len(seen)*98/100], missing
}

// faintest is the light of a facet that is turned away.
const faintest = 1e-4

// The middle tone of a picture as OKLab lightness, and how far the tones reach
// on either side.
const midTone, toneReach = 0.62, 0.34

// maxContrast keeps the rounding of heights from being shown as a surface.
const maxContrast = 40

// perContrast turns the logarithm of a ratio of light into one of tone.
// Lightness is close to the cube root of light, so that at contrast 1 a slope is
// as much darker or lighter than its surroundings as on the surface; at contrast
// 6 as if its light were raised to the sixth power, which is what a
// photographer's paper of that grade does.
const perContrast = midTone / 3 / toneReach

// contrast is the contrast at which a spread of light fills the tones, as a
// round number.
func contrast(spread float64) float64 {
	if !(spread*maxContrast*perContrast > 1) {
		return maxContrast
	}
	return roundDown(1/(spread*perContrast), []float64{1, 1.2, 1.5, 2, 2.5, 3, 4, 5, 6, 8})
}

// shadeOf is the tone of a pixel as an index into the ramp. Tones run into the
// ends softly, so that no highlight is cut off.
func shadeOf(v, mid, contrast float64) int {
	x := contrast * perContrast * math.Log(max(v, faintest)/mid)
	return int(math.Round((0.5 + 0.5*math.Tanh(x)) * (rampLen - 1)))
}

// note is the small print under a lit picture.
func (o *Options) note(l lamp, c, missing float64) string {
	s := fmt.Sprintf("light %s° high, contrast ×%s", plain(l.highDeg), plain(c))
	return s + o.hatched(missing)
}

func (o *Options) hatched(missing float64) string {
	switch {
	case missing <= 0:
		return ""
	case missing < 0.01:
		return fmt.Sprintf("; hatched: %s", o.Missing)
	}
	return fmt.Sprintf("; hatched: %s (%.0f %%)", o.Missing, 100*missing)
}

// barLength is the length of a scale bar of at most the given mm: 1, 2 or 5 of
// a decimal place of the shop's unit, and how it is called.
func barLength(most float64, sys fettle.System) (mm float64, label string) {
	if sys == fettle.Inch {
		in := roundDown(most/fettle.MMPerInch, oneTwoFive)
		if in < 0.001*(1-1e-9) {
			return in * fettle.MMPerInch, plain(in*1e6) + " µin"
		}
		return in * fettle.MMPerInch, plain(in) + " in"
	}
	mm = roundDown(most, oneTwoFive)
	if mm < 0.01*(1-1e-9) {
		return mm, plain(mm*1000) + " µm"
	}
	return mm, plain(mm) + " mm"
}
