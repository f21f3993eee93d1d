package region

import (
	"slices"
	"sort"
)

// sweep finds below[e·layers+l], how often layer l winds round what is just below
// edge e, with a line that goes over the drawing from left to right and holds the
// edges that it cuts, from below. (M. I. Shamos and D. Hoey, Geometric intersection
// problems, FOCS 1976; here nothing crosses any more.) A line that leans a little
// makes one case of upright edges and others.
//
// at, where given, is told of each point: the edge below it, −1 for none, the
// edges that end there and those that begin there, from below.
func (g *graph) sweep(at func(p, under int32, ends, begins []int32)) (below []int32) {
	below = make([]int32, len(g.rise))
	var cut, begins []int32
	k := g.layers
	now := make([]int32, k)
	for p := range int32(len(g.pts)) {
		begins = begins[:0]
		for e := g.begin[p]; e < g.begin[p+1]; e++ {
			i := len(begins)
			begins = append(begins, e)
			for ; i > 0 && turn(g.pts[p], g.pts[g.to[begins[i-1]]], g.pts[g.to[e]]) < 0; i-- {
				begins[i] = begins[i-1]
			}
			begins[i] = e
		}
		i := sort.Search(len(cut), func(i int) bool {
			return turn(g.pts[g.from[cut[i]]], g.pts[g.to[cut[i]]], g.pts[p]) <= 0
		})
		j := i
		for j < len(cut) && g.to[cut[j]] == p {
			j++
		}
		if i == j && len(begins) == 0 {
			continue // a point at which nothing changes
		}
		under := int32(-1)
		clear(now)
		if i > 0 {
			under = cut[i-1]
			for l := range now {
				now[l] = below[int(under)*k+l] + g.rise[int(under)*k+l]
			}
		}
		for _, e := range begins {
			for l := range now {
				below[int(e)*k+l] = now[l]
				now[l] += g.rise[int(e)*k+l]
			}
		}
		if at != nil {
			at(p, under, cut[i:j], begins)
		}
		if j-i == len(begins) {
			copy(cut[i:j], begins)
		} else {
			cut = slices.Replace(cut, i, j, begins...)
		}
	}
	return below
}
