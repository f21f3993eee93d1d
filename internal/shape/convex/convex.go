// Package convex holds the shapes of pieces of media as convex bodies, and asks
// where and how turned such a body fits into the void round a part.
//
// A body is a sphere, a solid of revolution about its Z axis ([Cylinder],
// [Cone]), or a polyhedron ([Triangle], [Tetra], [AngleCut], [Grain]), in mm,
// with its centre of volume at the origin. [Body.Calipers] measures it,
// [Body.Turns] lists orientations that differ, and a [Probe] lays its surface
// into a distance field.
package convex

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// Body is a convex body about its centre of volume. It is immutable.
type Body struct {
	ball float64 // radius of a sphere, else 0
	// meridian is half the section of a body that is round about Z: (radius, z)
	// from one end of the axis to the other, counter-clockwise seen with the radius
	// to the right; nil for a polyhedron.
	meridian [][2]float64
	verts    []r3.Vec
	faces    []face // of a polyhedron
	symmetry []quat // turns that map it onto itself, the first the unit; nil for a round one
	endAlike bool   // a round body that looks the same upside down
	in, out  float64
}

// face is a flat side, its loop counter-clockwise from outside.
type face struct {
	loop   []int
	normal r3.Vec
	off    float64 // of its plane from the origin
}

// Round reports whether the body is round about its Z axis, so that only the
// direction of that axis counts.
func (b *Body) Round() bool { return b.verts == nil }

// Sphere reports whether the body is a sphere, which has no turns at all.
func (b *Body) Sphere() bool { return b.ball > 0 }

// InRadius is the radius of the largest sphere about the centre inside the body.
func (b *Body) InRadius() float64 { return b.in }

// OutRadius is the radius of the smallest sphere about the centre round the body.
func (b *Body) OutRadius() float64 { return b.out }

// Support is how far the body reaches in a direction, a unit vector, from its
// centre.
func (b *Body) Support(dir r3.Vec) float64 {
	switch {
	case b.ball > 0:
		return b.ball
	case b.verts == nil:
		far, side := math.Inf(-1), math.Hypot(dir.X, dir.Y)
		for _, m := range b.meridian {
			far = math.Max(far, m[0]*side+m[1]*dir.Z)
		}
		return far
	}
	far := math.Inf(-1)
	for _, v := range b.verts {
		far = math.Max(far, r3.Dot(v, dir))
	}
	return far
}

// Width is the distance between the two planes square to a unit vector that
// touch the body: what a caliper reads that is held in that direction.
func (b *Body) Width(dir r3.Vec) float64 {
	return b.Support(dir) + b.Support(r3.Scale(-1, dir))
}

// depth is how far a point inside lies below the surface; negative outside.
func (b *Body) depth(p r3.Vec) float64 {
	switch {
	case b.ball > 0:
		return b.ball - r3.Norm(p)
	case b.verts == nil:
		least, r := math.Inf(1), math.Hypot(p.X, p.Y)
		for i := 1; i < len(b.meridian); i++ {
			n, off := meridianSide(b.meridian[i-1], b.meridian[i])
			least = math.Min(least, off-n[0]*r-n[1]*p.Z)
		}
		return least
	}
	least := math.Inf(1)
	for _, f := range b.faces {
		least = math.Min(least, f.off-r3.Dot(f.normal, p))
	}
	return least
}

// meridianSide is the outward normal of a side of the half section and the
// distance of its line from the origin.
func meridianSide(a, b [2]float64) ([2]float64, float64) {
	dr, dz := b[0]-a[0], b[1]-a[1]
	l := math.Hypot(dr, dz)
	n := [2]float64{dz / l, -dr / l}
	return n, n[0]*a[0] + n[1]*a[1]
}

// Scaled is the body worn, or grown, alike in all directions to a share k of its
// size.
func (b *Body) Scaled(k float64) *Body {
	c := *b
	c.ball, c.in, c.out = k*b.ball, k*b.in, k*b.out
	c.meridian, c.verts, c.faces = nil, nil, nil
	for _, m := range b.meridian {
		c.meridian = append(c.meridian, [2]float64{k * m[0], k * m[1]})
	}
	for _, v := range b.verts {
		c.verts = append(c.verts, r3.Scale(k, v))
	}
	for _, f := range b.faces {
		f.off *= k
		c.faces = append(c.faces, f)
	}
	return &c
}

// measure fills in the radii about the centre.
func (b *Body) measure() *Body {
	b.in = b.depth(r3.Vec{})
	for _, m := range b.meridian {
		b.out = math.Max(b.out, math.Hypot(m[0], m[1]))
	}
	for _, v := range b.verts {
		b.out = math.Max(b.out, r3.Norm(v))
	}
	b.out = math.Max(b.out, b.ball)
	return b
}
