package relief

import (
	"context"
	"math"
	"runtime"
	"sync"
	"sync/atomic"
)

// Close is what a tool leaves that is lowered at every cell: the grey-scale
// closing of the map by the tool's end (J. Serra, Image Analysis and
// Mathematical Morphology, 1982). Where the tool gets to, the heights stay as
// they are but for what cells cannot tell, about cell²/8·(1/R + 1/ρ) on a
// surface of radius ρ; in a corner it leaves its own round. A cell without a
// height lends nothing and gets none unless the tool bridges it. The time is
// cells times the cells under the tool: it is meant for coarse maps, and [Skin]
// with [Sweep] for fine ones. It fails when ctx is done.
func Close(ctx context.Context, m *Map, t Tool) (*Map, error) {
	end := t.under(m.Grid)
	tips, err := spread(ctx, m, end, -1)
	if err != nil {
		return nil, err
	}
	return spread(ctx, tips, end, 1)
}

// chip is the part of a tool's end that covers one row of cells: from x cells to
// the left to as many to the right, y rows away, and its rise over each.
type chip struct {
	y, x int
	rise []float32
}

func (t Tool) under(g Grid) []chip {
	var out []chip
	// A cell whose middle lies on the rim belongs to the tool, whatever rounding
	// says.
	r2 := t.Radius * t.Radius * (1 + 1e-9)
	rows := int(math.Sqrt(r2) / g.DY)
	for y := -rows; y <= rows; y++ {
		dy := float64(y) * g.DY
		c := chip{y: y, x: int(math.Sqrt(math.Max(0, r2-dy*dy)) / g.DX)}
		for x := -c.x; x <= c.x; x++ {
			dx := float64(x) * g.DX
			c.rise = append(c.rise, float32(t.rise(math.Min(math.Sqrt(dx*dx+dy*dy), t.Radius))))
		}
		out = append(out, c)
	}
	return out
}

// spread raises (sign −1) every cell to the highest of the tool's end upside
// down over its neighbours, or lowers it (sign 1) to the lowest of the end.
func spread(ctx context.Context, m *Map, end []chip, sign float32) (*Map, error) {
	out := NewMap(m.Grid)
	out.Base = m.Base
	var next atomic.Int64
	var wg sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), m.H) {
		wg.Go(func() {
			for ctx.Err() == nil {
				j := int(next.Add(1)) - 1
				if j >= m.H {
					return
				}
				row := out.Z[j*m.W : (j+1)*m.W]
				for _, c := range end {
					if k := j + c.y; k >= 0 && k < m.H {
						c.over(row, m.Z[k*m.W:(k+1)*m.W], sign)
					}
				}
			}
		})
	}
	wg.Wait()
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	return out, nil
}

// over takes one row of the end over one row of heights.
func (c chip) over(to, from []float32, sign float32) {
	for n, rise := range c.rise {
		d := n - c.x
		lo, hi := max(0, -d), min(len(to), len(from)-d)
		if lo >= hi {
			continue
		}
		src, dst, add := from[lo+d:hi+d], to[lo:hi], sign*rise
		if sign < 0 {
			for i, v := range src {
				if v += add; !(dst[i] >= v) && v == v {
					dst[i] = v
				}
			}
			continue
		}
		for i, v := range src {
			if v += add; !(dst[i] <= v) && v == v {
				dst[i] = v
			}
		}
	}
}
