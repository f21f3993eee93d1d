// Package field holds a part as numbers on a grid of points: how far each point
// is from the surface, outside or in ([Distance]); how far from the nearest
// marked cell ([Squares]); where spheres fit ([Open], [Thickness]); which cells
// hang together ([Label]); how wide a way leads to a place from outside
// ([Passage]); and the surface at any level ([Surface]).
//
// A grid's cells are cubes; its points are their middles. Work is split into
// slabs whose limits do not depend on the number of cores, so the answer is the
// same, bit for bit, on any.
package field

import (
	"math"

	"fettle/internal/shape/geom"

	"gonum.org/v1/gonum/spatial/r3"
)

// Grid is a box of points, Cell mm apart along each axis. Arrays over it have
// X running fastest, then Y, then Z.
type Grid struct {
	Origin r3.Vec // of point 0, 0, 0
	Cell   float64
	N      [3]int
}

// GridFor is the grid of that cell which covers a box with at least margin mm
// to spare on every side. Its points lie on whole cells from the box's middle,
// so that a part that is symmetric about it stays so.
func GridFor(box geom.Box, cell, margin float64) Grid {
	g := Grid{Cell: cell}
	c, s := geom.Array(box.Centre()), geom.Array(box.Size())
	var o [3]float64
	for k := range 3 {
		half := int(math.Ceil((s[k]/2 + margin) / cell))
		g.N[k] = 2*half + 1
		o[k] = c[k] - float64(half)*cell
	}
	g.Origin = geom.Vec(o)
	return g
}

// Len is the number of points.
func (g Grid) Len() int { return g.N[0] * g.N[1] * g.N[2] }

// Index is where point i, j, k stands in an array.
func (g Grid) Index(i, j, k int) int { return (k*g.N[1]+j)*g.N[0] + i }

// Split is the inverse of Index.
func (g Grid) Split(at int) (i, j, k int) {
	i, at = at%g.N[0], at/g.N[0]
	return i, at % g.N[1], at / g.N[1]
}

// At is point i, j, k in mm.
func (g Grid) At(i, j, k int) r3.Vec {
	return r3.Vec{
		X: g.Origin.X + float64(i)*g.Cell,
		Y: g.Origin.Y + float64(j)*g.Cell,
		Z: g.Origin.Z + float64(k)*g.Cell,
	}
}

// Nearest is the point of the grid nearest to p, and whether p lies within half
// a cell of the grid.
func (g Grid) Nearest(p r3.Vec) (i, j, k int, inside bool) {
	q := geom.Array(r3.Sub(p, g.Origin))
	var at [3]int
	inside = true
	for a := range 3 {
		n := int(math.Floor(q[a]/g.Cell + 0.5))
		if n < 0 || n >= g.N[a] {
			inside = false
			n = min(max(n, 0), g.N[a]-1)
		}
		at[a] = n
	}
	return at[0], at[1], at[2], inside
}

// Field is a distance at every point of a grid, in mm: positive in the void,
// negative in the material.
type Field struct {
	Grid
	D []float32
}

// Value is the distance at any place, interpolated along each axis. Off the
// grid it is the value at the nearest place on it, plus the way there: a lower
// bound of how far the part is for a grid that holds the whole part.
func (f *Field) Value(p r3.Vec) float64 {
	nx, ny, nz := f.N[0], f.N[1], f.N[2]
	in := 1 / f.Cell
	x, y, z := (p.X-f.Origin.X)*in, (p.Y-f.Origin.Y)*in, (p.Z-f.Origin.Z)*in
	i, j, k := int(x), int(y), int(z)
	if !(x >= 0 && y >= 0 && z >= 0 && i < nx-1 && j < ny-1 && k < nz-1) {
		var c corner
		c.find(f, p)
		return c.value()
	}
	x, y, z = x-float64(i), y-float64(j), z-float64(k)
	b := (k*ny+j)*nx + i
	d := f.D[b : b+nx+2]
	e := f.D[b+nx*ny : b+nx*ny+nx+2]
	v0, v1 := float64(d[0]), float64(d[1])
	v2, v3 := float64(d[nx]), float64(d[nx+1])
	w0, w1 := float64(e[0]), float64(e[1])
	w2, w3 := float64(e[nx]), float64(e[nx+1])
	v0 += x * (v1 - v0)
	v2 += x * (v3 - v2)
	w0 += x * (w1 - w0)
	w2 += x * (w3 - w2)
	v0 += y * (v2 - v0)
	w0 += y * (w2 - w0)
	return v0 + z*(w0-v0)
}

// Gradient is the direction in which the distance grows, interpolated; its
// length is 1 but near the middle of a gap or wall, where it falls to 0.
func (f *Field) Gradient(p r3.Vec) r3.Vec {
	var c corner
	c.find(f, p)
	v, t := c.v, c.t
	x00, x10 := v[0]+t[0]*(v[1]-v[0]), v[2]+t[0]*(v[3]-v[2])
	x01, x11 := v[4]+t[0]*(v[5]-v[4]), v[6]+t[0]*(v[7]-v[6])
	g := r3.Vec{
		X: (1-t[2])*((1-t[1])*(v[1]-v[0])+t[1]*(v[3]-v[2])) + t[2]*((1-t[1])*(v[5]-v[4])+t[1]*(v[7]-v[6])),
		Y: (1-t[2])*(x10-x00) + t[2]*(x11-x01),
		Z: x01 + t[1]*(x11-x01) - x00 - t[1]*(x10-x00),
	}
	return r3.Scale(1/f.Cell, g)
}

// corner is the eight values round a place, X fastest, and where it lies between
// them.
type corner struct {
	v   [8]float64
	t   [3]float64
	off float64 // way from the grid, mm
}

// value is the interpolated one.
func (c *corner) value() float64 {
	v := c.v
	x00, x10 := v[0]+c.t[0]*(v[1]-v[0]), v[2]+c.t[0]*(v[3]-v[2])
	x01, x11 := v[4]+c.t[0]*(v[5]-v[4]), v[6]+c.t[0]*(v[7]-v[6])
	y0, y1 := x00+c.t[1]*(x10-x00), x01+c.t[1]*(x11-x01)
	return y0 + c.t[2]*(y1-y0) + c.off
}

func (c *corner) find(f *Field, p r3.Vec) {
	in := 1 / f.Cell
	q := [3]float64{(p.X - f.Origin.X) * in, (p.Y - f.Origin.Y) * in, (p.Z - f.Origin.Z) * in}
	var at [3]int
	off := 0.0
	for a, x := range q {
		top := float64(f.N[a] - 1)
		if x < 0 || x > top {
			near := min(max(x, 0), top)
			off += (x - near) * (x - near)
			x = near
		}
		n := min(int(x), max(f.N[a]-2, 0))
		at[a], c.t[a] = n, x-float64(n)
	}
	if off > 0 {
		c.off = math.Sqrt(off) * f.Cell
	}
	dx, dy, dz := 1, f.N[0], f.N[0]*f.N[1]
	if f.N[0] == 1 {
		dx = 0
	}
	if f.N[1] == 1 {
		dy = 0
	}
	if f.N[2] == 1 {
		dz = 0
	}
	b := f.Index(at[0], at[1], at[2])
	for k, d := range [4]int{b, b + dy, b + dz, b + dy + dz} {
		c.v[2*k], c.v[2*k+1] = float64(f.D[d]), float64(f.D[d+dx])
	}
}
