package field

import (
	"context"
	"math"
	"slices"
	"sync"
	"sync/atomic"

	"fettle/internal/shape/bvh"
	"fettle/internal/shape/cores"

	"gonum.org/v1/gonum/spatial/r3"
)

// crossing is where a row of the grid, a line along X, meets the surface: into
// the material +1, out of it −1.
type crossing struct {
	row  int32
	step int32
	x    float64 // in cells
}

// aside is how far, in cells, the lines lie off the rows, so that none of them
// runs along an edge or through a corner of a part drawn in round numbers.
var aside = [2]float64{1.3e-5, 2.9e-5}

// sign makes distances in the material negative.
func sign(ctx context.Context, tree *bvh.Tree, f *Field) error {
	rows, whole, err := crossings(ctx, tree, f.Grid)
	if err != nil {
		return err
	}
	if !whole {
		return signByWinding(ctx, tree, f)
	}
	nx := f.N[0]
	return cores.Each(ctx, len(rows), func(r int) {
		list := rows[r]
		if len(list) == 0 {
			return
		}
		row := f.D[r*nx : (r+1)*nx]
		in, next := int32(0), 0
		for i := range row {
			for next < len(list) && list[next].x < float64(i) {
				in += list[next].step
				next++
			}
			if in > 0 {
				row[i] = -row[i]
			}
		}
	})
}

// crossings are those of each row, in order; whole tells whether each row leaves
// the material as often as it enters it.
func crossings(ctx context.Context, tree *bvh.Tree, g Grid) (rows [][]crossing, whole bool, err error) {
	const stretch = 4096 // triangles
	n := (tree.Len() + stretch - 1) / stretch
	parts := make([][]crossing, n)
	if err := cores.Each(ctx, n, func(p int) {
		c := crosser{g: g}
		for t := p * stretch; t < min((p+1)*stretch, tree.Len()); t++ {
			c.triangle(tree.Corners(t))
		}
		parts[p] = c.out
	}); err != nil {
		return nil, false, err
	}
	start := make([]int32, g.N[1]*g.N[2]+1)
	for _, p := range parts {
		for _, c := range p {
			start[c.row+1]++
		}
	}
	for r := range start[1:] {
		start[r+1] += start[r]
	}
	all := make([]crossing, start[len(start)-1])
	fill := slices.Clone(start)
	for _, p := range parts {
		for _, c := range p {
			all[fill[c.row]] = c
			fill[c.row]++
		}
	}
	rows = make([][]crossing, len(start)-1)
	var torn atomic.Bool
	err = cores.Each(ctx, g.N[2], func(k int) {
		for r := k * g.N[1]; r < (k+1)*g.N[1]; r++ {
			rows[r] = all[start[r]:start[r+1]]
			slices.SortFunc(rows[r], func(a, b crossing) int {
				switch {
				case a.x < b.x:
					return -1
				case a.x > b.x:
					return 1
				}
				return int(a.step - b.step)
			})
			sum := int32(0)
			for _, c := range rows[r] {
				sum += c.step
			}
			if sum != 0 {
				torn.Store(true)
			}
		}
	})
	return rows, !torn.Load(), err
}

// crosser finds where rows meet triangles.
type crosser struct {
	g   Grid
	out []crossing
}

// triangle goes through the rows that a triangle's shadow on the YZ plane
// covers. Whether a row lies left or right of an edge is worked out from its two
// ends in an order that does not depend on the triangle, so that of two
// triangles along an edge exactly one is met.
func (c *crosser) triangle(a, b, d r3.Vec) {
	in := 1 / c.g.Cell
	var p [3][3]float64
	for i, v := range [...]r3.Vec{a, b, d} {
		v = r3.Scale(in, r3.Sub(v, c.g.Origin))
		p[i] = [3]float64{v.X, v.Y - aside[0], v.Z - aside[1]}
	}
	y0 := max(int(math.Ceil(min(p[0][1], p[1][1], p[2][1]))), 0)
	y1 := min(int(math.Floor(max(p[0][1], p[1][1], p[2][1]))), c.g.N[1]-1)
	z0 := max(int(math.Ceil(min(p[0][2], p[1][2], p[2][2]))), 0)
	z1 := min(int(math.Floor(max(p[0][2], p[1][2], p[2][2]))), c.g.N[2]-1)
	if y0 > y1 || z0 > z1 {
		return
	}
	x0, x1 := min(p[0][0], p[1][0], p[2][0]), max(p[0][0], p[1][0], p[2][0])
	for k := z0; k <= z1; k++ {
		for j := y0; j <= y1; j++ {
			y, z := float64(j), float64(k)
			s0, w0 := side(&p[1], &p[2], y, z)
			s1, w1 := side(&p[2], &p[0], y, z)
			s2, w2 := side(&p[0], &p[1], y, z)
			if s0 != s1 || s1 != s2 {
				continue
			}
			x := x0
			if w := w0 + w1 + w2; w != 0 {
				x = min(max((w0*p[0][0]+w1*p[1][0]+w2*p[2][0])/w, x0), x1)
			}
			// Counter-clockwise seen from +X, its outside looks to +X: the row leaves.
			c.out = append(c.out, crossing{int32(k*c.g.N[1] + j), -s0, x})
		}
	}
}

// side is +1 where a point lies to the left of the way from p to q, −1 to the
// right, with twice the area of the triangle that they make.
func side(p, q *[3]float64, y, z float64) (int32, float64) {
	flip := int32(1)
	if p[1] > q[1] || p[1] == q[1] && p[2] > q[2] {
		p, q, flip = q, p, -1
	}
	w := (q[1]-p[1])*(z-p[2]) - (q[2]-p[2])*(y-p[1])
	if w < 0 {
		return -flip, w * float64(flip)
	}
	return flip, w * float64(flip)
}

// signByWinding asks for the winding number wherever the surface may lie between
// a cell and the one before it in its row.
func signByWinding(ctx context.Context, tree *bvh.Tree, f *Field) error {
	nx := f.N[0]
	var first sync.Once
	return cores.Each(ctx, f.N[1]*f.N[2], func(r int) {
		first.Do(func() { tree.Winding(f.Origin) }) // prepares it
		j, k := r%f.N[1], r/f.N[1]
		row := f.D[r*nx : (r+1)*nx]
		before, in := float32(0), false
		for i, d := range row {
			if i == 0 || float64(before+d) <= f.Cell*1.001 {
				in = tree.Inside(f.At(i, j, k))
			}
			before = d
			if in {
				row[i] = -d
			}
		}
	})
}
