package cavity

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// layer is a cut across a part at one height of a place.
type layer struct {
	f      *finder
	p      *place
	i      int32 // the place's index
	height float64
	inside float64 // the height at which cells are asked whose they are
	lines  []line
}

// line is where a facet is cut, or a rim below or above that stands for the wall
// that is missing there.
type line struct {
	p, q r2.Vec
	lean float64 // how far the facet leans from the axis: 0 upright, ±1 level
}

// nearest is the point of the line nearest to a place.
func (l line) nearest(x r2.Vec) r2.Vec {
	d := r2.Sub(l.q, l.p)
	n := r2.Norm2(d)
	if n == 0 {
		return l.p
	}
	return r2.Add(l.p, r2.Scale(max(0, min(1, r2.Dot(r2.Sub(x, l.p), d)/n)), d))
}

func (l line) distance2(x r2.Vec) float64 { return r2.Norm2(r2.Sub(x, l.nearest(x))) }

// facet is a triangle in a place's coordinates.
type facet struct {
	c      [3][3]float64 // u, v, height
	lo, hi float64
	lean   float64
}

// slicer holds what may be cut round a place.
type slicer struct {
	f      *finder
	p      *place
	i      int32 // the place's index
	facets []facet
	rims   []rim
}

// rim is an edge where a place's faces end.
type rim struct {
	line
	height float64
}

// slicer gathers the facets in the place's box, and the rims of its faces.
func (f *finder) slicer(p *place, i int32) *slicer {
	s := &slicer{f: f, p: p, i: i}
	room := 2 * f.Cell
	var own map[int32]bool
	if !p.found(int(i), f) && f.Detail != nil && f.Detail.Patches != nil {
		own = map[int32]bool{}
		for _, t := range p.tris {
			own[t] = f.owner[t] == i
		}
	}
	for t := range f.Mesh.Tri {
		a, b, c := f.Mesh.Corners(t)
		if outsideBox(a, b, c, p.box.Min, p.box.Max, room) {
			continue
		}
		g := facet{lo: math.Inf(1), hi: math.Inf(-1)}
		lo, hi := [2]float64{math.Inf(1), math.Inf(1)}, [2]float64{math.Inf(-1), math.Inf(-1)}
		for k, q := range [3]r3.Vec{a, b, c} {
			u, v, h := p.local(q)
			g.c[k] = [3]float64{u, v, h}
			g.lo, g.hi = min(g.lo, h), max(g.hi, h)
			lo[0], hi[0], lo[1], hi[1] = min(lo[0], u), max(hi[0], u), min(lo[1], v), max(hi[1], v)
		}
		if lo[0] > p.hi[0]+room || hi[0] < p.lo[0]-room || lo[1] > p.hi[1]+room+2*p.room || hi[1] < p.lo[1]-room-2*p.room ||
			g.lo > 0 || g.hi < -p.depth {
			continue
		}
		n, _ := f.Mesh.Normal(t)
		g.lean = r3.Dot(n, p.axis)
		if g.hi > g.lo {
			s.facets = append(s.facets, g)
		}
	}
	if own != nil {
		across := f.Detail.Patches.Topology.Across
		for _, t := range p.tris {
			for k, o := range across[t] {
				if o >= 0 && own[o] {
					continue
				}
				v := f.Mesh.Tri[t]
				u0, v0, h0 := p.local(f.Mesh.Pos[v[k]])
				u1, v1, h1 := p.local(f.Mesh.Pos[v[(k+1)%3]])
				a, b := r2.Vec{X: u0, Y: v0}, r2.Vec{X: u1, Y: v1}
				if math.Abs(h1-h0) < r2.Norm(r2.Sub(b, a)) { // not the upright edges of an open end
					s.rims = append(s.rims, rim{line{a, b, 0}, (h0 + h1) / 2})
				}
			}
		}
	}
	return s
}

func outsideBox(a, b, c, lo, hi r3.Vec, room float64) bool {
	return min(a.X, b.X, c.X) > hi.X+room || max(a.X, b.X, c.X) < lo.X-room ||
		min(a.Y, b.Y, c.Y) > hi.Y+room || max(a.Y, b.Y, c.Y) < lo.Y-room ||
		min(a.Z, b.Z, c.Z) > hi.Z+room || max(a.Z, b.Z, c.Z) < lo.Z-room
}

// cut makes the layer of a place at a depth below its mouth. Where the mouth is
// not level, a cut near it finds walls on some sides only: the rim below stands
// for the missing ones. At the other end of a through opening likewise.
func (s *slicer) cut(depth float64) *layer {
	f, p := s.f, s.p
	// A little off round numbers, so that a cut does not run along edges.
	l := &layer{f: f, p: p, i: s.i, height: -depth - 1.3e-5*f.Cell}
	// Just at the mouth or the floor, cells of the opening are half a cell off.
	l.inside = -min(max(depth, 0.6*f.Cell), max(p.depth-0.6*f.Cell, p.depth/2))
	for k := range s.facets {
		g := &s.facets[k]
		if g.lo > l.height || g.hi < l.height {
			continue
		}
		var ends [3]r2.Vec
		n := 0
		for e := range 3 {
			a, b := &g.c[e], &g.c[(e+1)%3]
			da, db := a[2]-l.height, b[2]-l.height
			if (da > 0) == (db > 0) {
				continue
			}
			t := da / (da - db)
			ends[n] = r2.Vec{X: a[0] + t*(b[0]-a[0]), Y: a[1] + t*(b[1]-a[1])}
			n++
		}
		if n == 2 {
			l.lines = append(l.lines, line{ends[0], ends[1], g.lean})
		}
	}
	for _, r := range s.rims {
		upper := r.height > -p.depth/2
		if upper && r.height < l.height || !upper && r.height > l.height {
			l.lines = append(l.lines, r.line)
		}
	}
	return l
}

// in reports whether a place of the layer lies in the opening.
func (l *layer) in(x r2.Vec) bool {
	if p := l.p; p.loose {
		return x.X >= p.lo[0] && x.X <= p.hi[0] && x.Y >= p.lo[1]-p.room && x.Y <= p.hi[1]+p.room && l.f.Value(p.point(x.X, x.Y, l.inside)) > 0
	}
	i, j, k, in := l.f.Nearest(l.p.point(x.X, x.Y, l.inside))
	return in && l.f.of[l.f.Index(i, j, k)] == l.i
}

// circle is the largest circle between the lines of a layer with its centre in
// the opening.
type circle struct {
	at     r2.Vec
	radius float64
	line   int32 // that it touches
}

// square is a square of the layer in the search for the circle.
type square struct {
	at   r2.Vec
	half float64
	near []int32 // the lines that can be nearest to a place in it
}

// widest finds the largest circle: squares that cannot hold its centre are
// dropped, the others divided, down to half a cell; from the best centre found
// it goes uphill. ok is false where the opening has no cell in this layer.
func (l *layer) widest() (best circle, ok bool) {
	if len(l.lines) == 0 {
		return best, false
	}
	p, cell := l.p, l.f.Cell
	all := make([]int32, len(l.lines))
	for i := range all {
		all[i] = int32(i)
	}
	size := [2]float64{p.hi[0] - p.lo[0], p.hi[1] - p.lo[1]}
	half := max(min(size[0], size[1])/2, cell)
	var squares []square
	nu, nv := int(math.Ceil(size[0]/(2*half)-1e-9)), int(math.Ceil(size[1]/(2*half)-1e-9))
	for a := range max(nu, 1) {
		for b := range max(nv, 1) {
			at := r2.Vec{X: p.lo[0] + half*float64(2*a+1), Y: p.lo[1] + half*float64(2*b+1)}
			squares = append(squares, square{at, half, all})
		}
	}
	var nearBest []int32
	for len(squares) > 0 {
		var kept []square
		var far []float64
		for _, q := range squares {
			reach := q.half * math.Sqrt2
			if l.f.Value(p.point(q.at.X, q.at.Y, l.height)) < -reach-cell {
				continue // in the material
			}
			d, n := l.clear(q.at, q.near)
			if d > best.radius && l.in(q.at) {
				best, ok = circle{q.at, d, n}, true
				nearBest = q.near
			}
			if d+reach <= best.radius {
				continue
			}
			var near []int32
			for _, n := range q.near {
				if math.Sqrt(l.lines[n].distance2(q.at)) <= d+2*reach {
					near = append(near, n)
				}
			}
			kept = append(kept, square{q.at, q.half, near})
			far = append(far, d+reach)
		}
		squares = squares[:0]
		for i, q := range kept {
			if far[i] <= best.radius || q.half <= cell/2 {
				continue
			}
			h := q.half / 2
			for _, s := range [4]r2.Vec{{X: -h, Y: -h}, {X: h, Y: -h}, {X: -h, Y: h}, {X: h, Y: h}} {
				squares = append(squares, square{r2.Add(q.at, s), h, q.near})
			}
		}
	}
	if ok {
		l.climb(&best, nearBest, cell/2, [2]bool{true, true})
	}
	return best, ok
}

// clear is the distance from a place to the nearest of some lines, and which.
func (l *layer) clear(x r2.Vec, near []int32) (float64, int32) {
	best, at := math.Inf(1), int32(0)
	for _, n := range near {
		if d := l.lines[n].distance2(x); d < best {
			best, at = d, n
		}
	}
	return math.Sqrt(best), at
}

// climb goes uphill along the free directions until steps are a thousandth of a
// cell.
func (l *layer) climb(c *circle, near []int32, step float64, free [2]bool) {
	for step > 1e-3*l.f.Cell {
		moved := false
		for a := -1.0; a <= 1; a++ {
			for b := -1.0; b <= 1; b++ {
				if a == 0 && b == 0 || a != 0 && !free[0] || b != 0 && !free[1] {
					continue
				}
				x := r2.Add(c.at, r2.Vec{X: a * step, Y: b * step})
				d, n := l.clear(x, near)
				if d > c.radius*(1+1e-12) && l.in(x) {
					c.at, c.radius, c.line = x, d, n
					moved = true
				}
			}
		}
		if !moved {
			step /= 2
		}
	}
}

// rows are the widest circles at places along u, about a cell apart, in order.
func (l *layer) rows() (row []circle, step float64) {
	p, cell := l.p, l.f.Cell
	if len(l.lines) == 0 {
		return nil, cell
	}
	all := make([]int32, len(l.lines))
	for i := range all {
		all[i] = int32(i)
	}
	n := max(int((p.hi[0]-p.lo[0])/cell), 1)
	step = (p.hi[0] - p.lo[0]) / float64(n)
	for a := range n {
		u := p.lo[0] + step*(float64(a)+0.5)
		var best circle
		var near []int32
		try := func(v float64) bool {
			x := r2.Vec{X: u, Y: v}
			if !l.in(x) {
				return false
			}
			if d, m := l.clear(x, all); d > best.radius {
				best = circle{x, d, m}
			}
			return true
		}
		for v := p.lo[1] + cell/2; v < p.hi[1]; v += cell {
			try(v)
		}
		// Beyond the bounds as far as no wall comes between.
		for v := p.lo[1] + cell/2; v > p.lo[1]-p.room && try(v); v -= cell {
		}
		for v := p.hi[1] - cell/2; v < p.hi[1]+p.room && try(v); v += cell {
		}
		if best.radius < 1e-3*cell {
			continue // right on a wall
		}
		for _, m := range all {
			if math.Sqrt(l.lines[m].distance2(best.at)) < best.radius+2*cell {
				near = append(near, m)
			}
		}
		l.climb(&best, near, cell/2, [2]bool{false, true})
		row = append(row, best)
	}
	return row, step
}

// neck is the narrowest of the widths along u: where a piece that goes from end
// to end must squeeze through, and how long the way is over which it is at most
// twice as wide. Circles that touch the wall ahead or behind rather than at their
// sides, as at a slot's end or over a floor, do not count as narrow.
func (l *layer) neck() (least circle, long float64, ok bool) {
	row, step := l.rows()
	at := -1
	for i, c := range row {
		if l.beside(c) && (at < 0 || c.radius < row[at].radius) {
			at = i
		}
	}
	if at < 0 {
		for i, c := range row {
			if at < 0 || c.radius > row[at].radius {
				at = i
			}
		}
	}
	if at < 0 {
		return least, 0, false
	}
	least = row[at]
	i, j := at, at
	for i > 0 && row[i-1].radius <= 2*least.radius {
		i--
	}
	for j+1 < len(row) && row[j+1].radius <= 2*least.radius {
		j++
	}
	return least, row[j].at.X - row[i].at.X + step, true
}

// beside reports whether a circle touches the nearest wall at its side.
func (l *layer) beside(c circle) bool {
	d := r2.Sub(l.lines[c.line].nearest(c.at), c.at)
	return math.Abs(d.Y) > math.Abs(d.X)
}
