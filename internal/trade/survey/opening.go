package survey

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"fettle"
	"fettle/internal/shape/geom"

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
	for f := range s.of {
		s.of[f] = -1
	}
	s.groups = nil
	out := make([]fettle.Opening, 0, len(all))
	number := map[fettle.OpeningKind]int{}
	for i, a := range all {
		number[a.o.Kind]++
		a.o.ID = fmt.Sprintf("%s-%d", a.o.Kind, number[a.o.Kind])
		for _, f := range a.g.all() {
			s.of[f] = int32(i)
			a.o.Facets = append(a.o.Facets, s.p.Faces[f].Tris...)
		}
		slices.Sort(a.o.Facets)
		out = append(out, a.o)
		s.groups = append(s.groups, a.g)
	}
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

// rim is the line where an opening's faces meet others, in two parts by height
// along an axis.
type rim struct {
	top, bottom             float64 // mean heights
	topLength, bottomLength float64
	topRadius, bottomRadius float64 // mean distances from the axis
}

// rimOf walks the borders of a group. Heights count from at along the axis, the
// parts are those above and below mid. Edges along the axis, as at the open ends
// of a slot, are left out.
func (s *surveyor) rimOf(g *group, at, axis r3.Vec, mid float64) rim {
	var r rim
	in := map[int32]bool{}
	for _, f := range g.all() {
		in[f] = true
	}
	for _, f := range g.all() {
		for _, i := range s.beside[f] {
			b := s.borders[i]
			if in[b.other(f)] {
				continue
			}
			for _, e := range b.edges {
				v := s.m.Tri[e.tri]
				p, q := s.m.Pos[v[e.k]], s.m.Pos[v[(e.k+1)%3]]
				d := r3.Sub(q, p)
				l := r3.Norm(d)
				if l == 0 || math.Abs(r3.Dot(d, axis)) > 0.7*l {
					continue
				}
				c := r3.Sub(r3.Scale(0.5, r3.Add(p, q)), at)
				h := r3.Dot(c, axis)
				// The ends of the edge, not its middle, lie on the round surface.
				rad := (r3.Norm(r3.Cross(r3.Sub(p, at), axis)) + r3.Norm(r3.Cross(r3.Sub(q, at), axis))) / 2
				if h > mid {
					r.top, r.topLength, r.topRadius = r.top+l*h, r.topLength+l, r.topRadius+l*rad
				} else {
					r.bottom, r.bottomLength, r.bottomRadius = r.bottom+l*h, r.bottomLength+l, r.bottomRadius+l*rad
				}
			}
		}
	}
	if r.topLength > 0 {
		r.top, r.topRadius = r.top/r.topLength, r.topRadius/r.topLength
	}
	if r.bottomLength > 0 {
		r.bottom, r.bottomRadius = r.bottom/r.bottomLength, r.bottomRadius/r.bottomLength
	}
	return r
}

// flipped is the rim seen along the opposite axis.
func (r rim) flipped() rim {
	return rim{-r.bottom, -r.top, r.bottomLength, r.topLength, r.bottomRadius, r.topRadius}
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
func (s *surveyor) turn(f int32) float64 {
	p := &s.p.Faces[f]
	x := geom.Perpendicular(p.Axis)
	y := r3.Cross(p.Axis, x)
	var all []float64
	for _, t := range p.Tris {
		for _, v := range s.m.Tri[t] {
			d := r3.Sub(s.m.Pos[v], p.At)
			all = append(all, math.Atan2(r3.Dot(d, y), r3.Dot(d, x)))
		}
	}
	slices.Sort(all)
	gap := all[0] + 2*math.Pi - all[len(all)-1]
	for i := 1; i < len(all); i++ {
		gap = max(gap, all[i]-all[i-1])
	}
	if gap < widestStep {
		return 360
	}
	return 360 - degrees(gap)
}

// blocked reports whether the way from a point along d meets the part within a
// distance.
func (s *surveyor) blocked(p, d r3.Vec, within float64) bool {
	return s.tree.RayAny(p, d, 1e-9*s.diag, within)
}
