package geom

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// AxisOf is the direction most nearly at right angles to all the normals, the
// axis of the cylinder that they belong to: their image on the Gauss sphere is
// a great circle. even is the mean squared cosine between normals and axis
// (0 for a true cylinder), spread the one in the next best direction, which
// says how far round the normals reach.
func AxisOf(normals []r3.Vec) (axis r3.Vec, even, spread float64) {
	var m [3][3]float64
	for _, n := range normals {
		addOuter(&m, n, 1/float64(len(normals)))
	}
	val, vec := Eigen(m)
	return vec[0], max(0, val[0]), val[1]
}

// FitCylinder is the cylinder with the least squared distances to five points
// or more, begun from a rough axis: a circle by linear least squares in the
// plane across it, then Gauss–Newton over two tilts, two shifts and the radius
// (Shakarji 1998, §3.6; Eberly, "Fitting 3D Data with a Cylinder", 2003).
func FitCylinder(pts []r3.Vec, axis r3.Vec) (s Surface, ok bool) {
	return TryCylinder(pts, axis, math.Inf(1))
}

// TryCylinder is [FitCylinder] that gives up, with ok false, once it is plain
// that the root-mean-square distance will stay above within.
func TryCylinder(pts []r3.Vec, axis r3.Vec, within float64) (s Surface, ok bool) {
	if len(pts) < 5 || r3.Norm(axis) == 0 {
		return s, false
	}
	axis = r3.Unit(axis)
	at, radius, ok := circleAcross(pts, axis)
	if !ok {
		return s, false
	}
	s = Surface{Kind: Cylinder, At: at, Axis: axis, Radius: radius}
	var fr framed
	ok = refine(pts, &s, 5, within, func(s *Surface, p r3.Vec, row *[maxUnknowns]float64) float64 {
		e1, e2 := fr.of(s.Axis)
		q := r3.Sub(p, s.At)
		z := r3.Dot(q, s.Axis)
		w := r3.Sub(q, r3.Scale(z, s.Axis))
		rho := norm(w)
		c1, c2 := 0.0, 0.0
		if rho > 0 {
			c1, c2 = r3.Dot(w, e1)/rho, r3.Dot(w, e2)/rho
		}
		row[0], row[1], row[2], row[3], row[4] = -z*c1, -z*c2, -c1, -c2, -1
		return rho - s.Radius
	}, func(s *Surface, x *[maxUnknowns]float64) {
		tilt(s, x)
		s.Radius += x[4]
	})
	if ok {
		s.At = alongTo(s, centroid(pts))
	}
	return s, ok && s.Radius > 0
}

// FitCone is the cone with the least squared distances to six points or more
// (Shakarji 1998, §3.7), begun from the normals of facets on it: a cone's normals
// all make the same angle with the axis, so that their tips lie on a circle whose
// plane is across it. The rest of the start is linear: seen along the axis,
// |p|² is linear in the place and, nearly, in the height; and the distance from
// the axis is linear in the height.
func FitCone(pts, normals []r3.Vec) (s Surface, ok bool) {
	return TryCone(pts, normals, math.Inf(1))
}

// TryCone is [FitCone] that gives up, with ok false, once it is plain that the
// root-mean-square distance will stay above within.
func TryCone(pts, normals []r3.Vec, within float64) (s Surface, ok bool) {
	if len(pts) < 6 || len(normals) < 3 {
		return s, false
	}
	ring, ok := FitPlane(normals, r3.Vec{})
	if !ok {
		return s, false
	}
	tip, axis, half, ok := coneAlong(pts, ring.Axis)
	if !ok {
		return s, false
	}
	return refineCone(pts, tip, axis, half, within)
}

// coneAlong makes a cone with the given axis direction go through points, about.
func coneAlong(pts []r3.Vec, axis r3.Vec) (tip, along r3.Vec, half float64, ok bool) {
	e1, e2 := frame(axis)
	mid := centroid(pts)
	scale := 0.0
	for _, p := range pts {
		scale = max(scale, norm(r3.Sub(p, mid)))
	}
	if scale == 0 {
		return tip, axis, 0, false
	}
	eq := normalEq{n: 4}
	for _, p := range pts {
		q := r3.Scale(1/scale, r3.Sub(p, mid))
		x, y, z := r3.Dot(q, e1), r3.Dot(q, e2), r3.Dot(q, axis)
		eq.add(&[maxUnknowns]float64{2 * x, 2 * y, 1, z}, -(x*x + y*y))
	}
	u, ok := eq.solve(0)
	if !ok {
		return tip, axis, 0, false
	}
	at := r3.Add(mid, r3.Add(r3.Scale(scale*u[0], e1), r3.Scale(scale*u[1], e2)))
	line := normalEq{n: 2}
	for _, p := range pts {
		q := r3.Sub(p, at)
		z := r3.Dot(q, axis)
		line.add(&[maxUnknowns]float64{1, z / scale}, -norm(r3.Sub(q, r3.Scale(z, axis))))
	}
	u, ok = line.solve(0)
	if !ok {
		return tip, axis, 0, false
	}
	radius, slope := u[0], u[1]/scale
	if slope < 0 {
		axis, slope = r3.Scale(-1, axis), -slope
	}
	half = math.Atan(slope)
	if half < 1e-5 || half > math.Pi/2-1e-3 || radius <= 0 {
		return tip, axis, 0, false
	}
	return r3.Sub(at, r3.Scale(radius/slope, axis)), axis, half, true
}

// refineCone works from the point of the axis beside the points, where the
// unknowns are independent also for a slim cone whose tip is far away.
func refineCone(pts []r3.Vec, tip, axis r3.Vec, half, within float64) (s Surface, ok bool) {
	mid := centroid(pts)
	h := r3.Dot(r3.Sub(mid, tip), axis)
	// Inside the refinement At is that point and Radius the distance from it to
	// the cone's surface.
	s = Surface{Kind: Free, At: r3.Add(tip, r3.Scale(h, axis)), Axis: axis, Radius: h * math.Sin(half), HalfAngle: half}
	var fr framed
	ok = refine(pts, &s, 6, within, func(s *Surface, p r3.Vec, row *[maxUnknowns]float64) float64 {
		e1, e2 := fr.of(s.Axis)
		q := r3.Sub(p, s.At)
		z := r3.Dot(q, s.Axis)
		w := r3.Sub(q, r3.Scale(z, s.Axis))
		rho := norm(w)
		w1, w2 := r3.Dot(w, e1), r3.Dot(w, e2)
		c1, c2 := 0.0, 0.0
		if rho > 0 {
			c1, c2 = w1/rho, w2/rho
		}
		sin, cos := math.Sincos(s.HalfAngle)
		row[0], row[1] = -cos*z*c1-sin*w1, -cos*z*c2-sin*w2
		row[2], row[3] = -cos*c1, -cos*c2
		row[4], row[5] = -1, -rho*sin-z*cos
		return rho*cos - z*sin - s.Radius
	}, func(s *Surface, x *[maxUnknowns]float64) {
		tilt(s, x)
		s.Radius += x[4]
		s.HalfAngle += x[5]
	})
	if s.HalfAngle < 0 {
		s.HalfAngle, s.Axis = -s.HalfAngle, r3.Scale(-1, s.Axis)
	}
	if !ok || s.HalfAngle < 1e-6 || s.HalfAngle > math.Pi/2-1e-4 || s.Radius <= 0 {
		return s, false
	}
	s.Kind = Cone
	s.At = r3.Sub(s.At, r3.Scale(s.Radius/math.Sin(s.HalfAngle), s.Axis))
	s.measure(pts)
	return s, true
}

// circleAcross fits a circle to the points as seen along the axis, by the
// linear fit of |p|² (Kåsa 1976).
func circleAcross(pts []r3.Vec, axis r3.Vec) (at r3.Vec, radius float64, ok bool) {
	e1, e2 := frame(axis)
	c := centroid(pts)
	scale := 0.0
	for _, p := range pts {
		scale = max(scale, r3.Norm2(r3.Sub(p, c)))
	}
	scale = math.Sqrt(scale)
	if scale == 0 {
		return at, 0, false
	}
	eq := normalEq{n: 3}
	for _, p := range pts {
		q := r3.Scale(1/scale, r3.Sub(p, c))
		x, y := r3.Dot(q, e1), r3.Dot(q, e2)
		eq.add(&[maxUnknowns]float64{2 * x, 2 * y, 1}, -(x*x + y*y))
	}
	x, ok := eq.solve(0)
	if !ok {
		return at, 0, false
	}
	at = r3.Add(c, r3.Add(r3.Scale(scale*x[0], e1), r3.Scale(scale*x[1], e2)))
	return at, scale * math.Sqrt(max(0, x[2]+x[0]*x[0]+x[1]*x[1])), true
}

// tilt turns the axis and shifts the point by the first four unknowns.
func tilt(s *Surface, x *[maxUnknowns]float64) {
	e1, e2 := frame(s.Axis)
	s.At = r3.Add(s.At, r3.Add(r3.Scale(x[2], e1), r3.Scale(x[3], e2)))
	s.Axis = r3.Unit(r3.Add(s.Axis, r3.Add(r3.Scale(x[0], e1), r3.Scale(x[1], e2))))
}

// frame is two unit vectors across the axis and each other.
func frame(axis r3.Vec) (e1, e2 r3.Vec) {
	e1 = Perpendicular(axis)
	return e1, r3.Cross(axis, e1)
}

// framed remembers the frame of the last axis.
type framed struct{ axis, e1, e2 r3.Vec }

func (f *framed) of(axis r3.Vec) (e1, e2 r3.Vec) {
	if axis != f.axis {
		f.axis = axis
		f.e1, f.e2 = frame(axis)
	}
	return f.e1, f.e2
}

// alongTo is the point of the axis nearest to p.
func alongTo(s Surface, p r3.Vec) r3.Vec {
	return r3.Add(s.At, r3.Scale(r3.Dot(r3.Sub(p, s.At), s.Axis), s.Axis))
}

// FitConeFrom is FitCone begun from a cone that is nearly right.
func FitConeFrom(pts []r3.Vec, near Surface) (s Surface, ok bool) {
	if len(pts) < 6 || near.Kind != Cone {
		return s, false
	}
	return refineCone(pts, near.At, near.Axis, near.HalfAngle, math.Inf(1))
}
