package form

import (
	"math"

	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// Box is a box with its lowest corner at the origin: 8 vertices, 12 triangles.
func Box(x, y, z float64) *mesh.Mesh {
	return Plate([]r2.Vec{{}, {X: x}, {X: x, Y: y}, {Y: y}}, z)
}

// Sphere has lat bands between the poles and lon sectors round the Z axis, its
// vertices on the sphere round the origin.
func Sphere(radius float64, lat, lon int) *mesh.Mesh {
	profile := make([]r2.Vec, lat+1)
	for i := range profile {
		a := -math.Pi/2 + math.Pi*float64(i)/float64(lat)
		profile[i] = r2.Vec{X: radius * math.Cos(a), Y: radius * math.Sin(a)}
	}
	profile[0].X, profile[lat].X = 0, 0
	return Revolve(profile, lon)
}

// Icosphere is an icosahedron whose faces are divided in four the given number
// of times, its vertices on the sphere round the origin: triangles nearly alike.
func Icosphere(radius float64, divisions int) *mesh.Mesh {
	// The corners are those of three golden rectangles.
	g := (1 + math.Sqrt(5)) / 2
	m := &mesh.Mesh{Pos: []r3.Vec{
		{X: -1, Y: g}, {X: 1, Y: g}, {X: -1, Y: -g}, {X: 1, Y: -g},
		{Y: -1, Z: g}, {Y: 1, Z: g}, {Y: -1, Z: -g}, {Y: 1, Z: -g},
		{X: g, Z: -1}, {X: g, Z: 1}, {X: -g, Z: -1}, {X: -g, Z: 1},
	}}
	// Its faces are the triples of corners that lie a side (2) apart.
	for a := range 12 {
		for b := a + 1; b < 12; b++ {
			for c := b + 1; c < 12; c++ {
				p, q, r := m.Pos[a], m.Pos[b], m.Pos[c]
				side := func(u, v r3.Vec) bool { return math.Abs(r3.Norm(r3.Sub(u, v))-2) < 1e-9 }
				if !side(p, q) || !side(q, r) || !side(r, p) {
					continue
				}
				if r3.Dot(p, r3.Cross(q, r)) > 0 {
					m.Tri = append(m.Tri, [3]uint32{uint32(a), uint32(b), uint32(c)})
				} else {
					m.Tri = append(m.Tri, [3]uint32{uint32(a), uint32(c), uint32(b)})
				}
			}
		}
	}
	for range divisions {
		m = divide(m)
	}
	for i, p := range m.Pos {
		m.Pos[i] = r3.Scale(radius, r3.Unit(p))
	}
	return m
}

// divide cuts every triangle in four, with new vertices pushed out to the unit
// sphere so that the triangles of the next division stay alike.
func divide(m *mesh.Mesh) *mesh.Mesh {
	out := &mesh.Mesh{Pos: append([]r3.Vec(nil), m.Pos...)}
	for i, p := range out.Pos {
		out.Pos[i] = r3.Unit(p)
	}
	mid := map[[2]uint32]uint32{}
	middle := func(a, b uint32) uint32 {
		k := [2]uint32{min(a, b), max(a, b)}
		v, ok := mid[k]
		if !ok {
			v = uint32(len(out.Pos))
			mid[k] = v
			out.Pos = append(out.Pos, r3.Unit(r3.Add(out.Pos[a], out.Pos[b])))
		}
		return v
	}
	for _, t := range m.Tri {
		ab, bc, ca := middle(t[0], t[1]), middle(t[1], t[2]), middle(t[2], t[0])
		out.Tri = append(out.Tri, [3]uint32{t[0], ab, ca}, [3]uint32{t[1], bc, ab},
			[3]uint32{t[2], ca, bc}, [3]uint32{ab, bc, ca})
	}
	return out
}

// Torus lies round the Z axis: ring is the radius of its middle circle, tube that
// of its section; around sectors, across chords of the section.
func Torus(ring, tube float64, around, across int) *mesh.Mesh {
	return Revolve(Circle(r2.Vec{X: ring}, 2*tube, across), around)
}

// Cylinder stands on the origin along +Z, with n sides; its corners lie on the
// circle.
func Cylinder(diameter, height float64, n int) *mesh.Mesh {
	return Plate(Circle(r2.Vec{}, diameter, n), height)
}

// Frustum stands on the origin along +Z, with n sides; a diameter of 0 makes a
// tip.
func Frustum(bottom, top, height float64, n int) *mesh.Mesh {
	return Revolve([]r2.Vec{{}, {X: bottom / 2}, {X: top / 2, Y: height}, {Y: height}}, n)
}

// Revolve turns a closed profile of (radius, z) points round the Z axis in n
// sectors. The profile may run either way; points at radius 0 lie on the axis,
// and stretches along the axis make no surface.
func Revolve(profile []r2.Vec, n int) *mesh.Mesh {
	p := dropRepeats(profile)
	if Area(p) < 0 {
		p = append([]r2.Vec(nil), p...)
		for i, j := 0, len(p)-1; i < j; i, j = i+1, j-1 {
			p[i], p[j] = p[j], p[i]
		}
	}
	var b Builder
	rings := make([]Ring, len(p))
	for i, q := range p {
		if q.X <= 0 {
			rings[i] = b.Points([]r3.Vec{{Z: q.Y}})
		} else {
			rings[i] = b.Ring(Circle(r2.Vec{}, 2*q.X, n), q.Y)
		}
	}
	used := false
	for i, r := range rings {
		next := rings[(i+1)%len(rings)]
		if len(r) > 1 || len(next) > 1 {
			b.Wall(r, next)
			used = true
		}
	}
	if !used {
		panic("form: a profile on the axis has no surface")
	}
	return b.Mesh()
}
