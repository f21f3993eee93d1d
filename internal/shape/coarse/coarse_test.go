package coarse

import (
	"context"
	"errors"
	"math"
	"runtime"
	"slices"
	"testing"

	"fettle/internal/shape/mesh"

	"github.com/google/go-cmp/cmp"
	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

// torus is a closed grid of n × k corners on a torus about Z.
func torus(major, minor float64, n, k int) *mesh.Mesh {
	m := &mesh.Mesh{}
	for i := range n {
		for j := range k {
			u, v := 2*math.Pi*float64(i)/float64(n), 2*math.Pi*float64(j)/float64(k)
			r := major + minor*math.Cos(v)
			m.Pos = append(m.Pos, r3.Vec{X: r * math.Cos(u), Y: r * math.Sin(u), Z: minor * math.Sin(v)})
		}
	}
	at := func(i, j int) uint32 { return uint32(i%n*k + j%k) }
	for i := range n {
		for j := range k {
			m.Tri = append(m.Tri, [3]uint32{at(i, j), at(i+1, j), at(i+1, j+1)}, [3]uint32{at(i, j), at(i+1, j+1), at(i, j+1)})
		}
	}
	return m
}

// sphere is an octahedron, each face cut into n² and blown up.
func sphere(radius float64, n int) *mesh.Mesh {
	m := &mesh.Mesh{}
	w := mesh.NewWelder(0)
	for _, s := range [][3]float64{{1, 1, 1}, {-1, -1, 1}, {-1, 1, -1}, {1, -1, -1}, {-1, 1, 1}, {1, -1, 1}, {1, 1, -1}, {-1, -1, -1}} {
		turn := s[0]*s[1]*s[2] < 0
		at := func(i, j int) uint32 {
			p := r3.Vec{X: s[0] * float64(i), Y: s[1] * float64(j), Z: s[2] * float64(n-i-j)}
			p = r3.Scale(radius, r3.Unit(p))
			return w.Add(p.X, p.Y, p.Z)
		}
		put := func(a, b, c uint32) {
			if turn {
				b, c = c, b
			}
			m.Tri = append(m.Tri, [3]uint32{a, b, c})
		}
		for i := range n {
			for j := range n - i {
				put(at(i, j), at(i+1, j), at(i, j+1))
				if i+j < n-1 {
					put(at(i+1, j), at(i+1, j+1), at(i, j+1))
				}
			}
		}
	}
	m.Pos = w.Pos
	return m
}

// furthest is the largest value of f over a grid on each triangle.
func furthest(m *mesh.Mesh, f func(r3.Vec) float64) float64 {
	most := 0.0
	const n = 6
	for t := range m.Tri {
		a, b, c := m.Corners(t)
		for i := range n + 1 {
			for j := range n + 1 - i {
				u, v := float64(i)/n, float64(j)/n
				p := r3.Add(r3.Scale(1-u-v, a), r3.Add(r3.Scale(u, b), r3.Scale(v, c)))
				most = max(most, f(p))
			}
		}
	}
	return most
}

// The truth is the surface itself: x² + y² + z² = r², and (√(x²+y²) − R)² + z² = r²; volumes
// 4/3 π r³ and 2 π² R r².
func TestAgainstTheSurfaceItself(t *testing.T) {
	for _, c := range []struct {
		name   string
		m      *mesh.Mesh
		off    func(r3.Vec) float64
		volume float64
		most   int
		within float64 // of the true surface, mm
	}{
		{"sphere", sphere(20, 60), func(p r3.Vec) float64 { return math.Abs(r3.Norm(p) - 20) }, 4.0 / 3 * math.Pi * 8000, 3000, 0.12},
		{"torus", torus(20, 6, 160, 60), func(p r3.Vec) float64 { return math.Abs(math.Hypot(math.Hypot(p.X, p.Y)-20, p.Z) - 6) }, 2 * math.Pi * math.Pi * 20 * 36, 3000, 0.12},
	} {
		t.Run(c.name, func(t *testing.T) {
			r, err := Make(t.Context(), c.m, c.most, Options{})
			if err != nil {
				t.Fatal(err)
			}
			if n := len(r.Mesh.Tri); n > c.most || n < c.most*9/10 {
				t.Errorf("%d triangles are left of %d, wanted about %d", n, len(c.m.Tri), c.most)
			}
			before, after := furthest(c.m, c.off), furthest(r.Mesh, c.off)
			t.Logf("%d to %d triangles: off by %.4f before, %.4f after, said %.4f", len(c.m.Tri), len(r.Mesh.Tri), before, after, r.ErrorMM)
			if after > c.within {
				t.Errorf("the coarse surface is off by %.4f mm", after)
			}
			// What is said is against the fine mesh, which is off itself.
			if after > r.ErrorMM+before {
				t.Errorf("the coarse surface is off by %.4f mm, more than the %.4f + %.4f that are said", after, r.ErrorMM, before)
			}
			if r.ErrorMM < (after-before)/2 || r.ErrorMM > after+before {
				t.Errorf("%.4f mm is said of an error of %.4f", r.ErrorMM, after)
			}
			got := mesh.Measure(r.Mesh, nil)
			if !got.Closed || math.Abs(got.Volume/c.volume-1) > 0.01 {
				t.Errorf("volume %.1f (closed: %v), truth %.1f", got.Volume, got.Closed, c.volume)
			}
			if want := mesh.Measure(c.m, nil); got.Genus != want.Genus || got.Shells != want.Shells {
				t.Errorf("genus %d and %d shells became %d and %d", want.Genus, want.Shells, got.Genus, got.Shells)
			}
			for i, v := range r.Vertex {
				if r.Mesh.Pos[i] != c.m.Pos[v] {
					t.Fatal("a corner is none of those that there were")
				}
			}
		})
	}
}

// Octants of a sphere meet on great circles: what they take of 4 π r² stays an eighth
// each, and every corner on a seam stays on its circle.
func TestSeamsStay(t *testing.T) {
	m := sphere(10, 40)
	label := make([]int32, len(m.Tri))
	octant := func(t int) int32 {
		a, b, c := m.Corners(t)
		p, o := r3.Add(a, r3.Add(b, c)), int32(0)
		for k, v := range []float64{p.X, p.Y, p.Z} {
			if v > 0 {
				o |= 1 << k
			}
		}
		return o
	}
	for i := range label {
		label[i] = octant(i)
	}
	r, err := Make(t.Context(), m, 1500, Options{Label: label})
	if err != nil {
		t.Fatal(err)
	}
	var area [8]float64
	for i, o := range r.Tri {
		_, a := r.Mesh.Normal(i)
		area[label[o]] += a
		a1, b1, c1 := r.Mesh.Corners(i)
		for _, p := range []r3.Vec{a1, b1, c1} {
			for k, v := range []float64{p.X, p.Y, p.Z} {
				if (label[o]>>k&1 == 1) != (v > 0) && math.Abs(v) > 1e-9 {
					t.Fatalf("a triangle of octant %d has a corner at %v", label[o], p)
				}
			}
		}
	}
	for o, a := range area {
		if want := 4 * math.Pi * 100 / 8; math.Abs(a/want-1) > 0.01 {
			t.Errorf("octant %d has %.2f mm², truth %.2f", o, a, want)
		}
	}
}

// A cube needs two triangles a side, whatever it was cut into; what a value on its corners
// shows is kept where that was asked for.
func TestFlatGoesAndValuesStay(t *testing.T) {
	m := box(24)
	r, err := Make(t.Context(), m, 12, Options{Label: sides(m)})
	if err != nil {
		t.Fatal(err)
	}
	if len(r.Mesh.Tri) != 12 || r.ErrorMM > 1e-9 {
		t.Errorf("a cube has %d triangles and is %g mm off, wanted 12 and none", len(r.Mesh.Tri), r.ErrorMM)
	}
	bump := make([]float32, len(m.Pos))
	for i, p := range m.Pos {
		bump[i] = float32(math.Exp(-8 * r3.Norm2(r3.Sub(p, r3.Vec{X: 0.5, Y: 0.5, Z: 1}))))
	}
	if r, err = Make(t.Context(), m, 600, Options{Label: sides(m), Values: [][]float32{bump}, ValueMM: 0.1}); err != nil {
		t.Fatal(err)
	}
	top := float32(0)
	for i := range r.Mesh.Pos {
		top = max(top, bump[r.Vertex[i]])
	}
	if top < 0.95 {
		t.Errorf("the top of a bump of 1 came out at %.2f", top)
	}
}

// box is a unit cube with n × n squares on each side.
func box(n int) *mesh.Mesh {
	m, w := &mesh.Mesh{}, mesh.NewWelder(0)
	for side := range 6 {
		at := func(i, j int) uint32 {
			p := [3]float64{float64(i) / float64(n), float64(j) / float64(n), float64(side & 1)}
			k := side / 2
			return w.Add(p[(3-k)%3], p[(4-k)%3], p[(5-k)%3])
		}
		for i := range n {
			for j := range n {
				q := [4]uint32{at(i, j), at(i+1, j), at(i+1, j+1), at(i, j+1)}
				if side&1 == 0 {
					q[1], q[3] = q[3], q[1]
				}
				m.Tri = append(m.Tri, [3]uint32{q[0], q[1], q[2]}, [3]uint32{q[0], q[2], q[3]})
			}
		}
	}
	m.Pos = w.Pos
	return m
}

func sides(m *mesh.Mesh) []int32 {
	label := make([]int32, len(m.Tri))
	for t := range label {
		label[t] = int32(t / (len(m.Tri) / 6))
	}
	return label
}

func TestSameBitsOnAnyCores(t *testing.T) {
	m := torus(10, 4, 60, 40)
	was := runtime.GOMAXPROCS(1)
	one, err := Make(t.Context(), m, 900, Options{})
	runtime.GOMAXPROCS(max(was, 4))
	many, err2 := Make(t.Context(), m, 900, Options{})
	runtime.GOMAXPROCS(was)
	if err := errors.Join(err, err2); err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(one, many); d != "" {
		t.Error(d)
	}
}

// Whatever it is given, triangles that are left are triangles of the mesh before, closed
// stays closed, and a small mesh is untouched.
func TestAnyMesh(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := torus(rapid.Float64Range(5, 9).Draw(t, "major"), rapid.Float64Range(0.1, 4).Draw(t, "minor"), rapid.IntRange(3, 24).Draw(t, "n"), rapid.IntRange(3, 16).Draw(t, "k"))
		label := make([]int32, len(m.Tri))
		for i := range label {
			label[i] = rapid.Int32Range(0, 2).Draw(t, "label")
		}
		if rapid.Bool().Draw(t, "open") { // with a hole, and with corners where fans touch
			m.Tri = slices.Delete(m.Tri, 0, min(rapid.IntRange(1, 9).Draw(t, "hole"), len(m.Tri)))
			label = label[:len(m.Tri)]
		}
		closed := mesh.NewTopology(m).Closed()
		most := rapid.IntRange(1, len(m.Tri)+1).Draw(t, "most")
		r, err := Make(context.Background(), m, most, Options{Label: label})
		if err != nil {
			t.Fatal(err)
		}
		tp := mesh.NewTopology(r.Mesh)
		if closed && !tp.Closed() || tp.Tangles > 0 {
			t.Fatalf("a closed surface has %d borders and %d tangles", tp.Borders, tp.Tangles)
		}
		if len(m.Tri) <= most && len(r.Mesh.Tri) != len(m.Tri) {
			t.Fatal("a mesh that was small enough was changed")
		}
		if !slices.IsSorted(r.Tri) || !slices.IsSorted(r.Vertex) || len(r.Tri) != len(r.Mesh.Tri) || len(r.Vertex) != len(r.Mesh.Pos) {
			t.Fatal("what came from where is not told right")
		}
	})
}

func TestStops(t *testing.T) {
	ctx, stop := context.WithCancel(t.Context())
	stop()
	if _, err := Make(ctx, sphere(1, 20), 10, Options{}); !errors.Is(err, context.Canceled) {
		t.Errorf("got %v", err)
	}
}

func BenchmarkMillion(b *testing.B) {
	m := torus(30, 10, 1000, 512)
	for b.Loop() {
		r, err := Make(b.Context(), m, 100_000, Options{})
		if err != nil {
			b.Fatal(err)
		}
		b.ReportMetric(r.ErrorMM*1000, "µm")
		b.ReportMetric(float64(len(r.Mesh.Tri)), "triangles")
	}
}
