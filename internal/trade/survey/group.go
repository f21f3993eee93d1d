package survey

import (
	"math"
	"slices"

	"fettle/internal/shape/geom"
	"fettle/internal/shape/mesh"
	"fettle/internal/shape/patch"

	"gonum.org/v1/gonum/spatial/r3"
)

// group is the set of faces round one opening.
type group struct {
	walls  []int32 // faces that stand along the axis, ascending
	mouths []int32 // cones that widen a round hole
	floors []int32 // faces that close it, or shelves within it
}

func (g *group) all() []int32 {
	return slices.Concat(g.walls, g.mouths, g.floors)
}

const (
	wallShare  = 0.5  // of a wall's area looks at the part
	sightShare = 0.04 // of a wall's area that looks at another joins them
	parallel   = 2 * math.Pi / 180
)

// findGroups gathers walls, mouths and floors.
func (s *surveyor) findGroups() {
	n := len(s.p.Faces)
	wall := make([]bool, n)
	for f := range wall {
		wall[f] = s.look[f].met >= wallShare
	}
	set := mesh.NewSets(n)
	// Walls that look at each other.
	for f := range wall {
		for _, g := range s.look[f].sight {
			if wall[f] && wall[g.face] && g.share >= sightShare && s.agree(int32(f), g.face) {
				set.Join(int32(f), g.face)
			}
		}
	}
	// Walls that run on into each other.
	for _, b := range s.borders {
		if wall[b.a] && wall[b.b] && b.valley+b.smooth > 0.5*b.length() && s.agree(b.a, b.b) {
			set.Join(b.a, b.b)
		}
	}
	// Round walls about one axis that meet: a bore and its countersink, which may
	// be too flat to see its own other side.
	member := slices.Clone(wall)
	for _, b := range s.borders {
		if (wall[b.a] || wall[b.b]) && s.coaxial(b.a, b.b) {
			member[b.a], member[b.b] = true, true
			set.Join(b.a, b.b)
		}
	}
	s.joinShelves(set, member)
	s.of = make([]int32, n)
	for f := range s.of {
		s.of[f] = -1
	}
	where := map[int32]int32{}
	for f := range n {
		if !member[f] {
			continue
		}
		root := set.Find(int32(f))
		i, ok := where[root]
		if !ok {
			i = int32(len(s.groups))
			where[root] = i
			s.groups = append(s.groups, &group{})
		}
		s.groups[i].walls = append(s.groups[i].walls, int32(f))
		s.of[f] = i
	}
	s.findFloors()
}

// joinShelves joins round walls about one axis that a flat ring between them
// connects: a counterbore and its bore, an undercut.
func (s *surveyor) joinShelves(set mesh.Sets, member []bool) {
	for f := range s.p.Faces {
		p := &s.p.Faces[f]
		if p.Kind != geom.Plane || len(s.beside[f]) < 2 {
			continue
		}
		first := int32(-1)
		fit := true
		for _, i := range s.beside[f] {
			o := s.borders[i].other(int32(f))
			q := &s.p.Faces[o]
			fit = fit && member[o] && s.round(o) && along(q.Axis, p.Axis) && (first < 0 || s.sameAxis(first, o))
			if first < 0 {
				first = o
			}
		}
		if !fit {
			continue
		}
		different := false
		for _, i := range s.beside[f] {
			o := s.borders[i].other(int32(f))
			different = different || math.Abs(s.p.Faces[o].Radius-s.p.Faces[first].Radius) > 1e-3*s.p.Faces[o].Radius
			set.Join(first, o)
		}
		if different {
			member[f] = true
			set.Join(first, int32(f))
		}
	}
}

// findFloors adds to each group the faces that close it. Faces that hang together
// over valleys or run smoothly into each other, a floor with the fillets round
// it, are taken together: they close a group when they meet its members in that
// way along most of their border, and no other group's.
func (s *surveyor) findFloors() {
	set := mesh.NewSets(len(s.p.Faces))
	for _, b := range s.borders {
		if s.of[b.a] < 0 && s.of[b.b] < 0 && s.within(b) {
			set.Join(b.a, b.b)
		}
	}
	type piece struct {
		faces     []int32
		group     int32
		with, sum float64
		spoilt    bool
	}
	at := map[int32]*piece{}
	var all []*piece
	for f := range s.p.Faces {
		if s.of[f] >= 0 {
			continue
		}
		root := set.Find(int32(f))
		if at[root] == nil {
			at[root] = &piece{group: -1}
			all = append(all, at[root])
		}
		at[root].faces = append(at[root].faces, int32(f))
	}
	for _, b := range s.borders {
		for _, side := range [2][2]int32{{b.a, b.b}, {b.b, b.a}} {
			f, o := side[0], side[1]
			if s.of[f] >= 0 || s.of[o] < 0 && set.Find(f) == set.Find(o) {
				continue
			}
			p, g := at[set.Find(f)], s.of[o]
			switch {
			case g >= 0 && s.within(b):
				p.spoilt = p.spoilt || p.group >= 0 && p.group != g
				p.group = g
				p.with += b.length()
				p.sum += b.length()
			case g < 0: // the outside; the mouth of an opening within does not count
				p.sum += b.length()
			}
		}
	}
	for _, p := range all {
		if p.group < 0 || p.spoilt || p.with < 0.5*p.sum {
			continue
		}
		s.groups[p.group].floors = append(s.groups[p.group].floors, p.faces...)
		for _, f := range p.faces {
			s.of[f] = p.group
		}
	}
}

// within reports whether two faces meet as the faces within a hollow do: in a
// valley, or smoothly where neither bulges out.
func (s *surveyor) within(b *border) bool {
	if b.valley > 0.5*b.length() {
		return true
	}
	return b.valley+b.smooth > 0.5*b.length() && !s.bulges(b.a) && !s.bulges(b.b)
}

// bulges reports whether a face is round the outward way.
func (s *surveyor) bulges(f int32) bool {
	p := &s.p.Faces[f]
	return p.Kind != geom.Plane && !p.Hollow
}

// roundings are the faces that round a group's mouth: narrow strips that bulge
// and run smoothly into its walls. They belong to the outside, but the mouth is
// where they end.
func (s *surveyor) roundings(g *group, width float64) []int32 {
	var out []int32
	seen := map[int32]bool{}
	for _, f := range g.walls {
		for _, i := range s.beside[f] {
			b := s.borders[i]
			o := b.other(f)
			if seen[o] || s.of[o] >= 0 || !s.bulges(o) || b.smooth < 0.5*b.length() {
				continue
			}
			seen[o] = true
			around := 0.0
			for _, j := range s.beside[o] {
				around += s.borders[j].length()
			}
			if strip := 2 * s.p.Faces[o].Area / around; strip < 0.5*width {
				out = append(out, o)
			}
		}
	}
	return out
}

// round reports whether a face is the inside of a cylinder or a cone.
func (s *surveyor) round(f int32) bool {
	p := &s.p.Faces[f]
	return p.Hollow && (p.Kind == geom.Cylinder || p.Kind == geom.Cone)
}

// coaxial reports whether two faces are insides of cylinders or cones about one
// axis.
func (s *surveyor) coaxial(a, b int32) bool {
	return s.round(a) && s.round(b) && s.sameAxis(a, b)
}

func (s *surveyor) sameAxis(a, b int32) bool {
	p, q := &s.p.Faces[a], &s.p.Faces[b]
	return along(p.Axis, q.Axis) && lineGap(p, q) < 0.02*max(p.Radius, q.Radius)+10*s.p.Tolerance
}

// lineGap is the distance between two nearly parallel axes beside the first
// face.
func lineGap(p, q *patch.Face) float64 {
	mid := r3.Add(p.At, r3.Scale(r3.Dot(r3.Sub(p.Centroid, p.At), p.Axis), p.Axis))
	return offAxis(q, mid)
}

// offAxis is the distance of a point from a face's axis.
func offAxis(f *patch.Face, x r3.Vec) float64 { return r3.Norm(r3.Cross(r3.Sub(x, f.At), f.Axis)) }

// along reports whether two unit vectors are parallel, either way.
func along(a, b r3.Vec) bool { return math.Abs(r3.Dot(a, b)) > math.Cos(parallel) }

// square reports whether two unit vectors are at right angles.
func square(a, b r3.Vec) bool { return math.Abs(r3.Dot(a, b)) < math.Sin(parallel) }

// agree reports whether two walls can stand along one axis. It keeps bores that
// cross apart.
func (s *surveyor) agree(a, b int32) bool {
	if a == b {
		return true
	}
	p, q := &s.p.Faces[a], &s.p.Faces[b]
	upright := func(k geom.Kind) bool { return k == geom.Cylinder || k == geom.Cone }
	switch {
	case upright(p.Kind) && upright(q.Kind):
		return along(p.Axis, q.Axis)
	case p.Kind == geom.Cylinder && q.Kind == geom.Plane:
		return square(p.Axis, q.Axis)
	case p.Kind == geom.Plane && q.Kind == geom.Cylinder:
		return square(p.Axis, q.Axis)
	}
	return true
}
