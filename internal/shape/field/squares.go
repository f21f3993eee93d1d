package field

import (
	"context"
	"fmt"
	"math"
)

// Far stands for a squared distance to nothing.
const Far = math.MaxInt32

// longestAxis keeps the squares of distances below Far: 3 × 26 754² < 2³¹.
const longestAxis = 26754

// Squares measures from each cell to the nearest true one: the square of the
// distance in cells, exactly, or Far where there is no true cell. It goes along
// rows, columns and in depth, each time taking the lower envelope of parabolas
// (P. F. Felzenszwalb and D. P. Huttenlocher, "Distance Transforms of Sampled
// Functions", Theory of Computing 8 (2012) 415; in integers, A. Meijster, J. B. T.
// M. Roerdink and W. H. Hesselink, "A General Algorithm for Computing Distance
// Transforms in Linear Time", in Mathematical Morphology and its Applications to
// Image and Signal Processing (2000) 331). It takes the answer's 4 bytes a cell.
//
// Errors are the context's, and a grid longer than 26 754 cells, whose squares
// would be too large.
func Squares(ctx context.Context, mask []bool, g Grid) ([]int32, error) {
	return squaresWithin(ctx, mask, g, Far-1)
}

// squaresWithin is Squares, but Far where the square is greater than limit.
func squaresWithin(ctx context.Context, mask []bool, g Grid, limit int32) ([]int32, error) {
	if max(g.N[0], g.N[1], g.N[2]) > longestAxis {
		return nil, fmt.Errorf("a grid of %d × %d × %d cells is too long to measure in: take larger cells, for at most %d along an axis", g.N[0], g.N[1], g.N[2], longestAxis)
	}
	out := make([]int32, g.Len())
	nx, ny, nz := g.N[0], g.N[1], g.N[2]
	magic := reciprocals(max(ny, nz))
	empty := make([]bool, nz) // planes without anything in reach
	err := each(ctx, nz, func(k int) {
		plane := out[k*nx*ny : (k+1)*nx*ny]
		any := false
		for j := range ny {
			b := j * nx
			if alongRow(mask[k*nx*ny+b:k*nx*ny+b+nx], plane[b:b+nx], limit) {
				any = true
			}
		}
		if empty[k] = !any; any {
			newHull(ny, limit, magic).columns(plane, 0, nx, nx)
		}
	})
	if err != nil {
		return nil, err
	}
	stretches := (nx + hullTile - 1) / hullTile
	err = each(ctx, ny*stretches, func(n int) {
		j, i := n/stretches, n%stretches*hullTile
		newHull(nz, limit, magic).columns(out, j*nx+i, nx*ny, min(hullTile, nx-i))
	})
	return out, err
}

// alongRow sets the squares of the distances to the nearest true cell of a row,
// and reports whether there is one.
func alongRow(mask []bool, out []int32, limit int32) bool {
	reach := len(mask)
	if int(limit) < reach*reach {
		reach = int(math.Sqrt(float64(limit)))
	}
	last := -1
	for i, m := range mask {
		if !m {
			continue
		}
		gap := out[last+1 : i]
		half := len(gap) / 2
		if last < 0 {
			half = 0
		}
		ascend(gap[:half], reach)
		descend(gap[half:], reach)
		out[i] = 0
		last = i
	}
	if last < 0 {
		for i := range out {
			out[i] = Far
		}
		return false
	}
	ascend(out[last+1:], reach)
	return true
}

func ascend(out []int32, reach int) {
	near := min(reach, len(out))
	for i := range out[:near] {
		out[i] = int32((i + 1) * (i + 1))
	}
	for i := near; i < len(out); i++ {
		out[i] = Far
	}
}

func descend(out []int32, reach int) {
	n := len(out)
	far := max(n-reach, 0)
	for i := range out[:far] {
		out[i] = Far
	}
	for i := far; i < n; i++ {
		out[i] = int32((n - i) * (n - i))
	}
}

// reciprocals hold 2⁴⁸/(2e), rounded up, for 0 < e < n. With them a division of
// a < 4n² by 2e is a product: a·2e < 2⁴⁸ keeps the rest too small to matter.
func reciprocals(n int) []uint64 {
	m := make([]uint64, max(n, 1))
	for e := 1; e < n; e++ {
		d := uint64(2 * e)
		m[e] = (1<<48 + d - 1) / d
	}
	return m
}

// hullTile is how many neighbouring columns are worked on together, so that
// each line of the cache that comes is used whole.
const hullTile = 32

// hull works on columns of n cells.
type hull struct {
	n     int
	limit int
	magic []uint64
	f     []int32 // hullTile × n, column by column
	arcs  []arc
}

// arc is a parabola of the lower envelope.
type arc struct {
	v, w int // where it stands and how high
	h    int // w + v²
	from int // the first cell where it is lowest
}

func newHull(n int, limit int32, magic []uint64) *hull {
	return &hull{n: n, limit: int(limit), magic: magic, f: make([]int32, hullTile*n), arcs: make([]arc, n+1)}
}

// columns takes columns that begin side by side at an index.
func (e *hull) columns(a []int32, at, stride, columns int) {
	n := e.n
	for c0 := 0; c0 < columns; c0 += hullTile {
		m := min(hullTile, columns-c0)
		for r := range n {
			for c, v := range a[at+c0+r*stride : at+c0+r*stride+m] {
				e.f[c*n+r] = v
			}
		}
		for c := range m {
			e.column(e.f[c*n : (c+1)*n])
		}
		for r := range n {
			row := a[at+c0+r*stride : at+c0+r*stride+m]
			for c := range row {
				row[c] = e.f[c*n+r]
			}
		}
	}
}

// column replaces heights by the lower envelope of the parabolas that stand on
// them.
func (e *hull) column(f []int32) {
	n := len(f)
	arcs := e.arcs
	m := 0
	for r, w := range f {
		if w == Far {
			continue
		}
		h := int(w) + r*r
		from := 0
		for m > 0 {
			// From x on, where 2x(r−v) ≥ the difference, this arc is the lower one.
			top := &arcs[m-1]
			diff, e2 := h-top.h, 2*(r-top.v)
			if diff <= top.from*e2 {
				m--
				continue
			}
			from = n
			if diff <= (n-1)*e2 {
				from = int(uint64(diff+e2-1) * e.magic[r-top.v] >> 48)
			}
			break
		}
		if from < n {
			arcs[m] = arc{r, int(w), h, from}
			m++
		}
	}
	if m == 0 {
		return
	}
	arcs[m].from = n
	for k := range m {
		a := &arcs[k]
		part := f[a.from:arcs[k+1].from]
		d := a.from - a.v
		for i := range part {
			s := d*d + a.w
			if s > e.limit {
				s = Far
			}
			part[i] = int32(s)
			d++
		}
	}
}
