// Package region holds regions of the plane bounded by polygons, and does with
// them what a cutter and a drawing need: unite, subtract and cut them, grow and
// shrink them by a distance, find what a round cutter can get into, tell lines
// and arcs in their outlines, and raise stacks of them into closed solids. The
// shadow of a part and its level sections are regions too.
package region

import (
	"context"

	"fettle/internal/shape/bvh"
	"fettle/internal/shape/geom"
	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r2"
)

// Region is a region of the plane: loops that do not cross, the material on the
// left of each, so that outlines run anticlockwise and islands clockwise. The zero
// value is empty. Corners lie on a grid of Unit mm.
type Region struct{ Loops [][]r2.Vec }

// Unit is the grid that corners are rounded to, mm.
const Unit = 1e-6

// Of is the region that the loops wind round more often anticlockwise than
// clockwise, whatever they cross.
func Of(loops ...[]r2.Vec) Region { panic("region: not built") }

// Union, Minus and And are what lies in a or b, in a but not in b, in both.
func (a Region) Union(b ...Region) Region { panic("region: not built") }
func (a Region) Minus(b Region) Region    { panic("region: not built") }
func (a Region) And(b Region) Region      { panic("region: not built") }

// Offset grows a region by d mm all round, or shrinks it where d is below 0; arcs
// are drawn within tol mm of true, never on the wrong side: what is grown holds
// every point within d, what is shrunk none within −d of the border.
func (a Region) Offset(d, tol float64) Region { panic("region: not built") }

// Opened is what discs of a radius that lie in the region cover: what a round
// cutter can clear.
func (a Region) Opened(radius, tol float64) Region { panic("region: not built") }

// Empty, Area, Centroid and Box are what they say; Holds reports whether p is
// inside; Distance is that to the border, below 0 inside; Parts are the connected
// pieces.
func (a Region) Empty() bool               { panic("region: not built") }
func (a Region) Area() float64             { panic("region: not built") }
func (a Region) Centroid() r2.Vec          { panic("region: not built") }
func (a Region) Box() (lo, hi r2.Vec)      { panic("region: not built") }
func (a Region) Holds(p r2.Vec) bool       { panic("region: not built") }
func (a Region) Distance(p r2.Vec) float64 { panic("region: not built") }
func (a Region) Parts() []Region           { panic("region: not built") }

// Moved turns a region by so many radians about the origin and then shifts it.
func (a Region) Moved(turn float64, shift r2.Vec) Region { panic("region: not built") }

// Disc, Capsule (all within r of a segment) and Rect are simple regions. Arcs hold
// every point of the true shape within tol.
func Disc(c r2.Vec, r, tol float64) Region       { panic("region: not built") }
func Capsule(a, b r2.Vec, r, tol float64) Region { panic("region: not built") }
func Rect(lo, hi r2.Vec) Region                  { panic("region: not built") }

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

var _ geom.Box
