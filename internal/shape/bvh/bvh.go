// Package bvh answers where the surface of a mesh is: the nearest point of it
// ([Tree.Nearest]), what a ray meets ([Tree.Ray]) and whether a point is inside
// ([Tree.Inside]).
//
// [Build] makes a bounding volume hierarchy with four children to a node. Boxes
// are in single precision and rounded outwards, so that they only ever say
// "perhaps"; the triangles in the leaves are in double precision and have the
// last word. A tree is read-only once built and may be used from many
// goroutines; it is the same, bit for bit, for any number of cores.
package bvh

import (
	"math"
	"sync"

	"fettle/internal/shape/geom"
	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r3"
)

// None is the triangle that queries return when there is none.
const None = -1

// width is the number of children of a node.
const width = 4

// node is two cache lines: the boxes of four children and where they are.
type node struct {
	lo, hi [3][width]float32
	// kid is a node where count is 0, the first triangle of a leaf otherwise. A
	// child that does not exist has an empty box, which no query enters.
	kid   [width]int32
	count [width]int32
}

// corner is a vertex relative to the tree's origin, in double precision.
type corner [3]float64

// Tree is a bounding volume hierarchy over the triangles of a mesh.
type Tree struct {
	// origin is zero unless the mesh lies far from it; everything below is
	// relative to it.
	origin r3.Vec
	box    geom.Box // relative to origin
	reach  float64  // the greatest absolute coordinate in box
	nodes  []node
	tri    [][3]corner // in the order of the leaves
	id     []int32     // of those in the mesh

	windingOnce sync.Once
	dipoles     []dipole
}

// Len is the number of triangles.
func (t *Tree) Len() int { return len(t.tri) }

// Box is the box around all triangles, in the coordinates of the mesh.
func (t *Tree) Box() geom.Box {
	if len(t.tri) == 0 {
		return geom.EmptyBox()
	}
	return geom.Box{Min: r3.Add(t.box.Min, t.origin), Max: r3.Add(t.box.Max, t.origin)}
}

// originFor is where the tree counts from: zero for a part about the origin,
// so that no coordinate changes; a point of the part, short in digits so that
// subtracting it costs none, for a part far away.
func originFor(b geom.Box) r3.Vec {
	far := max(math.Abs(b.Min.X), math.Abs(b.Min.Y), math.Abs(b.Min.Z),
		math.Abs(b.Max.X), math.Abs(b.Max.Y), math.Abs(b.Max.Z))
	if far <= 8*b.Diagonal() {
		return r3.Vec{}
	}
	c := b.Centre()
	return r3.Vec{X: float64(float32(c.X)), Y: float64(float32(c.Y)), Z: float64(float32(c.Z))}
}

// down and up round to single precision, never towards the inside.
func down(x float64) float32 {
	f := float32(x)
	if float64(f) > x {
		f = math.Nextafter32(f, float32(math.Inf(-1)))
	}
	return f
}

func up(x float64) float32 {
	f := float32(x)
	if float64(f) < x {
		f = math.Nextafter32(f, float32(math.Inf(1)))
	}
	return f
}

// emptyNode has four children that do not exist.
func emptyNode() node {
	var n node
	inf := float32(math.Inf(1))
	for k := range 3 {
		for i := range width {
			n.lo[k][i], n.hi[k][i] = inf, -inf
		}
	}
	return n
}

// relative is a triangle of the mesh in the tree's coordinates.
func relative(m *mesh.Mesh, t int32, o r3.Vec) [3]corner {
	v := m.Tri[t]
	var out [3]corner
	for k, i := range v {
		p := m.Pos[i]
		out[k] = corner{p.X - o.X, p.Y - o.Y, p.Z - o.Z}
	}
	return out
}

// Corners are the vertices of the triangle in a slot, 0 ≤ slot < Len: the
// triangles of the mesh in an order that keeps neighbours together.
func (t *Tree) Corners(slot int) (a, b, c r3.Vec) {
	v := &t.tri[slot]
	at := func(p corner) r3.Vec { return r3.Vec{X: p[0] + t.origin.X, Y: p[1] + t.origin.Y, Z: p[2] + t.origin.Z} }
	return at(v[0]), at(v[1]), at(v[2])
}
