package relief

import (
	"context"
	"math"
	"runtime"
	"sync"
	"sync/atomic"

	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r3"
)

// band is how many rows of a map are drawn at a time.
const band = 64

// Raster is a part seen from the frame's Z: for each cell the height of the
// topmost facet over the cell's middle, exact for the triangle, NaN where there
// is none. A list of facets, when not nil, says which of them to look at. Memory
// beside the map grows with the triangles. It fails when ctx is done.
func Raster(ctx context.Context, m *mesh.Mesh, fr Frame, g Grid, only []int32) (*Map, error) {
	out := NewMap(g)
	pos := make([]r3.Vec, len(m.Pos))
	lo, hi := math.Inf(1), math.Inf(-1)
	for i, p := range m.Pos {
		pos[i] = fr.Into(p)
		lo, hi = math.Min(lo, pos[i].Z), math.Max(hi, pos[i].Z)
	}
	if lo <= hi {
		out.Base = (lo + hi) / 2
	}
	n := len(m.Tri)
	if only != nil {
		n = len(only)
	}
	// Facets by band, in order.
	bands := (g.H + band - 1) / band
	start := make([]int32, bands+1)
	tri := func(k int) [3]uint32 {
		if only != nil {
			k = int(only[k])
		}
		return m.Tri[k]
	}
	rows := func(k int) (b0, b1 int) {
		t := tri(k)
		a, b, c := pos[t[0]].Y, pos[t[1]].Y, pos[t[2]].Y
		j0 := math.Ceil((min(a, b, c)-g.Y0)/g.DY - touch)
		j1 := math.Floor((max(a, b, c)-g.Y0)/g.DY + touch)
		if !(j0 <= j1) || j1 < 0 || j0 > float64(g.H-1) {
			return 0, -1
		}
		return int(max(j0, 0)) / band, int(min(j1, float64(g.H-1))) / band
	}
	for k := range n {
		for b0, b1 := rows(k); b0 <= b1; b0++ {
			start[b0+1]++
		}
	}
	for b := range bands {
		start[b+1] += start[b]
	}
	list := make([]int32, start[bands])
	fill := make([]int32, bands)
	for k := range n {
		for b0, b1 := rows(k); b0 <= b1; b0++ {
			list[start[b0]+fill[b0]] = int32(k)
			fill[b0]++
		}
	}
	var next atomic.Int64
	var wg sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), bands) {
		wg.Go(func() {
			for ctx.Err() == nil {
				b := int(next.Add(1)) - 1
				if b >= bands {
					return
				}
				for _, k := range list[start[b]:start[b+1]] {
					t := tri(int(k))
					out.draw(pos[t[0]], pos[t[1]], pos[t[2]], b*band, min((b+1)*band, g.H))
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

// touch is how far outside a facet the middle of a cell may lie and still be on
// it, as a share of a cell: facets that share an edge leave no crack.
const touch = 1e-9

// draw raises the cells of rows [j0, j1) to a triangle.
func (m *Map) draw(a, b, c r3.Vec, j0, j1 int) {
	n := r3.Cross(r3.Sub(b, a), r3.Sub(c, a))
	if n.Z == 0 {
		return // seen edge-on; its neighbours have its edges
	}
	gx, gy := -n.X/n.Z, -n.Y/n.Z
	// z = h0 + gx·x + gy·y above Base
	h0 := a.Z - m.Base - gx*a.X - gy*a.Y
	top := float64(max(a.Z, b.Z, c.Z) - m.Base)
	ylo, yhi := min(a.Y, b.Y, c.Y), max(a.Y, b.Y, c.Y)
	j0 = max(j0, int(math.Ceil((ylo-m.Y0)/m.DY-touch)))
	j1 = min(j1-1, int(math.Floor((yhi-m.Y0)/m.DY+touch)))
	for j := j0; j <= j1; j++ {
		y := m.Y(j)
		xlo, xhi := math.Inf(1), math.Inf(-1)
		for _, e := range [3][2]r3.Vec{{a, b}, {b, c}, {c, a}} {
			p, q := e[0], e[1]
			if p.Y > q.Y {
				p, q = q, p
			}
			if y < p.Y-touch*m.DY || y > q.Y+touch*m.DY {
				continue
			}
			if q.Y-p.Y < 1e-12 {
				xlo, xhi = min(xlo, p.X, q.X), max(xhi, p.X, q.X)
				continue
			}
			u := math.Min(math.Max((y-p.Y)/(q.Y-p.Y), 0), 1)
			x := p.X + u*(q.X-p.X)
			xlo, xhi = min(xlo, x), max(xhi, x)
		}
		if xlo > xhi {
			continue
		}
		i0 := max(0, int(math.Ceil((xlo-m.X0)/m.DX-touch)))
		i1 := min(m.W-1, int(math.Floor((xhi-m.X0)/m.DX+touch)))
		row := m.Z[j*m.W : (j+1)*m.W]
		for i := i0; i <= i1; i++ {
			// A steep facet must not rise above itself in the rounding of its edge.
			z := float32(math.Min(h0+gx*m.X(i)+gy*y, top))
			if !(row[i] >= z) {
				row[i] = z
			}
		}
	}
}
