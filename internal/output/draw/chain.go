package draw

import (
	"math"
	"slices"
)

type polyline struct {
	pts    []Pt
	closed bool
}

// chain joins segments end to end into polylines. Ends count as one when they
// fall into the same cell of a grid of the given pitch; segments that lie on
// another are dropped. The order follows the segments.
func chain(segs []segment, pitch float64) []polyline {
	type cell struct{ x, y int64 }
	type pair struct{ a, b int32 }
	key := func(p Pt) cell { return cell{int64(math.Round(p.X / pitch)), int64(math.Round(p.Y / pitch))} }
	node := make(map[cell]int32)
	var at []Pt
	id := func(p Pt) int32 {
		k := key(p)
		n, ok := node[k]
		if !ok {
			n = int32(len(at))
			node[k] = n
			at = append(at, p)
		}
		return n
	}
	seen := make(map[pair]bool)
	var edges []pair
	for _, s := range segs {
		a, b := id(s.a), id(s.b)
		if a == b {
			continue
		}
		p := pair{min(a, b), max(a, b)}
		if !seen[p] {
			seen[p] = true
			edges = append(edges, p)
		}
	}
	touch := make([][]int32, len(at)) // edges at a node
	for i, e := range edges {
		touch[e.a] = append(touch[e.a], int32(i))
		touch[e.b] = append(touch[e.b], int32(i))
	}
	used := make([]bool, len(edges))
	walk := func(e, from int32) polyline {
		pts := []Pt{at[from]}
		first := from
		for {
			used[e] = true
			next := edges[e].a
			if next == from {
				next = edges[e].b
			}
			if next == first {
				return polyline{pts, true}
			}
			pts = append(pts, at[next])
			if len(touch[next]) != 2 {
				return polyline{pts, false}
			}
			other := touch[next][0]
			if other == e {
				other = touch[next][1]
			}
			if used[other] {
				return polyline{pts, false}
			}
			from, e = next, other
		}
	}
	var out []polyline
	// Chains that end somewhere first, then rings.
	for i, e := range edges {
		for _, end := range [2]int32{e.a, e.b} {
			if !used[i] && len(touch[end]) != 2 {
				out = append(out, walk(int32(i), end))
			}
		}
	}
	for i, e := range edges {
		if !used[i] {
			out = append(out, walk(int32(i), e.a))
		}
	}
	return out
}

// simplify drops points that lie within tol of the line that is left
// (Douglas & Peucker, Cartographica 10 (1973) 112).
func simplify(pts []Pt, closed bool, tol float64) []Pt {
	if len(pts) < 3 {
		return pts
	}
	if closed {
		far, best := 0, -1.0
		for i, p := range pts {
			if d := math.Hypot(p.X-pts[0].X, p.Y-pts[0].Y); d > best {
				far, best = i, d
			}
		}
		if far == 0 {
			return pts[:1]
		}
		a := simplify(pts[:far+1], false, tol)
		b := simplify(append(slices.Clone(pts[far:]), pts[0]), false, tol)
		return append(slices.Clone(a), b[1:len(b)-1]...)
	}
	keep := make([]bool, len(pts))
	keep[0], keep[len(pts)-1] = true, true
	stack := [][2]int{{0, len(pts) - 1}}
	for len(stack) > 0 {
		lo, hi := stack[len(stack)-1][0], stack[len(stack)-1][1]
		stack = stack[:len(stack)-1]
		far, best := -1, tol
		for i := lo + 1; i < hi; i++ {
			if d := fromSegment(pts[i], pts[lo], pts[hi]); d > best {
				far, best = i, d
			}
		}
		if far > 0 {
			keep[far] = true
			stack = append(stack, [2]int{lo, far}, [2]int{far, hi})
		}
	}
	var out []Pt
	for i, p := range pts {
		if keep[i] {
			out = append(out, p)
		}
	}
	return out
}

// fromSegment is the distance of p from the segment ab.
func fromSegment(p, a, b Pt) float64 {
	dx, dy := b.X-a.X, b.Y-a.Y
	l2 := dx*dx + dy*dy
	s := 0.0
	if l2 > 0 {
		s = min(1, max(0, ((p.X-a.X)*dx+(p.Y-a.Y)*dy)/l2))
	}
	return math.Hypot(p.X-a.X-s*dx, p.Y-a.Y-s*dy)
}
