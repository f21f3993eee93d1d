package work

import (
	"fmt"
	"math"

	"fettle"
	"fettle/internal/shape/relief"
	"fettle/internal/shape/texture"
)

// choice is what a cut-off is chosen by. Lengths in mm, heights in µm.
type choice struct {
	length, spacing float64
	what            string
	period          float64 // of regular marks; 0: none
	ra              float64
	rows            bool // ra stands for the mean height of a map
}

// settle fills in the cut-off: what was asked for, else the class of ISO 21920-3
// for the spacing of regular marks, which must fit two and a half times into
// it, else for the roughness. What is too short for it is not filtered, or with
// the longest class that fits.
func (a *asked) settle(c *choice, e *fettle.Evaluation, notes *[]string) error {
	if c.period > 0 {
		e.PeriodMM = &c.period
	}
	e.FilterEnds = "none"
	switch {
	case a.cutoff == 0:
		e.CutoffFrom = "asked: no filter"
		return nil
	case a.cutoff > 0:
		if a.cutoff > c.length {
			return fettle.Errorf(fettle.Invalid, "a cut-off of %g mm is longer than the %s's %.3g mm; choose a shorter one, or none", a.cutoff, c.what, c.length)
		}
		if a.cutoff < 3*c.spacing {
			return fettle.Errorf(fettle.Invalid, "a cut-off of %g mm is too short for points %.3g mm apart; choose at least three times that", a.cutoff, c.spacing)
		}
		e.CutoffMM, e.CutoffFrom = &a.cutoff, "asked"
		if c.period > 0 && !texture.KeepsSpacing(a.cutoff, c.period) {
			*notes = append(*notes, fmt.Sprintf("the marks are %.3g mm apart, and a cut-off of %g mm takes part of them away; choose at least %.3g mm", c.period, a.cutoff, 2.5*c.period))
		}
		return nil
	}
	if c.period > 0 {
		s, ok := texture.CutoffFor(c.period, 0)
		why := fmt.Sprintf("the spacing of its regular marks, %.3g mm (ISO 21920-3 class %s, and at least 2.5 spacings)", c.period, s.Class)
		switch {
		case ok && s.CutoffMM <= c.length/2 && s.CutoffMM >= 3*c.spacing:
			e.CutoffMM, e.CutoffFrom = &s.CutoffMM, why
		case !ok:
			e.CutoffFrom = fmt.Sprintf("no filter: regular marks %.3g mm apart are past the longest cut-off", c.period)
		case s.CutoffMM < 3*c.spacing:
			e.CutoffFrom = fmt.Sprintf("no filter: regular marks %.3g mm apart want a cut-off of %g mm, and the points are %.3g mm apart", c.period, s.CutoffMM, c.spacing)
		default:
			e.CutoffFrom = fmt.Sprintf("no filter: regular marks %.3g mm apart want a cut-off of %g mm, and the %s has only %.3g mm", c.period, s.CutoffMM, c.what, c.length)
		}
		return nil
	}
	s, _ := texture.CutoffFor(0, c.ra)
	name := "Ra"
	if c.rows {
		name = "Sa"
	}
	e.CutoffFrom = fmt.Sprintf("its roughness, %s about %.2g µm, as there are no regular marks (ISO 4288)", name, c.ra)
	for i := len(texture.Settings) - 1; i >= 0; i-- {
		f := texture.Settings[i].CutoffMM
		if f > s.CutoffMM || f > c.length/2 || f < 3*c.spacing {
			continue
		}
		if f < s.CutoffMM {
			e.CutoffFrom += fmt.Sprintf("; %g mm would be due, and this is the longest that %.3g mm allow", s.CutoffMM, c.length)
		}
		e.CutoffMM = &f
		return nil
	}
	e.CutoffFrom = fmt.Sprintf("no filter: no cut-off of the standard fits into %.3g mm at points %.3g mm apart", c.length, c.spacing)
	return nil
}

// marks is the length of the wave that makes the regular marks of a map: of
// those that hold a twentieth of its power or more, the steepest, because
// waviness may be higher than cusps and is never steeper. 0 where none does.
func marks(waves []texture.Peak, rmsUM float64) float64 {
	best, at := 0.0, 0.0
	for _, w := range waves {
		if w.AmplitudeUM*w.AmplitudeUM/2 < 0.05*rmsUM*rmsUM {
			continue
		}
		// The harmonics of a saw tooth are all equally steep; a little less than
		// steepness lets the fundamental win.
		if s := w.AmplitudeUM / math.Pow(w.WavelengthMM, 0.9); s > best {
			best, at = s, w.WavelengthMM
		}
	}
	return at
}

// profile measures heights in µm, dx mm apart, and gives what was left as a map
// of one row.
func (a *asked) profile(name string, z []float64, dx float64, e *fettle.Evaluation, notes *[]string) (*relief.Map, error) {
	left, fit, err := texture.LevelProfile(z, dx, a.form)
	if err != nil {
		return nil, cannot(name, err)
	}
	e.Form = a.formOf(fit)
	length := float64(len(z)-1) * dx
	c := &choice{length: length, spacing: dx, what: "profile"}
	if a.cutoff != 0 {
		c.period = periodOf(left, dx)
		c.ra = roughly(left, dx, length)
	}
	if err := a.settle(c, e, notes); err != nil {
		return nil, err
	}
	var sections texture.Sections
	if e.CutoffMM == nil {
		centre(left)
		*notes = append(*notes, "without a filter these are the parameters of the primary profile (Pa, Pq, Pz …), under the names of the roughness")
	} else {
		cut := *e.CutoffMM
		ends := texture.Normalised
		e.FilterEnds = "kept"
		// Five sections and half a cut-off of run-in at each end.
		if length+dx >= 6*cut*(1-1e-6) {
			ends, e.FilterEnds = texture.Dropped, "dropped"
		}
		if _, left, err = texture.Filter(left, dx, cut, ends); err != nil {
			return nil, cannot(name, err)
		}
		n := int((float64(len(left))*dx + dx/2) / cut)
		sections = texture.Sections{LengthMM: cut, Count: min(5, max(1, n))}
		e.Sections, e.SectionMM = sections.Count, cut
		if n < 5 {
			*notes = append(*notes, fmt.Sprintf("the profile holds %d of the five sections of %g mm that the standard wants", max(n, 1), cut))
		}
	}
	p, err := texture.Profile(left, dx, sections)
	if err != nil {
		return nil, cannot(name, err)
	}
	e.Parameters = measures(p)
	m := relief.NewMap(relief.Grid{W: len(left), H: 1, DX: dx, DY: dx, X0: float64(len(z)-len(left)) / 2 * dx})
	for i, v := range left {
		m.Z[i] = float32(v / 1000)
	}
	return m, nil
}

// roughly is the Ra by which a cut-off is looked up, as ISO 4288 has it: a class
// is tried, and with the Ra that it gives the next, until they agree.
func roughly(z []float64, dx, length float64) float64 {
	ra := 0.0
	for range 4 {
		s, _ := texture.CutoffFor(0, ra)
		cut := min(s.CutoffMM, length/2)
		_, high, err := texture.Filter(z, dx, cut, texture.Normalised)
		if err != nil {
			return ra
		}
		next, n := 0.0, 0
		for _, v := range high {
			if v == v {
				next += math.Abs(v)
				n++
			}
		}
		if n == 0 {
			return ra
		}
		ra = next / float64(n)
		if again, _ := texture.CutoffFor(0, ra); again.CutoffMM == s.CutoffMM {
			return ra
		}
	}
	return ra
}

// centre puts the mean of a profile to zero.
func centre(z []float64) {
	s, n := 0.0, 0
	for _, v := range z {
		if v == v {
			s += v
			n++
		}
	}
	for i := range z {
		z[i] -= s / float64(n)
	}
}

// periodOf is the spacing of the regular marks of a profile, 0 where there are
// none: the first lag, after the correlation with itself has gone below zero, at
// which it comes back to half or more and nearly as high as anywhere. Waves
// longer than a fifth of the profile are taken off first.
func periodOf(z []float64, dx float64) float64 {
	_, high, err := texture.Filter(z, dx, float64(len(z))*dx/5, texture.Normalised)
	if err != nil {
		return 0
	}
	const most = 4096
	step := (len(high) + most - 1) / most
	var v []float64 // means of step points; 0 where there are none
	for i := 0; i+step <= len(high); i += step {
		s, n := 0.0, 0
		for _, h := range high[i : i+step] {
			if h == h {
				s += h
				n++
			}
		}
		v = append(v, s/float64(max(n, 1)))
	}
	lags := len(v) / 2
	r := make([]float64, lags+1)
	for lag := range r {
		for i := range len(v) - lag {
			r[lag] += v[i] * v[i+lag]
		}
		r[lag] /= float64(len(v) - lag)
	}
	if len(r) < 8 || r[0] <= 0 {
		return 0
	}
	from := 1
	for from < lags && r[from] > 0 {
		from++
	}
	top := 0.0
	for _, c := range r[from:] {
		top = max(top, c)
	}
	if top < 0.5*r[0] {
		return 0
	}
	for k := from + 1; k < lags; k++ {
		if r[k] >= 0.85*top && r[k] >= r[k-1] && r[k] >= r[k+1] {
			bend := r[k-1] - 2*r[k] + r[k+1]
			off := 0.0
			if bend < 0 {
				off = (r[k-1] - r[k+1]) / (2 * bend)
			}
			return (float64(k) + off) * float64(step) * dx
		}
	}
	return 0
}
