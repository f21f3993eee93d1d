package geom

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// Kind is an elementary surface.
type Kind uint8

// The kinds. Free is everything that is none of the others.
const (
	Free Kind = iota
	Plane
	Cylinder
	Cone
	Sphere
	Torus
)

func (k Kind) String() string {
	return [...]string{"free-form", "plane", "cylinder", "cone", "sphere", "torus"}[k]
}

// Surface is an elementary surface in space, in millimetres and radians.
type Surface struct {
	Kind Kind
	// At is a point of the plane or of the cylinder's axis, the centre of the
	// sphere or torus, the tip of the cone.
	At r3.Vec
	// Axis is the unit normal of the plane or the unit axis; a cone's runs from
	// the tip into its body. Zero for a sphere.
	Axis r3.Vec
	// Radius of cylinder and sphere, and of a torus's tube; the mean radius of a
	// cone at the points that it was fitted to.
	Radius float64
	// Major is the radius of the circle that the middle of a torus's tube runs
	// along. Where it is smaller than Radius the tube crosses the axis; the part
	// beyond it, shaped like a lemon, has Major negative.
	Major float64
	// HalfAngle of a cone, between axis and surface.
	HalfAngle float64
	// Max and RMS are the largest and the root-mean-square distance of the
	// fitted points, in mm.
	Max, RMS float64
}

// Distance is the distance of p from the surface: positive on the side that
// the plane's normal points to, or outside.
func (s *Surface) Distance(p r3.Vec) float64 {
	q := r3.Sub(p, s.At)
	switch s.Kind {
	case Plane:
		return r3.Dot(q, s.Axis)
	case Sphere:
		return norm(q) - s.Radius
	case Cylinder:
		return norm(r3.Sub(q, r3.Scale(r3.Dot(q, s.Axis), s.Axis))) - s.Radius
	case Cone:
		z := r3.Dot(q, s.Axis)
		rho := norm(r3.Sub(q, r3.Scale(z, s.Axis)))
		sin, cos := math.Sincos(s.HalfAngle)
		if z*cos+rho*sin < 0 { // behind the tip
			return norm(q)
		}
		return rho*cos - z*sin
	case Torus:
		z := r3.Dot(q, s.Axis)
		rho := norm(r3.Sub(q, r3.Scale(z, s.Axis))) - s.Major
		return math.Sqrt(rho*rho+z*z) - s.Radius
	}
	return math.Inf(1)
}

// Normal is the unit normal of the surface at the point nearest to p, away
// from the axis or the centre, out of a torus's tube (the plane's own for a
// plane).
func (s *Surface) Normal(p r3.Vec) r3.Vec {
	q := r3.Sub(p, s.At)
	switch s.Kind {
	case Plane:
		return s.Axis
	case Sphere:
		return unitOr(q, s.Axis)
	case Cylinder:
		return unitOr(r3.Sub(q, r3.Scale(r3.Dot(q, s.Axis), s.Axis)), s.Axis)
	case Cone:
		r := unitOr(r3.Sub(q, r3.Scale(r3.Dot(q, s.Axis), s.Axis)), s.Axis)
		sin, cos := math.Sincos(s.HalfAngle)
		return r3.Sub(r3.Scale(cos, r), r3.Scale(sin, s.Axis))
	case Torus:
		r := unitOr(r3.Sub(q, r3.Scale(r3.Dot(q, s.Axis), s.Axis)), s.Axis)
		return unitOr(r3.Sub(q, r3.Scale(s.Major, r)), r)
	}
	return r3.Vec{}
}

// measure sets Max and RMS, and a cone's mean radius.
func (s *Surface) measure(pts []r3.Vec) {
	s.Max, s.RMS = 0, 0
	sum, rad := 0.0, 0.0
	for _, p := range pts {
		d := math.Abs(s.Distance(p))
		s.Max = max(s.Max, d)
		sum += d * d
		if s.Kind == Cone {
			q := r3.Sub(p, s.At)
			rad += norm(r3.Sub(q, r3.Scale(r3.Dot(q, s.Axis), s.Axis)))
		}
	}
	if n := float64(len(pts)); n > 0 {
		s.RMS = math.Sqrt(sum / n)
		if s.Kind == Cone {
			s.Radius = rad / n
		}
	}
}

// norm is the length without the care for overflow that r3.Norm takes, three
// times as fast.
func norm(v r3.Vec) float64 { return math.Sqrt(v.X*v.X + v.Y*v.Y + v.Z*v.Z) }

// unitOr is v made unit length; a vector without length, on the axis or at the
// centre where every direction is as good, gives a direction across it.
func unitOr(v, axis r3.Vec) r3.Vec {
	n := norm(v)
	if n == 0 {
		return Perpendicular(axis)
	}
	return r3.Scale(1/n, v)
}

func centroid(pts []r3.Vec) r3.Vec {
	var c r3.Vec
	for _, p := range pts {
		c = r3.Add(c, p)
	}
	return r3.Scale(1/float64(len(pts)), c)
}
