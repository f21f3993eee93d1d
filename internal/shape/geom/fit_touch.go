package geom

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// Touch is the cylinder, sphere or torus through points with given unit normals,
// all of them out of it or all into it. With the normals known as well as the
// points are, few points do: a fillet is told by its two edges and the faces that
// it runs into. The middle of a sphere, or of the circle that a cylinder or tube
// is across its axis, lies one radius behind each point, which is linear in the
// middle and the radius. How well the surface fits is the caller's to ask; Max and
// RMS are of its distances. ok is false where the points determine none.
func Touch(kind Kind, at, normals []r3.Vec) (s Surface, ok bool) {
	if len(at) < 2 || len(at) != len(normals) {
		return s, false
	}
	s.Kind = kind
	signed := 0.0
	switch kind {
	case Sphere:
		var u [maxUnknowns]float64
		if u, ok = middle(at, normals, r3.Vec{X: 1}, r3.Vec{Y: 1}, r3.Vec{Z: 1}); !ok {
			return s, false
		}
		s.At, signed = r3.Vec{X: u[0], Y: u[1], Z: u[2]}, u[3]
	case Cylinder:
		axis, _, spread := AxisOf(normals)
		if spread < 1e-9 {
			return s, false
		}
		e1, e2 := frame(axis)
		var u [maxUnknowns]float64
		if u, ok = middle(at, normals, e1, e2); !ok {
			return s, false
		}
		s.Axis, signed = axis, u[2]
		s.At = r3.Add(r3.Scale(u[0], e1), r3.Scale(u[1], e2))
		s.At = alongTo(s, centroid(at))
	case Torus:
		best := math.Inf(1)
		for _, axis := range turningAxes(at, at, normals) {
			t, k, fits := tubeAbout(at, normals, axis)
			if !fits {
				continue
			}
			t.Radius = math.Abs(k)
			if t.measure(at); t.RMS < best {
				best, s, signed, ok = t.RMS, t, k, true
			}
		}
		if !ok {
			return s, false
		}
	default:
		panic("geom: Touch of a " + kind.String())
	}
	s.Radius = math.Abs(signed)
	s.measure(at)
	return s, s.Radius > 0 && !math.IsInf(s.Radius, 0) && !math.IsNaN(s.RMS)
}

// middle solves p = c + k n for c and k in the directions given: c's components,
// then k.
func middle(at, normals []r3.Vec, along ...r3.Vec) (u [maxUnknowns]float64, ok bool) {
	n := len(along)
	eq := normalEq{n: n + 1}
	c := centroid(at)
	for i, p := range at {
		for j, d := range along {
			var row [maxUnknowns]float64
			row[j], row[n] = 1, r3.Dot(normals[i], d)
			eq.add(&row, -r3.Dot(r3.Sub(p, c), d))
		}
	}
	u, ok = eq.solve(0)
	for j, d := range along {
		u[j] += r3.Dot(c, d)
	}
	return u, ok
}

// tubeAbout is the torus about a direction, and its tube's radius, negative where
// the normals look into it.
func tubeAbout(at, normals []r3.Vec, axis r3.Vec) (s Surface, k float64, ok bool) {
	x, ok := metBy(axis, at, normals)
	if !ok {
		return s, 0, false
	}
	eq := normalEq{n: 3}
	for i, p := range at {
		q := r3.Sub(p, x)
		z := r3.Dot(q, axis)
		w := r3.Sub(q, r3.Scale(z, axis))
		rho := norm(w)
		if rho == 0 {
			continue
		}
		eq.add(&[maxUnknowns]float64{1, 0, r3.Dot(normals[i], w) / rho}, -rho)
		eq.add(&[maxUnknowns]float64{0, 1, r3.Dot(normals[i], axis)}, -z)
	}
	u, ok := eq.solve(0)
	return Surface{Kind: Torus, Axis: axis, At: r3.Add(x, r3.Scale(u[1], axis)), Major: u[0]}, u[2], ok
}
