package form

import (
	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r3"
)

// Sheet is the surface z(x, y) over the box from (x0, y0) to (x1, y1), an open
// mesh of nx by ny cells, each cut in two from its lower left to its upper right
// corner, facing up. Vertices go row by row.
func Sheet(x0, y0, x1, y1 float64, nx, ny int, z func(x, y float64) float64) *mesh.Mesh {
	m := &mesh.Mesh{}
	for j := range ny + 1 {
		for i := range nx + 1 {
			x, y := x0+(x1-x0)*float64(i)/float64(nx), y0+(y1-y0)*float64(j)/float64(ny)
			m.Pos = append(m.Pos, r3.Vec{X: x, Y: y, Z: z(x, y)})
		}
	}
	w := uint32(nx + 1)
	for j := range uint32(ny) {
		for i := range uint32(nx) {
			a := j*w + i
			m.Tri = append(m.Tri, [3]uint32{a, a + 1, a + w + 1}, [3]uint32{a, a + w + 1, a + w})
		}
	}
	return m
}
