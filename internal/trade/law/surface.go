package law

import (
	"math"
	"slices"

	"fettle"
	"fettle/internal/trade/mark"
)

// Surface is the judged face in all worlds. Its slices hold one number a world and
// are never written after they are made: a step makes a new surface.
type Surface struct {
	W *Worlds
	// Ra is of the fine texture alone, µm; coarse marks come on top.
	Ra []float64
	// WaveMM is the dominant wavelength of the fine texture, Lay its direction;
	// NoLay where it has none.
	WaveMM float64
	Lay    string
	Marks  []Mark
	// Own tells that the last of the marks is the texture itself and no older one.
	Own     bool
	Removed []float64 // mean, µm, since the cutter
	Edge    []float64 // radius, µm
	Burr    []float64 // height, µm; 0 when it is gone
}

// NoLay is the direction of a texture that has none.
const NoLay = "none"

// Mark is a pattern that some step left, in all worlds.
type Mark struct {
	Cause  string
	WaveMM float64
	Lay    string
	Curve  *mark.Curve
	// Fine marks are those whose roughness the fine texture counts already: the
	// scratches of a grit.
	Fine   bool
	Height []float64 // µm, when it was made
	Left   []float64 // share of the height that still stands
	Gone   []float64 // µm that came off the face since it was made, save where a tool only followed it
	// takes is what has been levelled off it to get to Left, as a share of the
	// height.
	takes []float64
}

// newMark is a whole mark.
func newMark(cause string, waveMM float64, lay string, c *mark.Curve, height []float64) Mark {
	n := len(height)
	m := Mark{Cause: cause, WaveMM: waveMM, Lay: lay, Curve: c, Height: height, Left: make([]float64, n), Gone: make([]float64, n), takes: make([]float64, n)}
	for i := range m.Left {
		m.Left[i] = 1
	}
	return m
}

// Slope is the rms slope of what is left of a mark in a world, mrad.
func (m *Mark) Slope(k int) float64 {
	if m.Left[k] <= 0 {
		return 0
	}
	return m.Curve.Slope(m.Height[k], m.WaveMM) * m.Curve.Left(m.takes[k]).Slope
}

// Rq is what is left of a mark's rms height in a world, µm.
func (m *Mark) Rq(k int) float64 {
	if m.Left[k] <= 0 {
		return 0
	}
	return m.Height[k] * m.Curve.Left(m.takes[k]).Rq
}

// raOverRq turns an rms height into an Ra: 0.86 for parabolic cusps exactly, 0.80
// for normal heights.
func (m *Mark) raOverRq() float64 {
	if m.Fine {
		return 0.80
	}
	return 0.8607
}

// Measured is the Ra that an instrument reads in a world, across what lies there:
// fine texture and coarse marks add in quadrature, for they do not know of each
// other.
func (s *Surface) Measured(k int) float64 {
	sum := s.Ra[k] * s.Ra[k]
	for i := range s.Marks {
		m := &s.Marks[i]
		if m.Fine || m.Left[k] <= 0 {
			continue
		}
		ra := m.Rq(k) * m.raOverRq()
		sum += ra * ra
	}
	return math.Sqrt(sum)
}

// Seen is the chance that an eye finds a mark in a world.
func (s *Surface) Seen(m *Mark, k int) float64 {
	slope := m.Slope(k)
	if slope <= 0 {
		return 0
	}
	return mark.Seen(slope, m.WaveMM, s.textureSlope(k))
}

// textureSlope is the slope of the fine texture in a world that hides a mark, mrad.
func (s *Surface) textureSlope(k int) float64 { return mark.MaskingSlope(s.Ra[k], s.WaveMM) }

// mean is the mean over worlds.
func mean(v []float64) float64 {
	var sum float64
	for _, x := range v {
		sum += x
	}
	return sum / float64(len(v))
}

// RaUM is the measured Ra over all worlds.
func (s *Surface) RaUM(basis string) fettle.Estimate {
	v := make([]float64, s.W.N())
	for k := range v {
		v[k] = s.Measured(k)
	}
	return s.W.Sum(v, basis)
}

// Tell is the surface's marks as a plan shows them: what still stands of each and
// how likely it is found.
func (s *Surface) Tell(zone string) []fettle.Mark {
	out := []fettle.Mark{}
	for i := range s.Marks {
		m := &s.Marks[i]
		n := s.W.N()
		rq, slope, seen := make([]float64, n), make([]float64, n), make([]float64, n)
		for k := range n {
			rq[k], slope[k], seen[k] = m.Height[k]*m.Curve.Left(0).Rq, m.Slope(k), s.Seen(m, k)
		}
		left := slices.Clone(m.Left)
		slices.Sort(left)
		height := s.W.Sum(m.Height, basisOfMark(m))
		out = append(out, fettle.Mark{
			Cause: m.Cause, Zone: zone, WavelengthMM: m.WaveMM, Lay: m.Lay, HeightUM: height, DepthUM: height,
			RqUM: s.W.Sum(rq, "").Value, Left: quantile(left, 0.5), SlopeMrad: s.W.Sum(slope, "").Value, Seen: fettle.ChanceOf(mean(seen)),
		})
	}
	return out
}

func basisOfMark(m *Mark) string {
	if m.Fine {
		return ByLexikon
	}
	return ByMachine
}

// Bases of what a cutter and a grit leave.
const (
	ByMachine = "geometry, × 1–2 for the machine (common practice)"
	ByLexikon = "ground stainless steel, Lexikon der Pharmatechnologie (2013), scaled; starting guess for other metals"
)

// copyMarks are the marks with slices of their own where a step changes them.
func (s *Surface) copyMarks() []Mark {
	out := slices.Clone(s.Marks)
	n := s.W.N()
	all := make([]float64, 3*n*len(out))
	for i := range out {
		m := &out[i]
		part := all[3*n*i:]
		m.Left = append(part[:0:n], m.Left...)
		m.Gone = append(part[n:n:2*n], m.Gone...)
		m.takes = append(part[2*n:2*n:3*n], m.takes...)
	}
	return out
}

// drop leaves out marks of which nothing stands in any world.
func drop(ms []Mark) []Mark {
	return slices.DeleteFunc(ms, func(m Mark) bool { return slices.Max(m.Left) <= 0 })
}
