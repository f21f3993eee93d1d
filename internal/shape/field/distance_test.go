package field

import (
	"context"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"testing"

	"fettle/internal/shape/bvh"
	"fettle/internal/shape/form"
	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// parts are solids of every sort: round, flat, thin, hollow, finely and coarsely
// tessellated, turned off the axes.
func parts() map[string]*mesh.Mesh {
	n := 64
	plate := form.Plate(form.Rectangle(r2.Vec{}, 30, 20, 3, 8), 5,
		form.Countersunk(r2.Vec{X: -9}, 3, 6, 90, n),
		form.Through(form.Keyhole(r2.Vec{X: 8, Y: -3}, 5, 2, 6, n)),
		form.Blind(form.Rectangle(r2.Vec{}, 8, 8, 1, 8), 3))
	turned := &mesh.Mesh{Pos: slices.Clone(plate.Pos), Tri: plate.Tri}
	spin := r3.NewRotation(0.7, r3.Vec{X: 1, Y: 2, Z: 3})
	for i, p := range turned.Pos {
		turned.Pos[i] = spin.Rotate(p)
	}
	hollow := form.Sphere(6, 40, 40)
	inner := form.Sphere(4, 30, 30)
	base := uint32(len(hollow.Pos))
	hollow.Pos = append(hollow.Pos, inner.Pos...)
	for _, t := range inner.Tri {
		hollow.Tri = append(hollow.Tri, [3]uint32{t[0] + base, t[2] + base, t[1] + base})
	}
	return map[string]*mesh.Mesh{
		"ball":   form.Icosphere(10, 5),
		"box":    form.Box(20, 14, 9),
		"torus":  form.Torus(8, 3, 90, 40),
		"plate":  plate,
		"turned": turned,
		"hollow": hollow,
	}
}

// Exact near the surface; farther off never too small, at most a tenth of a cell too
// long up to five cells and a fifth beyond; and on the side that the winding number says.
func TestDistanceAgainstTheTree(t *testing.T) {
	for name, m := range parts() {
		tree := bvh.Build(m)
		grids, samples := []float64{24, 61}, 20000
		if testing.Short() { // the race detector is ten times slower
			grids, samples = grids[:1], 2000
		}
		for _, cells := range grids {
			size := m.Box().Size()
			g := GridFor(m.Box(), max(size.X, size.Y, size.Z)/cells, 0.4*size.X)
			f, err := Distance(context.Background(), tree, g)
			if err != nil {
				t.Fatal(err)
			}
			rng := rand.New(rand.NewPCG(1, 2))
			worst, wrong := 0.0, 0
			for range samples {
				at := rng.IntN(g.Len())
				p := g.At(g.Split(at))
				_, _, d2 := tree.Nearest(p)
				want, got := math.Sqrt(d2), math.Abs(float64(f.D[at]))
				off := (got - want) / g.Cell
				if want < 3*g.Cell && math.Abs(off) > 1e-5 {
					t.Fatalf("%s: %.3f cells off the surface the distance is %.6g cells off", name, want/g.Cell, off)
				}
				if off < -1e-5 {
					t.Fatalf("%s: distance too small by %.3g cells", name, -off)
				}
				worst = max(worst, off)
				if want < 5*g.Cell && off > 0.11 {
					t.Errorf("%s: %.2f cells off the surface the distance is %.3f cells too long", name, want/g.Cell, off)
				}
				if want > 1e-3*g.Cell && (f.D[at] < 0) != tree.Inside(p) {
					wrong++
				}
			}
			t.Logf("%s, %v: at most %.3f cells too long", name, g.N, worst)
			if worst > 0.2 {
				t.Errorf("%s: %.3f cells too long", name, worst)
			}
			if wrong > 0 {
				t.Errorf("%s: %d points on the wrong side", name, wrong)
			}
		}
	}
}

// A surface with holes and one with overlapping bodies have an inside all the
// same; a grid smaller than the part is exact everywhere.
func TestSignsOfImperfectMeshes(t *testing.T) {
	torn := form.Icosphere(10, 4)
	torn.Tri = slices.DeleteFunc(slices.Clone(torn.Tri), func(v [3]uint32) bool { return torn.Pos[v[0]].Z > 9.6 })
	two := form.Box(10, 10, 10)
	base := uint32(len(two.Pos))
	for _, p := range form.Box(10, 10, 10).Pos {
		two.Pos = append(two.Pos, r3.Add(p, r3.Vec{X: 6, Y: 2, Z: 1}))
	}
	for _, v := range form.Box(10, 10, 10).Tri {
		two.Tri = append(two.Tri, [3]uint32{v[0] + base, v[1] + base, v[2] + base})
	}
	for name, c := range map[string]struct {
		m   *mesh.Mesh
		in  []r3.Vec
		out []r3.Vec
	}{
		"torn":        {torn, []r3.Vec{{}, {X: 8}, {Z: 7}}, []r3.Vec{{Z: 11}, {X: 10.5}}},
		"overlapping": {two, []r3.Vec{{X: 2, Y: 0, Z: 2}, {X: 4, Y: 1, Z: 5}, {X: 9, Y: 2, Z: 6}}, []r3.Vec{{X: -5.8}, {X: 12, Y: 0.5, Z: 2}}},
	} {
		f, err := Distance(context.Background(), bvh.Build(c.m), GridFor(c.m.Box(), 0.4, 3))
		if err != nil {
			t.Fatal(err)
		}
		for _, p := range c.in {
			if v := f.Value(p); v >= 0 {
				t.Errorf("%s: %v is in the void, %.3g mm", name, p, v)
			}
		}
		for _, p := range c.out {
			if v := f.Value(p); v <= 0 {
				t.Errorf("%s: %v is in the material, %.3g mm", name, p, v)
			}
		}
	}
	ball := form.Icosphere(10, 5)
	tree := bvh.Build(ball)
	g := Grid{Origin: r3.Vec{X: -1, Y: -1, Z: 3}, Cell: 0.5, N: [3]int{5, 5, 20}}
	f, err := Distance(context.Background(), tree, g)
	if err != nil {
		t.Fatal(err)
	}
	for i := range f.D {
		p := g.At(g.Split(i))
		_, _, d2 := tree.Nearest(p)
		want := math.Sqrt(d2)
		if tree.Inside(p) {
			want = -want
		}
		if math.Abs(float64(f.D[i])-want) > 1e-6 {
			t.Fatalf("at %v: %g, want %g", p, f.D[i], want)
		}
	}
}

func TestDistanceSameForAnyCores(t *testing.T) {
	m := form.Torus(8, 3, 90, 40)
	g := GridFor(m.Box(), 0.37, 2)
	var first []float32
	for _, n := range []int{1, 2, 5} {
		was := runtime.GOMAXPROCS(n)
		f, err := Distance(context.Background(), bvh.Build(m), g)
		runtime.GOMAXPROCS(was)
		if err != nil {
			t.Fatal(err)
		}
		if first == nil {
			first = f.D
		}
		if !slices.Equal(f.D, first) {
			t.Errorf("%d cores give another answer", n)
		}
	}
}

// What is not a part has no surface: everything is far from it.
func TestDistanceOfNothing(t *testing.T) {
	f, err := Distance(context.Background(), bvh.Build(&mesh.Mesh{}), Grid{Cell: 1, N: [3]int{2, 2, 2}})
	if err != nil || !math.IsInf(float64(f.D[0]), 1) {
		t.Errorf("%v, %v", f, err)
	}
	ctx, stop := context.WithCancel(context.Background())
	stop()
	if _, err := Distance(ctx, bvh.Build(form.Box(1, 1, 1)), GridFor(form.Box(1, 1, 1).Box(), 0.05, 0.2)); err == nil {
		t.Error("a stopped context is not told")
	}
}
