package learn

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"fettle"
	"fettle/internal/trade/tumble"

	"gonum.org/v1/gonum/mat"
)

// Hours at which a reading is considered.
var lookHours = []float64{0.25, 0.5, 1, 2, 4, 8, 12, 24}

// couponHours is one coupon, read over a run.
var couponHours = []float64{0, 1, 3, 8}

// weighedMM2 is the area of the part that a weighing is thought of, where the log
// has none of its size.
const weighedMM2 = 5000.0

// candidate is a set of readings on one new run.
type candidate struct {
	kind fettle.ReadingKind
	at   []float64 // hours
	says string
}

// Next are the readings on the next run that would teach most about a charge that
// is planned, to take a face from Ra start to Ra target, both µm: best first, and
// none where nothing narrows anything by a twentieth. What a reading would do is
// worked out on the present posterior, linearised; its result is not known, but
// how far it narrows what is known hardly depends on it.
func (b *Book) Next(m fettle.Media, v fettle.Vessel, mt fettle.Material, tone fettle.Tone, startUM, targetUM float64) []fettle.NextReading {
	k := b.know(m, v, mt, tone)
	return k.next(startUM, targetUM, weighedMM2, mt.Density)
}

// nextFor is Next for the process of a logged run: to nearly its limit, from
// where the run began.
func (b *Book) nextFor(j job) []fettle.NextReading {
	k := b.know(j.media, j.vessel, j.mat, j.Tone)
	limit := math.Exp(k.mean[iRL])
	start := math.Max(1.6, 2*limit)
	area := j.AreaMM2
	if area == 0 {
		area = weighedMM2
	}
	return k.next(start, 1.25*limit, area, j.mat.Density)
}

func (k knowledge) next(start, target, area, density float64) []fettle.NextReading {
	if !(start > 0) || !(target > 0) || !(density > 0) {
		return nil
	}
	x := k.mean
	r := rates(x[:], k.prior.TransientUM)
	if h := r.HoursTo(start, target); !(h > 0) || math.IsInf(h, 0) {
		target = r.RL + 0.25*(start-r.RL) // not to be had: what is asked is how fast it goes
	}
	hours := r.HoursTo(start, target)
	if !(hours > 0) || math.IsInf(hours, 0) {
		return nil
	}
	slope := hoursSlope(x, start, target)
	take := [params]float64{iMs: 1}
	v0, m0 := quadratic(k.cov, slope), k.cov[iMs][iMs]

	var cs []candidate
	for _, h := range lookHours {
		cs = append(cs, candidate{fettle.ReadRa, []float64{0, h}, fmt.Sprintf("read Ra before, and after %s", inHours(h))})
	}
	cs = append(cs, candidate{fettle.ReadRa, couponHours, "read one part at 0, 1, 3 and 8 h"})
	long := lookHours[0]
	for _, h := range lookHours {
		if math.Abs(math.Log(h/hours)) < math.Abs(math.Log(long/hours)) {
			long = h
		}
	}
	if k.cuts() {
		cs = append(cs,
			candidate{fettle.ReadGrams, []float64{long}, fmt.Sprintf("weigh the part before, and after %s", inHours(long))},
			candidate{fettle.ReadMicron, []float64{long}, fmt.Sprintf("measure its thickness before, and after %s", inHours(long))})
	}
	type rated struct {
		fettle.NextReading
		score float64
	}
	var best []rated
	for _, c := range cs {
		after, ok := k.after(c, start, area, density)
		if !ok {
			continue
		}
		fh := math.Sqrt(quadratic(after, slope) / v0)
		fm := math.Sqrt(quadratic(after, take) / m0)
		n := fettle.NextReading{Kind: c.kind, AtH: c.at[len(c.at)-1], Media: k.media, Narrows: fh}
		effect := shrinks(fh, "the interval on hours")
		switch {
		case fh > 0.95 && fm > 0.95:
			continue
		case fh > 0.95:
			n.Narrows, effect = fm, shrinks(fm, "the interval on removal")
		case fm < 0.7:
			effect += ", and " + shrinks(fm, "that on removal")
		}
		n.Says = c.says + ": " + effect
		best = append(best, rated{n, fh * math.Sqrt(fm)})
	}
	slices.SortStableFunc(best, func(a, c rated) int {
		switch {
		case a.score < c.score-1e-9:
			return -1
		case a.score > c.score+1e-9:
			return 1
		}
		return 0
	})
	// The best of each kind of reading is enough to choose from.
	var out []fettle.NextReading
	seen := map[string]bool{}
	for _, r := range best {
		id := string(r.Kind)
		if strings.HasPrefix(r.Says, "read one part") {
			id = "coupon"
		}
		if !seen[id] {
			seen[id] = true
			out = append(out, r.NextReading)
		}
	}
	return out
}

// hoursSlope is the derivative of the logarithm of the hours from start to target
// by the numbers of a process.
func hoursSlope(x [params]float64, start, target float64) (d [params]float64) {
	f := func(x [params]float64) float64 {
		r := rates(x[:], 0)
		return math.Log(r.HoursTo(start, target))
	}
	for i := range params {
		const step = 1e-5
		up, down := x, x
		up[i] += step
		down[i] -= step
		if v := (f(up) - f(down)) / (2 * step); !math.IsNaN(v) && !math.IsInf(v, 0) {
			d[i] = v
		}
	}
	return d
}

func quadratic(c [params][params]float64, d [params]float64) float64 {
	v := 0.0
	for i := range params {
		for j := range params {
			v += d[i] * c[i][j] * d[j]
		}
	}
	return v
}

// startSD is how well the Ra that goes in is known before it is read.
const startSD = 0.3

// after is the covariance once the readings have been taken.
func (k knowledge) after(c candidate, start, area, density float64) (out [params][params]float64, ok bool) {
	var cov = mat.NewSymDense(params, nil)
	for i := range params {
		for j := range params {
			cov.SetSym(i, j, k.cov[i][j])
		}
	}
	var ch mat.Cholesky
	if !ch.Factorize(cov) {
		return out, false
	}
	prec := mat.NewSymDense(params, nil)
	_ = ch.InverseTo(prec) // a large condition number is no failure
	s := series{job: job{Run: fettle.Run{AreaMM2: area}, mat: fettle.Material{Density: density}}, noise: usualScatter()}
	r := rates(k.mean[:], k.prior.TransientUM)
	if rough(c.kind) {
		s.own, s.mean, s.prec = []float64{math.Log(start)}, []float64{math.Log(start)}, []float64{1 / (startSD * startSD)}
	}
	for _, h := range c.at {
		o := observation{Reading: fettle.Reading{Kind: c.kind, AtH: h, Value: 1}, offset: -1}
		if rough(c.kind) {
			o.Value = r.Ra(start, h)
			o.roughness()
			o.near = nearness(o.y, k.mean[iRL])
		} else {
			um := r.Removed(h)
			o.Value = um / tumble.RemovalFromMass(1, area, density)
			if c.kind == fettle.ReadMicron {
				o.Value = 2 * um
			}
			o.removal(s.job)
		}
		s.obs = append(s.obs, o)
	}
	red := s.linear(r).reduce(0)
	for i := range params {
		for j := i; j < params; j++ {
			prec.SetSym(i, j, prec.At(i, j)+red.a[i][j])
		}
	}
	var post mat.Cholesky
	if !post.Factorize(prec) {
		return out, false
	}
	_ = post.InverseTo(cov)
	for i := range params {
		for j := range params {
			out[i][j] = cov.At(i, j)
		}
	}
	return out, true
}

// shrinks says by what an interval shrinks.
func shrinks(f float64, what string) string {
	switch {
	case f > 0.95:
		return "hardly narrows " + what
	case f > 0.56:
		return fmt.Sprintf("narrows %s by %.0f %%", what, 100*(1-f))
	case f > 0.45:
		return "halves " + what
	case f > 0.29:
		return "cuts " + what + " to a third"
	}
	return fmt.Sprintf("cuts %s to %.0f %%", what, 100*f)
}

// inHours is a time in words.
func inHours(h float64) string {
	switch h {
	case 0.25:
		return "a quarter of an hour"
	case 0.5:
		return "half an hour"
	case 1:
		return "1 hour"
	}
	return fmt.Sprintf("%g hours", h)
}

// bestOf are the first n of several lists, by what they narrow.
func bestOf(all []fettle.NextReading, n int) []fettle.NextReading {
	slices.SortStableFunc(all, func(a, b fettle.NextReading) int {
		switch {
		case a.Narrows < b.Narrows-1e-9:
			return -1
		case a.Narrows > b.Narrows+1e-9:
			return 1
		}
		return strings.Compare(a.Media+a.Says, b.Media+b.Says)
	})
	// One of each kind for each media: the same advice for three metals is one.
	var out []fettle.NextReading
	seen := map[string]bool{}
	for _, r := range all {
		if id := r.Media + string(r.Kind); !seen[id] && len(out) < n {
			seen[id] = true
			out = append(out, r)
		}
	}
	return append([]fettle.NextReading{}, out...)
}
