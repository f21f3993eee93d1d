package cavity

import (
	"context"
	"math"
	"slices"

	"fettle"
	"fettle/internal/shape/bvh"
	"fettle/internal/shape/geom"

	"gonum.org/v1/gonum/spatial/r3"
)

// outOf is the share of a void's open sides that must look one way, the opposite
// ones taken off, for that to be the way out of it.
const outOf = 0.15

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

// grow adds to a hollow what the sphere leaves over its walls.
func (f *finder) grow(p *part, mark map[int32]int32, n int32) {
	front := p.cells
	for range int(math.Ceil(p.chord / f.Cell)) {
		var next []int32
		for _, c := range front {
			eachBeside(&f.Grid, int(c), func(at, _ int) {
				if f.state[at]&(left|seen) == left && f.of[at] < 0 && f.state[at]&between == 0 {
					f.state[at] |= seen
					mark[int32(at)] = n
					next = append(next, int32(at))
				}
			})
		}
		p.cells = append(p.cells, next...)
		front = next
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
	f.ways(pl)
	f.settle(p, pl)
	if pl.hollow {
		f.fill(p, pl, in)
	}
	pl.tris, pl.loose = p.tris, !pl.hollow
	f.ends(p, pl, in)
	o = fettle.Opening{Kind: fettle.Gap, Facets: p.tris}
	pl.tell(&o)
	return o, pl, pl.depth >= 3*f.Cell
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

// walledIn reports whether from the roomiest place half-way down a part walls are
// met in nearly all directions at right angles to the way out.
func (f *finder) walledIn(p *part, out r3.Vec) bool {
	pl := &place{axis: out, at: f.Origin, u: geom.Perpendicular(out)}
	pl.v = r3.Cross(out, pl.u)
	f.extent(p, pl)
	best := int32(-1)
	for _, c := range p.cells {
		_, _, h := pl.local(f.At(f.Split(int(c))))
		if share := (h - pl.lo[2]) / (pl.hi[2] - pl.lo[2]); share < 0.3 || share > 0.7 {
			continue
		}
		if best < 0 || f.D[c] > f.D[best] {
			best = c
		}
	}
	return best >= 0 && f.walls(f.At(f.Split(int(best))), out) >= walled*looks
}

// walls counts the directions across an axis in which the part is met within
// the sphere's width.
func (f *finder) walls(from, axis r3.Vec) float64 {
	x := geom.Perpendicular(axis)
	y := r3.Cross(axis, x)
	met := 0.0
	for a := range looks {
		sin, cos := math.Sincos(2 * math.Pi * float64(a) / looks)
		if f.Tree.RayAny(from, r3.Add(r3.Scale(cos, x), r3.Scale(sin, y)), 0, 2*f.radius) {
			met++
		}
	}
	return met
}

// wallsOut is the way out of a hollow: its walls and its mouth close, so that
// the sum of the walls' normals by area is the mouth's.
func (f *finder) wallsOut(p *part, rough r3.Vec) r3.Vec {
	pl := &place{axis: rough}
	f.ways(pl)
	f.settle(p, pl)
	slot := int32(bvh.None)
	for _, c := range p.cells {
		q := f.At(f.Split(int(c)))
		// Nearest to what is surely below the mouth are walls and floor only.
		if _, _, h := pl.local(q); float64(f.D[c]) > 1.7*f.Cell || h > -1.5*f.Cell {
			continue
		}
		slot, _, _ = f.Tree.NearestBeside(q, slot, math.Inf(1))
		t, _, _ := f.Tree.Slot(slot, q)
		p.tris = append(p.tris, int32(t))
	}
	slices.Sort(p.tris)
	p.tris = slices.Compact(p.tris)
	f.toRim(p, pl)
	var sum r3.Vec
	for _, t := range p.tris {
		n, area := f.Mesh.Normal(int(t))
		sum = r3.Add(sum, r3.Scale(area, n))
	}
	if r3.Dot(sum, rough) <= 0 {
		return rough
	}
	return r3.Unit(sum)
}

// toRim adds to a hollow's facets those that hang together with them below its
// rim: where the surface turns over a sharp edge, or leaves the hollow's bounds.
func (f *finder) toRim(p *part, pl *place) {
	if f.Detail == nil || f.Detail.Patches == nil {
		return
	}
	has := map[int32]bool{}
	for _, t := range p.tris {
		has[t] = true
	}
	patches := f.Detail.Patches
	for next := 0; next < len(p.tris); next++ {
		t := p.tris[next]
		for k, o := range patches.Topology.Across[t] {
			if o < 0 || has[o] || patches.Sharp[t][k] && patches.Turn[t][k] > 0 {
				continue
			}
			a, b, c := f.Mesh.Corners(int(o))
			if pl.near(r3.Scale(1.0/3, r3.Add(a, r3.Add(b, c))), 2*f.Cell) {
				has[o] = true
				p.tris = append(p.tris, o)
			}
		}
	}
	slices.Sort(p.tris)
}

// fill adds to a hollow where the sphere dips in below its mouth.
func (f *finder) fill(p *part, pl *place, in map[int32]bool) {
	for next := 0; next < len(p.cells); next++ {
		eachBeside(&f.Grid, int(p.cells[next]), func(at, _ int) {
			if f.D[at] <= 0 || f.of[at] >= 0 || in[int32(at)] {
				return
			}
			u, v, h := pl.local(f.At(f.Split(at)))
			if h > 0 || u < pl.lo[0] || u > pl.hi[0] || v < pl.lo[1] || v > pl.hi[1] {
				return
			}
			in[int32(at)] = true
			p.cells = append(p.cells, int32(at))
		})
	}
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
	axis := f.square(p, r3.Add(r3.Scale(cos, x), r3.Scale(sin, y)))
	a := geom.Array(axis)
	k := 0
	for i := range a {
		if math.Abs(a[i]) > math.Abs(a[k])+1e-6 {
			k = i
		}
	}
	if a[k] < 0 {
		axis = r3.Scale(-1, axis)
	}
	return axis
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
	limit := -f.Cell
	if end < 0 {
		limit = pl.depth - f.Cell
	}
	cells, open := 0, 0
	for _, c := range p.cells {
		if _, _, h := pl.local(f.At(f.Split(int(c)))); end*h < limit {
			continue
		}
		cells++
		free := false
		eachBeside(&f.Grid, int(c), func(at, side int) {
			free = free || f.D[at] > 0 && !in[int32(at)] && end*r3.Dot(sideWay(side), pl.axis) > 0.5
		})
		if free {
			open++
		}
	}
	return 2*open > cells
}
