package law

import (
	"math"

	"fettle"
	"fettle/internal/trade/mark"
	"fettle/internal/trade/rub"
	"fettle/internal/trade/tumble"
)

// Paper is a grit on a hold, for one face.
type Paper struct {
	Grit fettle.Grit
	Hold rub.Hold
	face rub.Face
	// ra and rz are what it leaves, pace and change its time, edge what it adds to an
	// edge, one a world.
	ra, rz, pace, change, edge []float64
}

// NewPaper is a grit on a hold. The pace is the shop's where its log knows one.
func NewPaper(w *Worlds, f rub.Face, g fettle.Grit, h rub.Hold, pace fettle.Estimate) *Paper {
	depth := rub.Depth(f.Class)
	p := &Paper{Grit: g, Hold: h, face: f}
	// Ra and Rz of one grit are out together, and those of all grits: the tables differ
	// in all alike. Paces likewise. A grit that the shop knows better keeps its own.
	own := func(kind, unit string, usual, e fettle.Estimate) []float64 {
		if e.Because(usual.Basis) == usual {
			return w.Of(kind, unit, usual)
		}
		return w.kin(kind, kind+": "+g.Name, unit, e)
	}
	tables := fettle.Guess(1, 0.5, 4, ByLexikon)
	out := own("roughness that paper leaves", "×", tables, fettle.Guess(1, g.RaUM.Low/g.RaUM.Value, g.RaUM.High/g.RaUM.Value, g.RaUM.Basis))
	p.ra, p.rz = make([]float64, w.N()), make([]float64, w.N())
	for k := range p.ra {
		p.ra[k], p.rz[k] = g.RaUM.Value*depth*out[k], g.RzUM.Value*depth*out[k]
	}
	p.pace, p.change, p.edge = own("pace of sanding", "×", rub.Pace(), pace), w.Of("change of paper", "min", rub.Change()), w.Of("edges under a "+string(h), "µm", h.Edge())
	return p
}

// scratchPitch is the spacing of scratches as a share of the grain: common
// practice, only good for telling them from cusps.
const scratchPitch = 1.0

// rzOverRa turns an Ra of fine texture into a depth to sand through: 3 to 4 by the
// tables for ground faces, and a few deep strays more.
const rzOverRa = 5

// Depth is what a grit has to erase in each world, µm: the deepest thing, from peak
// to valley, and the mean that comes off until it is gone. Facets ride on cusps and
// add to them. What is much longer than the hold is followed and not counted.
func (s *Surface) Depth(h rub.Hold) (deepest, removal []float64) {
	n := len(s.Ra)
	v := make([]float64, 2*n)
	deepest, removal = v[:n:n], v[n:]
	a := h.ContactMM()
	for k := range n {
		if !s.Own { // else the texture is among the marks, with a depth of its own
			deepest[k] = rzOverRa * s.Ra[k]
			removal[k] = deepest[k] / 2
		}
		for i := range s.Marks {
			m := &s.Marks[i]
			eta := mark.Levelling(m.WaveMM, a)
			if m.Left[k] <= 0 || eta < 0.5 {
				continue
			}
			todo := (m.Curve.Mean() - m.takes[k]) * m.Height[k] / eta
			if m.Fine || m.Cause == Cusps || m.Cause == FeedMarks {
				deepest[k] = math.Max(deepest[k], m.Left[k]*m.Height[k])
				removal[k] = math.Max(removal[k], todo)
			} else {
				deepest[k] += m.Left[k] * m.Height[k]
				removal[k] += todo
			}
		}
	}
	return deepest, removal
}

// Furrows is how deep a grit cuts, from peak to valley, in each world, µm.
func (p *Paper) Furrows() []float64 { return p.rz }

// Rubbed is the face when a grit has erased what it can, the minutes of a piece and
// the depth from the highest peak that came off, in each world. A block levels what
// is shorter than itself, peaks first; the grit leaves scratches of its own.
func (s *Surface) Rubbed(p *Paper, lay string) (out *Surface, minutes, take []float64) {
	n := len(s.Ra)
	deepest, removal := s.Depth(p.Hold)
	a := p.Hold.ContactMM()
	v := make([]float64, 4*n)
	out = &Surface{
		W: s.W, Ra: p.ra, WaveMM: p.Grit.GrainUM / 1000 * scratchPitch, Lay: lay, Marks: s.copyMarks(), Burr: s.Burr,
		Removed: v[:n:n], Edge: v[n : 2*n : 2*n],
	}
	minutes = v[2*n : 3*n : 3*n]
	for k := range n {
		x := removal[k]
		minutes[k] = rub.Minutes(p.face, p.Grit, p.Hold, deepest[k], x)*p.pace[k] + p.change[k]
		out.Removed[k] = s.Removed[k] + x
		out.Edge[k] = math.Hypot(s.Edge[k], p.edge[k])
		for i := range out.Marks {
			m := &out.Marks[i]
			if m.Left[k] <= 0 {
				continue
			}
			levels := x * mark.Levelling(m.WaveMM, a)
			m.takes[k] += levels / m.Height[k]
			m.Gone[k] += levels
			if m.Left[k] = m.Curve.Left(m.takes[k]).Height; m.Gone[k] >= m.Height[k] || m.Left[k] < 1e-6 {
				m.Left[k] = 0
			}
		}
	}
	out.Marks = drop(out.Marks)
	own := newMark(p.Grit.Name+" scratches", out.WaveMM, lay, furrows, p.rz)
	own.Fine = true
	out.Marks, out.Own = append(out.Marks, own), true
	return out, minutes, deepest
}

// furrows is the curve of all scratches.
var furrows = mark.Furrows()

// Wheel is a mop as a tool on one face, in hours of a piece.
func Wheel(w *Worlds, f rub.Face, m fettle.Mop) *Tool {
	n := w.N()
	limit := w.Of("limit of "+m.Name, "µm Ra", rub.MopLimit(m, f.Class))
	t, cut := w.Of("time constant of "+m.Name, "min", m.MinPer100CM2), w.Of("removal of "+m.Name, "µm/min", m.CutUMMin)
	out := &Tool{
		Name: m.Name, ContactMM: m.ContactMM, WaveMM: 0.01, Lay: NoLay, rates: make([]tumble.Rates, n),
		form: logs(w.Of("the law of roughness for "+m.Name, "×", lawSpread)), edge: w.Of("edges under "+m.Name, "×", edgeSpread),
	}
	// Cloth wraps round an edge further than media bear on it.
	wraps := rub.MopEdge(0, 1) / tumble.EdgeRadius(1)
	edges := out.edge
	out.edge = make([]float64, n)
	for k := range n {
		out.edge[k] = edges[k] * wraps
	}
	hours, um := rub.MopMinutes(f, m, math.E, 1, 0)/60, rub.MopRemoved(f, m, 60) // a time constant, and what an hour takes
	for k := range n {
		T := hours * t[k] / m.MinPer100CM2.Value
		out.rates[k] = tumble.Rates{T: T, Roughen: T, RL: limit[k], Ms: um * cut[k] / m.CutUMMin.Value}
	}
	return out
}
