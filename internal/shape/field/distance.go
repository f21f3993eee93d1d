package field

import (
	"context"
	"math"

	"fettle/internal/shape/bvh"
	"fettle/internal/shape/cores"
	"fettle/internal/shape/geom"

	"gonum.org/v1/gonum/spatial/r3"
)

// bandCells is how far from the surface, in cells, distances are exact: those of
// the nearest triangle, whichever it is.
const bandCells = 3.25

// Distance measures the part on a grid. Up to three cells from the surface the
// distance is that of the nearest triangle, exactly, but for the rounding to
// float32. Farther off it is the distance of some triangle among those nearest to
// the cells around, and so never too small; on parts of every sort it was at most a
// tenth of a cell too long up to five cells off, and a fifth beyond (see the test). Where the grid does not hold the whole
// part, every point is asked exactly, which is slow.
//
// A point is in the material where the surface winds round it once or more, by
// counting what a line along X through the point crosses; where the surface does
// not close, by the winding number (see [bvh.Tree.Winding]).
//
// It takes 8 bytes a cell and about 60 for each cell that the surface passes
// through. The only error is the context's.
func Distance(ctx context.Context, tree *bvh.Tree, g Grid) (*Field, error) {
	f := &Field{Grid: g, D: make([]float32, g.Len())}
	if tree.Len() == 0 {
		for i := range f.D {
			f.D[i] = float32(math.Inf(1))
		}
		return f, ctx.Err()
	}
	band := bandCells * g.Cell
	if !g.holds(tree.Box()) {
		band = math.Inf(1)
	}
	near, err := findBand(ctx, tree, g, band)
	if err != nil {
		return nil, err
	}
	if !math.IsInf(band, 1) {
		s := seedsOf(tree, g, near)
		feature := make([]int32, g.Len())
		if err := s.reach(ctx, g, feature, f.D); err != nil {
			return nil, err
		}
		if err := s.measure(ctx, tree, g, feature, f.D); err != nil {
			return nil, err
		}
	}
	err = cores.Each(ctx, len(near), func(b int) {
		for _, c := range near[b] {
			f.D[c.at] = c.dist
		}
	})
	if err != nil {
		return nil, err
	}
	return f, sign(ctx, tree, f)
}

// holds reports whether a box lies within the grid with a cell to spare.
func (g Grid) holds(b geom.Box) bool {
	lo, hi := g.At(1, 1, 1), g.At(g.N[0]-2, g.N[1]-2, g.N[2]-2)
	return b.Min.X >= lo.X && b.Min.Y >= lo.Y && b.Min.Z >= lo.Z && b.Max.X <= hi.X && b.Max.Y <= hi.Y && b.Max.Z <= hi.Z
}

// close is a cell near the surface.
type close struct {
	at   int32 // index
	dist float32
	slot int32 // of the nearest triangle in the tree
}

// Blocks of cells, a coarse one holding 4 × 4 × 4 fine ones.
const (
	coarse = 16
	fine   = 4
)

// findBand lists, for each coarse block, its cells within the band.
func findBand(ctx context.Context, tree *bvh.Tree, g Grid, band float64) ([][]close, error) {
	var n [3]int
	for a := range 3 {
		n[a] = (g.N[a] + coarse - 1) / coarse
	}
	out := make([][]close, n[0]*n[1]*n[2])
	err := cores.Each(ctx, len(out), func(b int) {
		lo := [3]int{b % n[0] * coarse, b / n[0] % n[1] * coarse, b / n[0] / n[1] * coarse}
		w := bander{tree: tree, g: g, band: band}
		if slot, _, ok := w.near(lo, coarse, bvh.None); ok {
			for k := lo[2]; k < min(lo[2]+coarse, g.N[2]); k += fine {
				for j := lo[1]; j < min(lo[1]+coarse, g.N[1]); j += fine {
					for i := lo[0]; i < min(lo[0]+coarse, g.N[0]); i += fine {
						if s, far, ok := w.near([3]int{i, j, k}, fine, slot); ok {
							w.cells([3]int{i, j, k}, s, far)
						}
					}
				}
			}
		}
		out[b] = w.out
	})
	return out, err
}

type bander struct {
	tree *bvh.Tree
	g    Grid
	band float64
	out  []close
}

// near reports whether any cell of a block can lie within the band, the triangle
// nearest to its middle, and how far that is.
func (w *bander) near(lo [3]int, size int, slot int32) (int32, float64, bool) {
	mid := w.middle(lo, size)
	limit := w.band + float64(size-1)/2*math.Sqrt(3)*w.g.Cell*(1+1e-9)
	slot, _, d2 := w.tree.NearestBeside(mid, slot, limit*limit)
	return slot, math.Sqrt(d2), slot != bvh.None
}

// middle is that of a block of cells.
func (w *bander) middle(lo [3]int, size int) r3.Vec {
	half := float64(size-1) / 2 * w.g.Cell
	return r3.Add(w.g.At(lo[0], lo[1], lo[2]), r3.Vec{X: half, Y: half, Z: half})
}

// cells asks every cell of a fine block, to and fro, so that each begins with
// its neighbour's answer; far is how far the middle of the block is from the
// surface, and no cell is nearer than that less its way from there.
func (w *bander) cells(lo [3]int, slot int32, far float64) {
	mid := w.middle(lo, fine)
	hi := [3]int{min(lo[0]+fine, w.g.N[0]), min(lo[1]+fine, w.g.N[1]), min(lo[2]+fine, w.g.N[2])}
	limit2 := w.band * w.band
	back, turned := false, false
	for k := lo[2]; k < hi[2]; k++ {
		for y := lo[1]; y < hi[1]; y++ {
			j := y
			if turned {
				j = lo[1] + hi[1] - 1 - y
			}
			for x := lo[0]; x < hi[0]; x++ {
				i := x
				if back {
					i = lo[0] + hi[0] - 1 - x
				}
				p := w.g.At(i, j, k)
				if far > w.band && r3.Norm2(r3.Sub(p, mid)) < (far-w.band)*(far-w.band)*(1-1e-9) {
					continue
				}
				s, _, d2 := w.tree.NearestBeside(p, slot, limit2)
				if s == bvh.None {
					continue
				}
				slot = s
				w.out = append(w.out, close{int32(w.g.Index(i, j, k)), float32(math.Sqrt(d2)), s})
			}
			back = !back
		}
		turned = !turned
	}
}
