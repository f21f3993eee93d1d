package cavity

import (
	"context"
	"math"
	"slices"

	"fettle"
	"fettle/internal/shape/geom"

	"gonum.org/v1/gonum/spatial/r3"
)

// outOf is the share of a void's open sides that must look one way, the opposite
// ones taken off, for that to be the way out of it.
const outOf = 0.05

// part is a piece of void that no known opening has.
type part struct {
	cells []int32
	chord float64 // the longest across it
	tris  []int32
	ways  [3][3]float64 // the chords' directions, summed as v vᵀ
}

// others finds the openings that only the void shows.
func (f *finder) others(ctx context.Context) error {
	var parts []*part
	mark := make(map[int32]int32) // part of each cell
	for at, s := range f.state {
		if s&(between|seen) != between || f.of[at] >= 0 {
			continue
		}
		p := &part{}
		f.flood(int32(at), func(c int32) bool { return f.state[c]&between != 0 && f.of[c] < 0 }, p, mark, int32(len(parts)))
		parts = append(parts, p)
	}
	for _, c := range f.chords {
		i, j, k, _ := f.Nearest(c.from)
		if n, ok := mark[int32(f.Index(i, j, k))]; ok {
			p := parts[n]
			p.chord = max(p.chord, c.long)
			p.tris = append(p.tris, c.tri[0], c.tri[1])
			if !c.hollow {
				addSquare(&p.ways, c.way)
			}
		}
	}
	if err := ctx.Err(); err != nil {
		return err
	}
	for n, p := range parts {
		slices.Sort(p.tris)
		p.tris = slices.Compact(p.tris)
		if p.chord < fewest*f.Cell || len(p.tris) < 2 {
			continue // too small for the grid
		}
		o, pl, ok := f.describe(p, mark, int32(n))
		if !ok {
			continue
		}
		for _, c := range p.cells {
			f.of[c] = int32(len(f.list))
		}
		f.list = append(f.list, o)
		f.places = append(f.places, pl)
		f.cells = append(f.cells, p.cells)
	}
	return nil
}

// flood gathers the cells that hang together with one over sides.
func (f *finder) flood(from int32, in func(int32) bool, p *part, mark map[int32]int32, n int32) {
	f.state[from] |= seen
	p.cells = append(p.cells, from)
	for next := 0; next < len(p.cells); next++ {
		mark[p.cells[next]] = n
		eachBeside(&f.Grid, int(p.cells[next]), func(at, _ int) {
			if f.state[at]&seen == 0 && in(int32(at)) {
				f.state[at] |= seen
				p.cells = append(p.cells, int32(at))
			}
		})
	}
}

// addSquare adds v vᵀ.
func addSquare(m *[3][3]float64, v r3.Vec) {
	a := geom.Array(v)
	for i := range a {
		for j := range a {
			m[i][j] += a[i] * a[j]
		}
	}
}

// openSides adds up how the open sides of a part look along its walls, and how
// many they are. What they show across the walls depends on how the chords fan
// out.
func (f *finder) openSides(p *part, in map[int32]bool, across r3.Vec) (sum r3.Vec, open float64) {
	for _, c := range p.cells {
		eachBeside(&f.Grid, int(c), func(at, side int) {
			if f.D[at] <= 0 || in[int32(at)] {
				return
			}
			n := sideWay(side)
			n = r3.Sub(n, r3.Scale(r3.Dot(n, across), across))
			sum = r3.Add(sum, n)
			open += r3.Norm(n)
		})
	}
	return sum, open
}

func (p *part) set() map[int32]bool {
	in := make(map[int32]bool, len(p.cells))
	for _, c := range p.cells {
		in[c] = true
	}
	return in
}

// describe measures a part as an opening, or finds that it is none.
func (f *finder) describe(p *part, mark map[int32]int32, n int32) (o fettle.Opening, pl *place, ok bool) {
	in := p.set()
	_, vec := geom.Eigen(p.ways)
	across := vec[2]
	sum, open := f.openSides(p, in, across)
	if open == 0 {
		return o, nil, false
	}
	pl = &place{tris: p.tris}
	out := r3.Norm(sum) >= outOf*open
	switch {
	case out && f.walledIn(p, r3.Unit(sum)):
		f.grow(p, mark, n)
		in = p.set()
		pl.axis = f.wallsOut(p, r3.Unit(sum))
		pl.hollow = true
	case out:
		pl.axis = f.square(p, r3.Unit(sum))
	default:
		// Open on two sides that look away from each other: in at one, out at the other.
		pl.axis = f.shortWay(p, across)
	}
	pl.tris, pl.loose = p.tris, !pl.hollow
	f.ways(pl)
	f.settle(p, pl)
	if pl.hollow {
		f.fill(p, pl, in)
	}
	f.ends(p, pl, in)
	if pl.loose {
		f.sideIn(p, pl, in)
	}
	if pl.loose && pl.through {
		f.stretch(pl)
	}
	o = fettle.Opening{Kind: fettle.Gap, Facets: p.tris}
	pl.tell(&o)
	return o, pl, pl.depth >= 3*f.Cell
}

// sideIn turns a place that is open at its sides too where the way in and out
// from there is shorter than the one from above: between two tall pins.
func (f *finder) sideIn(p *part, pl *place, in map[int32]bool) {
	_, long, ok := f.slicer(pl, -1).cut(pl.depth / 2).neck()
	if !ok || long/2 > 0.8*pl.depth {
		return
	}
	side := &place{axis: mainWay(pl.u), tris: p.tris, loose: true}
	f.ways(side)
	f.settle(p, side)
	f.ends(p, side, in)
	if side.through {
		*pl = *side
	}
}

// stretch lengthens a place that is open at both ends by half as much again as it
// is wide, to see where it opens.
func (f *finder) stretch(pl *place) {
	c, _, ok := f.slicer(pl, -1).cut(pl.depth / 2).neck()
	if !ok {
		return
	}
	by := 3 * c.radius
	pl.room = by
	pl.at = r3.Add(pl.at, r3.Scale(by, pl.axis))
	pl.depth += 2 * by
	pl.lo[2], pl.hi[2] = -pl.depth, 0
	d := r3.Vec{X: 2 * by, Y: 2 * by, Z: 2 * by}
	pl.box.Min, pl.box.Max = r3.Sub(pl.box.Min, d), r3.Add(pl.box.Max, d)
}

// mainWay is a direction or its opposite: the one whose largest component is
// positive.
func mainWay(d r3.Vec) r3.Vec {
	a := geom.Array(d)
	k := 0
	for i := range a {
		if math.Abs(a[i]) > math.Abs(a[k])+1e-6 {
			k = i
		}
	}
	if a[k] < 0 {
		return r3.Scale(-1, d)
	}
	return d
}

// ends finds which ends of a place are open, and turns it mouth up.
func (f *finder) ends(p *part, pl *place, in map[int32]bool) {
	top, bottom := f.opensAt(p, in, pl, 1), f.opensAt(p, in, pl, -1)
	if !top && bottom {
		pl.axis = r3.Scale(-1, pl.axis)
		f.ways(pl)
		f.settle(p, pl)
	}
	pl.through = top && bottom
}

// tell puts where a place lies into an opening.
func (p *place) tell(o *fettle.Opening) {
	o.Axis, o.At, o.DepthMM, o.Through = geom.Array(p.axis), geom.Array(p.at), p.depth, p.through
	o.LengthMM = p.hi[0] - p.lo[0]
}

// sideWay is the way out of a cell's side.
func sideWay(side int) r3.Vec {
	var a [3]float64
	a[side/2] = float64(2*(side%2) - 1)
	return geom.Vec(a)
}

// square puts a rough way out of a part at right angles to the chords across it,
// where they agree on a direction.
func (f *finder) square(p *part, axis r3.Vec) r3.Vec {
	var m [3][3]float64
	for _, t := range p.tris {
		n, area := f.Mesh.Normal(int(t))
		a := geom.Array(n)
		for i := range a {
			for j := range a {
				m[i][j] += area * a[i] * a[j]
			}
		}
	}
	val, vec := geom.Eigen(m)
	// vec[2] is what most walls look along.
	across := r3.Sub(axis, r3.Scale(r3.Dot(axis, vec[2]), vec[2]))
	if r3.Norm(across) > 0.5 {
		axis = r3.Unit(across)
	}
	if val[1] < 1e-3*val[2] {
		return axis // parallel walls: the other two ways are any
	}
	// Counting cells is good to a few degrees; the walls know better.
	for _, v := range vec {
		if math.Abs(r3.Dot(v, axis)) > math.Cos(6*math.Pi/180) {
			if r3.Dot(v, axis) < 0 {
				v = r3.Scale(-1, v)
			}
			return v
		}
	}
	return axis
}

// shortWay is the way through a part that is open on opposite sides: the one
// along which it is shortest, at right angles to the chords.
func (f *finder) shortWay(p *part, across r3.Vec) r3.Vec {
	x := geom.Perpendicular(across)
	y := r3.Cross(across, x)
	var sx, sy, xx, xy, yy float64
	for _, c := range p.cells {
		q := r3.Sub(f.At(f.Split(int(c))), f.Origin)
		a, b := r3.Dot(q, x), r3.Dot(q, y)
		sx, sy, xx, xy, yy = sx+a, sy+b, xx+a*a, xy+a*b, yy+b*b
	}
	n := float64(len(p.cells))
	xx, xy, yy = xx-sx*sx/n, xy-sx*sy/n, yy-sy*sy/n
	sin, cos := math.Sincos(0.5*math.Atan2(2*xy, xx-yy) + math.Pi/2)
	return mainWay(f.square(p, r3.Add(r3.Scale(cos, x), r3.Scale(sin, y))))
}

// settle finds where a part begins and ends along its axis, the middle of its
// mouth and its bounds. Where its walls end within a cell and a half of that,
// they know better: a wedge's bottom is narrower than a cell.
func (f *finder) settle(p *part, pl *place) {
	pl.at = f.At(f.Split(int(p.cells[0])))
	f.extent(p, pl)
	near := [2]float64{1.6 * f.Cell, 1.6 * f.Cell}
	end := [2]float64{pl.lo[2], pl.hi[2]}
	for _, t := range p.tris {
		for _, w := range f.Mesh.Tri[t] {
			_, _, h := pl.local(f.Mesh.Pos[w])
			for k, x := range [2]float64{pl.lo[2], pl.hi[2]} {
				if d := math.Abs(h - x); d < near[k] {
					near[k], end[k] = d, h
				}
			}
		}
	}
	pl.depth = end[1] - end[0]
	pl.at = pl.point((pl.lo[0]+pl.hi[0])/2, (pl.lo[1]+pl.hi[1])/2, end[1])
	f.extent(p, pl)
	pl.lo[2], pl.hi[2] = -pl.depth, 0
}

// extent bounds the cells of a part, half a cell round each.
func (f *finder) extent(p *part, pl *place) {
	pl.box = geom.EmptyBox()
	for k := range 3 {
		pl.lo[k], pl.hi[k] = math.Inf(1), math.Inf(-1)
	}
	for _, c := range p.cells {
		q := f.At(f.Split(int(c)))
		pl.box = pl.box.Add(q)
		u, v, h := pl.local(q)
		for k, x := range [3]float64{u, v, h} {
			pl.lo[k], pl.hi[k] = min(pl.lo[k], x-f.Cell/2), max(pl.hi[k], x+f.Cell/2)
		}
	}
}

// opensAt reports whether a part is open at the upper end along its axis, 1, or
// the lower, −1: whether most of its outermost cells there have a way on.
func (f *finder) opensAt(p *part, in map[int32]bool, pl *place, end float64) bool {
	last := math.Inf(-1)
	for _, c := range p.cells {
		_, _, h := pl.local(f.At(f.Split(int(c))))
		last = max(last, end*h)
	}
	cells, open := 0, 0
	for _, c := range p.cells {
		if _, _, h := pl.local(f.At(f.Split(int(c)))); end*h < last-f.Cell/2 {
			continue
		}
		cells++
		// Beside a floor a cell may belong to the floor's corner only, and beside a
		// wall it may lie right on it.
		on := r3.Add(f.At(f.Split(int(c))), r3.Scale(2.5*end*f.Cell, pl.axis))
		i, j, k, inside := f.Nearest(on)
		if at := f.Index(i, j, k); !inside || float64(f.D[at]) > -f.Cell/2 && !in[int32(at)] {
			open++
		}
	}
	return 2*open > cells
}
