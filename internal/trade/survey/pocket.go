package survey

import (
	"fmt"
	"math"

	"fettle"
	"fettle/internal/shape/geom"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

const (
	leaning   = 0.35 // sine of the lean at which a wall counts as a floor
	spotCount = 360
	slim      = 4.0 // times longer than wide: a slot, whatever its ends
	keyWide   = 1.15
)

// slotOrPocket describes a group that is not round.
func (s *surveyor) slotOrPocket(g *group) (o fettle.Opening, ok bool) {
	axis, ok := s.axisOf(g)
	if !ok {
		return o, false
	}
	var upright []int32
	floors := append([]int32(nil), g.floors...)
	var lean []int32
	for _, f := range g.walls {
		if s.lean(f, axis) > leaning {
			lean = append(lean, f)
		} else {
			upright = append(upright, f)
		}
	}
	if len(upright) == 0 {
		return o, false
	}
	at := s.p.Faces[upright[0]].Centroid
	lo, hi := s.extent(upright, at, axis)
	// A leaning wall that looks towards its own end of the opening is a chamfer
	// of the mouth; one that looks towards the other end is part of the floor.
	for _, f := range lean {
		p := &s.p.Faces[f]
		if (r3.Dot(r3.Sub(p.Centroid, at), axis)-(lo+hi)/2)*r3.Dot(p.Mean, axis) < 0 {
			floors = append(floors, f)
		}
	}
	if len(floors) > 0 && s.facingUp(floors, axis) < 0 {
		axis, lo, hi = r3.Scale(-1, axis), -hi, -lo
	}
	// Measure at three heights; the middle one tells the shape.
	var shape *plan
	width, widest := math.Inf(1), 0.0
	var centre r2.Vec
	for _, share := range []float64{0.25, 0.75, 0.5} {
		p := s.cut(upright, at, axis, lo+share*(hi-lo))
		if len(p.lines) == 0 {
			continue
		}
		spots := p.spots(spotCount)
		wide := 0.0
		var most spot
		for _, q := range spots {
			w := p.clear(q)
			width = min(width, w)
			if b := min(ball(q, spots), w/2); !math.IsInf(b, 1) && 2*b > wide {
				wide, most = 2*b, q
			}
		}
		wide, centre = p.widen(most, wide/2, spots)
		widest = max(widest, wide)
		shape = p
	}
	if shape == nil || widest == 0 && math.IsInf(width, 1) {
		return o, false
	}
	// No two walls of a triangle look straight at each other; the largest ball in
	// it says what is clear.
	if widest > 0 && width > 1.1*widest {
		width = widest
	}
	long, _, mid, dir := shape.box()
	open := shape.openEnds > 0
	if open {
		widest = width
		// An open end lets a ball out: what is clear is the way between the walls.
		centre = mid
	}
	if widest > 1.05*long {
		widest = width // the ball got out
	}
	if width > 1.05*long {
		return o, false
	}
	if widest < wider*width {
		widest = width
	}
	for i, d := range [2]r2.Vec{dir, {X: -dir.Y, Y: dir.X}} {
		a, b := s.trueSpan(shape, upright, d)
		mid = r2.Add(mid, r2.Scale((a+b)/2-r2.Dot(mid, d), d))
		if i == 0 {
			long = b - a
		}
	}
	// Seen from the middle of the void, a mouth runs round the axis.
	at = r3.Add(at, across(r3.Sub(shape.point(centre), at), axis))
	r := s.rimOf(g, s.roundings(g, width), at, axis, lo, hi)

	closed := len(floors) > 0
	if !closed {
		p := shape.point(centre)
		reach := (hi - lo) / 2 * 1.05
		up, down := s.blocked(p, axis, reach), s.blocked(p, r3.Scale(-1, axis), reach)
		closed = up || down
		if up && !down || !closed && s.mouthBelow(r, axis) {
			axis, lo, hi, r = r3.Scale(-1, axis), -hi, -lo, r.flipped()
		}
	}
	top, bottom := hi, lo
	if r.topLength > 0 {
		top = r.top
	}
	if flat := s.lowest(floors, at, axis); closed && !math.IsInf(flat, 1) {
		bottom = flat
	} else if r.bottomLength > 0 && !closed {
		bottom = r.bottom
	}
	depth := top - bottom
	if depth <= 0 || open && width > shallow*depth {
		return o, false
	}
	inside := s.insideRadius(upright, axis, width)
	middle := shape.point(mid)
	middle = r3.Add(middle, r3.Scale(top-r3.Dot(r3.Sub(middle, at), axis), axis))
	o = fettle.Opening{
		Through: !closed, WidthMM: width, WidestMM: widest, LengthMM: max(long, width), DepthMM: depth,
		At: geom.Array(middle), Axis: geom.Array(axis), InsideMM: inside,
	}
	o.Kind, o.Form, o.Why = s.kind(&o, upright, open)
	return o, true
}

// kind tells slots, keyholes and pockets apart.
func (s *surveyor) kind(o *fettle.Opening, upright []int32, open bool) (fettle.OpeningKind, string, string) {
	axis := geom.Vec(o.Axis)
	if open {
		return fettle.Slot, "", "two walls that look at each other, open at the ends"
	}
	ends, wideEnd := 0.0, false
	for _, f := range upright {
		q := &s.p.Faces[f]
		if q.Kind != geom.Cylinder || !q.Hollow || !along(q.Axis, axis) {
			continue
		}
		turn := s.turn(f)
		if math.Abs(2*q.Radius-o.WidthMM) < 0.05*o.WidthMM && turn > 100 {
			ends += turn
		}
		if math.Abs(2*q.Radius-o.WidestMM) < 0.05*o.WidestMM && turn > 180 {
			wideEnd = true
			o.WidestMM = 2 * q.Radius
		}
	}
	ratio := o.LengthMM / o.WidthMM
	switch {
	case wideEnd && o.WidestMM > keyWide*o.WidthMM:
		return fettle.Slot, "keyhole", fmt.Sprintf("%d walls, one of them round and wider than the rest", len(upright))
	case ends > 250:
		return fettle.Slot, "", "two parallel walls with round ends"
	case ratio > slim:
		return fettle.Slot, "", fmt.Sprintf("%d walls round a long narrow space", len(upright))
	}
	return fettle.Pocket, "", fmt.Sprintf("%d walls round one space", len(upright))
}

// across is the part of v at right angles to a unit axis.
func across(v, axis r3.Vec) r3.Vec { return r3.Sub(v, r3.Scale(r3.Dot(v, axis), axis)) }

// axisOf is the direction that the walls of a group stand along.
func (s *surveyor) axisOf(g *group) (r3.Vec, bool) {
	var m [3][3]float64
	add := func(n r3.Vec, w float64) {
		v := [3]float64{n.X, n.Y, n.Z}
		for i := range v {
			for j := range v {
				m[i][j] += w * v[i] * v[j]
			}
		}
	}
	sum := 0.0
	for _, f := range g.walls {
		for _, t := range s.p.Faces[f].Tris {
			add(s.p.Normal[t], s.p.Area[t])
			sum += s.p.Area[t]
		}
	}
	if sum == 0 {
		return r3.Vec{}, false
	}
	val, vec := geom.Eigen(m)
	axis := vec[0]
	var floor r3.Vec
	for _, f := range g.floors {
		floor = r3.Add(floor, r3.Scale(s.p.Faces[f].Area, s.p.Faces[f].Mean))
	}
	if val[1] < 0.02*sum {
		// Only walls that look the same way: the axis is across them, and out of
		// the floor where there is one.
		normal := vec[2]
		floor = r3.Sub(floor, r3.Scale(r3.Dot(floor, normal), normal))
		if l := r3.Norm(floor); l > 1e-6*sum {
			axis = r3.Scale(1/l, floor)
		} else {
			axis = s.shortWay(g, vec[0], vec[1])
		}
	}
	// A wall or floor that is known exactly knows better.
	best := 0.0
	for _, f := range g.all() {
		p := &s.p.Faces[f]
		if (p.Kind == geom.Cylinder && p.Hollow || p.Kind == geom.Plane) && p.Area > best &&
			math.Abs(r3.Dot(p.Axis, axis)) > math.Cos(5*math.Pi/180) {
			best = p.Area
			floor = p.Axis
		}
	}
	if best > 0 {
		if r3.Dot(floor, axis) < 0 {
			floor = r3.Scale(-1, floor)
		}
		axis = floor
	}
	return r3.Unit(axis), true
}

// shortWay chooses between directions in the plane of two, for a gap without a
// floor: the way along which the walls are shortest.
func (s *surveyor) shortWay(g *group, u, v r3.Vec) r3.Vec {
	best, way := math.Inf(1), u
	for i := range 36 {
		sin, cos := math.Sincos(math.Pi * float64(i) / 36)
		d := r3.Add(r3.Scale(cos, u), r3.Scale(sin, v))
		lo, hi := s.extent(g.walls, r3.Vec{}, d)
		if hi-lo < best-1e-9 {
			best, way = hi-lo, d
		}
	}
	return way
}

// lean is the mean sine between a face and an axis, by area: 0 for an upright
// wall, 1 for a level floor.
func (s *surveyor) lean(f int32, axis r3.Vec) float64 {
	p := &s.p.Faces[f]
	sum := 0.0
	for _, t := range p.Tris {
		sum += s.p.Area[t] * math.Abs(r3.Dot(s.p.Normal[t], axis))
	}
	if p.Area == 0 {
		return 0
	}
	return sum / p.Area
}

// facingUp is the area of faces as seen against an axis.
func (s *surveyor) facingUp(faces []int32, axis r3.Vec) float64 {
	sum := 0.0
	for _, f := range faces {
		sum += s.p.Faces[f].Area * r3.Dot(s.p.Faces[f].Mean, axis)
	}
	return sum
}

// lowest is the level of the largest of the faces that look along the axis;
// infinite when none does.
func (s *surveyor) lowest(faces []int32, at, axis r3.Vec) float64 {
	level, best := math.Inf(1), 0.0
	for _, f := range faces {
		p := &s.p.Faces[f]
		if a := p.Area * r3.Dot(p.Mean, axis); a > best {
			best, level = a, r3.Dot(r3.Sub(p.Centroid, at), axis)
		}
	}
	return level
}

// insideRadius is the smallest inside radius in plan: 0 where two upright walls
// meet in a sharp valley along the axis, half the width where there is no inside
// corner.
func (s *surveyor) insideRadius(upright []int32, axis r3.Vec, width float64) float64 {
	in := map[int32]bool{}
	least := width / 2
	for _, f := range upright {
		in[f] = true
		p := &s.p.Faces[f]
		if p.Kind == geom.Cylinder && p.Hollow && math.Abs(r3.Dot(p.Axis, axis)) > 0.97 {
			least = min(least, p.Radius)
		}
	}
	for _, f := range upright {
		for _, i := range s.beside[f] {
			b := s.borders[i]
			if b.a != f || !in[b.b] || b.valley == 0 {
				continue
			}
			for _, e := range b.edges {
				if s.p.Sharp[e.tri][e.k] && s.p.Turn[e.tri][e.k] < 0 && s.upright(e, axis) {
					return 0
				}
			}
		}
	}
	return least
}

// upright reports whether an edge runs along an axis.
func (s *surveyor) upright(e edge, axis r3.Vec) bool {
	v := s.m.Tri[e.tri]
	d := r3.Sub(s.m.Pos[v[(e.k+1)%3]], s.m.Pos[v[e.k]])
	return math.Abs(r3.Dot(d, axis)) > 0.8*r3.Norm(d)
}

// trueSpan is how far the walls of a plan reach along a direction of it, on their
// own surfaces: a round wall bulges beyond its chords.
func (s *surveyor) trueSpan(p *plan, upright []int32, dir r2.Vec) (lo, hi float64) {
	d := r3.Add(r3.Scale(dir.X, p.x), r3.Scale(dir.Y, p.y))
	lo, hi = math.Inf(1), math.Inf(-1)
	for _, l := range p.lines {
		for _, q := range [2]r2.Vec{l.p, l.q} {
			h := r2.Dot(q, dir)
			lo, hi = min(lo, h), max(hi, h)
		}
	}
	for _, f := range upright {
		q := &s.p.Faces[f]
		if q.Kind != geom.Cylinder || !q.Hollow || !square(q.Axis, d) {
			continue
		}
		around := s.aroundAxis(f)
		a := s.arcsOf(f, around)
		c := r3.Dot(r3.Sub(q.At, p.at), d)
		if a.holds(around(r3.Add(q.At, d))) {
			hi = max(hi, c+q.Radius)
		}
		if a.holds(around(r3.Sub(q.At, d))) {
			lo = min(lo, c-q.Radius)
		}
	}
	return lo, hi
}
