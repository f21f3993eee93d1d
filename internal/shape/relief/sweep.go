package relief

import (
	"context"
	"fmt"
	"math"
)

// Options are what a sweep needs beside its moves. The zero value asks for no
// owners and starts from nothing.
type Options struct {
	// Stock is the height of the metal before the first move, mm; +Inf, and 0 when
	// NoStock is set, for a surface that consists of cuts alone: cells that no move
	// reaches have no height then.
	Stock   float64
	NoStock bool
	// Owner asks for the move that made each cell.
	Owner bool
	// Progress is told of blocks done; it is called from one goroutine at a time.
	Progress func(done, total int)
}

// Untouched is the owner of a cell that no move made.
const Untouched = -1

// moves is the family of a program's moves.
type moves struct {
	tools []Tool
	tool  []uint8
	swept []swept
	bins  *bins
	reach float64 // of the largest tool
}

func (f *moves) at(id int32, x, y float64) float64 {
	return f.swept[id].at(f.tools[f.tool[id]], x, y)
}

func (f *moves) plane(id int32, x, y float64) (z, gx, gy float64) {
	return f.swept[id].plane(f.tools[f.tool[id]], x, y)
}

// rough is the plane itself, which for a move is quick.
func (f *moves) rough(id int32, x, y float64) (z, gx, gy float64) { return f.plane(id, x, y) }

func (f *moves) find(x0, y0, x1, y1 float64, to []int32) []int32 {
	r := f.reach
	return f.bins.within(x0-r, y0-r, x1+r, y1+r, to)
}

func newMoves(tools []Tool, list []Move) (*moves, error) {
	if len(tools) > math.MaxUint8 {
		return nil, fmt.Errorf("relief: %d tools, at most %d", len(tools), math.MaxUint8)
	}
	f := &moves{tools: tools, tool: make([]uint8, len(list)), swept: make([]swept, len(list))}
	for _, t := range tools {
		if !(t.Radius > 0) || !(t.Corner >= 0) || math.IsInf(t.Radius, 0) {
			return nil, fmt.Errorf("relief: a tool of radius %v and corner %v", t.Radius, t.Corner)
		}
		f.reach = math.Max(f.reach, t.Radius)
	}
	box := make([]span2, len(list))
	for n, m := range list {
		if int(m.Tool) >= len(tools) || m.Tool < 0 {
			return nil, fmt.Errorf("relief: move %d is made with tool %d of %d", n, m.Tool, len(tools))
		}
		for _, p := range [2][3]float64{m.From, m.To} {
			for _, v := range p {
				if math.IsNaN(v) || math.IsInf(v, 0) {
					return nil, fmt.Errorf("relief: move %d has no place", n)
				}
			}
		}
		f.tool[n] = uint8(m.Tool)
		f.swept[n] = newSwept(m.From, m.To)
		box[n] = outwards(
			math.Min(m.From[0], m.To[0]), math.Min(m.From[1], m.To[1]),
			math.Max(m.From[0], m.To[0]), math.Max(m.From[1], m.To[1]))
	}
	f.bins = newBins(box, math.Max(f.reach/2, 1e-3))
	return f, nil
}

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
	l := &lowest{fam: f, grid: g, top: top}
	leaf := func(_ *task, b block, ids []int32) {
		if len(ids) == 0 {
			return
		}
		f.cut(g, b, ids, top, out, owner)
	}
	if err := l.each(ctx, g.blockSize(), opt.Progress, leaf, onGrid); err != nil {
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
	ball := t.isBall()
	x0 := g.X(b.i0)
	for j := b.j0; j < b.j1; j++ {
		y := g.Y(j)
		row := (j - b.j0) * leafSide
		if ball {
			a, c := s.local(x0, y)
			da, dc := g.DX*s.ex, -g.DX*s.ey
			for n := range b.i1 - b.i0 {
				if h := s.ballAt(t.Radius, a+float64(n)*da, c+float64(n)*dc); h < z[row+n] || h == z[row+n] && id < who[row+n] {
					z[row+n], who[row+n] = h, id
				}
			}
			continue
		}
		for n := range b.i1 - b.i0 {
			if h := s.at(t, x0+float64(n)*g.DX, y); h < z[row+n] || h == z[row+n] && id < who[row+n] {
				z[row+n], who[row+n] = h, id
			}
		}
	}
}
