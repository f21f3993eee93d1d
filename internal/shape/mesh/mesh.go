// Package mesh holds triangle meshes: shared vertices in one flat slice,
// triangles as three indices. Readers make a raw mesh, [Clean] welds and mends
// it and reports every repair, [NewTopology] answers who is whose neighbour,
// and [Measure] gives volume, area and the rest.
package mesh

import (
	"fettle/internal/shape/geom"

	"gonum.org/v1/gonum/spatial/r3"
)

// Mesh is a set of triangles over shared vertices, in millimetres, seen
// counter-clockwise from outside.
type Mesh struct {
	Pos []r3.Vec
	Tri [][3]uint32
	// Face is the id of the surface that each triangle came from, where the file
	// knows (a B-rep face); nil otherwise.
	Face []int32
}

// Corners are the three vertices of triangle t.
func (m *Mesh) Corners(t int) (a, b, c r3.Vec) {
	v := m.Tri[t]
	return m.Pos[v[0]], m.Pos[v[1]], m.Pos[v[2]]
}

// Normal is the unit normal of triangle t and its area in mm²; a zero normal
// for a triangle without area.
func (m *Mesh) Normal(t int) (r3.Vec, float64) {
	a, b, c := m.Corners(t)
	return geom.TriangleNormal(a, b, c)
}

// Box is the smallest box around the vertices that triangles use.
func (m *Mesh) Box() geom.Box {
	b := geom.EmptyBox()
	for _, t := range m.Tri {
		for _, v := range t {
			b = b.Add(m.Pos[v])
		}
	}
	return b
}

// Join puts meshes into one as they are, without faces' ids: their vertices and
// triangles one after the other.
func Join(meshes ...*Mesh) *Mesh {
	out := &Mesh{}
	for _, m := range meshes {
		base := uint32(len(out.Pos))
		out.Pos = append(out.Pos, m.Pos...)
		for _, t := range m.Tri {
			out.Tri = append(out.Tri, [3]uint32{t[0] + base, t[1] + base, t[2] + base})
		}
	}
	return out
}

// Scale multiplies every coordinate in place.
func (m *Mesh) Scale(k float64) {
	for i, p := range m.Pos {
		m.Pos[i] = r3.Scale(k, p)
	}
}
