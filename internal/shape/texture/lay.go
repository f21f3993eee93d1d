package texture

import (
	"cmp"
	"context"
	"math"
	"slices"

	"fettle/internal/shape/relief"
)

// Lay is what the autocorrelation and the angular spectrum of a map tell
// (ISO 25178-2): Sal, the distance in mm over which the autocorrelation decays
// fastest to 0.2; Str, the ratio of that to the slowest, from 0 for a lay to 1
// for none; Std, the direction of the lay, along its ridges, in degrees from X
// towards Y, 0 to 180, across the direction in which the spectrum holds most.
//
// Where the correlation has not decayed at half the map's side, as along the
// ridges of a milled face, that distance counts. A map so small or so flat that
// a number means nothing gives NaN.
type Lay struct{ Sal, Str, Std float64 }

// Peak is a wave of a surface: its length in mm, the direction that it runs in,
// across its ridges, in degrees from X towards Y, 0 to 180, and its amplitude
// in µm. A periodic cusp shows as its fundamental and harmonics.
type Peak struct {
	WavelengthMM float64 `json:"wavelength_mm"`
	DirectionDeg float64 `json:"direction_deg"`
	AmplitudeUM  float64 `json:"amplitude_um"`
}

const decayLevel = 0.2 // the default of ISO 25178-3

func layOf(ctx context.Context, m *relief.Map, mean float64) (Lay, error) {
	nothing := Lay{math.NaN(), math.NaN(), math.NaN()}
	if min(m.W, m.H) < 8 {
		return nothing, nil
	}
	q := gathering(m, mean)
	c, err := correlate(ctx, m, mean, q)
	if c == nil || err != nil {
		return nothing, err
	}
	lay := Lay{}
	short, angle, _ := c.extreme(func(a, b float64) bool { return a < b }, 0)
	long, _, past := c.extreme(func(a, b float64) bool { return a > b }, angle+math.Pi/2)
	if f := fitting(m); past && f > q {
		// The tile was too short; the whole map is looked at more coarsely.
		whole, err := correlate(ctx, m, mean, f)
		if err != nil {
			return nothing, err
		}
		if whole != nil {
			l, _, _ := whole.extreme(func(a, b float64) bool { return a > b }, angle+math.Pi/2)
			long = max(long, l)
		}
	}
	lay.Sal, lay.Str = short, short/long
	if lay.Std, err = c.direction(ctx); err != nil {
		return nothing, err
	}
	return lay, nil
}

// LayOf gives the lay of a map as it is.
func LayOf(ctx context.Context, m *relief.Map) (Lay, error) {
	if m.Cells() == 0 || len(m.Z) != m.Cells() {
		return Lay{}, errEmpty
	}
	return layOf(ctx, m, meanOf(m))
}

func meanOf(m *relief.Map) float64 {
	sum, n := 0.0, 0
	for j := range m.H {
		row := 0.0
		for _, v := range m.Z[j*m.W : (j+1)*m.W] {
			if v == v {
				row += float64(v)
				n++
			}
		}
		sum += row
	}
	return sum / float64(max(1, n))
}

// extreme looks all round for the decay that is better than others: at whole
// degrees and at a hint, then ever closer about the best.
func (c *correlation) extreme(better func(a, b float64) bool, hint float64) (mm, angle float64, past bool) {
	mm, past = c.decay(hint, decayLevel)
	angle = hint
	try := func(a float64) {
		if v, p := c.decay(a, decayLevel); better(v, mm) {
			mm, angle, past = v, a, p
		}
	}
	const degree = math.Pi / 180
	for d := range 180 {
		try(float64(d) * degree)
	}
	for step := degree / 2; step > degree/100; step /= 2 {
		at := angle
		try(at - step)
		try(at + step)
	}
	return mm, angle, past
}

// spectrum is the power spectrum by way of the autocorrelation (Blackman and
// Tukey): its transform under a Gaussian window of shifts, which has no side
// lobes. sum is that of the window.
func (c *correlation) spectrum(ctx context.Context) (p *plane, sum float64, err error) {
	p = newPlane(c.w, c.h)
	wx, wy := shiftWindow(c.w, c.maxX), shiftWindow(c.h, c.maxY)
	for j, v := range wy {
		for i, u := range wx {
			p.x[j*c.w+i] = complex(real(c.x[j*c.w+i])*u*v, 0)
			sum += u * v
		}
	}
	return p, sum, p.transform(ctx, c.h)
}

func shiftWindow(n, most int) []float64 {
	w := make([]float64, n)
	s := float64(most) / 4.5
	for i := range w {
		d := float64(min(i, n-i))
		if d <= float64(most) {
			w[i] = math.Exp(-d * d / (2 * s * s))
		}
	}
	return w
}

// frequency is that of a bin in cycles per mm.
func (c *correlation) frequency(i, j float64) (fx, fy float64) {
	if i > float64(c.w)/2 {
		i -= float64(c.w)
	}
	if j > float64(c.h)/2 {
		j -= float64(c.h)
	}
	return i / (float64(c.w) * c.dx), j / (float64(c.h) * c.dy)
}

// direction is that of the lay.
func (c *correlation) direction(ctx context.Context) (float64, error) {
	p, _, err := c.spectrum(ctx)
	if err != nil {
		return 0, err
	}
	// What is so close to the middle that the window blurs its direction away,
	// and the corners past the highest frequency that all directions have, are
	// left out.
	low := 1 / (min(float64(c.maxX)*c.dx, float64(c.maxY)*c.dy))
	high := 0.5 / max(c.dx, c.dy)
	const parts = 360 // half a degree each
	var of [parts]float64
	type bin struct{ angle, power float64 }
	var bins []bin
	for j := range c.h {
		for i := range c.w/2 + 1 {
			fx, fy := c.frequency(float64(i), float64(j))
			f := math.Hypot(fx, fy)
			v := real(p.x[j*c.w+i])
			if f < low || f > high || v <= 0 {
				continue
			}
			if i == 0 || i == c.w/2 {
				v /= 2 // the mirrored half is not looked at, this column is its own
			}
			a := math.Mod(math.Atan2(fy, fx)+math.Pi, math.Pi)
			bins = append(bins, bin{a, v})
			of[min(parts-1, int(a/math.Pi*parts))] += v
		}
	}
	if len(bins) == 0 {
		return math.NaN(), nil
	}
	best, at := -1.0, 0
	const half = 6
	for k := range of {
		s := 0.0
		for d := -half; d <= half; d++ {
			s += of[(k+d+parts)%parts] * (half + 1 - math.Abs(float64(d)))
		}
		if s > best {
			best, at = s, k
		}
	}
	// The middle of what lies about the best direction, moved until it rests. A
	// short map's lobe is wider than what is weighed at once, so it creeps.
	mid := (float64(at) + 0.5) / parts * math.Pi
	const about = 12 * math.Pi / 180
	bins = slices.DeleteFunc(bins, func(b bin) bool { return math.Abs(math.Remainder(b.angle-mid, math.Pi)) > 3*about })
	for range 100 {
		var s, n float64
		for _, b := range bins {
			d := math.Remainder(b.angle-mid, math.Pi)
			if u := d / about; math.Abs(u) < 1 {
				w := b.power * (1 - u*u) * (1 - u*u)
				s += w * d
				n += w
			}
		}
		if n == 0 || math.Abs(s) < 1e-5*n {
			break
		}
		mid += s / n
	}
	return wrap180(mid*180/math.Pi + 90), nil
}

func wrap180(deg float64) float64 {
	deg = math.Mod(deg, 180)
	if deg < 0 {
		deg += 180
	}
	if deg > 180-1e-9 {
		deg = 0
	}
	return deg
}

// Peaks lists the waves that stand out of a map's power spectrum, at most so
// many, strongest first; waves below 3 % of the strongest are noise or leftovers
// and are not listed. Lengths reach from four cells to a quarter of the
// map's shorter side.
func Peaks(ctx context.Context, m *relief.Map, most int) ([]Peak, error) {
	if m.Cells() == 0 || len(m.Z) != m.Cells() {
		return nil, errEmpty
	}
	if min(m.W, m.H) < 24 {
		return nil, nil
	}
	mean := meanOf(m)
	fine, whole := gathering(m, mean), fitting(m)
	var all []Peak
	limit := math.Inf(1) // longest wave that the finer look sees well
	for _, q := range []int{min(fine, whole), whole} {
		c, err := correlate(ctx, m, mean, q)
		if err != nil {
			return nil, err
		}
		if c == nil {
			return nil, nil
		}
		found, err := c.peaks(ctx)
		if err != nil {
			return nil, err
		}
		reach := min(float64(c.maxX)*c.dx, float64(c.maxY)*c.dy) / 2
		for _, p := range found {
			first := math.IsInf(limit, 1)
			if p.WavelengthMM <= reach && (first || p.WavelengthMM > limit && p.WavelengthMM > 6*max(c.dx, c.dy)) {
				all = append(all, p)
			}
		}
		limit = reach
		if q == whole {
			break
		}
	}
	slices.SortStableFunc(all, func(a, b Peak) int { return cmp.Compare(b.AmplitudeUM, a.AmplitudeUM) })
	for i, p := range all {
		if p.AmplitudeUM < 0.03*all[0].AmplitudeUM {
			all = all[:i]
			break
		}
	}
	return all[:min(most, len(all))], nil
}

// peaks finds the hills of the spectrum.
func (c *correlation) peaks(ctx context.Context) ([]Peak, error) {
	p, sum, err := c.spectrum(ctx)
	if err != nil {
		return nil, err
	}
	at := func(i, j int) float64 { return real(p.x[(j+c.h)%c.h*c.w+(i+c.w)%c.w]) }
	strongest := 0.0
	for _, v := range p.x {
		strongest = max(strongest, real(v))
	}
	var found []Peak
	for j := range c.h {
		for i := range c.w/2 + 1 {
			v := at(i, j)
			if v < 1e-4*strongest || (i == 0 || i == c.w/2) && j > c.h/2 || i == 0 && j == 0 {
				continue
			}
			top := true
			for dj := -2; dj <= 2 && top; dj++ {
				for di := -2; di <= 2; di++ {
					if o := at(i+di, j+dj); o > v || o == v && (dj < 0 || dj == 0 && di < 0) {
						top = false
						break
					}
				}
			}
			if !top {
				continue
			}
			// Under a Gaussian window a wave is a Gaussian hill, whose logarithm is a
			// parabola.
			du, hu := crest(at(i-1, j), v, at(i+1, j))
			dv, hv := crest(at(i, j-1), v, at(i, j+1))
			fx, fy := c.frequency(float64(i)+du, float64(j)+dv)
			f := math.Hypot(fx, fy)
			if f == 0 || f > 0.25/min(c.dx, c.dy) {
				continue
			}
			power := v * hu * hv
			// Gathering q cells took a part of the wave away.
			lost := sinc(fx*c.dx)*sinc(fy*c.dy) + 1e-9
			found = append(found, Peak{1 / f, wrap180(math.Atan2(fy, fx) * 180 / math.Pi),
				2000 * math.Sqrt(power*c.variance/sum) / lostAt(lost, c.q)})
		}
	}
	return found, nil
}

func lostAt(lost float64, q int) float64 {
	if q == 1 {
		return 1
	}
	return lost
}

func sinc(x float64) float64 {
	if x == 0 {
		return 1
	}
	return math.Sin(math.Pi*x) / (math.Pi * x)
}

// crest is where the top of a Gaussian hill lies between three values of which
// the middle one is greatest, in steps, and how much higher than that it is.
func crest(before, mid, after float64) (at, higher float64) {
	if before <= 0 || after <= 0 || mid <= 0 {
		return 0, 1
	}
	a, b, c := math.Log(before), math.Log(mid), math.Log(after)
	bend := a - 2*b + c
	if bend >= 0 {
		return 0, 1
	}
	at = 0.5 * (a - c) / bend
	return at, math.Exp(-bend * at * at / 2)
}
