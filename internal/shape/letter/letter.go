// Package letter gives the outlines of letters as loops in the plane, for solids
// that carry a text.
package letter

import "gonum.org/v1/gonum/spatial/r2"

// Text is a line of text whose capitals are height mm high, its left end on the
// baseline at the origin: loops that do not cross, outlines anticlockwise and the
// holes in them clockwise, corners within tol of the true curves. Letters that the
// face lacks are left out.
func Text(s string, height, tol float64) (loops [][]r2.Vec, width float64) {
	panic("letter: not built")
}
