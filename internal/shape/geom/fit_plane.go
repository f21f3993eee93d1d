package geom

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// FitPlane is the plane with the least squared distances to three points or
// more: it passes through their centroid, its normal is the direction of least
// spread (Shakarji, "Least-Squares Fitting Algorithms of the NIST Algorithm
// Testing System", J. Res. NIST 103(6), 1998, §3.3). The normal's sense is that
// of the hint, which may be zero. ok is false for points on one line.
func FitPlane(pts []r3.Vec, hint r3.Vec) (s Surface, ok bool) {
	if len(pts) < 3 {
		return s, false
	}
	c := centroid(pts)
	var m [3][3]float64
	for _, p := range pts {
		addOuter(&m, r3.Sub(p, c), 1)
	}
	val, vec := Eigen(m)
	if !(val[1] > 1e-20*val[2]) {
		return s, false
	}
	s = Surface{Kind: Plane, At: c, Axis: r3.Unit(vec[0])}
	if r3.Dot(s.Axis, hint) < 0 {
		s.Axis = r3.Scale(-1, s.Axis)
	}
	s.measure(pts)
	return s, true
}

// FitSphere is the sphere with the least squared distances to four points or
// more: first the linear fit of |p|² (Eberly, "Least Squares Fitting of Data by
// Linear or Quadratic Structures", 2021, §5), then Gauss–Newton on the true
// distances (Shakarji 1998, §3.5). ok is false for points on a plane.
func FitSphere(pts []r3.Vec) (s Surface, ok bool) { return TrySphere(pts, math.Inf(1)) }

// TrySphere is [FitSphere] that gives up, with ok false, once it is plain that
// the root-mean-square distance will stay above within.
func TrySphere(pts []r3.Vec, within float64) (s Surface, ok bool) {
	if len(pts) < 4 {
		return s, false
	}
	c := centroid(pts)
	eq := normalEq{n: 4}
	scale := 0.0
	for _, p := range pts {
		scale = max(scale, r3.Norm2(r3.Sub(p, c)))
	}
	scale = math.Sqrt(scale)
	if scale == 0 {
		return s, false
	}
	for _, p := range pts {
		q := r3.Scale(1/scale, r3.Sub(p, c))
		eq.add(&[maxUnknowns]float64{2 * q.X, 2 * q.Y, 2 * q.Z, 1}, -r3.Norm2(q))
	}
	x, ok := eq.solve(0)
	if !ok {
		return s, false
	}
	o := r3.Vec{X: x[0], Y: x[1], Z: x[2]}
	s = Surface{Kind: Sphere, At: r3.Add(c, r3.Scale(scale, o)), Radius: scale * math.Sqrt(max(0, x[3]+r3.Norm2(o)))}
	ok = refine(pts, &s, 4, within, func(s *Surface, p r3.Vec, row *[maxUnknowns]float64) float64 {
		q := r3.Sub(p, s.At)
		d := norm(q)
		if d > 0 {
			row[0], row[1], row[2] = -q.X/d, -q.Y/d, -q.Z/d
		}
		row[3] = -1
		return d - s.Radius
	}, func(s *Surface, x *[maxUnknowns]float64) {
		s.At = r3.Add(s.At, r3.Vec{X: x[0], Y: x[1], Z: x[2]})
		s.Radius += x[3]
	})
	return s, ok
}

// refine improves s by Gauss–Newton steps with Levenberg's damping until they
// no longer help. row gives a point's distance and its derivatives by the
// unknowns, move applies a step. It returns false where the points determine
// nothing, and where their root-mean-square distance is above within and the
// steps no longer halve it.
func refine(pts []r3.Vec, s *Surface, n int, within float64,
	row func(*Surface, r3.Vec, *[maxUnknowns]float64) float64,
	move func(*Surface, *[maxUnknowns]float64)) bool {
	cost := func(s *Surface) float64 {
		sum := 0.0
		var j [maxUnknowns]float64
		for _, p := range pts {
			d := row(s, p, &j)
			sum += d * d
		}
		return sum
	}
	lambda, now := 0.0, cost(s)
	enough := within * within * float64(len(pts))
	for iter := 0; iter < 40 && now > 0; iter++ {
		eq := normalEq{n: n}
		for _, p := range pts {
			var j [maxUnknowns]float64
			d := row(s, p, &j)
			eq.add(&j, d)
		}
		x, ok := eq.solve(lambda)
		if !ok {
			if lambda > 1 {
				return false
			}
			lambda = max(1e-9, 100*lambda)
			continue
		}
		try := *s
		move(&try, &x)
		c := cost(&try)
		if !(c < now) {
			if now > 4*enough {
				return false
			}
			if lambda > 1e3 || (lambda > 0 && c < now*(1+1e-9)) || iter > 30 {
				break
			}
			if c < now*(1+1e-6) {
				break // as good as it gets
			}
			lambda = max(1e-6, 10*lambda)
			continue
		}
		if iter > 1 && c > enough && c > now/2 {
			return false
		}
		gain := now - c
		*s, now = try, c
		lambda /= 10
		if gain < 1e-9*now {
			break
		}
	}
	if math.IsNaN(now) || math.IsInf(now, 0) || now > enough {
		return false
	}
	s.measure(pts)
	return true
}
