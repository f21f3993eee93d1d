package survey

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"fettle"
	"fettle/internal/shape/geom"
	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r3"
)

// widestStep is the largest turn of one facet about an axis: see patch.
const widestStep = 41 * math.Pi / 180

// openings describes the groups, drops those that are none, and puts them in
// order: by kind, the widest first, then the deepest, then by place.
func (s *surveyor) openings() []fettle.Opening {
	type found struct {
		o fettle.Opening
		g *group
	}
	var all []found
	for _, g := range s.groups {
		if o, ok := s.describe(g); ok {
			all = append(all, found{o, g})
		}
	}
	rank := map[fettle.OpeningKind]int{fettle.Hole: 0, fettle.Slot: 1, fettle.Pocket: 2}
	// Sizes that are the same on the drawing must not be told apart by rounding.
	grid := func(v float64) float64 { return math.Round(v * 1e3) }
	slices.SortStableFunc(all, func(a, b found) int {
		p, q := &a.o, &b.o
		return cmp.Or(
			cmp.Compare(rank[p.Kind], rank[q.Kind]),
			cmp.Compare(grid(q.WidthMM), grid(p.WidthMM)),
			cmp.Compare(grid(q.WidestMM), grid(p.WidestMM)),
			cmp.Compare(grid(q.DepthMM), grid(p.DepthMM)),
			cmp.Compare(grid(q.At[0]), grid(p.At[0])),
			cmp.Compare(grid(q.At[1]), grid(p.At[1])),
			cmp.Compare(grid(q.At[2]), grid(p.At[2])),
		)
	})
	kept := make([]int32, len(s.of))
	for f := range kept {
		kept[f] = -1
	}
	s.groups = nil
	out := make([]fettle.Opening, 0, len(all))
	number := map[fettle.OpeningKind]int{}
	for i, a := range all {
		number[a.o.Kind]++
		a.o.ID = fmt.Sprintf("%s-%d", a.o.Kind, number[a.o.Kind])
		for _, f := range a.g.all() {
			kept[f] = int32(i)
			a.o.Facets = append(a.o.Facets, s.p.Faces[f].Tris...)
		}
		slices.Sort(a.o.Facets)
		out = append(out, a.o)
		s.groups = append(s.groups, a.g)
	}
	s.of = kept
	return out
}

func (s *surveyor) describe(g *group) (fettle.Opening, bool) {
	if o, ok := s.hole(g); ok {
		return o, true
	}
	if o, ok, is := s.groove(g); is {
		return o, ok
	}
	return s.slotOrPocket(g)
}

// rim is the line where an opening's faces meet others, at both ends of its axis.
type rim struct {
	top, bottom             float64 // mean heights
	topLength, bottomLength float64 // 0 where there is none
	topRadius, bottomRadius float64 // mean distances from the axis
	topInner, bottomInner   float64 // lengths that border on another opening
}

// thread is a connected piece of a rim: what it measures below and above the
// middle of the walls, how far it turns about the axis, and its lowest and
// highest place.
type thread struct {
	half   [2]halfThread
	turn   float64
	steep  float64 // length along the axis, at the open ends of a slot
	lo, hi float64
}

type halfThread struct{ length, height, radius, inner float64 }

func (h *halfThread) add(o halfThread) {
	h.length, h.height = h.length+o.length, h.height+o.height
	h.radius, h.inner = h.radius+o.radius, h.inner+o.inner
}

// rimOf walks the borders of a group. Heights count from at along the axis; lo
// and hi are the ends of the walls. What runs round the axis is a mouth or its
// other end; the edge of a bore that breaks in from the side is not. Edges along
// the axis, as at the open ends of a slot, are left out.
func (s *surveyor) rimOf(g *group, extra []int32, at, axis r3.Vec, lo, hi float64) rim {
	in := map[int32]bool{}
	faces := slices.Concat(g.all(), extra)
	for _, f := range faces {
		in[f] = true
	}
	x := geom.Perpendicular(axis)
	y := r3.Cross(axis, x)
	type side struct {
		from, to   uint32
		own, other int32
	}
	var sides []side
	number := map[uint32]int32{}
	id := func(v uint32) int32 {
		n, ok := number[v]
		if !ok {
			n = int32(len(number))
			number[v] = n
		}
		return n
	}
	for _, f := range faces {
		for _, i := range s.beside[f] {
			b := s.borders[i]
			o := b.other(f)
			if in[o] {
				continue
			}
			for _, e := range b.edges {
				v := s.m.Tri[e.tri]
				p, q := v[e.k], v[(e.k+1)%3]
				if b.a != f {
					p, q = q, p
				}
				sides = append(sides, side{p, q, f, o})
				id(p)
				id(q)
			}
		}
	}
	set := mesh.NewSets(len(number))
	for _, e := range sides {
		set.Join(id(e.from), id(e.to))
	}
	parts := map[int32]*thread{}
	var order []*thread
	for _, e := range sides {
		root := set.Find(id(e.from))
		c := parts[root]
		if c == nil {
			c = &thread{lo: math.Inf(1), hi: math.Inf(-1)}
			parts[root] = c
			order = append(order, c)
		}
		p, q := r3.Sub(s.m.Pos[e.from], at), r3.Sub(s.m.Pos[e.to], at)
		ap, aq := math.Atan2(r3.Dot(p, y), r3.Dot(p, x)), math.Atan2(r3.Dot(q, y), r3.Dot(q, x))
		c.turn += math.Remainder(aq-ap, 2*math.Pi)
		d := r3.Sub(q, p)
		l := r3.Norm(d)
		hp, hq := r3.Dot(p, axis), r3.Dot(q, axis)
		c.lo, c.hi = min(c.lo, hp, hq), max(c.hi, hp, hq)
		if math.Abs(r3.Dot(d, axis)) > 0.7*l {
			c.steep += l
			continue
		}
		// The ends of the edge, not its middle, lie on a round surface.
		piece := halfThread{l, l * (hp + hq) / 2, l * (r3.Norm(r3.Cross(p, axis)) + r3.Norm(r3.Cross(q, axis))) / 2, 0}
		if w, h, ok := s.riseOf(e.own, e.other, s.m.Pos[e.from], s.m.Pos[e.to], at, axis); ok {
			w *= s.p.Faces[e.own].Radius
			piece = halfThread{w, w * h, w * s.p.Faces[e.own].Radius, 0}
		}
		if s.of[e.other] >= 0 {
			piece.inner = piece.length
		}
		if hp+hq > lo+hi {
			c.half[1].add(piece)
		} else {
			c.half[0].add(piece)
		}
	}
	return mouths(order, lo, hi)
}

// mouths takes the longest thread that runs round the axis at each end; where
// none does, as for an open slot, all that reach the ends of the walls.
func mouths(parts []*thread, lo, hi float64) rim {
	var ends [2]halfThread
	around := func(c *thread) bool { return math.Abs(c.turn) > math.Pi && c.steep < 0.5*(hi-lo) }
	if slices.ContainsFunc(parts, around) {
		for _, c := range parts {
			whole := c.half[0]
			whole.add(c.half[1])
			if !around(c) || whole.length == 0 {
				continue
			}
			end := 0
			if whole.height/whole.length > (lo+hi)/2 {
				end = 1
			}
			if whole.length > ends[end].length {
				ends[end] = whole
			}
		}
	} else {
		near := 0.05 * (hi - lo)
		for _, c := range parts {
			if c.lo < lo+near || c.hi > hi-near {
				ends[0].add(c.half[0])
				ends[1].add(c.half[1])
			}
		}
	}
	mean := func(sum, length float64) float64 { return sum / max(length, 1e-300) }
	b, t := ends[0], ends[1]
	return rim{
		top: mean(t.height, t.length), topLength: t.length, topRadius: mean(t.radius, t.length), topInner: t.inner,
		bottom: mean(b.height, b.length), bottomLength: b.length, bottomRadius: mean(b.radius, b.length), bottomInner: b.inner,
	}
}

// mouthBelow says which end of a through opening is its mouth: the wider, else
// the one on the outside of the part, else the one towards up, else the one in
// the positive direction.
func (s *surveyor) mouthBelow(r rim, axis r3.Vec) bool {
	inner := func(in, all float64) bool { return in > 0.5*all }
	ti, bi := inner(r.topInner, r.topLength), inner(r.bottomInner, r.bottomLength)
	up := r3.Dot(axis, s.up)
	switch {
	case r.bottomRadius > sameWidths*r.topRadius:
		return true
	case r.topRadius > sameWidths*r.bottomRadius:
		return false
	case ti != bi:
		return ti
	case math.Abs(up) > 1e-3:
		return up < 0
	}
	return s.backwards(axis)
}

// backwards reports whether a direction's largest component is negative.
func (s *surveyor) backwards(d r3.Vec) bool {
	a := geom.Array(d)
	k := 0
	for i := range a {
		if math.Abs(a[i]) > math.Abs(a[k])+1e-6 {
			k = i
		}
	}
	return a[k] < 0
}

// flipped is the rim seen along the opposite axis.
func (r rim) flipped() rim {
	return rim{-r.bottom, -r.top, r.bottomLength, r.topLength, r.bottomRadius, r.topRadius, r.bottomInner, r.topInner}
}

// extent is the range of heights of faces along an axis.
func (s *surveyor) extent(faces []int32, at, axis r3.Vec) (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for _, f := range faces {
		for _, t := range s.p.Faces[f].Tris {
			for _, v := range s.m.Tri[t] {
				h := r3.Dot(r3.Sub(s.m.Pos[v], at), axis)
				lo, hi = min(lo, h), max(hi, h)
			}
		}
	}
	return lo, hi
}

// level is the mean height of faces, by area.
func (s *surveyor) level(faces []int32, at, axis r3.Vec) float64 {
	sum, area := 0.0, 0.0
	for _, f := range faces {
		p := &s.p.Faces[f]
		sum += p.Area * r3.Dot(r3.Sub(p.Centroid, at), axis)
		area += p.Area
	}
	if area == 0 {
		return 0
	}
	return sum / area
}

// sweep is how much of a full turn faces cover about an axis, in degrees.
func (s *surveyor) sweep(faces []int32, at, axis r3.Vec) float64 {
	const steps = 120
	var hit [steps]bool
	x := geom.Perpendicular(axis)
	y := r3.Cross(axis, x)
	for _, f := range faces {
		for _, t := range s.p.Faces[f].Tris {
			var ang [3]float64
			for k, v := range s.m.Tri[t] {
				d := r3.Sub(s.m.Pos[v], at)
				ang[k] = math.Atan2(r3.Dot(d, y), r3.Dot(d, x))
			}
			lo, hi := 0.0, 0.0 // relative to the first corner, the short way
			for _, a := range ang[1:] {
				d := math.Remainder(a-ang[0], 2*math.Pi)
				lo, hi = min(lo, d), max(hi, d)
			}
			if hi-lo > math.Pi {
				continue // the triangle holds the axis
			}
			first := int(math.Floor((ang[0] + lo + 4*math.Pi) / (2 * math.Pi) * steps))
			last := int(math.Floor((ang[0] + hi + 4*math.Pi) / (2 * math.Pi) * steps))
			for i := first; i <= last; i++ {
				hit[i%steps] = true
			}
		}
	}
	n := 0
	for _, h := range hit {
		if h {
			n++
		}
	}
	return 360 * float64(n) / steps
}

// turn is how far a round face reaches about its axis, in degrees. Its corners lie
// on its ends, so that the widest gap between them is what it leaves open.
func (s *surveyor) turn(f int32) float64 { return degrees(s.arcsOf(f, s.aroundAxis(f)).turn()) }

// blocked reports whether the way from a point along d meets the part within a
// distance.
func (s *surveyor) blocked(p, d r3.Vec, within float64) bool {
	return s.tree.RayAny(p, d, 1e-9*s.diag, within)
}
