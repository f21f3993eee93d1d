package bvh

import (
	"math"
	"math/rand/v2"
	"sync"
	"testing"

	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r3"
)

// pebble is a closed, bumpy ball of radius about 30 with 2 n² triangles or so.
func pebble(n int) *mesh.Mesh {
	m := &mesh.Mesh{}
	rows, cols := n, n
	at := func(i, j int) r3.Vec {
		st, ct := math.Sincos(math.Pi * float64(i) / float64(rows))
		sp, cp := math.Sincos(2 * math.Pi * float64(j) / float64(cols))
		d := r3.Vec{X: st * cp, Y: st * sp, Z: ct}
		r := 30 + 2*math.Sin(7*d.X)*math.Cos(5*d.Y) + 0.3*math.Sin(40*d.Z)*math.Sin(37*d.X)
		return r3.Scale(r, d)
	}
	m.Pos = append(m.Pos, at(0, 0))
	for i := 1; i < rows; i++ {
		for j := range cols {
			m.Pos = append(m.Pos, at(i, j))
		}
	}
	m.Pos = append(m.Pos, at(rows, 0))
	id := func(i, j int) uint32 { return uint32(1 + (i-1)*cols + j%cols) }
	south := uint32(len(m.Pos) - 1)
	for j := range cols {
		m.Tri = append(m.Tri, [3]uint32{0, id(1, j), id(1, j+1)}, [3]uint32{south, id(rows-1, j+1), id(rows-1, j)})
		for i := 1; i < rows-1; i++ {
			a, b, c, d := id(i, j), id(i+1, j), id(i+1, j+1), id(i, j+1)
			m.Tri = append(m.Tri, [3]uint32{a, b, c}, [3]uint32{a, c, d})
		}
	}
	return m
}

var million = sync.OnceValue(func() *mesh.Mesh { return pebble(708) })

func BenchmarkBuild1M(b *testing.B) {
	m := million()
	b.ReportMetric(float64(len(m.Tri)), "triangles")
	for b.Loop() {
		Build(m)
	}
}

// nearPoints are points within half a millimetre of the surface, in no order.
func nearPoints(m *mesh.Mesh, n int) []r3.Vec {
	rng := rand.New(rand.NewPCG(1, 2))
	out := make([]r3.Vec, n)
	for i := range out {
		a, b, c := m.Corners(rng.IntN(len(m.Tri)))
		p := r3.Scale(1.0/3, r3.Add(a, r3.Add(b, c)))
		out[i] = r3.Add(p, r3.Vec{X: rng.Float64() - 0.5, Y: rng.Float64() - 0.5, Z: rng.Float64() - 0.5})
	}
	return out
}

func BenchmarkNearest1M(b *testing.B) {
	m := million()
	t := Build(m)
	pts := nearPoints(m, 1<<20)
	for b.Loop() {
		parallel(1e6, func(lo, hi int) {
			for _, p := range pts[lo:hi] {
				t.Nearest(p)
			}
		})
	}
}

// BenchmarkRays1M looks at the pebble from a camera, row by row.
func BenchmarkRays1M(b *testing.B) {
	t := Build(million())
	const side = 1000
	eye := r3.Vec{X: 120, Y: 20, Z: 30}
	hits := 0
	for b.Loop() {
		parallel(side*side, func(lo, hi int) {
			n := 0
			for i := lo; i < hi; i++ {
				y, z := float64(i%side)/side-0.5, float64(i/side)/side-0.5
				target := r3.Vec{Y: 60 * y, Z: 60 * z}
				if _, _, _, _, ok := t.Ray(eye, r3.Sub(target, eye), 0, math.Inf(1)); ok {
					n++
				}
			}
			if lo == 0 {
				hits = n
			}
		})
	}
	b.ReportMetric(float64(hits)/side/side, "hits")
}

func BenchmarkInside1M(b *testing.B) {
	m := million()
	t := Build(m)
	t.Winding(r3.Vec{})
	pts := nearPoints(m, 1<<20)
	for b.Loop() {
		parallel(1e6, func(lo, hi int) {
			for _, p := range pts[lo:hi] {
				t.Inside(p)
			}
		})
	}
}

func BenchmarkNearestAll1M(b *testing.B) {
	m := million()
	t := Build(m)
	pts := nearPoints(m, 1e6)
	out := make([]Near, len(pts))
	for b.Loop() {
		t.NearestAll(pts, math.Inf(1), out)
	}
}
