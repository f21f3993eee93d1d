package bench

import (
	"encoding/binary"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"runtime/debug"
	"testing"
	"time"

	"fettle/internal/shape/form"
	"fettle/internal/shape/mesh"
	"fettle/internal/shape/relief"
)

// wide and high are the size of the face that is looked at, rho the radius that
// it bends by, fine the side of the cells, mm.
const wide, high, rho, fine = 60.0, 40.0, 90.0, 0.01

// domeTop is the height of the face.
func domeTop(x, y float64) float64 { return math.Sqrt(rho*rho-x*x-y*y) - rho }

// domeSheet is the face as triangles size mm across.
func domeSheet(size float64) *mesh.Mesh {
	nx, ny := int(math.Round(wide/size)), int(math.Round(high/size))
	return form.Sheet(-wide/2, -high/2, wide/2, high/2, nx, ny, domeTop)
}

// forgetPeak sets the peak of resident memory back to what is resident now,
// after all that is free has been given back. Where the system has no such
// thing, what peakMB tells holds all that ran before, too.
func forgetPeak(b *testing.B) {
	debug.FreeOSMemory()
	if err := os.WriteFile("/proc/self/clear_refs", []byte("5"), 0o600); err != nil {
		b.Logf("the peak of memory is that of all benchmarks so far: %v", err)
	}
}

// bruteForce closes a small patch of a map by a ball, once with SciPy and once
// with one NumPy step for each cell under the ball, which comes to the same, and
// prints the seconds of both. SciPy keeps a table of cells times cells under the
// ball, so its patch has to be the smaller one. Arguments: two files of
// double-precision heights, each with its side in cells, the cell, the radius, and the one that the face bends by. Near the rim of a patch a
// ball that touches would stand outside.
const bruteForce = `
import json, sys, time
import numpy as np
from scipy.ndimage import grey_dilation, grey_erosion

small, big = (np.fromfile(sys.argv[k]).reshape(int(sys.argv[k + 1]), -1).astype(np.float32) for k in (1, 3))
cell, radius = float(sys.argv[5]), float(sys.argv[6])
n = int(radius / cell + 1e-9)
x = np.arange(-n, n + 1) * cell
r2 = x[:, None] ** 2 + x[None, :] ** 2
disc = r2 <= radius**2 * (1 + 1e-9)
rise = np.where(disc, radius - np.sqrt(np.maximum(radius**2 - r2, 0)), 0).astype(np.float32)

def scipy_closing(z):
    z = grey_dilation(z, footprint=disc, structure=-rise, mode="constant", cval=-np.inf)
    return grey_erosion(z, footprint=disc, structure=-rise, mode="constant", cval=np.inf)

def steps(z, take, sign):
    out = np.full_like(z, -sign * np.inf)
    padded = np.pad(z, n, constant_values=-sign * np.inf)
    h, w = z.shape
    one = np.empty_like(z)
    for j, i in np.argwhere(disc):
        np.subtract(padded[j:j + h, i:i + w], sign * rise[j, i], out=one)
        take(out, one, out=out)
    return out

def numpy_closing(z):
    return steps(steps(z, np.maximum, 1), np.minimum, -1)

t0 = time.perf_counter()
a = scipy_closing(small)
t1 = time.perf_counter()
b = numpy_closing(big)
t2 = time.perf_counter()
rim = 2 + int(len(big) / 2 * radius / float(sys.argv[7]))
inner = (slice(rim, -rim), slice(rim, -rim))
print(json.dumps({"scipy_s": t1 - t0, "numpy_s": t2 - t1, "under": int(disc.sum()),
                  "apart": float(abs(a - numpy_closing(small)).max()), "moved": float(abs(b - big)[inner].max())}))
`

// patchFile writes a patch of the face, side cells wide and high, about its middle.
func patchFile(b *testing.B, side int) string {
	b.Helper()
	var raw []byte
	for j := range side {
		for i := range side {
			x, y := fine*(float64(i)-float64(side)/2), fine*(float64(j)-float64(side)/2)
			raw = binary.LittleEndian.AppendUint64(raw, math.Float64bits(domeTop(x, y)))
		}
	}
	path := filepath.Join(b.TempDir(), "patch")
	if err := os.WriteFile(path, raw, 0o600); err != nil {
		b.Fatal(err)
	}
	return path
}

// BenchmarkBallOnFace is the surface that a ball leaves on a face of 60 × 40 mm
// at cells of 10 µm, from its triangles: the skin, the passes, the sweep.
//
// Beside it stands the brute force that gives a ball's surface from heights,
// grey-scale closing by as many cells as lie under the ball, on a small patch of
// the same cells. No library at hand closes the whole face in a time that can be
// waited for, so its seconds are those of the patch times the cells of the face
// over those of the patch, and are called extrapolated. It lowers the ball at
// every cell and knows no passes: it does less, and it runs on one core.
func BenchmarkBallOnFace(b *testing.B) {
	g := relief.Cover(-wide/2, -high/2, wide/2, high/2, fine)
	sheet := domeSheet(0.5)
	for _, c := range []struct {
		radius, step float64
		small, big   int // side of SciPy's and NumPy's patch, cells
	}{{1.5, 0.1, 24, 150}, {5, 0.3, 9, 100}} {
		b.Run(fmt.Sprintf("R%gstep%g", c.radius, c.step), func(b *testing.B) {
			best, peak, moves := math.Inf(1), 0.0, 0
			for b.Loop() {
				b.StopTimer()
				forgetPeak(b)
				b.StartTimer()
				start := time.Now()
				skin, err := relief.NewSkin(b.Context(), sheet, relief.Model(), relief.Ball(c.radius), -wide/2, -high/2, wide/2, high/2)
				if err != nil {
					b.Fatal(err)
				}
				list, err := relief.Lay(b.Context(), skin, relief.Passes{Step: c.step, Tolerance: 0.001}, -wide/2, -high/2, wide/2, high/2)
				if err != nil {
					b.Fatal(err)
				}
				m, _, err := relief.Sweep(b.Context(), g, []relief.Tool{relief.Ball(c.radius)}, list, relief.Options{NoStock: true})
				if err != nil {
					b.Fatal(err)
				}
				best = min(best, time.Since(start).Seconds())
				peak, moves = max(peak, peakMB()), len(list)
				whole(b, m, c.radius, c.step)
			}
			b.Logf("%d cells, %d triangles, %d moves on %d cores: %.3f s, peak %.0f MB", g.Cells(), len(sheet.Tri), moves, runtime.GOMAXPROCS(0), best, peak)
			b.ReportMetric(best, "s/surface")
			b.ReportMetric(peak, "MB")

			if err := exec.Command(python, "-c", "import scipy").Run(); err != nil {
				b.Logf("no SciPy here (Debian: python3-scipy), so no ratio")
				return
			}
			var v struct {
				SciPy float64 `json:"scipy_s"`
				NumPy float64 `json:"numpy_s"`
				Under int     `json:"under"`
				Apart float64 `json:"apart"`
				Moved float64 `json:"moved"`
			}
			decode(b, exec.Command(python, "-c", bruteForce, patchFile(b, c.small), fmt.Sprint(c.small), patchFile(b, c.big), fmt.Sprint(c.big),
				fmt.Sprint(fine), fmt.Sprint(c.radius), fmt.Sprint(rho)), &v)
			// What cells cannot tell of a ball on a dome, c²/8·(1/R + 1/ρ), along both
			// axes, and single precision.
			if most := fine*fine/4*(1/c.radius+1/rho) + 1e-6; v.Apart > 1e-6 || v.Moved > most {
				b.Errorf("the two closings differ by %g mm, and one moved the face by %g mm", v.Apart, v.Moved)
			}
			scipy := v.SciPy * float64(g.Cells()) / float64(c.small*c.small)
			numpy := v.NumPy * float64(g.Cells()) / float64(c.big*c.big)
			b.Logf("%d cells under the ball; SciPy closes %d² cells in %.2f s, NumPy %d² in %.2f s; extrapolated to the face %.0f s and %.0f s",
				v.Under, c.small, v.SciPy, c.big, v.NumPy, scipy, numpy)
			b.ReportMetric(scipy, "scipy-s/extrapolated")
			b.ReportMetric(numpy, "numpy-s/extrapolated")
			b.ReportMetric(min(scipy, numpy)/best, "times-faster/extrapolated")
		})
	}
}

// whole fails where the surface stands off the face by more than the cusps, the
// tolerance of the path and the triangles make. Near the rim the ball would have
// to stand beside the face to touch it, and no pass leads there.
func whole(b *testing.B, m *relief.Map, radius, step float64) {
	b.Helper()
	cusp, reach := step*step/(8*radius), rho/(rho+radius)
	for j := 0; j < m.H; j += 37 {
		for i := 0; i < m.W; i += 41 {
			x, y := m.X(i), m.Y(j)
			if math.Abs(x) > reach*wide/2-step || math.Abs(y) > reach*high/2-step {
				continue
			}
			if over := m.At(i, j) - domeTop(x, y); !(over > -0.002) || over > 1.5*cusp+0.002 {
				b.Fatalf("cell (%d, %d) stands %g mm over the face, the cusps are %g", i, j, over, cusp)
			}
		}
	}
}

// BenchmarkSweepHundred is the surface of a level face of 100 × 100 mm at cells
// of 10 µm, a hundred million of them, under passes of a ball of 5 mm radius,
// 0.5 mm apart. It has to do with less than 2 GiB.
func BenchmarkSweepHundred(b *testing.B) {
	const side, radius, step = 100.0, 5.0, 0.5
	g := relief.Cover(0, 0, side, side, fine)
	var list []relief.Move
	for k := range int(side/step) + 1 {
		y := step * float64(k)
		list = append(list, relief.Move{From: [3]float64{-1, y, 0}, To: [3]float64{side + 1, y, 0}, Tag: int32(k)})
	}
	best, peak := math.Inf(1), 0.0
	for b.Loop() {
		b.StopTimer()
		forgetPeak(b)
		b.StartTimer()
		start := time.Now()
		m, _, err := relief.Sweep(b.Context(), g, []relief.Tool{relief.Ball(radius)}, list, relief.Options{NoStock: true})
		if err != nil {
			b.Fatal(err)
		}
		best, peak = min(best, time.Since(start).Seconds()), max(peak, peakMB())
		// Midway between two passes stands the whole cusp, R − √(R² − (step/2)²).
		want := radius - math.Sqrt(radius*radius-step*step/4)
		if got := m.At(g.W/2, int(math.Round(20.5*step/fine))); math.Abs(got-want) > 1e-6 {
			b.Fatalf("a cusp of %g mm, by its closed form %g", got, want)
		}
	}
	b.Logf("%d cells, %d moves on %d cores: %.3f s, peak %.0f MB", g.Cells(), len(list), runtime.GOMAXPROCS(0), best, peak)
	b.ReportMetric(best, "s/surface")
	b.ReportMetric(peak, "MB")
	if peak > 2048 {
		b.Errorf("%.0f MB at the most, more than 2 GiB", peak)
	}
}
