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
	v, _ := f.sample(p)
	return v
}

// Gradient is the direction in which the distance grows, interpolated; its
// length is 1 but near the middle of a gap or wall, where it falls to 0.
func (f *Field) Gradient(p r3.Vec) r3.Vec {
	_, g := f.sample(p)
	return g
}

// sample interpolates the eight points round p.
func (f *Field) sample(p r3.Vec) (float64, r3.Vec) {
	var at [3]int
	var t [3]float64
	q := [3]float64{p.X - f.Origin.X, p.Y - f.Origin.Y, p.Z - f.Origin.Z}
	off := 0.0
	for a := range 3 {
		x := q[a] / f.Cell
		top := float64(f.N[a] - 1)
		switch {
		case x < 0:
			off += x * x
			x = 0
		case x > top:
			off += (x - top) * (x - top)
			x = top
		}
		n := min(int(x), max(f.N[a]-2, 0))
		at[a], t[a] = n, x-float64(n)
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
	d := f.D
	v000, v100 := float64(d[b]), float64(d[b+dx])
	v010, v110 := float64(d[b+dy]), float64(d[b+dx+dy])
	v001, v101 := float64(d[b+dz]), float64(d[b+dx+dz])
	v011, v111 := float64(d[b+dy+dz]), float64(d[b+dx+dy+dz])
	x00, x10 := v000+t[0]*(v100-v000), v010+t[0]*(v110-v010)
	x01, x11 := v001+t[0]*(v101-v001), v011+t[0]*(v111-v011)
	y0, y1 := x00+t[1]*(x10-x00), x01+t[1]*(x11-x01)
	g := r3.Vec{
		X: (1-t[2])*((1-t[1])*(v100-v000)+t[1]*(v110-v010)) + t[2]*((1-t[1])*(v101-v001)+t[1]*(v111-v011)),
		Y: (1-t[2])*(x10-x00) + t[2]*(x11-x01),
		Z: y1 - y0,
	}
	v := y0 + t[2]*(y1-y0)
	if off > 0 {
		v += math.Sqrt(off) * f.Cell
	}
	return v, r3.Scale(1/f.Cell, g)
}
