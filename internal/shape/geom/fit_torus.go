package geom

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

const (
	torusStart = 200  // points that the starts are tried on
	vague      = 0.01 // of its radii that a torus must be known to
)

// FitTorus is the torus with the least squared distances to eight points or
// more, begun from normals at some places of it: the lines along a torus's normals
// all meet its axis (Lukács, Martin and Marshall, "Faithful Least-Squares Fitting
// of Spheres, Cylinders, Cones and Tori for Reliable Segmentation", ECCV 1998, §5).
// The line that they meet best is found as in Pottmann and Randrup ("Rotational
// and Helical Surface Approximation for Reverse Engineering", Computing 60,
// 1998); turned about it into one half-plane the points lie on a circle. Then
// Gauss–Newton on the true distances, over two tilts, three shifts and two radii.
// ok is false where the points do not tell the radii to a hundredth, as those on
// two circles do not.
func FitTorus(pts, at, normals []r3.Vec) (s Surface, ok bool) {
	return TryTorus(pts, at, normals, math.Inf(1))
}

// TryTorus is [FitTorus] that gives up, with ok false, once it is plain that
// the root-mean-square distance will stay above within.
func TryTorus(pts, at, normals []r3.Vec, within float64) (s Surface, ok bool) {
	if len(pts) < 8 || len(normals) < 3 || len(at) != len(normals) {
		return s, false
	}
	some := pts
	if step := len(pts) / torusStart; step > 1 {
		some = make([]r3.Vec, 0, 2*torusStart)
		for i := 0; i < len(pts); i += step {
			some = append(some, pts[i])
		}
	}
	best := math.Inf(1)
	for _, axis := range turningAxes(some, at, normals) {
		x, ok := metBy(axis, at, normals)
		if !ok {
			continue
		}
		t, ok := ringAbout(some, x, axis)
		if !ok || !refineTorus(some, &t, within) || t.RMS >= best {
			continue
		}
		best, s = t.RMS, t
		if t.Max <= 1e-3*within && t.Max < 1e-6*t.Radius {
			break // there is but one
		}
	}
	if math.IsInf(best, 1) {
		return s, false
	}
	if len(some) < len(pts) && !refineTorus(pts, &s, within) {
		return s, false
	}
	return s, s.Radius > 0 && s.Major > -s.Radius && torusKnown(pts, &s) && !twoWays(some, s)
}

// turningAxes are directions that the axis of a surface of revolution may have,
// the likeliest first.
func turningAxes(pts, at, normals []r3.Vec) []r3.Vec {
	c := centroid(at)
	scale := 0.0
	for _, p := range at {
		scale = max(scale, norm(r3.Sub(p, c)))
	}
	if scale == 0 {
		return nil
	}
	// The axis with direction l and moment l' meets the line through p along n when
	// l·(p×n) + l'·n = 0. With l' solved for, l is the direction of least error.
	var a, b, d [3][3]float64
	for i, n := range normals {
		m := r3.Cross(r3.Scale(1/scale, r3.Sub(at[i], c)), n)
		u, v := Array(m), Array(n)
		for j := range 3 {
			for k := range 3 {
				a[j][k] += u[j] * u[k]
				b[j][k] += u[j] * v[k]
				d[j][k] += v[j] * v[k]
			}
		}
	}
	var out []r3.Vec
	dv, dx := Eigen(d)
	if dv[0] > 1e-9*dv[2] {
		for k := range 3 { // a − b d⁻¹ bᵀ
			w := Vec([3]float64{
				r3.Dot(Vec(b[0]), dx[k]), r3.Dot(Vec(b[1]), dx[k]), r3.Dot(Vec(b[2]), dx[k])})
			addOuter(&a, w, -1/dv[k])
		}
		_, ax := Eigen(a)
		out = append(out, ax[0])
	}
	// A whole ring lies about its plane's normal, and so do its normals.
	var m [3][3]float64
	c = centroid(pts)
	for _, p := range pts {
		addOuter(&m, r3.Sub(p, c), 1)
	}
	_, mx := Eigen(m)
	return append(out, mx[0], dx[0], dx[2], dx[1], mx[1], mx[2])
}

// metBy is the point that a line along axis goes through when it meets the lines
// through at along normals best.
func metBy(axis r3.Vec, at, normals []r3.Vec) (x r3.Vec, ok bool) {
	e1, e2 := frame(axis)
	c := centroid(at)
	eq := normalEq{n: 2}
	for i, n := range normals {
		m := r3.Cross(n, axis)
		m1, m2 := r3.Dot(m, e1), r3.Dot(m, e2)
		eq.add(&[maxUnknowns]float64{m1, m2}, -r3.Dot(r3.Sub(at[i], c), m))
	}
	u, ok := eq.solve(0)
	return r3.Add(c, r3.Add(r3.Scale(u[0], e1), r3.Scale(u[1], e2))), ok
}

// ringAbout is the torus about a line whose tube goes through points, about: the
// circle through them after they are turned into one half-plane (Kåsa 1976).
func ringAbout(pts []r3.Vec, x, axis r3.Vec) (s Surface, ok bool) {
	var mr, mz, scale float64
	flat := make([][2]float64, len(pts))
	for i, p := range pts {
		q := r3.Sub(p, x)
		z := r3.Dot(q, axis)
		flat[i] = [2]float64{norm(r3.Sub(q, r3.Scale(z, axis))), z}
		mr, mz = mr+flat[i][0]/float64(len(pts)), mz+z/float64(len(pts))
	}
	for _, f := range flat {
		scale = max(scale, math.Hypot(f[0]-mr, f[1]-mz))
	}
	if scale == 0 {
		return s, false
	}
	eq := normalEq{n: 3}
	for _, f := range flat {
		u, v := (f[0]-mr)/scale, (f[1]-mz)/scale
		eq.add(&[maxUnknowns]float64{2 * u, 2 * v, 1}, -(u*u + v*v))
	}
	u, ok := eq.solve(0)
	if !ok {
		return s, false
	}
	return Surface{
		Kind: Torus, Axis: axis, At: r3.Add(x, r3.Scale(mz+scale*u[1], axis)),
		Major:  mr + scale*u[0],
		Radius: scale * math.Sqrt(max(0, u[2]+u[0]*u[0]+u[1]*u[1])),
	}, true
}

// torusRow is a point's distance from a torus and its derivatives by two tilts of
// the axis, shifts along e1, e2 and the axis, and the two radii.
func torusRow(s *Surface, e1, e2, p r3.Vec, row *[maxUnknowns]float64) float64 {
	q := r3.Sub(p, s.At)
	z := r3.Dot(q, s.Axis)
	w := r3.Sub(q, r3.Scale(z, s.Axis))
	rho := norm(w)
	c1, c2 := 0.0, 0.0
	if rho > 0 {
		c1, c2 = r3.Dot(w, e1)/rho, r3.Dot(w, e2)/rho
	}
	d := math.Hypot(rho-s.Major, z)
	cos, sin := 0.0, 0.0
	if d > 0 {
		cos, sin = (rho-s.Major)/d, z/d
	}
	lever := sin*rho - cos*z
	*row = [maxUnknowns]float64{c1 * lever, c2 * lever, -cos * c1, -cos * c2, -sin, -cos, -1}
	return d - s.Radius
}

func refineTorus(pts []r3.Vec, s *Surface, within float64) bool {
	var fr framed
	return refine(pts, s, 7, within, func(s *Surface, p r3.Vec, row *[maxUnknowns]float64) float64 {
		e1, e2 := fr.of(s.Axis)
		return torusRow(s, e1, e2, p, row)
	}, func(s *Surface, x *[maxUnknowns]float64) {
		shift := r3.Scale(x[4], s.Axis)
		tilt(s, x)
		s.At = r3.Add(s.At, shift)
		s.Major += x[5]
		s.Radius += x[6]
	})
}

// torusKnown reports whether the points tell both radii of a fitted torus: their
// standard errors, from the scatter of the points but at least the rounding of
// arithmetic, must be small beside the radii.
func torusKnown(pts []r3.Vec, s *Surface) bool {
	e1, e2 := frame(s.Axis)
	eq := normalEq{n: 7}
	var row [maxUnknowns]float64
	for _, p := range pts {
		torusRow(s, e1, e2, p, &row)
		eq.add(&row, 0)
	}
	n := float64(len(pts))
	scatter := max(s.RMS*math.Sqrt(n/max(1, n-7)), 1e-11*(math.Abs(s.Major)+s.Radius))
	for _, k := range [2]int{5, 6} {
		e := eq
		e.b = [maxUnknowns]float64{}
		e.b[k] = -1
		x, ok := e.solve(0)
		if !ok || !(scatter*math.Sqrt(x[k]) < vague*[2]float64{math.Abs(s.Major), s.Radius}[k-5]) {
			return false
		}
	}
	return true
}

// twoWays reports whether the points lie as well on the torus that has the same
// two curvatures at their middle with the parts of ring and tube exchanged. A
// patch must be large enough to tell them apart.
func twoWays(pts []r3.Vec, s Surface) bool {
	c := centroid(pts)
	n := s.Normal(c)
	c = r3.Sub(c, r3.Scale(s.Distance(c), n))
	q := r3.Sub(c, s.At)
	w := r3.Sub(q, r3.Scale(r3.Dot(q, s.Axis), s.Axis))
	rho := norm(w)
	across := r3.Dot(n, w)
	if rho == 0 || math.Abs(across) < 1e-3*rho {
		return false
	}
	long := rho * rho / across // from the surface to the axis, along the normal
	t := Surface{
		Kind: Torus, At: r3.Sub(c, r3.Scale(s.Radius, n)), Axis: r3.Unit(r3.Cross(s.Axis, w)),
		Major: s.Radius - long, Radius: math.Abs(long),
	}
	if math.Abs(t.Major) < vague*t.Radius {
		return false // as good as a ball, either way
	}
	return refineTorus(pts, &t, math.Inf(1)) && t.RMS < 2*s.RMS &&
		math.Abs(r3.Dot(t.Axis, s.Axis)) < 0.99
}
