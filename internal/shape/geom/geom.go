// Package geom holds the small geometry that every room shares: boxes,
// triangles, frames and least-squares fits of the elementary surfaces.
//
// Vectors are gonum's r3.Vec, in millimetres.
package geom

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// Box is an axis-aligned box. The zero value is not empty: start from
// [EmptyBox].
type Box struct{ Min, Max r3.Vec }

// EmptyBox holds nothing; adding a point makes it that point.
func EmptyBox() Box {
	inf := math.Inf(1)
	return Box{r3.Vec{X: inf, Y: inf, Z: inf}, r3.Vec{X: -inf, Y: -inf, Z: -inf}}
}

// Add returns the box grown to hold p.
func (b Box) Add(p r3.Vec) Box {
	b.Min = r3.Vec{X: min(b.Min.X, p.X), Y: min(b.Min.Y, p.Y), Z: min(b.Min.Z, p.Z)}
	b.Max = r3.Vec{X: max(b.Max.X, p.X), Y: max(b.Max.Y, p.Y), Z: max(b.Max.Z, p.Z)}
	return b
}

// Join returns the smallest box that holds both.
func (b Box) Join(c Box) Box { return b.Add(c.Min).Add(c.Max) }

// Empty reports whether the box holds nothing.
func (b Box) Empty() bool { return b.Min.X > b.Max.X }

// Size is the extent along each axis.
func (b Box) Size() r3.Vec { return r3.Sub(b.Max, b.Min) }

// Centre is the middle of the box.
func (b Box) Centre() r3.Vec { return r3.Scale(0.5, r3.Add(b.Min, b.Max)) }

// Diagonal is the length of the box's diagonal, 0 for an empty one.
func (b Box) Diagonal() float64 {
	if b.Empty() {
		return 0
	}
	return r3.Norm(b.Size())
}

// TriangleNormal is the unit normal of a triangle and its area; a zero normal
// for a triangle without area.
func TriangleNormal(a, b, c r3.Vec) (r3.Vec, float64) {
	n := r3.Cross(r3.Sub(b, a), r3.Sub(c, a))
	l := r3.Norm(n)
	if l == 0 {
		return r3.Vec{}, 0
	}
	return r3.Scale(1/l, n), l / 2
}

// Perpendicular is a unit vector at right angles to the unit vector n, the
// same one every time.
func Perpendicular(n r3.Vec) r3.Vec {
	a := r3.Vec{X: 1}
	if math.Abs(n.X) > 0.6 {
		a = r3.Vec{Y: 1}
	}
	return r3.Unit(r3.Sub(a, r3.Scale(r3.Dot(a, n), n)))
}

// Array is v as plain numbers, for JSON.
func Array(v r3.Vec) [3]float64 { return [3]float64{v.X, v.Y, v.Z} }

// Vec is the vector of three plain numbers.
func Vec(a [3]float64) r3.Vec { return r3.Vec{X: a[0], Y: a[1], Z: a[2]} }
