package survey

import (
	"math"

	"fettle/internal/shape/geom"

	"gonum.org/v1/gonum/spatial/r3"
)

// bentBonus is how much more a bending face counts than a flat one when the
// show side is proposed: nobody domes a back.
const bentBonus = 1.5

// chooseUp takes the direction that was asked for, or proposes the one from
// which most of the outer surface is seen.
func (s *surveyor) chooseUp(asked r3.Vec) {
	if l := r3.Norm(asked); l > 0 && !math.IsInf(l, 0) && !math.IsNaN(l) {
		s.up, s.upWhy = r3.Scale(1/l, asked), "as asked"
		return
	}
	tries := []r3.Vec{{Z: 1}, {Z: -1}, {Y: -1}, {Y: 1}, {X: 1}, {X: -1}}
	total := 0.0
	for f := range s.p.Faces {
		total += s.p.Faces[f].Area
	}
	for f := range s.p.Faces {
		p := &s.p.Faces[f]
		if s.of[f] >= 0 || p.Area < 0.05*total {
			continue
		}
		if l := r3.Norm(p.Mean); l > 0.3 {
			tries = append(tries, r3.Scale(1/l, p.Mean))
		}
		if p.Kind == geom.Cylinder || p.Kind == geom.Cone {
			tries = append(tries, p.Axis, r3.Scale(-1, p.Axis))
		}
	}
	best := -1.0
	for i, d := range tries {
		if i > 40 {
			break
		}
		// A direction found later must be clearly better.
		if seen := s.seen(d); seen > best*1.001 {
			best, s.up = seen, d
		}
	}
	s.upWhy = "proposed: from there most of the outer surface is seen, and bending faces count more than flat ones"
}

// seen is the outer area as seen from a direction, steep parts left out.
func (s *surveyor) seen(d r3.Vec) float64 {
	sum := 0.0
	for f := range s.p.Faces {
		if s.of[f] >= 0 {
			continue
		}
		p := &s.p.Faces[f]
		if p.Kind == geom.Plane {
			if c := r3.Dot(p.Axis, d); c > showCos {
				sum += p.Area * c
			}
			continue
		}
		part := 0.0
		for _, t := range p.Tris {
			if c := r3.Dot(s.p.Normal[t], d); c > showCos {
				part += s.p.Area[t] * c
			}
		}
		sum += bentBonus * part
	}
	return sum
}
