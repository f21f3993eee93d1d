package region

import (
	"cmp"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"
)

// segment is a piece of a border from a to b, a before b in order. Crossing it
// from right to left raises by w how often one is wound round by the loops of a
// layer.
type segment struct {
	a, b     pt
	w, layer int32
}

// long is the length along the longer axis.
func (s *segment) long() int64 { return max(s.b.x-s.a.x, s.b.y-s.a.y, s.a.y-s.b.y) }

// line appends the segment from a to b, wound w times.
func line(list []segment, a, b pt, w, layer int32) []segment {
	switch order(a, b) {
	case 0:
		return list
	case 1:
		return append(list, segment{b, a, -w, layer})
	}
	return append(list, segment{a, b, w, layer})
}

// lines appends the sides of loops.
func lines(list []segment, loops [][]r2.Vec, w, layer int32) []segment {
	for _, loop := range loops {
		if len(loop) == 0 {
			continue
		}
		last := onGrid(loop[len(loop)-1])
		for _, p := range loop {
			q := onGrid(p)
			list = line(list, last, q, w, layer)
			last = q
		}
	}
	return list
}

// graph is a plane drawing of points in order and edges between them that meet
// at their ends only. Edge e runs from point from[e] to the later to[e]; edges are
// in order of both; begin[p] is the first from point p. rise[e·layers+l] is how much
// more often layer l winds round what is above the edge (on its left) than what
// is below.
type graph struct {
	pts      []pt
	from, to []int32
	begin    []int32
	layers   int
	rise     []int32
}

// draw splits segments where they cross or touch, and rounds the places to the
// grid, so that nothing crosses afterwards: every segment is led through the
// centres of all the pixels that hold an end or a crossing and that it passes
// (snap rounding; J. D. Hobby, Practical segment intersection with finite precision
// output, Comput. Geom. 13 (1999) 199; L. J. Guibas and D. H. Marimont, Rounding
// arrangements dynamically, Int. J. Comput. Geom. Appl. 8 (1998) 157). Nothing moves
// by more than half a pixel, and nothing changes sides. Equal edges become one;
// those at which nothing changes are left out.
func draw(segs []segment, layers int) *graph {
	segs = cancel(segs)
	if len(segs) == 0 {
		return &graph{layers: layers, begin: []int32{0}}
	}
	ix := newIndex(segs, len(segs))
	pts := make([]pt, 0, 2*len(segs))
	for _, s := range segs {
		pts = append(pts, s.a, s.b)
	}
	pts = crossings(pts, segs, ix)
	slices.SortFunc(pts, order)
	pts = slices.Compact(pts)
	if len(pts) > 4*len(segs) {
		ix = newIndex(segs, len(pts)) // many places to ask about are worth short pieces
	}

	// Which points each segment passes: counted first, then listed, so that each
	// list has its points in order.
	type pass struct{ seg, pt int32 }
	var passes []pass
	var near []int32
	seen := make([]int32, len(segs))
	count := make([]int32, len(segs)+1)
	for i, p := range pts {
		near = ix.near(near[:0], box{p.x, p.y, p.x, p.y}, 0)
		for _, k := range near {
			s := ix.of[k]
			if seen[s] == int32(i)+1 || !through(segs[s].a, segs[s].b, p) {
				continue
			}
			seen[s] = int32(i) + 1
			passes = append(passes, pass{s, int32(i)})
			count[s+1]++
		}
	}
	for s := range segs {
		count[s+1] += count[s]
	}
	at := slices.Clone(count)
	route := make([]int32, len(passes))
	for _, p := range passes {
		route[at[p.seg]] = p.pt
		at[p.seg]++
	}

	var pieces []piece
	for s, e := range segs {
		r := route[count[s]:count[s+1]]
		if e.b.y < e.a.y {
			downwards(r, pts)
		}
		for k := 1; k < len(r); k++ {
			u, v, w := r[k-1], r[k], e.w
			if u > v {
				u, v, w = v, u, -w
			}
			pieces = append(pieces, piece{uint64(u)<<32 | uint64(v), w, e.layer})
		}
	}
	return merge(pts, pieces, layers)
}

// cancel sorts segments and adds up equal ones; those that come to nothing go.
func cancel(segs []segment) []segment {
	segs = slices.Clone(segs)
	slices.SortFunc(segs, func(s, t segment) int {
		if c := order(s.a, t.a); c != 0 {
			return c
		}
		if c := order(s.b, t.b); c != 0 {
			return c
		}
		return cmp.Compare(s.layer, t.layer)
	})
	n := 0
	for i := 0; i < len(segs); {
		s := segs[i]
		for i++; i < len(segs) && segs[i].a == s.a && segs[i].b == s.b && segs[i].layer == s.layer; i++ {
			s.w += segs[i].w
		}
		if s.w != 0 {
			segs[n] = s
			n++
		}
	}
	return segs[:n]
}

// crossings appends the pixels in which segments cross.
func crossings(pts []pt, segs []segment, ix *index) []pt {
	var near []int32
	for k, b := range ix.level[0] {
		near = ix.near(near[:0], b, k+1)
		s := &segs[ix.of[k]]
		for _, j := range near {
			t := &segs[ix.of[j]]
			if s == t || s.a == t.a || s.b == t.b || s.a == t.b || s.b == t.a ||
				s.b.x < t.a.x || t.b.x < s.a.x {
				continue
			}
			if c, d := turn(s.a, s.b, t.a), turn(s.a, s.b, t.b); c == 0 || d == 0 || c > 0 == (d > 0) {
				continue
			}
			if c, d := turn(t.a, t.b, s.a), turn(t.a, t.b, s.b); c == 0 || d == 0 || c > 0 == (d > 0) {
				continue
			}
			pts = append(pts, meet(s.a, s.b, t.a, t.b))
		}
	}
	return pts
}

// downwards turns the points of a falling segment that stand over one another,
// which came in order from below.
func downwards(r []int32, pts []pt) {
	for i := 0; i < len(r); {
		j := i + 1
		for j < len(r) && pts[r[j]].x == pts[r[i]].x {
			j++
		}
		slices.Reverse(r[i:j])
		i = j
	}
}

// piece is an edge before equal ones are joined: the number of its first point
// in the upper half of the key, of its last in the lower.
type piece struct {
	key      uint64
	w, layer int32
}

func merge(pts []pt, pieces []piece, layers int) *graph {
	slices.SortFunc(pieces, func(a, b piece) int { return cmp.Compare(a.key, b.key) })
	g := &graph{pts: pts, layers: layers, begin: make([]int32, len(pts)+1)}
	sum := make([]int32, layers)
	for i := 0; i < len(pieces); {
		clear(sum)
		key, changes := pieces[i].key, false
		for ; i < len(pieces) && pieces[i].key == key; i++ {
			sum[pieces[i].layer] += pieces[i].w
		}
		for _, w := range sum {
			changes = changes || w != 0
		}
		if changes {
			g.from, g.to = append(g.from, int32(key>>32)), append(g.to, int32(uint32(key)))
			g.rise = append(g.rise, sum...)
			g.begin[key>>32+1]++
		}
	}
	for p := range pts {
		g.begin[p+1] += g.begin[p]
	}
	return g
}
