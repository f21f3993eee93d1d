package region

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"
)

// Arc is a polyline along the arc about c from one angle to another, clockwise
// where to is less, that stays within tol of it. Inside, its corners lie on the
// arc; outside, its first and last point do and its sides touch the arc.
func Arc(c r2.Vec, r, from, to, tol float64, outside bool) []r2.Vec {
	if !(r > 0 && tol > 0) {
		panic("region: an arc needs a radius and a tolerance above zero")
	}
	at := func(a, r float64) r2.Vec {
		sin, cos := math.Sincos(a)
		return r2.Vec{X: c.X + r*cos, Y: c.Y + r*sin}
	}
	pts := []r2.Vec{at(from, r)}
	if outside {
		k, step := steps(to-from, r, tol)
		for i := range k {
			pts = append(pts, at(from+(float64(i)+0.5)*step, r/math.Cos(step/2)))
		}
	} else {
		half := min(math.Acos(max(1-tol/r, 0)), math.Pi/4)
		k := max(1, int(math.Ceil(math.Abs(to-from)/(2*half)-1e-9)))
		for i := 1; i < k; i++ {
			pts = append(pts, at(from+(to-from)*float64(i)/float64(k), r))
		}
	}
	return append(pts, at(to, r))
}

// steps divides a turn into equal ones, so that the corner of two tangents a step
// apart is no farther than tol from the circle.
func steps(turn, r, tol float64) (n int, step float64) {
	half := min(math.Acos(r/(r+tol)), math.Pi/4)
	n = max(1, int(math.Ceil(math.Abs(turn)/(2*half)-1e-9)))
	return n, turn / float64(n)
}

// Disc is a polygon whose sides touch the circle, four of them square to the axes,
// and whose corners are no farther than tol from it.
func Disc(c r2.Vec, r, tol float64) Region {
	if !(r > 0 && tol > 0) {
		panic("region: a disc needs a radius and a tolerance above zero")
	}
	n, step := steps(math.Pi/2, r, tol)
	loop := make([]r2.Vec, 0, 4*n)
	for i := range 4 * n {
		sin, cos := math.Sincos((float64(i) + 0.5) * step)
		loop = append(loop, r2.Add(c, r2.Scale(r/math.Cos(step/2), r2.Vec{X: cos, Y: sin})))
	}
	return Of(loop)
}

// Capsule is all within r of the segment from a to b, its round ends as in Disc.
func Capsule(a, b r2.Vec, r, tol float64) Region {
	if a == b {
		return Disc(a, r, tol)
	}
	if !(r > 0 && tol > 0) {
		panic("region: a capsule needs a radius and a tolerance above zero")
	}
	n, step := steps(math.Pi, r, tol)
	way := math.Atan2(b.Y-a.Y, b.X-a.X)
	var loop []r2.Vec
	for _, c := range []r2.Vec{b, a} {
		for i := range n {
			sin, cos := math.Sincos(way - math.Pi/2 + (float64(i)+0.5)*step)
			loop = append(loop, r2.Add(c, r2.Scale(r/math.Cos(step/2), r2.Vec{X: cos, Y: sin})))
		}
		way += math.Pi
	}
	return Of(loop)
}

// Rect is a rectangle between two corners.
func Rect(lo, hi r2.Vec) Region {
	return Of([]r2.Vec{lo, {X: hi.X, Y: lo.Y}, hi, {X: lo.X, Y: hi.Y}})
}
