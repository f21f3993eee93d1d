package bench

import (
	"bytes"
	"encoding/binary"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"testing"
	"time"

	"fettle/internal/shape/bvh"

	"gonum.org/v1/gonum/spatial/r3"
)

// BenchmarkNearestMillion builds the tree over a million triangles and finds
// the nearest point for a million points within half a millimetre of the
// surface, on all cores. VTK is asked for the first fiftieth of them, on one
// core as its locator works; the ratio is per point.
func BenchmarkNearestMillion(b *testing.B) {
	path := pebbleFile(b)
	m := pebble()
	rng := rand.New(rand.NewPCG(1, 2))
	points := make([]r3.Vec, 1e6)
	for i := range points {
		p, q, s := m.Corners(rng.IntN(len(m.Tri)))
		mid := r3.Scale(1.0/3, r3.Add(p, r3.Add(q, s)))
		points[i] = r3.Add(mid, r3.Vec{X: rng.Float64() - 0.5, Y: rng.Float64() - 0.5, Z: rng.Float64() - 0.5})
	}
	some := points[:len(points)/50]
	var raw bytes.Buffer
	for _, p := range some {
		binary.Write(&raw, binary.LittleEndian, p)
	}
	list := filepath.Join(b.TempDir(), "points")
	if err := os.WriteFile(list, raw.Bytes(), 0o600); err != nil {
		b.Fatal(err)
	}

	out := make([]bvh.Near, len(points))
	var build, query, vtkBuild, vtkQuery float64
	beside, n := false, 0
	for b.Loop() {
		start := time.Now()
		tree := bvh.Build(m)
		build += time.Since(start).Seconds()
		start = time.Now()
		tree.NearestAll(points, math.Inf(1), out)
		query += time.Since(start).Seconds()

		b.StopTimer()
		var v struct {
			Build  float64 `json:"build_s"`
			Query  float64 `json:"query_s"`
			Points int     `json:"points"`
			Sum    float64 `json:"sum"`
		}
		if beside = vtk(b, &v, "nearest.py", path, list); beside {
			vtkBuild += v.Build
			vtkQuery += v.Query * float64(len(points)) / float64(v.Points)
			sum := 0.0
			for _, o := range out[:len(some)] {
				sum += math.Sqrt(o.Dist2)
			}
			if v.Points != len(some) || math.Abs(sum-v.Sum) > 1e-5*sum {
				b.Errorf("distances sum to %.9g, for VTK to %.9g of %d points", sum, v.Sum, v.Points)
			}
		}
		b.StartTimer()
		n++
	}
	k := 1 / float64(n)
	b.Logf("%d triangles on %d cores: tree %.3f s, a million nearest points %.3f s", len(m.Tri), runtime.GOMAXPROCS(0), k*build, k*query)
	b.ReportMetric(k*build, "s/build")
	b.ReportMetric(k*query, "s/Mpoint")
	if beside {
		b.Logf("VTK, on one core: locator %.3f s, a million nearest points %.1f s", k*vtkBuild, k*vtkQuery)
		b.ReportMetric(k*vtkQuery, "vtk-s/Mpoint")
		b.ReportMetric(query/vtkQuery, "ratio")
	}
}
