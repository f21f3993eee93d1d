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
	form  []float64      // logarithm of how far the law itself is out at its limit
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

// logs are logarithms.
func logs(v []float64) []float64 {
	out := make([]float64, len(v))
	for i, x := range v {
		out[i] = math.Log(x)
	}
	return out
}

// edgeSpread is how far a rounded edge may be from the law either way.
var edgeSpread = fettle.Guess(1, 1/2.5, 2.5, fettle.BasisGuess)

// Barrel is a charge as a tool: a process of media in a vessel.
func Barrel(w *Worlds, name string, p tumble.Process, m fettle.Media) *Tool {
	t := &Tool{
		Name: name, ContactMM: tumble.Contact(m), WaveMM: tumble.Texture(m), Lay: NoLay,
		form: logs(w.Of("the law of roughness for "+name, "×", lawSpread)), edge: w.Of("edges in "+name, "×", edgeSpread),
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

// burrPerUM is how high a burr stands that is gone when the faces have lost a
// micrometre: 0.05 mm in 0.7 h of general ceramic in a bowl that takes 5 µm an hour
// off brass. Starting guess.
const burrPerUM = 50 / (0.7 * 5)

// raAfter is the Ra of the fine texture when a tool has worked for h hours. The law's
// own error comes in as the face comes to be of the tool's making: none at the start,
// all of it at the limit.
func (s *Surface) raAfter(t *Tool, k int, h float64) float64 {
	r := &t.rates[k]
	ra := r.Ra(s.Ra[k], h)
	if f := t.form[k]; f != 0 && h > 0 && r.T > 0 {
		ra *= math.Exp(-f * math.Expm1(-h/r.T))
	}
	return ra
}

// after is the share of a mark's height that stands in a world when a tool has
// worked for h hours, what has been levelled off it then, as a share of its height,
// and how far the face has receded into it, in µm. Two laws bound it. Truncation says
// the soonest that it can go: all that comes off comes off its peaks. The law of
// roughness says how soon it does go under media, which work in valleys too. The
// slower of the two holds, until the face has receded to the bottom of its valleys.
// What comes off where the tool only follows a mark counts in none of them.
func (m *Mark) after(t *Tool, k int, h float64) (left, takes, gone float64) {
	if !(h > 0) {
		return m.Left[k], m.takes[k], m.Gone[k]
	}
	r := &t.rates[k]
	eta := mark.Levelling(m.WaveMM, t.ContactMM)
	x := r.Removed(h) * eta
	rest := m.Height[k] - m.Gone[k]
	gone = m.Gone[k] + x
	if x >= rest {
		return 0, m.Curve.Mean(), gone
	}
	takes = m.takes[k] + x/m.Height[k]
	left = m.Curve.Left(takes).Height
	if slow := m.Left[k] * math.Exp(-eta*h/r.T) * (1 - x/rest); slow > left {
		left, takes = slow, m.Curve.Takes(slow)
	}
	return left, takes, gone
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
		out.Ra[k] = s.raAfter(t, k, h)
		out.Removed[k] = s.Removed[k] + x
		edge := tumble.EdgeRadius(x) * t.edge[k]
		out.Edge[k] = math.Sqrt(s.Edge[k]*s.Edge[k] + edge*edge)
		out.Burr[k] = s.Burr[k]
		if t.Cuts {
			out.Burr[k] = math.Max(0, s.Burr[k]-x*burrPerUM)
		}
		for i := range out.Marks {
			m := &out.Marks[i]
			if m.Left[k] <= 0 {
				continue
			}
			m.Left[k], m.takes[k], m.Gone[k] = m.after(t, k, h)
		}
	}
	out.Marks = drop(out.Marks)
	return out
}
