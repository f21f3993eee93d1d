package survey

import (
	"fmt"
	"math"
	"slices"

	"fettle"
	"fettle/internal/shape/geom"

	"gonum.org/v1/gonum/spatial/r3"
)

const (
	fullTurn   = 300.0 // degrees that a hole's wall covers at least
	sunk       = 1.3   // a mouth this much wider is a countersink, not a broken edge
	wider      = 1.02  // a clear width this much larger is worth telling
	sameWidths = 1.005
)

// hole describes a group whose walls are round about one axis.
func (s *surveyor) hole(g *group) (o fettle.Opening, ok bool) {
	var main int32 = -1
	var rounds, tips, ends []int32
	for _, f := range g.walls {
		p := &s.p.Faces[f]
		switch {
		case s.round(f):
			if main >= 0 && !s.sameAxis(main, f) {
				return o, false
			}
			// The bore rather than a cone, then the larger.
			if main < 0 || rank(p.Kind) > rank(s.p.Faces[main].Kind) ||
				p.Kind == s.p.Faces[main].Kind && p.Area > s.p.Faces[main].Area {
				main = f
			}
			if p.Kind == geom.Cone && s.closes(f) {
				tips = append(tips, f)
			} else {
				rounds = append(rounds, f)
			}
		case p.Kind == geom.Plane: // a shelf, if what follows is round about its normal
		case p.Hollow && p.Kind != geom.Cylinder && p.Kind != geom.Cone:
			ends = append(ends, f) // a rounded end, or the fillet of a floor
		default:
			return o, false
		}
	}
	if main < 0 || len(rounds) == 0 {
		return o, false
	}
	m := &s.p.Faces[main]
	for _, f := range g.walls {
		if p := &s.p.Faces[f]; p.Kind == geom.Plane && !along(p.Axis, m.Axis) {
			return o, false
		}
	}
	if s.sweep(rounds, m.At, m.Axis) < fullTurn {
		return o, false
	}
	axis, at := m.Axis, m.At
	if m.Kind == geom.Cone {
		at = r3.Add(at, r3.Scale(r3.Dot(r3.Sub(m.Centroid, at), axis), axis))
	}
	lo, hi := s.extent(rounds, at, axis)
	r := s.rimOf(g, s.roundings(g, 2*m.Radius), at, axis, lo, hi)

	// Which end is closed?
	flat := slices.Concat(g.floors, ends)
	floors := slices.Concat(tips, flat)
	closed := len(floors) > 0
	turn := closed && s.level(floors, at, axis) > (lo+hi)/2
	if !closed {
		mid := r3.Add(at, r3.Scale((lo+hi)/2, axis))
		reach := (hi-lo)/2*1.05 + m.Radius/2
		up, down := s.blocked(mid, axis, reach), s.blocked(mid, r3.Scale(-1, axis), reach)
		closed, turn = up || down, up && !down
		if !closed {
			turn = s.mouthBelow(r, axis)
		}
	}
	if turn {
		axis, lo, hi, r = r3.Scale(-1, axis), -hi, -lo, r.flipped()
	}

	width := math.Inf(1)
	bores := 0
	last := 0.0
	for _, f := range rounds {
		p := &s.p.Faces[f]
		if p.Kind == geom.Cylinder {
			if math.Abs(p.Radius-last) > 1e-3*p.Radius {
				bores++
				last = p.Radius
			}
			width = min(width, 2*p.Radius)
		}
	}
	if bores == 0 { // a tapered hole
		width = 2 * s.narrowest(rounds, at, axis)
	}
	top, bottom := hi, lo
	if r.topLength > 0 {
		top = r.top
	}
	if r.bottomLength > 0 && !closed {
		bottom = r.bottom
	}
	if len(flat) > 0 && len(tips) == 0 {
		bottom = s.bottom(flat, at, axis, lo)
	}
	widest := width
	if r.topLength > 0 && 2*r.topRadius > sameWidths*width {
		widest = 2 * r.topRadius
	}
	o = fettle.Opening{
		Kind: fettle.Hole, Through: !closed, WidthMM: width, WidestMM: widest, LengthMM: width,
		DepthMM: top - bottom, At: geom.Array(r3.Add(at, r3.Scale(top, axis))), Axis: geom.Array(axis), InsideMM: width / 2,
	}
	o.Form = s.form(rounds, width, widest, bores)
	o.Why = fmt.Sprintf("%s about one axis, fitted to %d facets", countWalls(len(rounds)), len(m.Tris))
	return o, true
}

// bottom is the height to which a blind hole has its full use: of its level floor;
// of the shoulder, given as lo, over a drill's point; of the deepest place of a
// rounded end.
func (s *surveyor) bottom(floors []int32, at, axis r3.Vec, lo float64) float64 {
	best, level := 0.0, lo
	for _, f := range floors {
		p := &s.p.Faces[f]
		if p.Area <= best {
			continue
		}
		best = p.Area
		switch p.Kind {
		case geom.Plane:
			level = r3.Dot(r3.Sub(p.Centroid, at), axis)
		case geom.Cone:
			level = lo
		default:
			level, _ = s.extent([]int32{f}, at, axis)
		}
	}
	return level
}

func (s *surveyor) form(rounds []int32, width, widest float64, bores int) string {
	if widest < sunk*width && bores < 2 || widest < wider*width {
		return ""
	}
	for _, f := range rounds {
		// Is the mouth a cone's?
		p := &s.p.Faces[f]
		if p.Kind == geom.Cone && widest >= sunk*width && 2*s.broadest(f) > 0.98*widest {
			return "countersunk"
		}
	}
	if bores > 1 {
		return "counterbored"
	}
	return ""
}

func countWalls(n int) string {
	if n == 1 {
		return "one round wall"
	}
	return fmt.Sprintf("%d round walls", n)
}

func rank(k geom.Kind) int {
	if k == geom.Cylinder {
		return 1
	}
	return 0
}

// closes reports whether a cone runs to its tip.
func (s *surveyor) closes(f int32) bool {
	p := &s.p.Faces[f]
	for _, t := range p.Tris {
		for _, v := range s.m.Tri[t] {
			if r3.Norm(r3.Sub(s.m.Pos[v], p.At)) < 0.02*p.Radius+10*s.p.Tolerance {
				return true
			}
		}
	}
	return false
}

// narrowest is the smallest distance of faces' vertices from an axis.
func (s *surveyor) narrowest(faces []int32, at, axis r3.Vec) float64 {
	least := math.Inf(1)
	for _, f := range faces {
		for _, t := range s.p.Faces[f].Tris {
			for _, v := range s.m.Tri[t] {
				least = min(least, r3.Norm(r3.Cross(r3.Sub(s.m.Pos[v], at), axis)))
			}
		}
	}
	return least
}

// broadest is the largest distance of a round face's vertices from its axis.
func (s *surveyor) broadest(f int32) float64 {
	p := &s.p.Faces[f]
	most := 0.0
	for _, t := range p.Tris {
		for _, v := range s.m.Tri[t] {
			most = max(most, offAxis(p, s.m.Pos[v]))
		}
	}
	return most
}
