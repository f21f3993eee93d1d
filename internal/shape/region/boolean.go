package region

import (
	"slices"

	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r2"
)

// more is the region that segments wind round more than level times.
func more(segs []segment, level int32) Region {
	g := draw(segs, 1)
	return g.borders(g.sweep(nil), level).region()
}

// Of is the region that the loops wind round more often anticlockwise than
// clockwise, whatever they cross. Corners go to the grid, and so do crossings: no
// border moves by more than a unit. Corners on a straight line are left out, loops
// that are nowhere wider than a unit too. Each loop begins at its lowest corner,
// the leftmost of these, and loops are in the order of that.
func Of(loops ...[]r2.Vec) Region { return more(lines(nil, loops, 1, 0), 0) }

// Union is what lies in a or in any of the others.
func (a Region) Union(b ...Region) Region {
	segs := lines(nil, a.Loops, 1, 0)
	for _, r := range b {
		segs = lines(segs, r.Loops, 1, 0)
	}
	return more(segs, 0)
}

// Minus is what lies in a and not in b.
func (a Region) Minus(b Region) Region {
	return more(lines(lines(nil, a.Loops, 1, 0), b.Loops, -1, 0), 0)
}

// And is what lies in both.
func (a Region) And(b Region) Region {
	return more(lines(lines(nil, a.Loops, 1, 0), b.Loops, 1, 0), 1)
}

// Parts are the connected pieces, each with its holes, in the order of their
// outlines. Pieces that only touch at corners are not connected.
func (a Region) Parts() []Region {
	g := draw(lines(nil, a.Loops, 1, 0), 1)
	under := make([]int32, len(g.pts)) // the edge below each point, plus one
	b := g.borders(g.sweep(func(p, u int32, _, _ []int32) { under[p] = u + 1 }), 0)
	if len(b.edge) < len(g.from) {
		return Of(a.Loops...).Parts() // loops that cross, made by hand
	}
	walks := b.walks()
	walkOf := make([]int32, len(g.from))
	for w, walk := range walks {
		for _, k := range walk {
			walkOf[b.edge[k]] = int32(w)
		}
	}
	// A walk round a hole belongs to what lies below its first point: the material
	// round the hole reaches down to there.
	sets := mesh.NewSets(len(walks))
	for w, walk := range walks {
		first := b.from[walk[0]]
		for _, k := range walk {
			first = min(first, b.from[k])
		}
		if !b.outline(walk) {
			sets.Join(int32(w), walkOf[under[first]-1])
		}
	}
	number := make([]int, len(walks))
	var parts []Region
	seen := make([]int32, len(g.pts))
	for w, walk := range walks {
		s := sets.Find(int32(w))
		if number[s] == 0 {
			parts = append(parts, Region{})
			number[s] = len(parts)
		}
		p := &parts[number[s]-1]
		p.Loops = b.loops(p.Loops, walk, seen)
	}
	return inOrder(parts)
}

// outline reports whether a walk goes round anticlockwise: whether it turns left
// at its first point, where it has everything else on one side.
func (b *border) outline(walk []int32) bool {
	first := 0
	for i, k := range walk {
		if b.from[k] < b.from[walk[first]] {
			first = i
		}
	}
	// All its edges there go to the right. It may pass the point more than once;
	// the lowest of them tells.
	p := b.from[walk[first]]
	var out, in pt
	have := false
	for i, k := range walk {
		if b.from[k] != p {
			continue
		}
		o, c := b.g.pts[b.to[k]], b.g.pts[b.from[walk[(i+len(walk)-1)%len(walk)]]]
		if !have || turn(b.g.pts[p], out, o) < 0 {
			out = o
		}
		if !have || turn(b.g.pts[p], in, c) < 0 {
			in = c
		}
		have = true
	}
	return turn(b.g.pts[p], out, in) > 0
}

// inOrder sorts the loops of parts and then parts by their first loops.
func inOrder(parts []Region) []Region {
	for _, p := range parts {
		p.sort()
	}
	parts = slices.DeleteFunc(parts, Region.Empty)
	slices.SortFunc(parts, func(p, q Region) int { return compareLoops(p.Loops[0], q.Loops[0]) })
	return parts
}
