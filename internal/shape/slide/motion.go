package slide

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// Move is where p comes when the middle of the patch travels s mm.
func (m Motion) Move(p r3.Vec, s float64) r3.Vec {
	if !m.Turns {
		return add(p, scale(s, m.Axis))
	}
	angle := m.PerMM * s
	q := add(m.At, rotate(sub(p, m.At), m.Axis, angle))
	return add(q, scale(m.Pitch*angle/(2*math.Pi), m.Axis))
}

// Turned is a direction after the same.
func (m Motion) Turned(v r3.Vec, s float64) r3.Vec {
	if !m.Turns {
		return v
	}
	return rotate(v, m.Axis, m.PerMM*s)
}

// Velocity is how p moves, for 1 mm of the middle.
func (m Motion) Velocity(p r3.Vec) r3.Vec {
	if !m.Turns {
		return m.Axis
	}
	v := add(r3.Cross(m.Axis, sub(p, m.At)), scale(m.Pitch/(2*math.Pi), m.Axis))
	return scale(m.PerMM, v)
}

// rotate turns v about the unit axis a (Rodrigues). 1 − cos is taken as
// 2 sin²(½), so that small turns keep their figures.
func rotate(v, a r3.Vec, angle float64) r3.Vec {
	half := math.Sin(angle / 2)
	x := r3.Cross(a, v)
	return add(v, add(scale(math.Sin(angle), x), scale(2*half*half, r3.Cross(a, x))))
}

// twist is the speed of a rigid body: W its angular velocity, V the velocity of
// the point that stands at the reference (always a patch's centroid here).
type twist struct{ W, V r3.Vec }

// straight and turning are the twists of simple motions, seen from c.
func straight(d r3.Vec) twist { return twist{V: d} }

func turning(axis, at, c r3.Vec) twist {
	return twist{axis, r3.Cross(axis, sub(c, at))}
}

// from is the twist at c when t is the one at b.
func (t twist) from(b, c r3.Vec) twist {
	return twist{t.W, add(t.V, r3.Cross(t.W, sub(c, b)))}
}

func (m Motion) twist(c r3.Vec) twist {
	if !m.Turns {
		return straight(m.Axis)
	}
	return twist{scale(m.PerMM, m.Axis), m.Velocity(c)}
}

// screw is the motion with a twist at c: every twist is a turn about an axis
// with an advance along it, or a straight motion (Chasles; Pottmann and Wallner,
// Computational Line Geometry, 2001, §3.4: axis w, moment v − pw, pitch
// p = v·w/w²; from memory). far bounds the distance of an axis from c that still
// means a turn.
func (t twist) screw(c r3.Vec, far float64) Motion {
	w, v := r3.Norm(t.W), r3.Norm(t.V)
	if w*far <= v || w == 0 {
		if v == 0 {
			return Motion{Axis: r3.Vec{Z: 1}}
		}
		return Motion{Axis: pointed(scale(1/v, t.V))}
	}
	axis := scale(1/w, t.W)
	m := Motion{
		Axis:  pointed(axis),
		At:    add(c, scale(1/(w*w), r3.Cross(t.W, t.V))),
		Turns: true,
		Pitch: 2 * math.Pi * r3.Dot(t.W, t.V) / (w * w),
		PerMM: 1,
	}
	return m
}

// pointed is an axis in the sense in which its largest component is positive, so
// that one line has one axis.
func pointed(a r3.Vec) r3.Vec {
	x, y, z := math.Abs(a.X), math.Abs(a.Y), math.Abs(a.Z)
	lead := a.X
	// A component has to be larger by more than rounding to take the lead.
	if top := max(x, y, z); x < top*(1-1e-9) {
		lead = a.Y
		if y < top*(1-1e-9) {
			lead = a.Z
		}
	}
	if lead < 0 {
		return scale(-1, a)
	}
	return a
}

// The arithmetic of r3, shorter.
func add(a, b r3.Vec) r3.Vec           { return r3.Vec{X: a.X + b.X, Y: a.Y + b.Y, Z: a.Z + b.Z} }
func sub(a, b r3.Vec) r3.Vec           { return r3.Vec{X: a.X - b.X, Y: a.Y - b.Y, Z: a.Z - b.Z} }
func scale(k float64, a r3.Vec) r3.Vec { return r3.Vec{X: k * a.X, Y: k * a.Y, Z: k * a.Z} }
func norm2(a r3.Vec) float64           { return a.X*a.X + a.Y*a.Y + a.Z*a.Z }
func normed(a r3.Vec) (r3.Vec, float64) {
	l := math.Sqrt(norm2(a))
	if l == 0 {
		return a, 0
	}
	return scale(1/l, a), l
}
