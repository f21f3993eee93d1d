package relief

import (
	"context"
	"math"
)

// Options are what a sweep needs beside its moves. The zero value asks for no
// owners and starts from metal up to zero.
type Options struct {
	// Stock is the height of the metal before the first move, mm.
	Stock float64
	// NoStock is for a surface that consists of cuts alone: Stock is not looked at,
	// and cells that no move reaches have no height.
	NoStock bool
	// Owner asks for the move that made each cell.
	Owner bool
	// Progress is told of blocks done; it is called from one goroutine at a time.
	Progress func(done, total int)
}

// Untouched is the owner of a cell that no move made.
const Untouched = -1

// Sweep is the surface that is left when tools have made all their moves: at
// the middle of each cell of the grid the lowest height that any of them
// reached, exact for the swept end of the tool. Order does not matter; shanks
// and holders are not looked at.
//
// With Owner set the second result holds the index of the move that made each
// cell ([Untouched] for none; the first of those that come equally low). Time
// grows with cells and moves, not with their product; see [lowest]. The result
// is the same, bit for bit, for any number of cores. It fails on a move without
// a place, a tool without a size, and when ctx is done.
func Sweep(ctx context.Context, g Grid, tools []Tool, list []Move, opt Options) (*Map, []int32, error) {
	f, err := newMoves(tools, list)
	if err != nil {
		return nil, nil, err
	}
	top := opt.Stock
	if opt.NoStock {
		top = math.Inf(1)
	}
	out := &Map{Grid: g, Base: middle(list), Z: make([]float32, g.Cells())}
	start := float32(top - out.Base)
	if math.IsInf(top, 1) {
		start = float32(math.NaN())
	}
	for i := range out.Z {
		out.Z[i] = start
	}
	var owner []int32
	if opt.Owner {
		owner = make([]int32, g.Cells())
		for i := range owner {
			owner[i] = Untouched
		}
	}
	runs := f.runs()
	l := &lowest{fam: runs, grid: g, top: top}
	leaf := func(t *task, b block, ids []int32) {
		if len(ids) == 0 {
			return
		}
		members, shared := runs.members(ids, t.sub(f).ids0())
		t.sub(f).ids[0] = members
		if shared {
			f.cut(g, b, members, top, out, owner)
			return
		}
		t.sub(f).split(b, members, 1, func(_ *task, b block, ids []int32) { f.cut(g, b, ids, top, out, owner) }, onGrid)
	}
	if err := l.each(ctx, g.blockSize(), opt.Progress, leaf, forRuns); err != nil {
		return nil, nil, err
	}
	return out, owner, nil
}

// middle is a height in the middle of all moves, so that single precision is
// spent on their differences.
func middle(list []Move) float64 {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, m := range list {
		lo = math.Min(lo, math.Min(m.From[2], m.To[2]))
		hi = math.Max(hi, math.Max(m.From[2], m.To[2]))
	}
	if lo > hi {
		return 0
	}
	return (lo + hi) / 2
}

// cut lowers the cells of a block, which no other call touches.
func (f *moves) cut(g Grid, b block, ids []int32, top float64, out *Map, owner []int32) {
	var z [leafCells]float64
	var who [leafCells]int32
	for j0 := b.j0; j0 < b.j1; j0 += leafSide {
		for i0 := b.i0; i0 < b.i1; i0 += leafSide {
			c := block{i0, j0, min(i0+leafSide, b.i1), min(j0+leafSide, b.j1)}
			for i := range z {
				z[i], who[i] = top, Untouched
			}
			for _, id := range ids {
				f.lower(g, c, id, &z, &who)
			}
			for j := c.j0; j < c.j1; j++ {
				for i := c.i0; i < c.i1; i++ {
					n := (j-c.j0)*leafSide + i - c.i0
					if who[n] == Untouched {
						continue
					}
					out.Z[j*g.W+i] = float32(z[n] - out.Base)
					if owner != nil {
						owner[j*g.W+i] = who[n]
					}
				}
			}
		}
	}
}

const (
	leafSide  = 16
	leafCells = leafSide * leafSide
)

// lower takes one move to the cells of a small block.
func (f *moves) lower(g Grid, b block, id int32, z *[leafCells]float64, who *[leafCells]int32) {
	s, t := &f.swept[id], f.tools[f.tool[id]]
	x0 := g.X(b.i0)
	if t.isBall() {
		from, to, ok := f.slab(g, b, id)
		if !ok {
			return
		}
		for j := b.j0; j < b.j1; j++ {
			row := (j - b.j0) * leafSide
			a, c := s.local(x0, g.Y(j))
			da, dc := g.DX*s.ex, -g.DX*s.ey
			lo, hi := within(a, da, from, to, b.i1-b.i0)
			for n := lo; n < hi; n++ {
				if h := s.ballAt(t.Radius, a+float64(n)*da, c+float64(n)*dc); h < z[row+n] || h == z[row+n] && id < who[row+n] {
					z[row+n], who[row+n] = h, id
				}
			}
		}
		return
	}
	for j := b.j0; j < b.j1; j++ {
		y := g.Y(j)
		row := (j - b.j0) * leafSide
		for n := range b.i1 - b.i0 {
			if h := s.at(t, x0+float64(n)*g.DX, y); h < z[row+n] || h == z[row+n] && id < who[row+n] {
				z[row+n], who[row+n] = h, id
			}
		}
	}
}

// within is the range of n, 0 ≤ n < count, for which a + n·d lies from lo to hi.
func within(a, d, lo, hi float64, count int) (from, to int) {
	if d < 0 {
		a, d, lo, hi = -a, -d, -hi, -lo
	}
	if d < 1e-15 {
		if a < lo || a > hi {
			return 0, 0
		}
		return 0, count
	}
	lo, hi = (lo-a)/d, (hi-a)/d
	if !(hi >= 0) || !(lo <= float64(count-1)) {
		return 0, 0
	}
	to = count
	if lo > 0 {
		from = int(math.Ceil(lo))
	}
	if hi < float64(count-1) {
		to = int(hi) + 1
	}
	return from, to
}
