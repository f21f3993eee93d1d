package learn

import (
	"math"

	"fettle"
	"fettle/internal/trade/tumble"
)

// Errors of readings that state none, as standard deviations. Starting guesses,
// except the rounding of a grade, which is exact.
const (
	sdRough     = 0.12 // of the logarithm, away from the limit: place to place on a face
	sdNearLimit = 0.20 // added there: ±30 % together, at 10 and 90 %
	sdGloss     = 0.30
	sdGrams     = 0.02 // g, of the scale
	sdRemoval   = 0.10 // of the logarithm, added: how openly a face lies
	sdMicron    = 2.0  // µm, of a hand that closes a micrometer twice
	sdMark      = 0.35 // of the logarithm of the depth at which an eye stops seeing it
)

// sdGrade is that of one grade either way, every place in it alike.
var sdGrade = math.Ln2 / math.Sqrt(3)

// grade1 is the Ra of grade N1 in µm; each grade doubles it (ISO 1302:1992,
// annex; up to N12 at 50).
const grade1 = 0.025

// What other readings of roughness are, over Ra, with the standard deviation of
// the logarithm: the same for all readings of one run, because one texture keeps
// its shape while it sinks, so a series of them still tells its time constant.
// Scratched, blasted and tumbled faces have Rz of four to ten Ra, and Sq of 1.1 to
// 1.5. The gloss of a metal at 60° is the roughest guess of them.
var offsets = map[fettle.ReadingKind]struct{ mean, sd float64 }{
	fettle.ReadRz:    {math.Log(6.3), 0.30},
	fettle.ReadSq:    {math.Log(1.27), 0.10},
	fettle.ReadGloss: {0, 0.5},
}

// gloss is a metal's at 60°, in gloss units, from Ra in µm: full at a mirror and
// falling with a power of roughness. glossSlope is the derivative of its logarithm
// by that of Ra; it goes to 0 towards a mirror, where the reading saturates.
// Starting guesses.
const (
	glossFull  = 900.0
	glossHalf  = 0.08
	glossPower = 1.4
)

func gloss(ra float64) float64 { return glossFull / (1 + math.Pow(ra/glossHalf, glossPower)) }

func glossSlope(ra float64) float64 {
	x := math.Pow(ra/glossHalf, glossPower)
	return -glossPower * x / (1 + x)
}

// rough reports whether a kind reads roughness.
func rough(k fettle.ReadingKind) bool {
	switch k {
	case fettle.ReadRa, fettle.ReadRz, fettle.ReadSq, fettle.ReadGrade, fettle.ReadGloss:
		return true
	}
	return false
}

// takes reports whether a kind reads removal.
func takes(k fettle.ReadingKind) bool {
	return k == fettle.ReadGrams || k == fettle.ReadMicron || k == fettle.ReadMarkGone
}

// observation is a reading as the fit sees it.
type observation struct {
	fettle.Reading
	y      float64 // what is compared: a logarithm for roughness, µm for removal
	sd     float64 // stated, or of its kind
	free   bool    // roughness with no stated error: its scatter is learned
	offset int     // index of its factor among the run's own numbers; −1 for none
	near   float64 // how near its limit it is, 0 to 1
}

// series is the readings of one charge.
type series struct {
	job
	proc  int // index of its process
	obs   []observation
	own   []float64 // its own numbers: log R0 where roughness was read, then factors
	mean  []float64 // their prior
	prec  []float64
	noise scatter
}

// weakStart is the standard deviation of what is assumed of the logarithm of R0:
// the first reading to a factor of four, which is next to nothing.
const weakStart = 1.5

// observe makes the series of a charge. With noRough its roughness is left out.
func observe(j job, proc int, noRough bool) series {
	s := series{job: j, proc: proc, noise: usualScatter()}
	place := map[fettle.ReadingKind]int{}
	first := math.Inf(1)
	for _, r := range j.Readings {
		o := observation{Reading: r, offset: -1}
		switch {
		case rough(r.Kind) && !noRough:
			o.roughness()
			if len(s.own) == 0 {
				s.own, s.mean, s.prec = []float64{0}, []float64{0}, []float64{1 / (weakStart * weakStart)}
			}
			if off, ok := offsets[r.Kind]; ok {
				at, seen := place[r.Kind]
				if !seen {
					at = len(s.own)
					place[r.Kind] = at
					s.own, s.mean, s.prec = append(s.own, off.mean), append(s.mean, off.mean), append(s.prec, 1/(off.sd*off.sd))
				}
				o.offset = at
			}
			if r.AtH < first {
				first = r.AtH
				s.mean[0] = o.asRa()
				s.own[0] = s.mean[0]
			}
		case takes(r.Kind) && r.AtH > 0:
			o.removal(j)
		default:
			continue // a weight before the run is what the loss is counted from
		}
		s.obs = append(s.obs, o)
	}
	return s
}

func (o *observation) roughness() {
	o.y = math.Log(o.Value)
	o.sd = sdRough
	switch o.Kind {
	case fettle.ReadGrade:
		o.y, o.sd = math.Log(grade1)+(o.Value-1)*math.Ln2, sdGrade
	case fettle.ReadGloss:
		o.sd = sdGloss
	default:
		o.free = o.Spread == 0
	}
	if o.Spread > 0 {
		o.sd = o.Spread
	}
}

// asRa is the logarithm of the Ra that a reading of roughness means by itself.
func (o observation) asRa() float64 {
	if o.Kind == fettle.ReadGloss {
		x := math.Max(glossFull/o.Value-1, 1e-2)
		return math.Log(glossHalf) + math.Log(x)/glossPower
	}
	return o.y - offsets[o.Kind].mean
}

func (o *observation) removal(j job) {
	o.y, o.sd = o.Value, o.Spread
	switch o.Kind {
	case fettle.ReadGrams:
		um := tumble.RemovalFromMass(1, j.AreaMM2, j.mat.Density)
		if o.sd == 0 {
			o.sd = sdGrams
		}
		o.y, o.sd = o.y*um, o.sd*um
	case fettle.ReadMicron:
		o.y = o.Value / 2 // two faces
		if o.sd == 0 {
			o.sd = sdMicron
		}
		o.sd /= 2
	case fettle.ReadMarkGone:
		if o.sd == 0 {
			o.sd = sdMark
		}
	}
}

// rates are the process's numbers for the law.
func rates(x []float64, early float64) tumble.Rates {
	t := math.Exp(x[iT])
	return tumble.Rates{T: t, Roughen: t * math.Exp(x[iRough]), RL: math.Exp(x[iRL]), Ms: math.Exp(x[iMs]), Mt: early}
}

// logRa is the law's logarithm of Ra after hours from r0, and its derivatives by
// the numbers of the process and by the logarithm of r0.
func logRa(r tumble.Rates, r0, hours float64) (y float64, d [params]float64, du float64) {
	ra := r.Ra(r0, hours)
	t, below := r.T, r0 < r.RL
	if below {
		t = r.Roughen
	}
	e := math.Exp(-hours / t)
	d[iT] = (r0 - r.RL) * e * hours / t / ra
	if below {
		d[iRough] = d[iT]
	}
	d[iRL] = r.RL * (1 - e) / ra
	return math.Log(ra), d, r0 * e / ra
}

// removed is the law's removal in µm and its derivatives.
func removed(r tumble.Rates, hours float64) (um float64, d [params]float64) {
	um = r.Removed(hours)
	d[iMs] = r.Ms * hours
	if r.Mt > 0 {
		d[iT] = -r.Mt * math.Exp(-hours/r.T) * hours / r.T
	}
	return um, d
}

// likelihood is what one reading says: the negative logarithm of its likelihood
// but for a constant, the derivative of that by the predictor, the expected second
// derivative, and the predictor's derivatives by the process's and the run's own
// numbers.
type likelihood struct {
	loss, score, info float64
	d                 [params]float64
	own               [mostOwn]float64
	residual          float64 // of the logarithm, for roughness
	sd                float64
}

// start is R0 in µm; 0 where no roughness was read.
func (s *series) start() float64 {
	if len(s.own) == 0 {
		return 0
	}
	return math.Exp(s.own[0])
}

// likelihood of a reading when the process is r and began at r0 µm.
func (s *series) likelihood(o observation, r tumble.Rates, r0 float64) (l likelihood) {
	if !rough(o.Kind) {
		um, d := removed(r, o.AtH)
		l.d = d
		if o.Kind == fettle.ReadMarkGone {
			l.mark(o, um)
			return l
		}
		l.sd = math.Hypot(o.sd, sdRemoval*math.Max(o.y, 0))
		if o.Spread > 0 {
			l.sd = o.sd
		}
		l.gauss(um - o.y)
		return l
	}
	y, d, du := logRa(r, r0, o.AtH)
	if o.Kind == fettle.ReadGloss {
		ra := math.Exp(y)
		k := glossSlope(ra)
		y = math.Log(gloss(ra))
		for i := range d {
			d[i] *= k
		}
		du *= k
	}
	l.d, l.own[0] = d, du
	if o.offset >= 0 {
		y += s.own[o.offset]
		l.own[o.offset] = 1
	}
	l.sd = o.sd
	if o.free {
		l.sd = s.noise.sd(o.near)
	}
	l.gauss(y - o.y)
	return l
}

// gauss is a reading with a normal error.
func (l *likelihood) gauss(off float64) {
	l.residual = off
	l.loss = off * off / (2 * l.sd * l.sd)
	l.score = off / (l.sd * l.sd)
	l.info = 1 / (l.sd * l.sd)
}

// mark is a yes or no: the chance that a mark of a depth is gone is the normal
// distribution of the logarithm of removal over depth (a probit).
func (l *likelihood) mark(o observation, um float64) {
	um = math.Max(um, 1e-9)
	z := math.Log(um/o.DepthUM) / o.sd
	sign := 1.0
	if o.Value == 0 {
		sign = -1
	}
	p := math.Max(0.5*math.Erfc(-sign*z/math.Sqrt2), 1e-12)
	q := math.Max(0.5*math.Erfc(sign*z/math.Sqrt2), 1e-12)
	phi := math.Exp(-z*z/2) / math.Sqrt(2*math.Pi)
	l.loss = -math.Log(p)
	dz := 1 / (o.sd * um)
	l.score = -sign * phi / p * dz
	l.info = phi * phi / (p * q) * dz * dz
	l.residual = math.NaN()
}
