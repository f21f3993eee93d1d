package region

import (
	"cmp"
	"slices"

	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r3"
)

// side is side k of a triangle: the one after its corner k.
type side struct {
	key uint64 // of its two vertices
	tri int32
	k   int32
}

// part makes the mesh of triangles over vertices of a stack, with vertices of its
// own for each fan of triangles that goes on through edges; at edges with four
// triangles or more, it goes on to the one that bounds the same material.
func part(tri [][3]int32, plan []pt, at func(int32) r3.Vec) *mesh.Mesh {
	pairs := pairUp(sides(tri), tri, plan)
	corners := mesh.NewSets(3 * len(tri))
	for _, p := range pairs {
		s, t := p[0], p[1]
		// They run opposite ways, as neighbours do.
		corners.Join(3*s.tri+s.k, 3*t.tri+(t.k+1)%3)
		corners.Join(3*s.tri+(s.k+1)%3, 3*t.tri+t.k)
	}
	m := &mesh.Mesh{Tri: make([][3]uint32, len(tri))}
	number := make([]int32, 3*len(tri))
	fan := make([][3]int32, len(tri))
	for t := range tri {
		for c := range 3 {
			s := corners.Find(int32(3*t + c))
			if number[s] == 0 {
				m.Pos = append(m.Pos, at(tri[t][c]))
				number[s] = int32(len(m.Pos))
			}
			fan[t][c] = number[s] - 1
			m.Tri[t][c] = uint32(number[s] - 1)
		}
	}
	// An edge between the same two fans may still have four triangles: each pair gets
	// a vertex in the middle of it.
	middle := make([][3]int32, len(tri)) // plus one
	list := sides(fan)
	crowded := make([]bool, 3*len(tri))
	for i := 0; i < len(list); {
		j := i
		for j < len(list) && list[j].key == list[i].key {
			j++
		}
		for _, s := range list[i:j] {
			crowded[3*s.tri+s.k] = j-i > 2
		}
		i = j
	}
	any := false
	for _, p := range pairs {
		s, t := p[0], p[1]
		if crowded[3*s.tri+s.k] {
			any = true
			a, b := m.Pos[fan[s.tri][s.k]], m.Pos[fan[s.tri][(s.k+1)%3]]
			m.Pos = append(m.Pos, r3.Scale(0.5, r3.Add(a, b)))
			middle[s.tri][s.k], middle[t.tri][t.k] = int32(len(m.Pos)), int32(len(m.Pos))
		}
	}
	if any {
		m.Tri = halve(m.Tri, middle)
	}
	return m
}

// sides lists the sides of triangles, equal ones together.
func sides(tri [][3]int32) []side {
	list := make([]side, 0, 3*len(tri))
	for t, v := range tri {
		for k := range 3 {
			a, b := uint64(v[k]), uint64(v[(k+1)%3])
			list = append(list, side{min(a, b)<<32 | max(a, b), int32(t), int32(k)})
		}
	}
	slices.SortFunc(list, func(a, b side) int {
		return cmp.Or(cmp.Compare(a.key, b.key), cmp.Compare(a.tri, b.tri))
	})
	return list
}

// pairUp joins sides two by two, those that bound the same material. Seen along an
// edge, a triangle that runs along it has its material clockwise of it.
func pairUp(list []side, tri [][3]int32, plan []pt) [][2]side {
	var pairs [][2]side
	for i := 0; i < len(list); {
		j := i
		for j < len(list) && list[j].key == list[i].key {
			j++
		}
		group := list[i:j]
		i = j
		if len(group) == 2 {
			pairs = append(pairs, [2]side{group[0], group[1]})
			continue
		}
		a, b := int32(group[0].key>>32), int32(uint32(group[0].key))
		slices.SortFunc(group, func(s, t side) int {
			return around(plan, a, b, tri[s.tri][(s.k+2)%3], tri[t.tri][(t.k+2)%3])
		})
		for g, s := range group {
			if tri[s.tri][s.k] == a {
				pairs = append(pairs, [2]side{s, group[(g+len(group)-1)%len(group)]})
			}
		}
	}
	return pairs
}

// around orders vertices c and d anticlockwise about the edge from a to b, seen
// against its direction: by quarters where it is level, in plan where it is upright.
func around(plan []pt, a, b, c, d int32) int {
	n := int32(len(plan))
	if a%n == b%n { // b stands over a
		o := plan[a%n]
		left := func(i int32) bool { return i%n < a%n }
		if l, r := left(c), left(d); l != r {
			if l {
				return 1
			}
			return -1
		}
		return -int(min(max(turn(o, plan[c%n], plan[d%n]), -1), 1))
	}
	quarter := func(i int32) int {
		switch h := a / n; {
		case i/n > h:
			return 1
		case i/n < h:
			return 3
		case turn(plan[a%n], plan[b%n], plan[i%n]) > 0:
			return 0
		}
		return 2
	}
	return cmp.Compare(quarter(c), quarter(d))
}

// halve cuts triangles at the vertices in the middle of their sides.
func halve(tri [][3]uint32, middle [][3]int32) [][3]uint32 {
	var out [][3]uint32
	for t, v := range tri {
		// Turned so that the sides with a middle come first.
		m := middle[t]
		for range 2 {
			if m[0] == 0 || m[2] > 0 && m[1] == 0 {
				m = [3]int32{m[1], m[2], m[0]}
				v = [3]uint32{v[1], v[2], v[0]}
			}
		}
		p, q, r := uint32(m[0]-1), uint32(m[1]-1), uint32(m[2]-1)
		switch {
		case m[0] == 0:
			out = append(out, v)
		case m[1] == 0:
			out = append(out, [3]uint32{v[0], p, v[2]}, [3]uint32{p, v[1], v[2]})
		case m[2] == 0:
			out = append(out, [3]uint32{p, v[1], q}, [3]uint32{v[0], p, q}, [3]uint32{v[0], q, v[2]})
		default:
			out = append(out, [3]uint32{v[0], p, r}, [3]uint32{p, v[1], q}, [3]uint32{r, q, v[2]}, [3]uint32{p, q, r})
		}
	}
	return out
}
