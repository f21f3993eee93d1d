package region

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"
)

// border is the edges of a drawing between inside and outside, each directed so
// that the inside is on its left, and grouped by the point it leaves: from point p
// on those from first[p].
type border struct {
	g        *graph
	from, to []int32
	edge     []int32 // of the drawing
	first    []int32
	next     []int32 // which one follows
}

// borders keeps the edges that have more than level windings on one side only.
func (g *graph) borders(below []int32, level int32) *border {
	b := &border{g: g, first: make([]int32, len(g.pts)+1)}
	var keep []int32
	for e := range g.from {
		if (below[e] > level) != (below[e]+g.rise[e] > level) {
			keep = append(keep, int32(e))
		}
	}
	leaves := func(e int32) int32 {
		if below[e] > level {
			return g.to[e]
		}
		return g.from[e]
	}
	for _, e := range keep {
		b.first[leaves(e)+1]++
	}
	for p := range g.pts {
		b.first[p+1] += b.first[p]
	}
	at := slices.Clone(b.first)
	n := len(keep)
	b.from, b.to, b.edge, b.next = make([]int32, n), make([]int32, n), make([]int32, n), make([]int32, n)
	for _, e := range keep {
		p := leaves(e)
		i := at[p]
		at[p]++
		b.from[i], b.to[i], b.edge[i] = p, g.from[e]+g.to[e]-p, e
	}
	for i := range b.next {
		b.next[i] = b.follow(int32(i))
	}
	return b
}

// follow is the edge to go on with after edge i: that on the other side of the
// same corner of material, the first clockwise from where we came.
func (b *border) follow(i int32) int32 {
	p := b.to[i]
	best := b.first[p]
	o, back := b.g.pts[p], b.g.pts[b.from[i]]
	for k := best + 1; k < b.first[p+1]; k++ {
		if clockwise(o, back, b.g.pts[b.to[k]], b.g.pts[b.to[best]]) {
			best = k
		}
	}
	return best
}

// clockwise reports whether, turning clockwise about o from the direction of r, a
// comes before c.
func clockwise(o, r, a, c pt) bool {
	half := func(p pt) int { return cmp.Compare(turn(o, r, p), 0) }
	if h, k := half(a), half(c); h != k {
		return h < k
	}
	return turn(o, a, c) < 0
}

// walks are the closed walks along the border, as numbers of its edges; each goes
// once round one side of one connected piece.
func (b *border) walks() [][]int32 {
	done := make([]bool, len(b.next))
	var all [][]int32
	for i := range b.next {
		if done[i] {
			continue
		}
		var w []int32
		for k := int32(i); !done[k]; k = b.next[k] {
			done[k] = true
			w = append(w, k)
		}
		all = append(all, w)
	}
	return all
}

// loops cuts a walk where it comes to a point for the second time, so that no loop
// touches itself, and appends the loops without corners that are none.
func (b *border) loops(list [][]r2.Vec, walk []int32, seen []int32) [][]r2.Vec {
	var way []int32
	for _, k := range walk {
		p := b.from[k]
		if s := seen[p]; s > 0 {
			list = b.loop(list, way[s-1:])
			for _, q := range way[s-1:] {
				seen[q] = 0
			}
			way = way[:s-1]
		}
		way = append(way, p)
		seen[p] = int32(len(way))
	}
	list = b.loop(list, way)
	for _, q := range way {
		seen[q] = 0
	}
	return list
}

// loop appends one loop, from its lowest corner and of those the leftmost one,
// unless it is nowhere wider than rounding makes things.
func (b *border) loop(list [][]r2.Vec, way []int32) [][]r2.Vec {
	c := make([]pt, 0, len(way))
	for i, p := range way {
		o := b.g.pts[way[(i+len(way)-1)%len(way)]]
		if turn(o, b.g.pts[p], b.g.pts[way[(i+1)%len(way)]]) != 0 {
			c = append(c, b.g.pts[p])
		}
	}
	if len(c) < 3 {
		return list
	}
	area, round := 0.0, 0.0
	low := 0
	for i, p := range c {
		q := c[(i+1)%len(c)]
		area += float64(p.x-c[0].x)*float64(q.y-c[0].y) - float64(p.y-c[0].y)*float64(q.x-c[0].x)
		round += math.Hypot(float64(q.x-p.x), float64(q.y-p.y))
		if p.y < c[low].y || p.y == c[low].y && p.x < c[low].x {
			low = i
		}
	}
	if math.Abs(area) <= round { // mean width, area over half the way round, below a unit
		return list
	}
	loop := make([]r2.Vec, len(c))
	for i := range c {
		loop[i] = c[(low+i)%len(c)].vec()
	}
	return append(list, loop)
}

// region traces the whole border.
func (b *border) region() Region {
	var r Region
	seen := make([]int32, len(b.g.pts))
	for _, w := range b.walks() {
		r.Loops = b.loops(r.Loops, w, seen)
	}
	r.sort()
	return r
}

// sort puts loops in order of their first corners, from below.
func (a Region) sort() { slices.SortFunc(a.Loops, compareLoops) }

func compareLoops(p, q []r2.Vec) int {
	for i := range min(len(p), len(q)) {
		if c := cmp.Or(cmp.Compare(p[i].Y, q[i].Y), cmp.Compare(p[i].X, q[i].X)); c != 0 {
			return c
		}
	}
	return cmp.Compare(len(p), len(q))
}
