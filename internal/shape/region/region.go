// Package region holds regions of the plane bounded by polygons, and does with
// them what a cutter and a drawing need: unite, subtract and cut them, grow and
// shrink them by a distance, find what a round cutter can get into, tell lines
// and arcs in their outlines, and raise stacks of them into closed solids. The
// shadow of a part and its level sections are regions too.
//
// Everything comes down to one step: segments on a fine grid are split where they
// meet, and what is wound round often enough is kept. See Of.
package region

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"
)

// Region is a region of the plane: loops that do not cross, the material on the
// left of each, so that outlines run anticlockwise and islands clockwise. The zero
// value is empty. Corners lie on a grid of Unit mm.
type Region struct{ Loops [][]r2.Vec }

// Unit is the grid that corners are rounded to, mm.
const Unit = 1e-6

// Empty reports whether there is nothing in the region.
func (a Region) Empty() bool { return len(a.Loops) == 0 }

// Area is in mm².
func (a Region) Area() float64 {
	sum := 0.0
	for _, loop := range a.Loops {
		s, _ := moments(loop)
		sum += s
	}
	return sum
}

// Centroid is the centre of the area; zero for an empty region.
func (a Region) Centroid() r2.Vec {
	area, at := 0.0, r2.Vec{}
	for _, loop := range a.Loops {
		s, m := moments(loop)
		area += s
		at = r2.Add(at, m)
	}
	if area == 0 {
		return r2.Vec{}
	}
	return r2.Scale(1/area, at)
}

// moments are the signed area of a loop and that times its centroid.
func moments(loop []r2.Vec) (area float64, first r2.Vec) {
	o := loop[0]
	u := r2.Vec{}
	for _, p := range loop[1:] {
		v := r2.Sub(p, o)
		k := r2.Cross(u, v) / 2
		area += k
		first = r2.Add(first, r2.Scale(k/3, r2.Add(u, v)))
		u = v
	}
	return area, r2.Add(first, r2.Scale(area, o))
}

// Perimeter is the length of all loops, mm.
func (a Region) Perimeter() float64 {
	sum := 0.0
	for _, loop := range a.Loops {
		last := loop[len(loop)-1]
		for _, p := range loop {
			sum += math.Hypot(p.X-last.X, p.Y-last.Y)
			last = p
		}
	}
	return sum
}

// Box is the smallest box round the region; lo is above hi where it is empty.
func (a Region) Box() (lo, hi r2.Vec) {
	lo, hi = r2.Vec{X: math.Inf(1), Y: math.Inf(1)}, r2.Vec{X: math.Inf(-1), Y: math.Inf(-1)}
	for _, loop := range a.Loops {
		for _, p := range loop {
			lo = r2.Vec{X: min(lo.X, p.X), Y: min(lo.Y, p.Y)}
			hi = r2.Vec{X: max(hi.X, p.X), Y: max(hi.Y, p.Y)}
		}
	}
	return lo, hi
}

// Holds reports whether p is inside. On the border either answer may come.
func (a Region) Holds(p r2.Vec) bool {
	in := 0
	for _, loop := range a.Loops {
		u := loop[len(loop)-1]
		for _, v := range loop {
			if (u.Y > p.Y) != (v.Y > p.Y) {
				side := (v.X-u.X)*(p.Y-u.Y) - (v.Y-u.Y)*(p.X-u.X)
				if v.Y > u.Y && side > 0 {
					in++
				} else if v.Y < u.Y && side < 0 {
					in--
				}
			}
			u = v
		}
	}
	return in > 0
}

// Distance is the distance of p from the border, below 0 inside; infinite where
// the region is empty.
func (a Region) Distance(p r2.Vec) float64 {
	best := math.Inf(1)
	for _, loop := range a.Loops {
		u := loop[len(loop)-1]
		for _, v := range loop {
			dx, dy, wx, wy := v.X-u.X, v.Y-u.Y, p.X-u.X, p.Y-u.Y
			t := 0.0
			if l := dx*dx + dy*dy; l > 0 {
				t = min(max((dx*wx+dy*wy)/l, 0), 1)
			}
			wx, wy = wx-t*dx, wy-t*dy
			best = min(best, wx*wx+wy*wy)
			u = v
		}
	}
	if best = math.Sqrt(best); a.Holds(p) {
		return -best
	}
	return best
}

// Moved turns a region by so many radians about the origin and then shifts it.
func (a Region) Moved(turn float64, shift r2.Vec) Region {
	loops := make([][]r2.Vec, len(a.Loops))
	sin, cos := math.Sincos(turn)
	by := onGrid(shift)
	for l, loop := range a.Loops {
		loops[l] = make([]r2.Vec, len(loop))
		for i, p := range loop {
			if turn == 0 {
				q := onGrid(p)
				loops[l][i] = pt{q.x + by.x, q.y + by.y}.vec()
			} else {
				loops[l][i] = r2.Vec{X: cos*p.X - sin*p.Y + shift.X, Y: sin*p.X + cos*p.Y + shift.Y}
			}
		}
	}
	if turn == 0 {
		return Region{loops} // on the grid as it was, and in the same order
	}
	return Of(loops...)
}
