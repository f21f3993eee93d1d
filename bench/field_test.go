package bench

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"testing"
	"time"

	"fettle/internal/shape/field"

	"gonum.org/v1/gonum/spatial/r3"
)

// platterField is the distance to a plate of 40 by 28 by 10 mm with a bore, a slot
// on the slant and a round hollow, in a cube of 50 mm with n points along each
// edge: exact near the faces, and elsewhere no greater than the distance.
func platterField(n int) *field.Field {
	cell := 50 / float64(n)
	half := cell * float64(n-1) / 2
	g := field.Grid{Origin: r3.Vec{X: -half, Y: -half, Z: -half}, Cell: cell, N: [3]int{n, n, n}}
	f := &field.Field{Grid: g, D: make([]float32, g.Len())}
	for at := range f.D {
		p := g.At(g.Split(at))
		x, y, z := math.Abs(p.X)-20, math.Abs(p.Y)-14, math.Abs(p.Z)-5
		ox, oy, oz := max(x, 0), max(y, 0), max(z, 0)
		d := math.Sqrt(ox*ox+oy*oy+oz*oz) + min(max(x, y, z), 0)
		bore := 4 - math.Sqrt((p.X+9)*(p.X+9)+p.Y*p.Y)
		slot := 1.5 - math.Abs(p.Y-2*p.X+18)/math.Sqrt(5)
		hollow := 6 - math.Sqrt((p.X+3)*(p.X+3)+(p.Y-2)*(p.Y-2)+(p.Z-8)*(p.Z-8))
		f.D[at] = float32(max(d, bore, slot, hollow))
	}
	return f
}

// BenchmarkSquares measures from every cell to the nearest cell of the material,
// on all cores. SciPy does it once, on one core as it works.
func BenchmarkSquares(b *testing.B) {
	for _, n := range []int{256, 384} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			f := platterField(n)
			mask := make([]bool, f.Len())
			for i, d := range f.D {
				mask[i] = d <= 0
			}
			f.D = nil
			best := math.Inf(1)
			var got []int32
			for b.Loop() {
				start := time.Now()
				var err error
				if got, err = field.Squares(b.Context(), mask, f.Grid); err != nil {
					b.Fatal(err)
				}
				best = min(best, time.Since(start).Seconds())
			}
			b.Logf("%d cells on %d cores: %.3f s", len(mask), runtime.GOMAXPROCS(0), best)
			b.ReportMetric(best, "s/squares")
			besideSciPy(b, "squares", n, mask, got, best, 1)
		})
	}
}

// BenchmarkThickness256 finds the local thickness of the void for 12 radii, on
// all cores. SciPy is asked once, for four of the radii, one distance transform
// after another on one core; its time is scaled to twelve, as each takes the same,
// and its answer is compared with that for the same four.
func BenchmarkThickness256(b *testing.B) {
	f := platterField(256)
	var radii, few []float64
	for i := range 12 {
		radii = append(radii, 0.5*math.Pow(1.25, float64(i)))
		if i%3 == 1 {
			few = append(few, radii[i])
		}
	}
	best := math.Inf(1)
	for b.Loop() {
		start := time.Now()
		if _, err := field.Thickness(b.Context(), f, radii); err != nil {
			b.Fatal(err)
		}
		best = min(best, time.Since(start).Seconds())
	}
	b.Logf("%d cells, %d radii on %d cores: %.3f s", f.Len(), len(radii), runtime.GOMAXPROCS(0), best)
	b.ReportMetric(best, "s/thickness")
	got, err := field.Thickness(b.Context(), f, few)
	if err != nil {
		b.Fatal(err)
	}
	more := []string{fmt.Sprint(f.Cell)}
	for _, r := range few {
		more = append(more, fmt.Sprint(r))
	}
	besideSciPy(b, "thickness", 256, f.D, got, best, float64(len(radii))/float64(len(few)), more...)
}

// besideSciPy lets SciPy do the same, holds its answer against ours and reports
// the ratio of the times, SciPy's scaled.
func besideSciPy[T comparable](b *testing.B, do string, n int, given any, got []T, taken, scale float64, more ...string) {
	b.Helper()
	if err := exec.Command(python, "-c", "import scipy").Run(); err != nil {
		b.Logf("no SciPy here (Debian: python3-scipy), so no ratio")
		return
	}
	dir := b.TempDir()
	in, out := filepath.Join(dir, "in"), filepath.Join(dir, "out")
	var raw bytes.Buffer
	if err := binary.Write(&raw, binary.LittleEndian, given); err != nil {
		b.Fatal(err)
	}
	if err := os.WriteFile(in, raw.Bytes(), 0o600); err != nil {
		b.Fatal(err)
	}
	raw = bytes.Buffer{}
	var v struct {
		Taken float64 `json:"taken_s"`
	}
	decode(b, exec.Command(python, append([]string{"testdata/field.py", do, fmt.Sprint(n), in, out}, more...)...), &v)
	theirs, err := os.ReadFile(out)
	if err != nil {
		b.Fatal(err)
	}
	want := make([]T, len(got))
	if _, err := binary.Decode(theirs, binary.LittleEndian, want); err != nil {
		b.Fatal(err)
	}
	differ := 0
	for i := range got {
		if got[i] != want[i] {
			differ++
		}
	}
	if differ > 0 {
		b.Errorf("%d of %d cells differ from SciPy's", differ, len(got))
	}
	b.Logf("SciPy, on one core: %.2f s; no cell differs: %v", v.Taken*scale, differ == 0)
	b.ReportMetric(v.Taken*scale, "scipy-s/"+do)
	b.ReportMetric(taken/(v.Taken*scale), "ratio")
}
