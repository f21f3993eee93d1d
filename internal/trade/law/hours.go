package law

import (
	"math"

	"fettle/internal/trade/mark"
)

// Until is when a charge is done: when all of what is asked has come about. Whoever
// runs it looks, so it ends when it is done in its own world, and not by the clock.
type Until struct {
	// RaUM is the measured Ra to come to, by the law, which may be out by its own
	// error; 0 where none is asked.
	RaUM float64
	// Even is the share of a time constant that a new texture needs to lie evenly
	// over an old one.
	Even float64
	// Seen is the chance at which older marks may still be found; 0 where they may
	// show.
	Seen float64
	// Machined leaves the scratches of grits to what follows.
	Machined bool
	// Burr asks for burrs to be gone.
	Burr bool
	// LeastH and MostH bound it; PinnedH, where it is more than 0, is what the user
	// wants in all worlds.
	LeastH, MostH, PinnedH float64
}

// nearLimit is how close to its limit a charge is run, at most: past it another
// hour cannot be told from none.
const nearLimit = 1.08

// Hours is how long a tool works in each world until it is done; the longest it may
// where it never is.
func (s *Surface) Hours(t *Tool, u Until) []float64 {
	var own [8]eye
	eyes := own[:0]
	for i := range s.Marks {
		eyes = append(eyes, eyeFor(u, &s.Marks[i]))
	}
	out := make([]float64, len(s.Ra))
	for k := range out {
		h := u.PinnedH
		if h <= 0 {
			h = math.Min(math.Max(s.hours(t, u, eyes, k), u.LeastH), u.MostH)
		}
		out[k] = h
	}
	return out
}

func (s *Surface) hours(t *Tool, u Until, eyes []eye, k int) float64 {
	r := &t.rates[k]
	h := math.Max(u.LeastH, u.Even*r.T)
	if u.RaUM > 0 {
		aim := math.Max(u.RaUM, r.RL*nearLimit)
		if r.RL > s.Ra[k] { // this tool roughens
			aim = math.Min(u.RaUM, r.RL/nearLimit)
		}
		switch {
		case u.Seen == 0:
			h = math.Max(h, s.hoursToMeasured(t, aim, u.MostH, k))
		case s.Ra[k] != aim && (aim < s.Ra[k]) == (r.RL < s.Ra[k]):
			h = math.Max(h, r.HoursTo(s.Ra[k], aim))
		}
	}
	if u.Burr && t.Cuts {
		h = math.Max(h, r.HoursToRemove(s.Burr[k]/burrPerUM))
	}
	// Each mark in turn, until all have been looked at since the charge last ran
	// longer: a texture that goes on getting finer may bare a mark that it hid.
	n := len(s.Marks)
	for i, since := 0, 0; since < n && i < 4*n; i++ {
		if h >= u.MostH {
			return u.MostH
		}
		since++
		m := &s.Marks[i%n]
		if e := eyes[i%n]; e.looks && m.Left[k] > 0 {
			if longer := s.hoursToHide(t, m, e, h, u.MostH, k); longer > h {
				h, since = longer, 1
			}
		}
	}
	return h
}

// hoursToMeasured is when the measured Ra, with coarse marks in it, comes to a
// value: 0 where it is there, most where it never will be.
func (s *Surface) hoursToMeasured(t *Tool, aim, most float64, k int) float64 {
	over := func(h float64) float64 {
		ra := t.rates[k].Ra(s.Ra[k], h)
		sum := ra * ra
		for i := range s.Marks {
			m := &s.Marks[i]
			if m.Fine || m.Left[k] <= 0 {
				continue
			}
			_, takes, _ := m.after(t, k, h)
			q := m.Height[k] * m.Curve.Left(takes).Rq * m.raOverRq()
			sum += q * q
		}
		return math.Log(sum / (aim * aim))
	}
	now := over(0)
	if !(now > 0) {
		return 0
	}
	// In time constants, if this were the fine texture.
	first := t.rates[k].T * now / 2
	return crossing(over, 0, now, first, most)
}

// eye is what hides marks of one wavelength from being found with a chance: the
// square of the slope on a mirror, and what that of the texture adds, for each of
// its own squared.
type eye struct {
	looks         bool
	mirror, masks float64
}

// eyeFor is the eye that looks for a mark; one that does not look where the mark may
// show.
func eyeFor(u Until, m *Mark) eye {
	if !(u.Seen > 0) || u.Seen >= 1 || u.Machined && m.Fine {
		return eye{}
	}
	// Mirror and texture add in quadrature in [mark.Threshold].
	a, b := mark.Hides(u.Seen, m.WaveMM, 0), mark.Hides(u.Seen, m.WaveMM, 1)
	return eye{true, a * a, b*b - a*a}
}

// hides is the rms slope up to which a texture hides a mark, both in mrad.
func (e eye) hides(texture float64) float64 {
	return math.Sqrt(e.mirror + e.masks*texture*texture)
}

// hoursToHide is when a mark comes to be hidden by what lies around it then, at from
// or later; most where it is not before that.
func (s *Surface) hoursToHide(t *Tool, m *Mark, e eye, from, most float64, k int) float64 {
	whole := m.Curve.Slope(m.Height[k], m.WaveMM)
	hides := func(h float64) float64 { return e.hides(mark.MaskingSlope(s.raAfter(t, k, h), t.WaveMM)) / whole }
	over := func(h float64) float64 {
		_, takes, _ := m.after(t, k, h)
		slope := m.Curve.Left(takes).Slope
		if slope <= 0 {
			return math.Inf(-1)
		}
		return math.Log(slope / hides(h))
	}
	now := over(from)
	if !(now > 0) {
		return from
	}
	r := &t.rates[k]
	eta := mark.Levelling(m.WaveMM, t.ContactMM)
	most = math.Min(most, r.HoursToRemove((m.Height[k]-m.Gone[k])/eta))
	// If its slope had to come to what is hidden now: by truncation, and by the law.
	takes := m.Curve.TakesSlope(hides(from))
	byPeaks := r.HoursToRemove((takes - m.takes[k]) * m.Height[k] / eta)
	byLaw := r.T / eta * math.Log(m.Left[k]/m.Curve.Left(takes).Height)
	return crossing(over, from, now, math.Max(byPeaks, byLaw), most)
}

// crossing is where a function falls through 0 between from, where it is now over 0,
// and most; most where it is still over 0 there. first is a guess. It is Chandrupatla's
// way (T. R. Chandrupatla, Advances in Engineering Software 28 (1997) 145): inverse
// quadratic steps where three points allow them, halves where not.
func crossing(f func(float64) float64, from, now, first, most float64) float64 {
	const (
		far    = -4.0 // what has fallen by that has no shape worth following
		enough = 1e-8 // from 0, or of the place itself
	)
	at := func(x float64) float64 { return math.Max(f(x), far) }
	if !(from < most) {
		return most
	}
	a, fa := from, now
	b := math.Min(first, most)
	if !(b > a) {
		b = most
	}
	fb := at(b)
	for tries := 0; fb > 0; tries++ {
		if b >= most {
			return most
		}
		// On by half as much again as a straight line goes to 0, twice as far at most.
		on := b - from
		if fa > fb {
			on = math.Min(on, 1.5*fb*(b-a)/(fa-fb))
		}
		if tries > 30 {
			on = most
		}
		a, fa = b, fb
		b = math.Min(b+math.Max(on, 1e-6*(b-from)), most)
		fb = at(b)
	}
	c, fc := a, fa
	step := fa / (fa - fb)
	for range 60 {
		x := a + step*(b-a)
		fx := at(x)
		if (fx > 0) == (fa > 0) {
			c, fc = a, fa
		} else {
			c, fc, b, fb = b, fb, a, fa
		}
		a, fa = x, fx
		if math.Abs(fa) < enough || math.Abs(b-a) <= enough*math.Max(a, b) {
			break
		}
		// Between a and b lies the crossing; c is the one before.
		step = 0.5
		xi, phi := (a-b)/(c-b), (fa-fb)/(fc-fb)
		if phi*phi < xi && (1-phi)*(1-phi) < 1-xi {
			step = fa/(fb-fa)*fc/(fb-fc) + (c-a)/(b-a)*fa/(fc-fa)*fb/(fc-fb)
		}
		step = math.Min(math.Max(step, enough/10), 1-enough/10)
	}
	if fa >= enough {
		return b
	}
	return a
}
