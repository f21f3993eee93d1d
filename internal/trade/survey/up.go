package survey

import (
	"math"

	"fettle"
	"fettle/internal/shape/geom"

	"gonum.org/v1/gonum/spatial/r3"
)

// What counts when the show side is proposed, beside the area seen from there.
const (
	bentBonus = 1.5  // for bending faces: nobody domes a back
	restBonus = 2.0  // for a flat face to rest on, on the other side
	holeBonus = 0.15 // of the part's area, shared by the holes that say front or back
)

// chooseUp takes the direction that was asked for, or proposes one: from there
// much of the outer surface is seen, most of all bending faces; the part rests
// on the other side; countersinks open towards it and blind holes away from it.
func (s *surveyor) chooseUp(asked r3.Vec, openings []fettle.Opening) {
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
			n := r3.Scale(1/l, p.Mean)
			tries = append(tries, n, r3.Scale(-1, n))
		}
		if p.Kind == geom.Cylinder || p.Kind == geom.Cone || p.Kind == geom.Torus {
			tries = append(tries, p.Axis, r3.Scale(-1, p.Axis))
		}
	}
	best := -1.0
	for i, d := range tries[:min(len(tries), 46)] {
		score := s.seen(d) + restBonus*s.rest(d) + holeBonus*total*holesSay(openings, d)
		// A direction found later must be clearly better.
		if i == 0 || score > best+1e-2*total {
			best, s.up = score, d
		}
	}
	s.upWhy = "proposed: much of the outer surface is seen from there, and the part rests on the other side"
}

// holesSay is the share of the holes with a front that say d is up, less that of
// those against it.
func holesSay(openings []fettle.Opening, d r3.Vec) float64 {
	sum, n := 0.0, 0.0
	for _, o := range openings {
		if o.Kind != fettle.Hole {
			continue
		}
		c := r3.Dot(geom.Vec(o.Axis), d)
		switch {
		case o.Form == "countersunk" || o.Form == "counterbored":
			sum += c
		case !o.Through:
			sum -= c
		default:
			continue
		}
		n++
	}
	if n == 0 {
		return 0
	}
	return sum / n
}

// rest is the area of the flat faces that the part would rest on with d up.
func (s *surveyor) rest(d r3.Vec) float64 {
	lowest := math.Inf(1)
	for _, p := range s.m.Pos {
		lowest = min(lowest, r3.Dot(p, d))
	}
	sum := 0.0
	for f := range s.p.Faces {
		p := &s.p.Faces[f]
		if s.of[f] < 0 && p.Kind == geom.Plane && r3.Dot(p.Axis, d) < -0.999 && r3.Dot(p.Centroid, d) < lowest+1e-3*s.diag {
			sum += p.Area
		}
	}
	return sum
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
