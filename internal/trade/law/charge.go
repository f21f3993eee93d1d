package law

import (
	"math"

	"fettle"
	"fettle/internal/trade/mark"
	"fettle/internal/trade/tumble"
)

// Tool is what works a face towards a texture of its own: a charge of media, in
// hours, or a mop, in hours too.
type Tool struct {
	Name  string
	rates []tumble.Rates // one a world
	edge  []float64      // factor on the radius that a removal makes
	form  []float64      // how far the law itself may be out
	// ContactMM is the length over which it bears, WaveMM the dominant wavelength of
	// what it leaves.
	ContactMM, WaveMM float64
	Lay               string
	// Cuts tells that it takes burrs off.
	Cuts bool
}

// lawSpread is how far a regression of such a law was out in a controlled rig: 18 %
// (Coatings 15 (2025) 286, conclusions).
var lawSpread = fettle.Guess(1, 1/1.18, 1.18, "regression in a controlled rig, Coatings 15 (2025) 286, conclusions")

// edgeSpread is how far a rounded edge may be from the law either way.
var edgeSpread = fettle.Guess(1, 1/2.5, 2.5, fettle.BasisGuess)

// Barrel is a charge as a tool: a process of media in a vessel.
func Barrel(w *Worlds, name string, p tumble.Process, m fettle.Media) *Tool {
	t := &Tool{
		Name: name, ContactMM: tumble.Contact(m), WaveMM: tumble.Texture(m), Lay: NoLay,
		form: w.Of("the law of roughness for "+name, "×", lawSpread), edge: w.Of("edges in "+name, "×", edgeSpread),
	}
	switch m.Kind {
	case fettle.Porcelain, fettle.Steel, fettle.Cob, fettle.Walnut:
	default:
		t.Cuts = true
	}
	T := w.Of("time constant of "+name, "h", p.TimeConstantH)
	// A process that is slow to level is slow to roughen: what is drawn is their ratio.
	rough := w.Of("roughening against levelling of "+name, "×", ratio(p.RoughenH, p.TimeConstantH))
	rl, ms := w.Of("limit of "+name, "µm Ra", p.LimitRaUM), w.Of("removal of "+name, "µm/h", p.RemovalUMH)
	t.rates = make([]tumble.Rates, w.N())
	for k := range t.rates {
		t.rates[k] = tumble.Rates{T: T[k], Roughen: rough[k] * T[k], RL: rl[k], Ms: ms[k], Mt: p.TransientUM}
	}
	return t
}

// ratio is one time constant over another that it shares its doubt with: what is left
// of the doubt is what it has more.
func ratio(a, b fettle.Estimate) fettle.Estimate {
	if !(b.Value > 0) || !(a.Value > 0) {
		return fettle.Exactly(0, a.Basis)
	}
	own := math.Sqrt(math.Max(a.LogSD()*a.LogSD()-b.LogSD()*b.LogSD(), 0))
	return fettle.LogNormal(a.Value/b.Value, own, a.Basis)
}

// Until is when a charge is done: when all of what is asked has come about. Whoever
// runs it looks, so it ends when it is done in its own world, and not by the clock.
type Until struct {
	// RaUM is the measured Ra to come to; 0 where none is asked.
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

// burrPerUM is how high a burr stands that is gone when the faces have lost a
// micrometre: 0.05 mm in 0.7 h of general ceramic in a bowl that takes 5 µm an hour
// off brass. Starting guess.
const burrPerUM = 50 / (0.7 * 5)

// Hours is how long a tool works in each world until it is done; the longest it may
// where it never is.
func (s *Surface) Hours(t *Tool, u Until) []float64 {
	out := make([]float64, len(s.Ra))
	for k := range out {
		h := u.PinnedH
		if h <= 0 {
			h = math.Min(math.Max(s.hours(t, u, k), u.LeastH), u.MostH)
		}
		out[k] = h
	}
	return out
}

func (s *Surface) hours(t *Tool, u Until, k int) float64 {
	r := &t.rates[k]
	var h float64
	if u.RaUM > 0 {
		aim := math.Max(u.RaUM, r.RL*nearLimit)
		if r.RL > s.Ra[k] { // this tool roughens
			aim = math.Min(u.RaUM, r.RL/nearLimit)
		}
		switch {
		case u.Seen == 0:
			h = s.hoursToMeasured(t, aim, k)
		case s.Ra[k] != aim && (aim < s.Ra[k]) == (r.RL < s.Ra[k]):
			h = r.HoursTo(s.Ra[k], aim)
		}
	}
	h = math.Max(h, u.Even*r.T)
	if u.Burr && t.Cuts {
		h = math.Max(h, r.HoursToRemove(s.Burr[k]/burrPerUM))
	}
	if u.Seen > 0 {
		// What a mark lies in when it goes decides when it goes.
		for range 2 {
			texture := mark.MaskingSlope(r.Ra(s.Ra[k], h), t.WaveMM)
			for i := range s.Marks {
				m := &s.Marks[i]
				if m.Left[k] <= 0 || u.Machined && m.Fine {
					continue
				}
				h = math.Max(h, s.hoursToHide(t, m, mark.Hides(u.Seen, m.WaveMM, texture), k))
				if h >= u.MostH {
					return u.MostH
				}
			}
		}
	}
	return h
}

// hoursToMeasured is when the measured Ra, with coarse marks in it, comes to a
// value, by bisection: 0 where it is there, infinite where it never will be.
func (s *Surface) hoursToMeasured(t *Tool, aim float64, k int) float64 {
	at := func(h float64) float64 {
		ra := t.rates[k].Ra(s.Ra[k], h)
		sum := ra * ra
		for i := range s.Marks {
			m := &s.Marks[i]
			if m.Fine || m.Left[k] <= 0 {
				continue
			}
			left, _ := m.after(t, k, h)
			q := left * m.Height[k] * m.Curve.Left(0).Rq * m.raOverRq()
			sum += q * q
		}
		return math.Sqrt(sum) - aim
	}
	if at(0) <= 0 {
		return 0
	}
	lo, hi := 0.0, 1000.0
	if at(hi) > 0 {
		return math.Inf(1)
	}
	for range 40 {
		mid := (lo + hi) / 2
		if at(mid) > 0 {
			lo = mid
		} else {
			hi = mid
		}
	}
	return hi
}

// hoursToHide is when no more than the given slope is left of a mark.
func (s *Surface) hoursToHide(t *Tool, m *Mark, slope float64, k int) float64 {
	now := m.Slope(k)
	if now <= slope {
		return 0
	}
	r := &t.rates[k]
	// Slopes fall with the height at least; the height to come to, by the curve.
	left, takes := m.lowered(slope / m.Curve.Slope(m.Height[k], m.WaveMM))
	eta := mark.Levelling(m.WaveMM, t.ContactMM)
	byPeaks := r.HoursToRemove((takes - m.takes[k]) * m.Height[k] / eta)
	gone := r.HoursToRemove(m.Height[k] - m.Gone[k])
	if byPeaks >= gone {
		return gone
	}
	byLaw := func(h float64) float64 {
		return m.Left[k]*math.Exp(-eta*h/r.T)*m.bottom(k, r.Removed(h)) - left
	}
	lo, hi := byPeaks, math.Min(gone, math.Max(byPeaks, r.T/eta*math.Log(m.Left[k]/math.Max(left, 1e-9))))
	if byLaw(lo) <= 0 {
		return lo
	}
	for range 30 {
		mid := (lo + hi) / 2
		if byLaw(mid) > 0 {
			lo = mid
		} else {
			hi = mid
		}
	}
	return hi
}

// lowered is the height, as a share, at which a mark's slope has come down to a
// share of the whole's, with what must be levelled off to get there.
func (m *Mark) lowered(slope float64) (left, takes float64) {
	takes = m.Curve.TakesSlope(slope)
	return m.Curve.Left(takes).Height, takes
}

// bottom is the share of a mark that is left when x µm more have come off the whole
// face: none when its valley is reached.
func (m *Mark) bottom(k int, x float64) float64 {
	rest := m.Height[k] - m.Gone[k]
	if x >= rest {
		return 0
	}
	return 1 - x/rest
}

// after is the share of a mark's height that stands in a world when a tool has
// worked for h hours, and what has been levelled off it then. Two laws bound it.
// Truncation says the soonest that it can go: all that comes off comes off its
// peaks. The law of roughness says how soon it does go under media, which work in
// valleys too. The slower of the two holds, until the face has receded to the
// bottom of its valleys.
func (m *Mark) after(t *Tool, k int, h float64) (left, takes float64) {
	r := &t.rates[k]
	x := r.Removed(h)
	bottom := m.bottom(k, x)
	if bottom == 0 {
		return 0, m.Curve.Mean()
	}
	eta := mark.Levelling(m.WaveMM, t.ContactMM)
	takes = m.takes[k] + x*eta/m.Height[k]
	left = m.Curve.Left(takes).Height
	if slow := m.Left[k] * math.Exp(-eta*h/r.T) * bottom; slow > left {
		left, takes = slow, m.Curve.Takes(slow)
	}
	return left, takes
}

// Worked is the face after a tool has worked on it for so many hours in each world.
func (s *Surface) Worked(t *Tool, hours []float64) *Surface {
	n := len(s.Ra)
	v := make([]float64, 4*n)
	out := &Surface{
		W: s.W, WaveMM: t.WaveMM, Lay: t.Lay, Marks: s.copyMarks(),
		Ra: v[:n:n], Removed: v[n : 2*n : 2*n], Edge: v[2*n : 3*n : 3*n], Burr: v[3*n:],
	}
	for k := range n {
		r, h := &t.rates[k], hours[k]
		x := r.Removed(h)
		out.Ra[k] = s.Ra[k] + (r.Ra(s.Ra[k], h)-s.Ra[k])*t.form[k]
		if out.Ra[k] <= 0 {
			out.Ra[k] = r.Ra(s.Ra[k], h)
		}
		out.Removed[k] = s.Removed[k] + x
		out.Edge[k] = math.Hypot(s.Edge[k], tumble.EdgeRadius(x)*t.edge[k])
		out.Burr[k] = s.Burr[k]
		if t.Cuts {
			out.Burr[k] = math.Max(0, s.Burr[k]-x*burrPerUM)
		}
		for i := range out.Marks {
			m := &out.Marks[i]
			if m.Left[k] <= 0 {
				continue
			}
			m.Left[k], m.takes[k] = m.after(t, k, h)
			m.Gone[k] += x
		}
	}
	out.Marks = drop(out.Marks)
	return out
}
