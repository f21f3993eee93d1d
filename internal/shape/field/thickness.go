package field

import (
	"context"
	"math"
	"slices"
)

// Thickness is the local thickness of the void, as a radius in mm: for each cell
// with a distance above 0 the largest of the radii such that a sphere of that
// radius, its middle at a point of the grid that is at least so far from the
// surface, covers the cell; 0 where none does, and in the material (T. Hildebrand
// and P. Rüegsegger, "A new method for the model-independent assessment of
// thickness in three-dimensional images", Journal of Microscopy 185 (1997) 67,
// for the radii given). Radii not above 0 are left out.
//
// Besides the answer's 4 bytes a cell it takes 5 more while it works. Errors are
// the context's and a grid too long for [Squares].
func Thickness(ctx context.Context, f *Field, radii []float64) ([]float32, error) {
	radii = slices.Clone(radii)
	slices.SortFunc(radii, func(a, b float64) int {
		switch {
		case a > b:
			return -1
		case a < b:
			return 1
		}
		return 0
	})
	out := make([]float32, len(f.D))
	seed := make([]bool, len(f.D))
	plane := f.N[0] * f.N[1]
	// A point that holds a larger sphere of the list has covered all that a
	// smaller one would: each is asked once, for the largest that fits.
	above := float32(math.Inf(1))
	first := true
	for _, r := range radii {
		if !(r > 0) {
			continue
		}
		level := float32(r)
		err := each(ctx, f.N[2], func(k int) {
			for i := k * plane; i < (k+1)*plane; i++ {
				d := f.D[i]
				seed[i] = d >= level && (first || d < above)
			}
		})
		if err != nil {
			return nil, err
		}
		sq, err := squaresWithin(ctx, seed, f.Grid, cellsSquared(r, f.Cell))
		if err != nil {
			return nil, err
		}
		err = each(ctx, f.N[2], func(k int) {
			for i := k * plane; i < (k+1)*plane; i++ {
				if sq[i] != Far && out[i] == 0 && f.D[i] > 0 {
					out[i] = level
				}
			}
		})
		if err != nil {
			return nil, err
		}
		above, first = level, false
	}
	return out, nil
}

// cellsSquared is the square of a radius in cells, rounded down, but for what
// the division of decimals loses.
func cellsSquared(r, cell float64) int32 {
	c := r / cell
	return int32(min(c*c*(1+1e-9), Far-1))
}
