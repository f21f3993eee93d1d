package reach

import (
	"context"
	"math"

	"fettle/internal/shape/cores"
	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r3"
)

const (
	mostFacets = 300_000
	coarse     = 1.0 / 60  // of the diagonal: longest edge anywhere
	fine       = 1.0 / 250 // of the diagonal: edges not cut below it
	// uneven is by how much of itself the touching sphere may differ from a
	// neighbour's: where it differs more, the border of what media reach may run, and
	// facets are cut smaller. In a corner the radius is the distance to it, and so
	// facets there come to be as long as this share of that distance.
	uneven = 0.4
)

// skin is the part's surface in small facets, with the sphere that touches each.
type skin struct {
	pos   []r3.Vec
	tri   [][3]uint32
	from  []int32 // triangle of the part
	at    []r3.Vec
	area  []float64
	touch []float32 // radius of the touching sphere, up to the largest asked for
	by    []int32   // triangle of the part in its way, −1 for none

	known []bool // facets whose sphere is found
}

// cut makes the skin: edges no longer than a sixtieth of the part, and shorter
// where the touching sphere changes from facet to facet.
func (r *reacher) cut(ctx context.Context, largest float64) (*skin, error) {
	m := r.in.Mesh
	s := &skin{pos: append([]r3.Vec(nil), m.Pos...), tri: append([][3]uint32(nil), m.Tri...)}
	s.from = make([]int32, len(m.Tri))
	s.known = make([]bool, len(m.Tri))
	for t := range s.from {
		s.from[t] = int32(t)
	}
	r.finest = fine * r.diag
	if r.in.Void != nil {
		// A user who asks for a coarse grid wants a quick answer.
		r.finest = max(r.finest, 0.6*r.in.Void.Cell)
	}
	longest := max(coarse*r.diag, r.finest)
	for range 12 {
		if !s.split(func(int) float64 { return longest }, mostFacets) {
			break
		}
	}
	for round := 0; ; round++ {
		if err := r.touchAll(ctx, s, largest); err != nil {
			return nil, err
		}
		if round == 5 {
			return s, nil
		}
		rough := r.rough(s)
		more := false
		for range 8 {
			more = s.split(func(f int) float64 {
				if rough[f] {
					return r.finest
				}
				return longest
			}, mostFacets)
			if more || len(s.tri) < mostFacets/2 {
				break
			}
			// There would be too many facets, or there is nothing to cut.
			r.finest *= 1.4
		}
		if !more {
			return s, nil
		}
	}
}

// rough marks the facets whose sphere differs much from that of a neighbour on
// the same smooth piece of the surface.
func (r *reacher) rough(s *skin) []bool {
	out := make([]bool, len(s.tri))
	tp := mesh.NewTopology(&mesh.Mesh{Pos: s.pos, Tri: s.tri})
	for f, beside := range tp.Across {
		a := float64(s.touch[f])
		for _, g := range beside {
			if g < 0 || r.smooth.region[s.from[f]] != r.smooth.region[s.from[g]] {
				continue
			}
			if b := float64(s.touch[g]); math.Abs(a-b) > uneven*min(a, b) {
				out[f] = true
			}
		}
	}
	return out
}

// touchAll finds the spheres of the facets that are new.
func (r *reacher) touchAll(ctx context.Context, s *skin, largest float64) error {
	n := len(s.tri)
	s.at = grown(s.at, n)
	s.area = grown(s.area, n)
	s.touch = grown(s.touch, n)
	s.by = grown(s.by, n)
	return cores.Batches(ctx, n, 512, func(lo, hi int) {
		for f := lo; f < hi; f++ {
			if s.known[f] {
				continue
			}
			v := s.tri[f]
			a, b, c := s.pos[v[0]], s.pos[v[1]], s.pos[v[2]]
			s.at[f] = middle(a, b, c)
			s.area[f] = r3.Norm(r3.Cross(r3.Sub(b, a), r3.Sub(c, a))) / 2
			t, by := r.touching(s.from[f], s.at[f], largest)
			s.touch[f], s.by[f], s.known[f] = float32(t), by, true
		}
	})
}

func grown[T any](s []T, n int) []T {
	if n <= cap(s) {
		return s[:n]
	}
	out := make([]T, n, n+n/2)
	copy(out, s)
	return out
}

// split halves every edge that is longer than one of its facets may have, and
// cuts the facets there into two, three or four. Facets that share an edge share
// its middle. It reports whether it cut anything; it does not where that would leave
// more facets than the most allowed.
func (s *skin) split(longest func(f int) float64, most int) bool {
	mid := map[[2]uint32]uint32{}
	key := func(a, b uint32) [2]uint32 { return [2]uint32{min(a, b), max(a, b)} }
	var order [][2]uint32
	for f, v := range s.tri {
		l := longest(f)
		for k := range 3 {
			a, b := v[k], v[(k+1)%3]
			if r3.Norm2(r3.Sub(s.pos[a], s.pos[b])) > l*l {
				if e := key(a, b); mid[e] == 0 {
					mid[e] = 1
					order = append(order, e)
				}
			}
		}
	}
	// An edge that is cut adds a facet on each of its two sides.
	if len(order) == 0 || len(s.tri)+2*len(order) > most {
		return false
	}
	for _, e := range order {
		mid[e] = uint32(len(s.pos))
		s.pos = append(s.pos, r3.Scale(0.5, r3.Add(s.pos[e[0]], s.pos[e[1]])))
	}
	n := len(s.tri)
	for f := range n {
		v := s.tri[f]
		var m [3]uint32
		count := 0
		for k := range 3 {
			if m[k] = mid[key(v[k], v[(k+1)%3])]; m[k] > 0 {
				count++
			}
		}
		if count == 0 {
			continue
		}
		s.known[f] = false
		add := func(a, b, c uint32) {
			s.tri = append(s.tri, [3]uint32{a, b, c})
			s.from = append(s.from, s.from[f])
			s.known = append(s.known, false)
		}
		switch count {
		case 3:
			s.tri[f] = [3]uint32{m[0], m[1], m[2]}
			add(v[0], m[0], m[2])
			add(v[1], m[1], m[0])
			add(v[2], m[2], m[1])
		case 1:
			k := 0
			for m[k] == 0 {
				k++
			}
			a, b, c := v[k], v[(k+1)%3], v[(k+2)%3]
			s.tri[f] = [3]uint32{a, m[k], c}
			add(m[k], b, c)
		case 2:
			k := 0 // the side that stays whole
			for m[k] > 0 {
				k++
			}
			a, b, c := v[k], v[(k+1)%3], v[(k+2)%3]
			p, q := m[(k+1)%3], m[(k+2)%3] // on b c and on c a
			s.tri[f] = [3]uint32{p, c, q}
			if r3.Norm2(r3.Sub(s.pos[a], s.pos[p])) <= r3.Norm2(r3.Sub(s.pos[b], s.pos[q])) {
				add(a, b, p)
				add(a, p, q)
			} else {
				add(a, b, q)
				add(b, p, q)
			}
		}
	}
	return true
}

// mesh is the skin as a mesh whose vertices on sharp edges are there once for
// each side.
func (s *skin) mesh(sm *smooth) *mesh.Mesh {
	out := &mesh.Mesh{Tri: make([][3]uint32, len(s.tri))}
	type place struct {
		v      uint32
		region int32
	}
	first := make([]int32, len(s.pos)) // region of the first side, one more; 0 for none
	id := make([]uint32, len(s.pos))
	more := map[place]uint32{}
	for f, v := range s.tri {
		g := sm.region[s.from[f]]
		for k, p := range v {
			switch first[p] {
			case 0:
				first[p], id[p] = g+1, uint32(len(out.Pos))
				out.Pos = append(out.Pos, s.pos[p])
				out.Tri[f][k] = id[p]
			case g + 1:
				out.Tri[f][k] = id[p]
			default:
				n, ok := more[place{p, g}]
				if !ok {
					n = uint32(len(out.Pos))
					more[place{p, g}] = n
					out.Pos = append(out.Pos, s.pos[p])
				}
				out.Tri[f][k] = n
			}
		}
	}
	return out
}

// come finds the reach radius of each facet: that of the sphere that touches it,
// or less where a sphere that large cannot come.
//
// A sphere of radius p ≤ t that can come to the middle of the touching sphere of
// radius t lies within it, and can move on within it until it touches the same
// place; and one that touches the place can move to that middle the same way. So
// the largest that comes is the smaller of t and the passage at that middle.
// Passage is known at the grid's points, up to a cell short of the truth: the
// largest of the eight round the place counts, and a cell is given.
func (r *reacher) come() {
	s := r.skin
	r.radius, r.way = make([]float32, len(s.tri)), make([]float32, len(s.tri))
	for f := range s.tri {
		r.radius[f] = s.touch[f]
		r.way[f] = float32(math.Inf(1))
		if r.in.Void == nil || len(r.in.Void.Passage) == 0 {
			continue
		}
		t := s.from[f]
		c := r3.Add(s.at[f], r3.Scale(float64(s.touch[f]), r.smooth.at(t, s.at[f])))
		w, known := r.passage(c)
		if !known {
			continue
		}
		r.way[f] = float32(w)
		r.radius[f] = float32(min(float64(s.touch[f]), w))
	}
}

// passage is the radius of the largest sphere that can come to a place, with the
// cell that the grid may fall short of it; 0 where none comes. Where all the
// points round the place are in the material the gap is finer than the grid and
// nothing is known. Off the grid everything comes.
func (r *reacher) passage(c r3.Vec) (float64, bool) {
	v := r.in.Void
	q := [3]float64{(c.X - v.Origin.X) / v.Cell, (c.Y - v.Origin.Y) / v.Cell, (c.Z - v.Origin.Z) / v.Cell}
	var lo, hi [3]int
	for k := range 3 {
		if q[k] < 0 || q[k] > float64(v.N[k]-1) {
			return math.Inf(1), true
		}
		lo[k] = int(q[k])
		hi[k] = min(lo[k]+1, v.N[k]-1)
	}
	best, known := float32(0), false
	for _, z := range [2]int{lo[2], hi[2]} {
		for _, y := range [2]int{lo[1], hi[1]} {
			for _, x := range [2]int{lo[0], hi[0]} {
				if i := v.Index(x, y, z); v.D[i] > 0 {
					known = true
					best = max(best, v.Passage[i])
				}
			}
		}
	}
	if best > 0 {
		return float64(best) + v.Cell, true
	}
	return 0, known
}
