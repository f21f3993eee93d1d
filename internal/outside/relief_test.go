//go:build outside

package outside

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"fettle/internal/shape/form"
	"fettle/internal/shape/mesh"
	"fettle/internal/shape/relief"

	"gonum.org/v1/gonum/spatial/r3"
)

// morphology does grey-scale morphology of a map with a cutter's end by SciPy,
// in double precision. Arguments: what to do (close, erode or passes), a file of
// double-precision heights, columns, rows, cell, radius, corner, the file for
// the answer, and for passes the rows of cells that hold one. NaN lends nothing.
const morphology = `
import sys
import numpy as np
from scipy.ndimage import grey_dilation, grey_erosion

do, name, w, h, cell, radius, corner, out = sys.argv[1:9]
w, h, cell, radius, corner = int(w), int(h), float(cell), float(radius), float(corner)
z = np.fromfile(name).reshape(h, w)
n = int(np.ceil(radius / cell))
x = np.arange(-n, n + 1) * cell
r = np.hypot(x[:, None], x[None, :])
disc = r < radius * (1 + 1e-9)
past = np.clip(r - (radius - corner), 0, corner)
end = -np.where(disc, corner - np.sqrt(np.maximum(corner**2 - past**2, 0)), 0.0)

def raised(z):
    z = np.where(np.isnan(z), -np.inf, z)
    return grey_dilation(z, footprint=disc, structure=end, mode="constant", cval=-np.inf)

def lowered(z):
    z = np.where(np.isfinite(z), z, np.inf)
    return grey_erosion(z, footprint=disc, structure=end, mode="constant", cval=np.inf)

if do == "close":
    z = lowered(raised(z))
elif do == "erode":
    z = lowered(z)
else:
    tips = raised(z)
    rows = [int(a) for a in sys.argv[9].split(",")]
    led = np.full_like(tips, np.inf)
    led[rows] = tips[rows]
    z = lowered(led)
np.where(np.isfinite(z), z, np.nan).tofile(out)
`

// byScipy runs it.
func byScipy(t *testing.T, do string, z []float64, g relief.Grid, tool relief.Tool, more ...string) []float64 {
	t.Helper()
	dir := t.TempDir()
	in, out := filepath.Join(dir, "in"), filepath.Join(dir, "out")
	var raw bytes.Buffer
	binary.Write(&raw, binary.LittleEndian, z)
	if err := os.WriteFile(in, raw.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	run(t, "python3-scipy", python, append([]string{"-c", morphology, do, in, fmt.Sprint(g.W), fmt.Sprint(g.H), fmt.Sprint(g.DX),
		fmt.Sprint(tool.Radius), fmt.Sprint(tool.Corner), out}, more...)...)
	answer, err := os.ReadFile(out)
	if err != nil {
		t.Fatal(err)
	}
	want := make([]float64, len(z))
	if err := binary.Read(bytes.NewReader(answer), binary.LittleEndian, want); err != nil {
		t.Fatal(err)
	}
	return want
}

// apartAtMost is the greatest difference of two maps, which must have heights in
// the same cells, and the number of these.
func apartAtMost(t *testing.T, name string, got *relief.Map, want []float64) (worst float64, seen int) {
	t.Helper()
	for i, v := range want {
		g := got.Base + float64(got.Z[i])
		if (v == v) != (g == g) {
			t.Fatalf("%s: cell (%d, %d) is %g, SciPy's %g", name, i%got.W, i/got.W, g, v)
		}
		if v == v {
			worst, seen = max(worst, math.Abs(g-v)), seen+1
		}
	}
	return worst, seen
}

// ends are three cutters whose rims pass between the middles of 0.1 mm cells.
var ends = []struct {
	name string
	tool relief.Tool
}{
	{"ball", relief.Ball(0.73)}, {"bull nose", relief.Bull(0.93, 0.3)}, {"flat end", relief.Flat(0.65)},
}

// onRim are three more whose rims pass through the middles of cells.
var onRim = []struct {
	name string
	tool relief.Tool
}{
	{"ball of 0.7 mm", relief.Ball(0.7)}, {"bull nose of 0.9 mm", relief.Bull(0.9, 0.3)}, {"flat end of 0.6 mm", relief.Flat(0.6)},
}

// landscapes are heights over cells of 0.1 mm, random and regular.
func landscapes() []struct {
	name  string
	z     func(x, y float64) float64
	holes bool
} {
	rng := rand.New(rand.NewPCG(31, 7))
	return []struct {
		name  string
		z     func(x, y float64) float64
		holes bool
	}{
		{"noise", func(x, y float64) float64 { return 0.5 * rng.NormFloat64() }, false},
		{"noise with holes", func(x, y float64) float64 { return 0.3 * rng.NormFloat64() }, true},
		{"waves", func(x, y float64) float64 { return 0.4*math.Sin(2.1*x)*math.Cos(1.7*y) + 0.2*x }, false},
		{"steps and a pocket", func(x, y float64) float64 {
			z := 0.3 * math.Floor(x+0.4*y)
			if math.Abs(x-4) < 1.2 && math.Abs(y-3) < 0.8 {
				z -= 1.5
			}
			return z
		}, true},
	}
}

// Closing by a tool's end against SciPy's grey dilation and erosion.
func TestCloseAgainstSciPy(t *testing.T) {
	rng := rand.New(rand.NewPCG(32, 7))
	g := relief.Grid{W: 80, H: 60, DX: 0.1, DY: 0.1}
	for _, l := range landscapes() {
		m := relief.NewMap(g)
		z := make([]float64, g.Cells())
		for i := range z {
			m.Z[i] = float32(l.z(m.X(i%g.W), m.Y(i/g.W)))
			if l.holes && rng.IntN(12) == 0 {
				m.Z[i] = float32(math.NaN())
			}
			z[i] = float64(m.Z[i])
		}
		if l.holes { // wider than any of the tools, so that some of it stays empty
			for j := range 42 {
				for i := range 44 {
					m.Z[(10+j)*g.W+30+i] = float32(math.NaN())
					z[(10+j)*g.W+30+i] = math.NaN()
				}
			}
		}
		for _, e := range slices.Concat(ends, onRim) {
			got, err := relief.Close(t.Context(), m, e.tool)
			if err != nil {
				t.Fatal(err)
			}
			name := e.name + " over " + l.name
			worst, seen := apartAtMost(t, name, got, byScipy(t, "close", z, g, e.tool))
			if worst > 1e-6 || seen < len(z)/2 || l.holes && seen == len(z) {
				t.Errorf("%s: up to %.3g mm apart over %d of %d cells", name, worst, seen, len(z))
			}
			t.Logf("%s: within %.2g mm over %d cells", name, worst, seen)
		}
	}
}

// A tool set down at every cell against SciPy's grey erosion of its heights.
func TestSweepOfPlungesAgainstSciPy(t *testing.T) {
	g := relief.Grid{W: 80, H: 60, DX: 0.1, DY: 0.1, X0: -3, Y0: 2}
	for _, l := range landscapes() {
		z := make([]float64, g.Cells())
		list := make([]relief.Move, len(z))
		for i := range z {
			x, y := g.X(i%g.W), g.Y(i/g.W)
			z[i] = l.z(x, y)
			list[i].From = [3]float64{x, y, z[i]}
			list[i].To = list[i].From
		}
		for _, e := range ends {
			got, owner, err := relief.Sweep(t.Context(), g, []relief.Tool{e.tool}, list, relief.Options{NoStock: true, Owner: true})
			if err != nil {
				t.Fatal(err)
			}
			name := e.name + " at " + l.name
			worst, seen := apartAtMost(t, name, got, byScipy(t, "erode", z, g, e.tool))
			others := 0
			for i, o := range owner {
				if int(o) != i {
					others++
				}
			}
			if worst > 1e-6 || seen != len(z) || others < len(z)/4 {
				t.Errorf("%s: up to %.3g mm apart over %d of %d cells, %d of them made from beside", name, worst, seen, len(z), others)
			}
			t.Logf("%s: within %.2g mm, %d of %d cells made from beside", name, worst, others, len(z))
		}
	}
}

// hills is a bumpy sheet with its corners on a grid of cells of size mm, and the
// height of its triangles, which lie on either side of the diagonal through the
// lower left and upper right corner of each cell.
func hills(w, h int, size float64) (*mesh.Mesh, func(x, y float64) float64) {
	bump := func(x, y float64) float64 {
		return 0.06*math.Sin(2.3*x+0.4)*math.Cos(1.9*y) + 0.03*math.Sin(1.1*x-2.9*y) + 0.1*x
	}
	m := form.Sheet(0, 0, float64(w)*size, float64(h)*size, w, h, bump)
	return m, func(x, y float64) float64 {
		i, j := min(int(x/size+1e-9), w-1), min(int(y/size+1e-9), h-1)
		u, v := x/size-float64(i), y/size-float64(j)
		at := func(i, j int) float64 { return m.Pos[j*(w+1)+i].Z }
		a, c := at(i, j), at(i+1, j+1)
		if u >= v {
			b := at(i+1, j)
			return a + u*(b-a) + v*(c-b)
		}
		b := at(i, j+1)
		return a + v*(b-a) + u*(c-b)
	}
}

// steepest and the greatest change of slope from one triangle to another that
// shares a corner with it.
func slopes(m *mesh.Mesh) (steep, turn float64) {
	at := make([][]r3.Vec, len(m.Pos))
	for k, tri := range m.Tri {
		n, _ := m.Normal(k)
		g := r3.Vec{X: -n.X / n.Z, Y: -n.Y / n.Z}
		steep = max(steep, r3.Norm(g))
		for _, v := range tri {
			for _, o := range at[v] {
				turn = max(turn, r3.Norm(r3.Sub(g, o)))
			}
			at[v] = append(at[v], g)
		}
	}
	return steep, turn
}

// Passes of a ball laid over a bumpy sheet and swept, against SciPy's morphology
// of the sheet's heights at fine cells: there the ball is lowered onto the
// middles of the cells and stands at those along each pass.
//
// With cells of c the middle next to a point of contact, on its triangle, is up
// to c/√2 from it, where the ball has risen by c²/4R·(1+s²)^1.5 on a slope s: so
// much too deep, at most, stand SciPy's balls. The place on the pass that makes a
// point is up to c/2 from where one stands: c²/8R of the like, and c/2 times the
// change of the path's slope where the ball goes from one triangle to the next.
func TestSurfaceOfPassesAgainstSciPy(t *testing.T) {
	const cell, size, radius, step = 0.01, 0.1, 0.5, 0.2
	sheet, height := hills(24, 20, size)
	g := relief.Cover(0, 0, 24*size, 20*size, cell)
	z := make([]float64, g.Cells())
	for i := range z {
		z[i] = height(g.X(i%g.W), g.Y(i/g.W))
	}
	x1, y1 := g.X(g.W-1), g.Y(g.H-1)
	ball := relief.Ball(radius)
	skin, err := relief.NewSkin(t.Context(), sheet, relief.Model(), ball, 0, 0, x1, y1)
	if err != nil {
		t.Fatal(err)
	}
	list, err := relief.Lay(t.Context(), skin, relief.Passes{Step: step}, 0, 0, x1, y1)
	if err != nil {
		t.Fatal(err)
	}
	got, _, err := relief.Sweep(t.Context(), g, []relief.Tool{ball}, list, relief.Options{NoStock: true})
	if err != nil {
		t.Fatal(err)
	}
	rows, last := "", -1
	for _, m := range list {
		row := math.Round(m.From[1] / cell)
		if math.Abs(row*cell-m.From[1]) > 1e-9 || math.Abs(m.To[1]-m.From[1]) > 1e-9 {
			t.Fatalf("a pass is not on a row of cells: %v", m)
		}
		if int(row) != last {
			last = int(row)
			if rows != "" {
				rows += ","
			}
			rows += fmt.Sprint(last)
		}
	}
	want := byScipy(t, "passes", z, g, ball, rows)

	steep, turn := slopes(sheet)
	const path = 2e-5 // by how much the moves may miss the path, where nothing is asked for
	bend := math.Pow(1+steep*steep, 1.5) / radius
	deep := cell*cell/4*bend + path + 1e-6
	high := cell*cell/8*bend + cell/2*turn + path + 1e-6
	var lo, hi, cusp float64
	inside := int(radius/cell) + 1
	for j := inside; j < g.H-inside; j++ {
		for i := inside; i < g.W-inside; i++ {
			d := want[j*g.W+i] - got.At(i, j)
			if math.IsNaN(d) {
				t.Fatalf("cell (%d, %d): %g, SciPy's %g", i, j, got.At(i, j), want[j*g.W+i])
			}
			lo, hi = min(lo, d), max(hi, d)
			cusp = max(cusp, got.At(i, j)-z[j*g.W+i])
		}
	}
	if lo < -deep || hi > high {
		t.Errorf("SciPy's surface is from %.3g to %.3g mm above, allowed %.3g to %.3g", lo, hi, -deep, high)
	}
	// What is compared must be much finer than what is looked at.
	if least := step * step / (8 * radius); cusp < least/2 || max(deep, high) > cusp/10 {
		t.Errorf("cusps of %.3g mm, on a level face %.3g, and %.3g allowed: nothing is told", cusp, least, max(deep, high))
	}
	t.Logf("SciPy's surface is from %.3g to %.3g mm above (allowed %.3g to %.3g), cusps up to %.3g mm", lo, hi, -deep, high, cusp)
}
