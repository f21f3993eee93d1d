package patch

import (
	"slices"

	"fettle/internal/shape/geom"
	"fettle/internal/shape/mesh"
)

// large is the number of triangles from which a smooth piece is first tried as a
// whole: a ball of a million facets is one fit and not a thousand starts.
const large = 2000

// wholePieces takes the large smooth pieces that are one round surface.
func (g *grower) wholePieces(piece []int32, n int) {
	size := make([]int, n)
	for _, p := range piece {
		size[p]++
	}
	tris := make([][]int32, n)
	for t, p := range piece {
		if size[p] >= large {
			tris[p] = append(tris[p], int32(t))
		}
	}
	for _, list := range tris {
		if list == nil {
			continue
		}
		flats := make([]int32, len(list))
		for i, t := range list {
			flats[i] = g.f.of[t]
		}
		slices.Sort(flats)
		s, ok := g.whole(slices.Compact(flats))
		if ok && s.Kind != geom.Plane && g.holds(&s, list) && g.p.sameSide(&s, list, steep) {
			g.take(list, s)
		}
	}
}

// holds reports whether every corner of the triangles lies on a surface.
func (g *grower) holds(s *geom.Surface, tris []int32) bool {
	for _, t := range tris {
		for _, v := range g.p.Mesh.Tri[t] {
			if d := s.Distance(g.p.Mesh.Pos[v]); d > g.p.Tolerance || d < -g.p.Tolerance {
				return false
			}
		}
	}
	return true
}

// pieces labels the triangles that hang together without steep edges.
func (g *grower) pieces() (label []int32, n int) {
	label = make([]int32, len(g.owner))
	for t := range label {
		label[t] = -1
	}
	var queue []int32
	for t := range label {
		if label[t] >= 0 {
			continue
		}
		label[t] = int32(n)
		queue = append(queue[:0], int32(t))
		for len(queue) > 0 {
			t := queue[len(queue)-1]
			queue = queue[:len(queue)-1]
			for k, u := range g.p.Topology.Across[t] {
				if turn := g.p.Turn[t][k]; u != mesh.NoTri && label[u] < 0 && turn <= steep && turn >= -steep {
					label[u] = int32(n)
					queue = append(queue, u)
				}
			}
		}
		n++
	}
	return label, n
}
