package bench

import (
	"context"
	"encoding/binary"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"runtime"
	"strconv"
	"testing"
	"time"

	"fettle/internal/shape/field"
	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r3"
)

// BenchmarkSurface takes the surface of a ball with waves on it from a grid of
// 256 and of 384 points a side, on all cores. VTK does the same with flying
// edges on as many threads. Both have the best of several runs: the first ones
// pay for memory, and neighbours on the machine for the others.
func BenchmarkSurface(b *testing.B) {
	for _, n := range []int{256, 384} {
		b.Run(strconv.Itoa(n), func(b *testing.B) { benchSurface(b, n) })
	}
}

func benchSurface(b *testing.B, n int) {
	f := &field.Field{Grid: field.Grid{Cell: 1, N: [3]int{n, n, n}}}
	f.D = make([]float32, f.Len())
	middle := float64(n-1) / 2
	for at := range f.D {
		i, j, k := f.Split(at)
		p := r3.Vec{X: float64(i) - middle, Y: float64(j) - middle, Z: float64(k) - middle}
		f.D[at] = float32(math.Sqrt(r3.Norm2(p))-0.4*float64(n)) + float32(2*math.Sin(p.X/9)*math.Sin(p.Y/9)*math.Sin(p.Z/9))
	}
	path := filepath.Join(b.TempDir(), "field")
	w, err := os.Create(path)
	if err != nil {
		b.Fatal(err)
	}
	if err := binary.Write(w, binary.LittleEndian, f.D); err != nil {
		b.Fatal(err)
	}
	if err := w.Close(); err != nil {
		b.Fatal(err)
	}

	const runs = 9
	var ours, vtks float64
	beside, turns := false, 0
	for b.Loop() {
		best := math.Inf(1)
		var m *mesh.Mesh
		for range runs {
			m = nil
			runtime.GC()
			start := time.Now()
			m, err = field.Surface(context.Background(), f, 0, field.SurfaceOptions{})
			if err != nil {
				b.Fatal(err)
			}
			best = math.Min(best, time.Since(start).Seconds())
		}
		ours += best

		b.StopTimer()
		var v struct {
			Best      float64 `json:"best_s"`
			Threads   int     `json:"threads"`
			Backend   string  `json:"backend"`
			Triangles int     `json:"triangles"`
			Area      float64 `json:"area"`
			Volume    float64 `json:"volume"`
		}
		if beside = vtk(b, &v, "isosurface.py", strconv.Itoa(n), "0", strconv.Itoa(runs), path); beside {
			vtks += v.Best
			got := mesh.Measure(m, nil)
			if math.Abs(got.Area-v.Area) > 0.005*v.Area || math.Abs(got.Volume-v.Volume) > 0.005*v.Volume {
				b.Errorf("area %.6g and volume %.6g, for VTK %.6g and %.6g", got.Area, got.Volume, v.Area, v.Volume)
			}
			b.Logf("%d triangles, VTK %d on %d threads (%s)", len(m.Tri), v.Triangles, v.Threads, v.Backend)
		}
		b.StartTimer()
		turns++
	}
	k := 1 / float64(turns)
	b.Logf("%s points on %d cores: %.4f s", fmt.Sprint(f.N), runtime.GOMAXPROCS(0), k*ours)
	b.ReportMetric(k*ours, "s/surface")
	if beside {
		b.Logf("VTK: %.4f s", k*vtks)
		b.ReportMetric(k*vtks, "vtk-s/surface")
		b.ReportMetric(ours/vtks, "ratio")
	}
}
