// Package relief is the surface that a cutter leaves, as heights over a plane.
//
// A part is looked at from the side that the cutter comes from ([Frame]). Its
// own surface becomes a [Map] by [Raster]; the height at which a [Tool] touches
// it comes from [Skin]; and [Sweep] takes the straight moves of a tool, from a
// program or laid over the part, and gives the surface that all of them
// together leave, with the move that made each cell.
package relief

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// Grid is where the cells of a map lie: W by H cells of DX by DY mm, the centre
// of the first at (X0, Y0), X along a row and Y from row to row.
type Grid struct {
	W, H   int
	DX, DY float64
	X0, Y0 float64
}

// Map is a height for every cell of a grid, row after row: cell (i, j) is
// Z[j*W+i], in mm above Base. NaN marks a cell without a height: a point that
// was not measured, or a place where there is nothing.
type Map struct {
	Grid
	Base float64
	Z    []float32
}

// NewMap makes a map with no heights.
func NewMap(g Grid) *Map {
	m := &Map{Grid: g, Z: make([]float32, g.W*g.H)}
	nan := float32(math.NaN())
	for i := range m.Z {
		m.Z[i] = nan
	}
	return m
}

// Cover is the grid of square cells that covers the box from lo to hi, with a
// cell's centre on lo.
func Cover(loX, loY, hiX, hiY, cell float64) Grid {
	return Grid{
		W: 1 + int(math.Ceil((hiX-loX)/cell-1e-9)), H: 1 + int(math.Ceil((hiY-loY)/cell-1e-9)),
		DX: cell, DY: cell, X0: loX, Y0: loY,
	}
}

// Cells is the number of cells.
func (g Grid) Cells() int { return g.W * g.H }

// X and Y are the middle of a column and of a row, in mm.
func (g Grid) X(i int) float64 { return g.X0 + float64(i)*g.DX }

// Y is the middle of row j, in mm.
func (g Grid) Y(j int) float64 { return g.Y0 + float64(j)*g.DY }

// At is the height of a cell in mm, NaN where there is none.
func (m *Map) At(i, j int) float64 { return m.Base + float64(m.Z[j*m.W+i]) }

// Frame is the place a part is looked at from: X, Y and Z are unit vectors at
// right angles, Z towards the cutter, and Origin is the point that becomes zero.
type Frame struct{ Origin, X, Y, Z r3.Vec }

// Model is the frame of the model's own axes.
func Model() Frame {
	return Frame{X: r3.Vec{X: 1}, Y: r3.Vec{Y: 1}, Z: r3.Vec{Z: 1}}
}

// Into is p as the frame sees it.
func (f Frame) Into(p r3.Vec) r3.Vec {
	p = r3.Sub(p, f.Origin)
	return r3.Vec{X: r3.Dot(p, f.X), Y: r3.Dot(p, f.Y), Z: r3.Dot(p, f.Z)}
}

// alongX is the cosine of one degree.
var alongX = math.Cos(math.Pi / 180)

// Facing is the frame of someone who looks down on a part whose side up, a unit
// vector, shows: X is the model's X laid level, or its Y where up is within a degree of X.
func Facing(up r3.Vec) Frame {
	x := r3.Vec{X: 1}
	if math.Abs(up.X) > alongX {
		x = r3.Vec{Y: 1}
	}
	x = r3.Unit(r3.Sub(x, r3.Scale(r3.Dot(x, up), up)))
	return Frame{X: x, Y: r3.Cross(up, x), Z: up}
}

// Turned is the frame turned about its Z by an angle in radians,
// counter-clockwise.
func (f Frame) Turned(angle float64) Frame {
	s, c := math.Sincos(angle)
	x := r3.Add(r3.Scale(c, f.X), r3.Scale(s, f.Y))
	f.Y = r3.Add(r3.Scale(c, f.Y), r3.Scale(-s, f.X))
	f.X = x
	return f
}

// OutOf is the point of the model that the frame sees at p.
func (f Frame) OutOf(p r3.Vec) r3.Vec {
	q := r3.Add(r3.Scale(p.X, f.X), r3.Add(r3.Scale(p.Y, f.Y), r3.Scale(p.Z, f.Z)))
	return r3.Add(q, f.Origin)
}

// Tool is the end of a cutter by its radius and the radius of its corner, mm:
// the same for a ball, a smaller one for a bull nose, 0 for a flat end.
type Tool struct{ Radius, Corner float64 }

// Move is a straight move of a tool's tip (the lowest point on its axis), mm.
// Tool counts in the list of tools that the moves come with; Tag is the
// caller's, such as the line of a program.
type Move struct {
	From, To [3]float64
	Tool     int32
	Tag      int32
}
