package field

import (
	"context"
	"math"
	"testing"

	"fettle/internal/shape/bvh"
	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r3"
)

// A plate with openings, measured from its triangles and drawn again at level 0
// with their normals, keeps its edges: no point of the new surface is far from the
// old, and no corner of the old is cut off by more than a tenth of a cell. Without
// normals the net rounds them.
func TestSurfaceKeepsTheEdgesOfAMesh(t *testing.T) {
	m := parts()["turned"]
	tree := bvh.Build(m)
	cell := 0.2
	if testing.Short() { // the race detector is ten times slower
		cell = 0.4
	}
	f, err := Distance(context.Background(), tree, GridFor(m.Box(), cell, 1))
	if err != nil {
		t.Fatal(err)
	}
	sharp := SurfaceOptions{
		Normals: func(p r3.Vec) r3.Vec {
			tri, q, d2 := tree.Nearest(p)
			// Off an edge the way to the surface tells more than the facet does.
			if d := math.Sqrt(d2); d > 1e-6 {
				n := r3.Scale(1/d, r3.Sub(p, q))
				if tree.Inside(p) {
					n = r3.Scale(-1, n)
				}
				return n
			}
			n, _ := m.Normal(tri)
			return n
		},
		Distance: func(p r3.Vec) float64 {
			_, _, d2 := tree.Nearest(p)
			if tree.Inside(p) {
				return -math.Sqrt(d2)
			}
			return math.Sqrt(d2)
		},
	}
	want := mesh.Measure(m, mesh.NewTopology(m)).Volume
	for name, c := range map[string]struct {
		opt          SurfaceOptions
		off, corners float64 // cells
		volume       float64 // share
	}{
		"with normals": {sharp, 0.15, 0.1, 0.0005},
		"net":          {SurfaceOptions{}, 0.8, 1, 0.006},
	} {
		s, err := Surface(context.Background(), f, 0, c.opt)
		if err != nil {
			t.Fatal(err)
		}
		tp := mesh.NewTopology(s)
		if !tp.Closed() {
			t.Errorf("%s: the surface is open", name)
		}
		volume := mesh.Measure(s, tp).Volume
		off, rms := 0.0, 0.0
		for _, p := range s.Pos {
			_, _, d2 := tree.Nearest(p)
			off = max(off, math.Sqrt(d2)/f.Cell)
			rms += d2
		}
		rms = math.Sqrt(rms/float64(len(s.Pos))) / f.Cell
		cut := 0.0
		back := bvh.Build(s)
		for _, p := range m.Pos {
			_, _, d2 := back.Nearest(p)
			cut = max(cut, math.Sqrt(d2)/f.Cell)
		}
		t.Logf("%s: at most %.3f cells off (rms %.4f), corners cut by %.3f, volume %.6f of the plate's", name, off, rms, cut, volume/want)
		if off > c.off || cut > c.corners || math.Abs(volume/want-1) > c.volume {
			t.Errorf("%s: %.3f cells off, corners cut by %.3f, volume %.5f", name, off, cut, volume/want)
		}
	}
}
