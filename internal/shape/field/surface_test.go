package field

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"strings"
	"testing"

	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r3"
)

// filled is a field of a function over a cube of n points, cell mm apart, round
// the origin.
func filled(n int, cell float64, d func(p r3.Vec) float64) *Field {
	o := -cell * float64(n-1) / 2
	f := &Field{Grid: Grid{Origin: r3.Vec{X: o, Y: o, Z: o}, Cell: cell, N: [3]int{n, n, n}}}
	f.D = make([]float32, f.Len())
	for at := range f.D {
		f.D[at] = float32(d(f.At(f.Split(at))))
	}
	return f
}

func surface(t testing.TB, f *Field, level float64, opt SurfaceOptions) *mesh.Mesh {
	t.Helper()
	m, err := Surface(context.Background(), f, level, opt)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

func ball(r float64) func(r3.Vec) float64 {
	return func(p r3.Vec) float64 { return r3.Norm(p) - r }
}

func closeTo(t testing.TB, what string, got, want, rel float64) {
	t.Helper()
	if !(math.Abs(got-want) <= rel*math.Abs(want)) {
		t.Errorf("%s %.6g, want %.6g to %.2g", what, got, want, rel)
	}
}

// A ball at several levels: area and volume as in any handbook, one closed
// shell without handles, facing out.
func TestSurfaceBall(t *testing.T) {
	f := filled(65, 0.25, ball(5))
	for _, level := range []float64{0, 1.5, -2} {
		m := surface(t, f, level, SurfaceOptions{})
		got := mesh.Measure(m, nil)
		r := 5 + level
		closeTo(t, "volume", got.Volume, 4*math.Pi/3*r*r*r, 0.008)
		closeTo(t, "area", got.Area, 4*math.Pi*r*r, 0.006)
		if !got.Closed || got.Shells != 1 || got.Euler != 2 {
			t.Errorf("level %g: closed %v, %d shells, Euler %d", level, got.Closed, got.Shells, got.Euler)
		}
		for _, p := range m.Pos {
			if math.Abs(r3.Norm(p)-r) > 0.1*f.Cell {
				t.Fatalf("level %g: a vertex %.4f from the middle", level, r3.Norm(p))
			}
		}
	}
}

// A ring: volume 2π²Rr², area 4π²Rr, one handle.
func TestSurfaceRing(t *testing.T) {
	f := filled(81, 0.2, func(p r3.Vec) float64 { return math.Hypot(math.Hypot(p.X, p.Y)-5, p.Z) - 2 })
	got := mesh.Measure(surface(t, f, 0, SurfaceOptions{}), nil)
	closeTo(t, "volume", got.Volume, 2*math.Pi*math.Pi*5*4, 0.01)
	closeTo(t, "area", got.Area, 4*math.Pi*math.Pi*5*2, 0.01)
	if !got.Closed || got.Euler != 0 || got.Genus != 1 {
		t.Errorf("closed %v, Euler %d, genus %d", got.Closed, got.Euler, got.Genus)
	}
}

// manifold asks that every edge has two triangles and that the triangles round
// every vertex are one fan.
func manifold(t testing.TB, what string, m *mesh.Mesh) {
	t.Helper()
	tp := mesh.NewTopology(m)
	if !tp.Closed() {
		t.Fatalf("%s: %d triangles, %d borders, %d tangles, %d flips", what, len(m.Tri), tp.Borders, tp.Tangles, tp.Flips)
	}
	for v := range m.Pos {
		around := tp.Around[tp.Start[v]:tp.Start[v+1]]
		if len(around) == 0 {
			t.Fatalf("%s: vertex %d is in no triangle", what, v)
		}
		n, at := 0, around[0]
		for {
			k := slices.Index(m.Tri[at][:], uint32(v))
			at = tp.Across[at][k]
			if n++; at == around[0] || n > len(around) {
				break
			}
		}
		if n != len(around) {
			t.Fatalf("%s: %d of %d triangles in the fan round vertex %d", what, n, len(around), v)
		}
	}
}

// Random signs are the worst there is: every pattern of a cell beside every
// other. The net is closed and manifold all the same.
func TestSurfaceRandomSigns(t *testing.T) {
	for seed := range uint64(40) {
		rng := rand.New(rand.NewPCG(seed, 1))
		share := 0.1 + 0.8*rng.Float64()
		f := filled(14, 1, func(r3.Vec) float64 {
			if rng.Float64() < share {
				return -rng.Float64() - 0.01
			}
			return rng.Float64()
		})
		shut(f)
		manifold(t, fmt.Sprint("seed ", seed), surface(t, f, 0, SurfaceOptions{}))
	}
}

// shut puts the grid's rim outside.
func shut(f *Field) {
	for at := range f.D {
		i, j, k := f.Split(at)
		for a, x := range [3]int{i, j, k} {
			if x == 0 || x == f.N[a]-1 {
				f.D[at] = 1
			}
		}
	}
}

// Every pattern of a cell beside its mirror image, which puts the same face of
// each at the other.
func TestSurfaceEveryPattern(t *testing.T) {
	for c := range 256 {
		for axis := range 3 {
			f := filled(5, 1, func(r3.Vec) float64 { return 1 })
			for corner := range 8 {
				if c>>corner&1 == 0 {
					continue
				}
				x := [3]int{1 + corner&1, 1 + corner>>1&1, 1 + corner>>2}
				f.D[f.Index(x[0], x[1], x[2])] = -1
				x[axis] = 4 - x[axis]
				f.D[f.Index(x[0], x[1], x[2])] = -1
			}
			if m := surface(t, f, 0, SurfaceOptions{}); c != 0 {
				manifold(t, fmt.Sprintf("pattern %08b along %d", c, axis), m)
			}
		}
	}
}

// Where a pattern has all four crossings of a face on one sheet, that face is
// the only such one, and the second reading parts them.
func TestNetTable(t *testing.T) {
	n := 0
	for c := range 256 {
		ambiguous := 0
		for f := range 6 {
			if len(nets.crossed(uint8(c), f)) == 4 {
				ambiguous++
			}
		}
		if nets.meet[c] < 0 {
			continue
		}
		n++
		if ambiguous != 1 {
			t.Errorf("%08b: %d faces can be read two ways", c, ambiguous)
		}
		if first, second := len(nets.variant[c].sheets), len(nets.variant[nets.second[c]].sheets); first != 1 || second != 2 {
			t.Errorf("%08b: %d sheets, and %d", c, first, second)
		}
	}
	if n != 36 {
		t.Errorf("%d patterns with a second reading, there are 12 + 24", n)
	}
}

// Two cubes of material that touch at a corner, or along an edge, part.
func TestSurfaceTouching(t *testing.T) {
	for _, at := range [][3]int{{2, 2, 2}, {2, 2, 1}} {
		f := filled(5, 1, func(r3.Vec) float64 { return 1 })
		f.D[f.Index(1, 1, 1)] = -1
		f.D[f.Index(at[0], at[1], at[2])] = -1
		m := surface(t, f, 0, SurfaceOptions{})
		manifold(t, "touching", m)
		if got := mesh.Measure(m, nil); got.Shells != 2 || got.Euler != 4 {
			t.Errorf("%v: %d shells, Euler %d", at, got.Shells, got.Euler)
		}
	}
}

// waves are a smooth random field.
func waves(seed uint64) func(r3.Vec) float64 {
	rng := rand.New(rand.NewPCG(seed, 2))
	var k [6]r3.Vec
	var at, amp [6]float64
	for i := range k {
		k[i] = r3.Vec{X: rng.NormFloat64(), Y: rng.NormFloat64(), Z: rng.NormFloat64()}
		at[i], amp[i] = 6*rng.Float64(), rng.NormFloat64()
	}
	return func(p r3.Vec) float64 {
		d := 0.2
		for i := range k {
			d += amp[i] * math.Sin(r3.Dot(k[i], p)+at[i])
		}
		return d
	}
}

func TestSurfaceSmoothFields(t *testing.T) {
	for seed := range uint64(8) {
		f := filled(40, 0.3, waves(seed))
		shut(f)
		m := surface(t, f, 0, SurfaceOptions{})
		manifold(t, fmt.Sprint("seed ", seed), m)
	}
	// Open where it runs out of the grid, and only there.
	f := filled(33, 0.25, func(p r3.Vec) float64 { return p.Z - 0.1 + 0.01*p.X })
	m := surface(t, f, 0, SurfaceOptions{})
	tp := mesh.NewTopology(m)
	if tp.Tangles != 0 || tp.Flips != 0 || tp.Borders != 4*31 {
		t.Errorf("%d borders, %d tangles, %d flips", tp.Borders, tp.Tangles, tp.Flips)
	}
	for i := range m.Tri {
		if n, _ := m.Normal(i); n.Z < 0.99 {
			t.Fatalf("facet %d looks to %v", i, n)
		}
	}
}

func TestSurfaceNothing(t *testing.T) {
	for _, d := range []float64{1, -1, 0, math.Inf(1), math.Inf(-1), math.Copysign(0, -1)} {
		f := filled(9, 1, func(r3.Vec) float64 { return d })
		if m := surface(t, f, 0, SurfaceOptions{}); len(m.Tri) != 0 || len(m.Pos) != 0 {
			t.Errorf("%d triangles of a field of %g", len(m.Tri), d)
		}
	}
	flat := &Field{Grid: Grid{Cell: 1, N: [3]int{5, 5, 1}}, D: make([]float32, 25)}
	if m := surface(t, flat, 0, SurfaceOptions{}); len(m.Tri) != 0 {
		t.Errorf("%d triangles of one layer", len(m.Tri))
	}
}

func TestSurfaceRefuses(t *testing.T) {
	for _, at := range []int{0, 7, 8, 100, 728} {
		f := filled(9, 1, ball(3))
		f.D[at] = float32(math.NaN())
		if _, err := Surface(context.Background(), f, 0, SurfaceOptions{}); err == nil || !strings.Contains(err.Error(), "not a number") {
			t.Errorf("no number at %d: %v", at, err)
		}
	}
	f := filled(9, 1, ball(3))
	f.D[0], f.D[1] = float32(math.Inf(1)), float32(math.Inf(-1)) // no numbers to add up, but numbers
	manifold(t, "infinite", surface(t, filled(9, 1, func(p r3.Vec) float64 { return math.Copysign(math.Inf(1), r3.Norm(p)-3.3) }), 0, SurfaceOptions{}))
	if _, err := Surface(context.Background(), f, math.NaN(), SurfaceOptions{}); err == nil {
		t.Error("a level that is no number")
	}
	if _, err := Surface(context.Background(), f, 0, SurfaceOptions{}); err != nil {
		t.Error(err)
	}
	stop, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := Surface(stop, f, 0, SurfaceOptions{}); err != context.Canceled {
		t.Errorf("stopped: %v", err)
	}
}

// The same bits on any number of cores.
func TestSurfaceAnyCores(t *testing.T) {
	f := filled(70, 0.2, waves(3))
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0))
	var first *mesh.Mesh
	for _, cores := range []int{1, 2, 7} {
		runtime.GOMAXPROCS(cores)
		m := surface(t, f, 0.1, SurfaceOptions{})
		if first == nil {
			first = m
		} else if !slices.Equal(m.Pos, first.Pos) || !slices.Equal(m.Tri, first.Tri) {
			t.Errorf("another mesh on %d cores", cores)
		}
	}
}

// Long rows go a word of 64 points at a time, many words at once where they are
// all alike: the surface must not depend on where a word ends, nor on whether
// the level is 0, nor on which axis the rows run along.
func TestSurfaceLongRows(t *testing.T) {
	for _, n := range []int{63, 64, 65, 66, 127, 128, 129, 200} {
		rng := rand.New(rand.NewPCG(uint64(n), 3))
		grid := Grid{Cell: 1, N: [3]int{n, 6, 5}}
		f := &Field{Grid: grid, D: make([]float32, grid.Len())}
		g := &Field{Grid: grid, D: make([]float32, grid.Len())}
		turned := &Field{Grid: Grid{Cell: 1, N: [3]int{5, 6, n}}, D: make([]float32, grid.Len())}
		for at := range f.D {
			f.D[at] = 1
			i, j, k := f.Split(at)
			// Whole stretches in the material, and now and then a speck.
			if long := i*7/n%2 == 1; i > 0 && i < n-1 && j > 0 && j < 5 && k > 0 && k < 4 && (long != (rng.IntN(40) == 0)) {
				f.D[at] = -1
			}
			g.D[at] = f.D[at] + 8
			turned.D[turned.Index(k, j, i)] = f.D[at]
		}
		m := surface(t, f, 0, SurfaceOptions{})
		manifold(t, fmt.Sprint(n, " points"), m)
		if other := surface(t, g, 8, SurfaceOptions{}); !slices.Equal(m.Tri, other.Tri) || !slices.Equal(m.Pos, other.Pos) {
			t.Errorf("%d points: another surface at level 8 of the field and 8", n)
		}
		a, b := mesh.Measure(m, nil), mesh.Measure(surface(t, turned, 0, SurfaceOptions{}), nil)
		if math.Abs(a.Volume-b.Volume) > 1e-9*a.Volume || a.Shells != b.Shells || a.Euler != b.Euler || len(m.Pos) == 0 {
			t.Errorf("%d points: volume %.9g, %d shells, Euler %d; rows the other way %.9g, %d, %d", n, a.Volume, a.Shells, a.Euler, b.Volume, b.Shells, b.Euler)
		}
		f.D[len(f.D)/2+n/3] = float32(math.NaN())
		if _, err := Surface(context.Background(), f, 0, SurfaceOptions{}); err == nil {
			t.Errorf("%d points: no number not noticed", n)
		}
	}
}
