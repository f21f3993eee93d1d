package region

import (
	"context"

	"fettle/internal/shape/bvh"
	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r2"
)

// Edge is a line, or an arc where Radius is above 0; Left where it runs
// anticlockwise.
type Edge struct {
	From, To, Centre r2.Vec
	Radius           float64
	Left             bool
}

// Edges tells lines and arcs in each loop: runs of three sides or more whose
// corners all lie within tol of one circle are arcs. A full circle comes as two
// halves.
func (a Region) Edges(tol float64) [][]Edge { panic("region: not built") }

// Shadow is the region over and under which there is some of a closed part between
// two heights, seen along Z. The only error is the context's.
func Shadow(ctx context.Context, m *mesh.Mesh, tree *bvh.Tree, from, to float64) (Region, error) {
	panic("region: not built")
}

// Section is the level section of a closed part at a height.
func Section(m *mesh.Mesh, z float64) Region { panic("region: not built") }

// Layer is a region raised from one height to another.
type Layer struct {
	Low, High float64
	Region    Region
}

// Stack is the closed surface of layers that stand on one another, lowest first:
// each begins where the one below ends. Neighbours share their vertices.
func Stack(layers []Layer) *mesh.Mesh { panic("region: not built") }
