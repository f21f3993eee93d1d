package region

import (
	"cmp"
	"slices"
)

// faces cuts all that lies in some layer of a drawing into triangles over its
// points, and tells for each in which layers it lies.
//
// The sweep adds diagonals until every face is monotone: from a point that nothing
// reaches from the left, or nothing leaves to the right, to the nearest that the
// line has met, or meets next, between the same two edges. Monotone faces are cut
// point by point (M. R. Garey, D. S. Johnson, F. P. Preparata and R. E. Tarjan,
// Triangulating a simple polygon, Inf. Process. Lett. 7 (1978) 175).
type faces struct {
	tri [][3]int32 // turning left
	in  [][]bool   // by triangle and layer; triangles of a face share theirs
}

// halfEdge is a way along an edge or diagonal with a face on its left.
type halfEdge struct {
	from, to int32
	in       []bool // the layers that the face is in, nil for none
}

func (g *graph) faces(below []int32) faces {
	k := g.layers
	// within tells the layers below or above an edge.
	within := func(e int32, above bool) []bool {
		var in []bool
		for l := range k {
			w := below[int(e)*k+l]
			if above {
				w += g.rise[int(e)*k+l]
			}
			if w > 0 {
				if in == nil {
					in = make([]bool, k)
				}
				in[l] = true
			}
		}
		return in
	}
	var half []halfEdge
	join := func(u, v int32, left, right []bool) {
		half = append(half, halfEdge{u, v, left}, halfEdge{v, u, right})
	}
	above := make([][]bool, len(g.from))
	for e := range int32(len(g.from)) {
		above[e] = within(e, true)
		join(g.from[e], g.to[e], above[e], within(e, false))
	}
	// The last point met above each edge, and whether nothing left it to the right.
	last, stuck := make([]int32, len(g.from)), make([]bool, len(g.from))
	diagonal := func(p, e int32) { join(last[e], p, above[e], above[e]) }
	g.sweep(func(p, under int32, ends, begins []int32) {
		if under >= 0 && above[under] != nil {
			if len(ends) == 0 || stuck[under] {
				diagonal(p, under)
			}
			last[under], stuck[under] = p, len(begins) == 0
		}
		for _, e := range ends {
			if above[e] != nil && stuck[e] {
				diagonal(p, e)
			}
		}
		for _, e := range begins {
			last[e], stuck[e] = p, false
		}
	})
	return g.cutFaces(half)
}

// cutFaces walks round the faces between half edges, which come in pairs, and cuts
// those that are in a layer.
func (g *graph) cutFaces(half []halfEdge) faces {
	// Half edges round each point, anticlockwise from straight down.
	round := make([]int32, len(half))
	for i := range round {
		round[i] = int32(i)
	}
	slices.SortFunc(round, func(i, j int32) int {
		a, b := &half[i], &half[j]
		if c := cmp.Compare(a.from, b.from); c != 0 {
			return c
		}
		if l, r := a.to < a.from, b.to < b.from; l != r { // points are in order: to the left
			if l {
				return 1
			}
			return -1
		}
		return -int(min(max(turn(g.pts[a.from], g.pts[a.to], g.pts[b.to]), -1), 1))
	})
	rank := make([]int32, len(half))
	first := make([]int32, len(g.pts)+1)
	for r, i := range round {
		rank[i] = int32(r)
		first[half[i].from+1]++
	}
	for p := range g.pts {
		first[p+1] += first[p]
	}
	// After a half edge comes the one clockwise next to its way back.
	next := func(i int32) int32 {
		r := rank[i^1]
		p := half[i].to
		if r == first[p] {
			return round[first[p+1]-1]
		}
		return round[r-1]
	}
	var f faces
	done := make([]bool, len(half))
	var way []int32
	for i := range int32(len(half)) {
		if done[i] || half[i].in == nil {
			continue
		}
		way = way[:0]
		for h := i; !done[h]; h = next(h) {
			done[h] = true
			way = append(way, half[h].from)
		}
		n := len(f.tri)
		f.tri = g.cutMonotone(f.tri, way)
		for range f.tri[n:] {
			f.in = append(f.in, half[i].in)
		}
	}
	return f
}

// cutMonotone cuts a face whose points lie, in order, on a lower and an upper chain.
func (g *graph) cutMonotone(tri [][3]int32, way []int32) [][3]int32 {
	n := len(way)
	lo := 0
	for i, p := range way {
		if p < way[lo] {
			lo = i
		}
	}
	type corner struct {
		p     int32
		upper bool
	}
	put := func(a, b, c int32) {
		switch t := turn(g.pts[a], g.pts[b], g.pts[c]); {
		case t > 0:
			tri = append(tri, [3]int32{a, b, c})
		case t < 0:
			tri = append(tri, [3]int32{a, c, b})
		}
	}
	// i goes along the lower chain, j along the upper one.
	stack := []corner{{way[lo], false}}
	i, j := 1, n-1
	for range n - 1 {
		c := corner{way[(lo+i)%n], false}
		if u := way[(lo+j)%n]; u < c.p {
			c = corner{u, true}
			j--
		} else {
			i++
		}
		end := i > j // the last point is on both chains
		top := stack[len(stack)-1]
		if len(stack) > 1 && (end || c.upper != top.upper) {
			for s := 1; s < len(stack); s++ {
				put(stack[s-1].p, stack[s].p, c.p)
			}
			stack = append(stack[:0], top, c)
			continue
		}
		for len(stack) > 1 {
			o, p := stack[len(stack)-2], stack[len(stack)-1]
			if t := turn(g.pts[o.p], g.pts[p.p], g.pts[c.p]); t == 0 || t > 0 == c.upper {
				break
			}
			put(o.p, p.p, c.p)
			stack = stack[:len(stack)-1]
		}
		stack = append(stack, c)
	}
	return tri
}
