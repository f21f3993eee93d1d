// Package form makes closed meshes of shapes whose measures are known in closed
// form: boxes, balls, rings, cones, solids of revolution, plates with holes,
// slots and pockets. The checks of other rooms compare what they measure with
// what was drawn here, and the demo's parts are drawn with it.
//
// Shapes are put together from rings of vertices with a [Builder]: flat regions
// between rings, walls from ring to ring, and lifted regions z = f(x, y) that
// share their rim with a wall. Because neighbours share vertices by index, what
// closes on paper closes as a mesh; a [Sheet] alone is open. [Plate] with its [Cut] values covers most
// uses in one call.
//
// A shape that cannot be built (loops that cross, walls of unequal rings) is a
// programmer's mistake and panics with the reason.
package form

import (
	"math"

	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// Ring is a closed ring of vertices, anticlockwise seen from +Z, whether it
// bounds material from outside or a hole from inside.
type Ring []uint32

// Builder collects the surface of one solid. The zero value is ready.
type Builder struct{ m mesh.Mesh }

// Mesh is what was built so far. The builder must not be used afterwards.
func (b *Builder) Mesh() *mesh.Mesh { return &b.m }

// Ring adds a ring of vertices above the loop, at the height z.
func (b *Builder) Ring(loop []r2.Vec, z float64) Ring {
	return b.RingOn(loop, func(float64, float64) float64 { return z })
}

// RingOn adds a ring of vertices above the loop, at heights z(x, y).
func (b *Builder) RingOn(loop []r2.Vec, z func(x, y float64) float64) Ring {
	pts := make([]r3.Vec, len(loop))
	for i, p := range loop {
		pts[i] = r3.Vec{X: p.X, Y: p.Y, Z: z(p.X, p.Y)}
	}
	return b.Points(pts)
}

// Points adds a ring of any vertices.
func (b *Builder) Points(pts []r3.Vec) Ring {
	r := make(Ring, len(pts))
	for i, p := range pts {
		r[i] = uint32(len(b.m.Pos))
		b.m.Pos = append(b.m.Pos, p)
	}
	return r
}

// Wall joins two rings of equal count by a strip that looks away from the inside
// of the rings when lower lies under upper: an outer wall. Exchanged, it is the
// wall of a hole. Quadrilaterals are cut along their shorter diagonal. A ring of
// one vertex is a tip.
func (b *Builder) Wall(lower, upper Ring) {
	n := max(len(lower), len(upper))
	if len(lower) != len(upper) && len(lower) != 1 && len(upper) != 1 {
		panic("form: a wall needs rings of equal count")
	}
	for i := range n {
		j := (i + 1) % n
		switch {
		case len(lower) == 1:
			b.add(lower[0], upper[j], upper[i])
		case len(upper) == 1:
			b.add(lower[i], lower[j], upper[0])
		default:
			p, q, r, s := lower[i], lower[j], upper[j], upper[i]
			if b.apart(p, r) <= b.apart(q, s) {
				b.add(p, q, r)
				b.add(p, r, s)
			} else {
				b.add(p, q, s)
				b.add(q, r, s)
			}
		}
	}
}

func (b *Builder) add(p, q, r uint32) { b.m.Tri = append(b.m.Tri, [3]uint32{p, q, r}) }

func (b *Builder) apart(p, q uint32) float64 {
	return r3.Norm2(r3.Sub(b.m.Pos[p], b.m.Pos[q]))
}

// Side says where a region looks.
type Side bool

// The two sides.
const (
	Up   Side = true
	Down Side = false
)

// Region fills the plan between an outer ring and the holes in it, over the
// rings' own vertices alone.
func (b *Builder) Region(side Side, outer Ring, holes ...Ring) {
	b.fill(side, nil, nil, outer, holes)
}

// Flat is Region for a level face with inner vertices about spacing apart, so
// that no triangle is much longer than that where the rims leave room.
func (b *Builder) Flat(side Side, spacing float64, outer Ring, holes ...Ring) {
	z := b.m.Pos[outer[0]].Z
	b.Lifted(side, spacing, func(float64, float64) float64 { return z }, outer, holes...)
}

// Lifted fills the plan between an outer ring and the holes in it with vertices
// on the surface z(x, y), on a grid of equilateral triangles of the given side.
// Vertices of the rings stay where they are: put them on the surface for a clean
// rim.
func (b *Builder) Lifted(side Side, spacing float64, z func(x, y float64) float64, outer Ring, holes ...Ring) {
	rims := make([][]r2.Vec, 0, 1+len(holes))
	for _, r := range append([]Ring{outer}, holes...) {
		rims = append(rims, b.plan(r))
	}
	b.fill(side, grid(rims, spacing), z, outer, holes)
}

// plan is a ring seen from above.
func (b *Builder) plan(r Ring) []r2.Vec {
	loop := make([]r2.Vec, len(r))
	for i, v := range r {
		loop[i] = r2.Vec{X: b.m.Pos[v].X, Y: b.m.Pos[v].Y}
	}
	return loop
}

func (b *Builder) fill(side Side, inner []r2.Vec, z func(x, y float64) float64, outer Ring, holes []Ring) {
	var pts []r2.Vec
	var ids []uint32
	var loops [][]int
	for _, r := range append([]Ring{outer}, holes...) {
		loop := make([]int, len(r))
		for i := range r {
			loop[i] = len(pts) + i
		}
		loops = append(loops, loop)
		pts = append(pts, b.plan(r)...)
		ids = append(ids, r...)
	}
	for _, p := range inner {
		ids = append(ids, uint32(len(b.m.Pos)))
		b.m.Pos = append(b.m.Pos, r3.Vec{X: p.X, Y: p.Y, Z: z(p.X, p.Y)})
	}
	tris, err := Triangulate(append(pts, inner...), loops...)
	if err != nil {
		panic("form: " + err.Error())
	}
	for _, t := range tris {
		if side == Down {
			t[1], t[2] = t[2], t[1]
		}
		b.add(ids[t[0]], ids[t[1]], ids[t[2]])
	}
}

// grid is a pattern of equilateral triangles within the rims, clear of them by
// half its side, row by row to and fro.
func grid(rims [][]r2.Vec, side float64) []r2.Vec {
	lo, hi := r2.Vec{X: math.Inf(1), Y: math.Inf(1)}, r2.Vec{X: math.Inf(-1), Y: math.Inf(-1)}
	for _, p := range rims[0] {
		lo = r2.Vec{X: min(lo.X, p.X), Y: min(lo.Y, p.Y)}
		hi = r2.Vec{X: max(hi.X, p.X), Y: max(hi.Y, p.Y)}
	}
	// Rows lie half a row off the lower bound, so that a symmetric outline gets a
	// pattern that is nearly symmetric too.
	row := side * math.Sqrt(3) / 2
	rows := max(1, int(math.Round((hi.Y-lo.Y)/row)))
	cols := int(math.Ceil((hi.X - lo.X) / side))
	mid := (lo.X + hi.X) / 2
	near := newNearness(rims, side/2)
	var pts []r2.Vec
	for i := range rows {
		y := lo.Y + (float64(i)+0.5)*(hi.Y-lo.Y)/float64(rows)
		for j := -cols/2 - 1; j <= cols/2+1; j++ {
			x := float64(j)
			if i%2 == 1 {
				x = -x // to and fro: the next point is always near the last
			}
			p := r2.Vec{X: mid + (x+0.5*float64(i%2)-0.25)*side, Y: y}
			if near.clear(p) && within(rims, p) {
				pts = append(pts, p)
			}
		}
	}
	return pts
}

// within reports whether an odd number of rims surrounds p.
func within(rims [][]r2.Vec, p r2.Vec) bool {
	in := false
	for _, rim := range rims {
		for i, a := range rim {
			b := rim[(i+1)%len(rim)]
			if (a.Y > p.Y) != (b.Y > p.Y) && p.X < a.X+(p.Y-a.Y)/(b.Y-a.Y)*(b.X-a.X) {
				in = !in
			}
		}
	}
	return in
}

// nearness answers whether a place is clear of all rims: rims are sampled into
// square cells as wide as the distance asked about.
type nearness struct {
	gap   float64
	cells map[[2]int][][2]r2.Vec
}

func newNearness(rims [][]r2.Vec, gap float64) nearness {
	n := nearness{gap, map[[2]int][][2]r2.Vec{}}
	for _, rim := range rims {
		for i, a := range rim {
			b := rim[(i+1)%len(rim)]
			lo, hi := n.cell(min(a.X, b.X), min(a.Y, b.Y)), n.cell(max(a.X, b.X), max(a.Y, b.Y))
			for x := lo[0]; x <= hi[0]; x++ {
				for y := lo[1]; y <= hi[1]; y++ {
					n.cells[[2]int{x, y}] = append(n.cells[[2]int{x, y}], [2]r2.Vec{a, b})
				}
			}
		}
	}
	return n
}

func (n nearness) cell(x, y float64) [2]int {
	return [2]int{int(math.Floor(x / n.gap)), int(math.Floor(y / n.gap))}
}

func (n nearness) clear(p r2.Vec) bool {
	c := n.cell(p.X, p.Y)
	for x := c[0] - 1; x <= c[0]+1; x++ {
		for y := c[1] - 1; y <= c[1]+1; y++ {
			for _, s := range n.cells[[2]int{x, y}] {
				d := r2.Sub(s[1], s[0])
				t := r2.Dot(r2.Sub(p, s[0]), d) / r2.Norm2(d)
				q := r2.Add(s[0], r2.Scale(max(0, min(1, t)), d))
				if r2.Norm(r2.Sub(p, q)) < n.gap {
					return false
				}
			}
		}
	}
	return true
}
