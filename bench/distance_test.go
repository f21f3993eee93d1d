package bench

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"os/exec"
	"runtime"
	"testing"
	"time"

	"fettle/internal/shape/bvh"
	"fettle/internal/shape/field"
)

// BenchmarkDistance measures a part of a million triangles on grids of 256 and
// 384 points a side, tree and signs included, on all cores. OpenVDB makes the same
// grid, as wide as the part goes, where it is installed.
func BenchmarkDistance(b *testing.B) {
	path := pebbleFile(b)
	m := pebble()
	for _, n := range []int{256, 384} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			size := m.Box().Size()
			side := max(size.X, size.Y, size.Z)
			cell := side / (0.8 * float64(n))
			g := field.Grid{Cell: cell, N: [3]int{n, n, n}}
			c := m.Box().Centre()
			half := float64(n-1) / 2 * cell
			g.Origin.X, g.Origin.Y, g.Origin.Z = c.X-half, c.Y-half, c.Z-half
			var ours float64
			var f *field.Field
			var tree *bvh.Tree
			rounds := 0
			b.ReportAllocs()
			for b.Loop() {
				start := time.Now()
				tree = bvh.Build(m)
				var err error
				if f, err = field.Distance(context.Background(), tree, g); err != nil {
					b.Fatal(err)
				}
				ours += time.Since(start).Seconds()
				rounds++
			}
			ours /= float64(rounds)
			far, close := errors(f, tree)
			b.ReportMetric(ours, "s/grid")
			b.ReportMetric(far, "cells-off")
			b.Logf("%d³ on %d cores: %.2f s; at most %.3f cells off, within 5 cells of the surface %.3f", n, runtime.GOMAXPROCS(0), ours, far, close)
			var v struct {
				Seconds float64 `json:"seconds"`
				Voxels  int     `json:"voxels"`
			}
			if err := exec.Command(python, "-c", "import pyopenvdb").Run(); err != nil {
				b.Logf("no OpenVDB here (Debian: python3-openvdb), so no ratio")
				return
			}
			if decode(b, exec.Command(python, "testdata/distance.py", path, fmt.Sprint(n)), &v) {
				b.ReportMetric(ours/v.Seconds, "of-OpenVDB")
				b.Logf("OpenVDB: %.2f s; we take %.2f of it", v.Seconds, ours/v.Seconds)
			}
		})
	}
}

// errors are the largest errors of a field in cells, anywhere and within five
// cells of the surface, over a sample.
func errors(f *field.Field, tree *bvh.Tree) (far, close float64) {
	rng := rand.New(rand.NewPCG(3, 4))
	for range 20000 {
		at := rng.IntN(f.Len())
		_, _, d2 := tree.Nearest(f.At(f.Split(at)))
		want := math.Sqrt(d2)
		off := math.Abs(math.Abs(float64(f.D[at]))-want) / f.Cell
		far = max(far, off)
		if want < 5*f.Cell {
			close = max(close, off)
		}
	}
	return far, close
}
