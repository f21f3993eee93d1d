package mesh

import (
	"testing"

	"github.com/google/go-cmp/cmp"
	"gonum.org/v1/gonum/spatial/r3"
)

// Two triangles of a strip of four, against their order: their four vertices
// and no others, in the order met.
func TestPortion(t *testing.T) {
	m := &Mesh{Tri: [][3]uint32{{0, 1, 2}, {1, 3, 2}, {2, 3, 4}, {3, 5, 4}}, Face: []int32{7, 8, 9, 9}}
	for i := range 6 {
		m.Pos = append(m.Pos, r3.Vec{X: float64(i)})
	}
	want := &Mesh{
		Pos:  []r3.Vec{{X: 2}, {X: 3}, {X: 4}, {X: 1}},
		Tri:  [][3]uint32{{0, 1, 2}, {3, 1, 0}},
		Face: []int32{9, 8},
	}
	if d := cmp.Diff(want, m.Portion([]int32{2, 1})); d != "" {
		t.Error(d)
	}
}
