package region

import (
	"context"

	"fettle/internal/shape/bvh"
	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// Shadow is the region over and under which there is some of a closed part between
// two heights, seen along Z, exact to the grid; what only touches one of the
// heights is not between. Two equal heights give the section there. The tree is not
// needed and may be nil. The only error is the context's.
//
// What a plumb line meets of the part between the heights, it leaves again through
// a facet that faces up or through the section at the upper height. The sum of the
// outlines of these facets and of that section therefore winds round a point as
// often as the line passes material, and in the sum the edges between two facets
// that face up cancel: what is left to be reckoned with is the edges where the
// part turns away from the eye.
func Shadow(ctx context.Context, m *mesh.Mesh, _ *bvh.Tree, from, to float64) (Region, error) {
	if err := ctx.Err(); err != nil || from > to {
		return Region{}, err
	}
	if from == to {
		return Section(m, from), ctx.Err()
	}
	flat := make([]pt, len(m.Pos))
	for i, p := range m.Pos {
		flat[i] = onGrid(r2.Vec{X: p.X, Y: p.Y})
	}
	var segs []segment
	for i, t := range m.Tri {
		if i%(1<<14) == 0 && ctx.Err() != nil {
			return Region{}, ctx.Err()
		}
		if turn(flat[t[0]], flat[t[1]], flat[t[2]]) <= 0 {
			continue
		}
		// The corners of what is left between the heights, on the way round.
		var rim [9]pt
		n := 0
		for k := range 3 {
			p, q := m.Pos[t[k]], m.Pos[t[(k+1)%3]]
			if p.Z > from && p.Z < to {
				rim[n] = flat[t[k]]
				n++
			}
			n = crossing(&rim, n, p, q, from, to)
		}
		for k := range n {
			segs = line(segs, rim[k], rim[(k+1)%n], 1, 0)
		}
	}
	segs = cancel(cuts(segs, m, to))
	if err := ctx.Err(); err != nil {
		return Region{}, err
	}
	return more(segs, 0), ctx.Err()
}

// crossing appends where the way from p to q enters or leaves what is between two
// heights.
func crossing(rim *[9]pt, n int, p, q r3.Vec, from, to float64) int {
	add := func(lo, hi r3.Vec, z float64) {
		rim[n] = pierce(lo, hi, z)
		n++
	}
	if p.Z <= from && q.Z > from {
		add(p, q, from)
	}
	if p.Z < to && q.Z >= to {
		add(p, q, to)
	}
	if p.Z >= to && q.Z < to {
		add(q, p, to)
	}
	if p.Z > from && q.Z <= from {
		add(q, p, from)
	}
	return n
}
