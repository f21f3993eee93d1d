package field

import (
	"context"
	"fmt"
	"math"
	"runtime"

	"fettle/internal/shape/cores"
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
	s, err := newSquarer(g)
	if err != nil {
		return nil, err
	}
	s.limit = limit
	err = s.run(ctx, func(at, n int, _ []bool) []bool { return mask[at : at+n] },
		func(at int, row []int32) { copy(s.sq[at:], row) })
	if err != nil {
		return nil, err
	}
	return s.sq, nil
}

// squarer measures squares in a box of a grid's cells.
type squarer struct {
	g      Grid
	limit  int32
	sq     []int32 // on the whole grid
	lo, hi [3]int  // the box; what lies off it counts as false
	// Only these columns of cells along Z, by j·nx + i, and along Y, by i, are
	// asked for, those above 0; nil for all.
	deep, across []int32

	magic []uint64
	hulls chan *hull // those not at work
}

func newSquarer(g Grid) (*squarer, error) {
	longest := max(g.N[0], g.N[1], g.N[2])
	if longest > longestAxis {
		return nil, fmt.Errorf("a grid of %d × %d × %d cells is too long to measure in: take larger cells, for at most %d along an axis", g.N[0], g.N[1], g.N[2], longestAxis)
	}
	s := &squarer{g: g, sq: make([]int32, g.Len()), hi: g.N, magic: reciprocals(longest)}
	s.hulls = make(chan *hull, runtime.GOMAXPROCS(0))
	return s, nil
}

// hull is one not at work, for columns of n cells.
func (s *squarer) hull(n int) *hull {
	var h *hull
	select {
	case h = <-s.hulls:
	default:
		h = newHull(s.g, s.magic)
	}
	h.n, h.pitch, h.limit = n, n+16, int(s.limit)
	return h
}

func (s *squarer) back(h *hull) {
	select {
	case s.hulls <- h:
	default:
	}
}

// run measures. It asks for the cells of each row of the box by the index of
// the first and their number, which may be put into the room given, and gives the
// squares of part of a row, by the index of the first. It gives rows with the
// same j one after another, not at once.
func (s *squarer) run(ctx context.Context, cells func(at, n int, room []bool) []bool, put func(at int, row []int32)) error {
	nx, ny := s.g.N[0], s.g.N[1]
	lo, hi := s.lo, s.hi
	width := hi[0] - lo[0]
	full := make([]bool, hi[2]-lo[2]) // planes with a true cell
	err := cores.Each(ctx, hi[2]-lo[2], func(k int) {
		k += lo[2]
		h := s.hull(hi[1] - lo[1])
		defer s.back(h)
		var some extent
		for j := lo[1]; j < hi[1]; j++ {
			at := s.g.Index(lo[0], j, k)
			if alongRow(cells(at, width, h.room), s.sq[at:at+width], s.limit) {
				some.add(j - lo[1])
			}
		}
		if full[k-lo[2]] = some.last > 0; !full[k-lo[2]] {
			return
		}
		spans(s.across, lo[0], hi[0], func(i, n int) {
			h.columns(s.sq, s.g.Index(i, lo[1], k), nx, n, some.first, some.last, func(at int, row []int32) { copy(s.sq[at:], row) })
		})
	})
	if err != nil {
		return err
	}
	var some extent
	for k, f := range full {
		if f {
			some.add(k)
		}
	}
	return cores.Each(ctx, hi[1]-lo[1], func(j int) {
		j += lo[1]
		h := s.hull(hi[2] - lo[2])
		defer s.back(h)
		var deep []int32
		if s.deep != nil {
			deep = s.deep[j*nx : (j+1)*nx]
		}
		spans(deep, lo[0], hi[0], func(i, n int) {
			h.columns(s.sq, s.g.Index(i, j, lo[2]), nx*ny, n, some.first, some.last, put)
		})
	})
}

// extent is where the first and the last of something are, last not included; 0
// and 0 while there is none.
type extent struct{ first, last int }

func (e *extent) add(i int) {
	if e.last == 0 {
		e.first = i
	}
	e.last = i + 1
}

// spans cuts what is asked for between two places into runs of at most hullTile,
// taking small gaps along.
func spans(asked []int32, from, to int, f func(at, n int)) {
	const gap = 4
	for i := from; i < to; {
		if asked != nil && asked[i] == 0 {
			i++
			continue
		}
		end := i + 1
		for next := end; next < min(to, i+hullTile) && next-end < gap; next++ {
			if asked == nil || asked[next] != 0 {
				end = next + 1
			}
		}
		f(i, end-i)
		i = end
	}
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
		if i > last+1 {
			gap := out[last+1 : i]
			half := len(gap) / 2
			if last < 0 {
				half = 0
			}
			ascend(gap[:half], reach)
			descend(gap[half:], reach)
		}
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
