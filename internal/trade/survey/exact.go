package survey

import (
	"math"
	"slices"

	"fettle/internal/shape/geom"
	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r3"
)

// What the facets only approach, the surfaces that they were fitted to say
// exactly: lengths of curved edges, areas and arcs of round faces, the height of a
// bore's mouth on a curved face.

// known reports whether a face's surface is known beyond its facets.
func (s *surveyor) known(f int32) bool { return s.p.Faces[f].Kind != geom.Free }

// arc is the length of the curve in which two faces meet along a triangle's side:
// exact for a circle, whose tangents at the ends are across both faces' normals;
// the side itself where a face is free-form or the faces run into each other.
func (s *surveyor) arc(t int32, k int) float64 {
	chord := s.side(t, k)
	u := s.tp.Across[t][k]
	if u == mesh.NoTri {
		return chord
	}
	a, b := s.p.Face[t], s.p.Face[u]
	if a == b || !s.known(a) || !s.known(b) || s.p.Faces[a].Kind == geom.Plane && s.p.Faces[b].Kind == geom.Plane {
		return chord
	}
	v := s.m.Tri[t]
	tangent := func(q r3.Vec) (r3.Vec, bool) {
		c := r3.Cross(s.p.Faces[a].Normal(q), s.p.Faces[b].Normal(q))
		l := r3.Norm(c)
		return r3.Scale(1/max(l, 1e-300), c), l > 0.1
	}
	p, ok := tangent(s.m.Pos[v[k]])
	q, too := tangent(s.m.Pos[v[(k+1)%3]])
	half := math.Atan2(r3.Norm(r3.Cross(p, q)), r3.Dot(p, q)) / 2
	if !ok || !too || half < 1e-9 || half > math.Pi/4 {
		return chord
	}
	return chord * half / math.Sin(half)
}

// arcs are the angles of a face's corners about its axis, or of a torus about its
// tube, from the middle of the widest gap between them, which the face leaves open:
// the angle of that middle, and the first and last after it. A face that runs
// all round has none, and from and to are a full turn.
type arcs struct{ open, from, to float64 }

func (a arcs) turn() float64 { return a.to - a.from }

// of is an angle counted on from the middle of the gap.
func (a arcs) of(angle float64) float64 {
	d := math.Mod(angle-a.open, 2*math.Pi)
	if d < 0 {
		d += 2 * math.Pi
	}
	return d
}

// holds reports whether the face reaches to a direction.
func (a arcs) holds(angle float64) bool {
	d := a.of(angle)
	return a.turn() >= 2*math.Pi-1e-9 || d >= a.from && d <= a.to
}

func (s *surveyor) arcsOf(f int32, angle func(q r3.Vec) float64) arcs {
	var all []float64
	for _, t := range s.p.Faces[f].Tris {
		for _, v := range s.m.Tri[t] {
			all = append(all, angle(s.m.Pos[v]))
		}
	}
	slices.Sort(all)
	gap, after := all[0]+2*math.Pi-all[len(all)-1], all[0]
	for i := 1; i < len(all); i++ {
		if d := all[i] - all[i-1]; d > gap {
			gap, after = d, all[i]
		}
	}
	if gap < widestStep {
		return arcs{open: after, to: 2 * math.Pi}
	}
	return arcs{after - gap/2, gap / 2, 2*math.Pi - gap/2}
}

// aroundAxis is the angle of a point about a face's axis, up to a constant.
func (s *surveyor) aroundAxis(f int32) func(q r3.Vec) float64 {
	p := &s.p.Faces[f]
	x := geom.Perpendicular(p.Axis)
	y := r3.Cross(p.Axis, x)
	return func(q r3.Vec) float64 {
		d := r3.Sub(q, p.At)
		return math.Atan2(r3.Dot(d, y), r3.Dot(d, x))
	}
}

// aroundTube is the angle of a point about a torus's tube, from straight out.
func (s *surveyor) aroundTube(f int32) func(q r3.Vec) float64 {
	p := &s.p.Faces[f]
	return func(q r3.Vec) float64 {
		return math.Atan2(r3.Dot(r3.Sub(q, p.At), p.Axis), offAxis(p, q)-p.Major)
	}
}

// areaOf is the area of a piece of a cylinder or torus itself, by an integral round
// its border (Green): exact where that runs along the axis, the tube or straight
// round.
func (s *surveyor) areaOf(f int32) float64 {
	p := &s.p.Faces[f]
	around := s.aroundAxis(f)
	var upTo func(q r3.Vec) float64 // area up to q for a radian about the axis
	switch p.Kind {
	case geom.Cylinder:
		upTo = func(q r3.Vec) float64 { return p.Radius * r3.Dot(r3.Sub(q, p.At), p.Axis) }
	case geom.Torus:
		tube := s.aroundTube(f)
		a := s.arcsOf(f, tube)
		if a.turn() > 2*math.Pi-1e-9 {
			return p.Area // what is up and down is not told by its border
		}
		upTo = func(q r3.Vec) float64 {
			u := a.of(tube(q))
			return p.Radius * (p.Major*u + p.Radius*math.Sin(u+a.open))
		}
	default:
		return p.Area
	}
	sum := 0.0
	for _, t := range p.Tris {
		for k, u := range s.tp.Across[t] {
			if u != mesh.NoTri && s.p.Face[u] == f {
				continue
			}
			v := s.m.Tri[t]
			a, b := s.m.Pos[v[k]], s.m.Pos[v[(k+1)%3]]
			sum += (upTo(a) + upTo(b)) / 2 * math.Remainder(around(b)-around(a), 2*math.Pi)
		}
	}
	// A border that is far from what the facets say was not understood.
	if sum = math.Abs(sum); sum < 0.9*p.Area || sum > 1.5*p.Area {
		return p.Area
	}
	return sum
}

// riseOf is where a bore meets another face along one edge of its mouth: the angle
// about the axis that the edge takes, and the mean height over that angle. ok is
// false where either surface is known by its facets only.
func (s *surveyor) riseOf(bore, other int32, p, q, at, axis r3.Vec) (angle, height float64, ok bool) {
	b, o := &s.p.Faces[bore], &s.p.Faces[other]
	if b.Kind != geom.Cylinder || o.Kind == geom.Free || o.Kind == geom.Plane && along(o.Axis, axis) ||
		!along(b.Axis, axis) || offAxis(b, at) > 1e-3*b.Radius {
		return 0, 0, false
	}
	x := r3.Unit(across(r3.Sub(p, at), axis))
	y := r3.Cross(axis, x)
	d := r3.Sub(q, at)
	turn := math.Atan2(r3.Dot(d, y), r3.Dot(d, x))
	hp, hq := r3.Dot(r3.Sub(p, at), axis), r3.Dot(d, axis)
	// Gauss's rule of three points, exact to the fifth degree.
	for _, g := range [3][2]float64{{-math.Sqrt(0.6), 5.0 / 18}, {0, 8.0 / 18}, {math.Sqrt(0.6), 5.0 / 18}} {
		share := (1 + g[0]) / 2
		sin, cos := math.Sincos(turn * share)
		foot := r3.Add(at, r3.Scale(b.Radius, r3.Add(r3.Scale(cos, x), r3.Scale(sin, y))))
		h := hp + share*(hq-hp)
		// Newton along the line through foot.
		for range 8 {
			c := r3.Add(foot, r3.Scale(h, axis))
			slope := r3.Dot(o.Surface.Normal(c), axis)
			if math.Abs(slope) < 0.05 {
				return 0, 0, false
			}
			step := o.Distance(c) / slope
			h -= step
			if math.Abs(step) < 1e-12*s.diag {
				break
			}
		}
		if off := math.Abs(h - (hp + share*(hq-hp))); off > 0.5*r3.Norm(r3.Sub(q, p)) {
			return 0, 0, false
		}
		height += g[1] * h
	}
	return math.Abs(turn), height, true
}
