package bvh

import (
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"testing"

	"fettle/internal/shape/geom"
	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

// soup is n random triangles of very different sizes, some flat against an
// axis, some without area, some twice.
func soup(n int, seed uint64, at r3.Vec) *mesh.Mesh {
	rng := rand.New(rand.NewPCG(seed, 7))
	m := &mesh.Mesh{}
	vec := func(s float64) r3.Vec {
		return r3.Vec{X: s * (rng.Float64() - 0.5), Y: s * (rng.Float64() - 0.5), Z: s * (rng.Float64() - 0.5)}
	}
	for len(m.Tri) < n {
		c := r3.Add(at, vec(100))
		s := math.Pow(10, 3*rng.Float64()-2)
		k := uint32(len(m.Pos))
		p := [3]r3.Vec{r3.Add(c, vec(s)), r3.Add(c, vec(s)), r3.Add(c, vec(s))}
		switch rng.IntN(12) {
		case 0:
			p[1].Z, p[2].Z = p[0].Z, p[0].Z
		case 1:
			p[2] = r3.Scale(0.5, r3.Add(p[0], p[1]))
		case 2:
			p[1], p[2] = p[0], p[0]
		}
		m.Pos = append(m.Pos, p[:]...)
		m.Tri = append(m.Tri, [3]uint32{k, k + 1, k + 2})
		if rng.IntN(20) == 0 {
			m.Tri = append(m.Tri, [3]uint32{k, k + 1, k + 2})
		}
	}
	return m
}

// segment is the point of ab closest to p, by definition.
func segment(a, b, p r3.Vec) r3.Vec {
	ab := r3.Sub(b, a)
	l := r3.Norm2(ab)
	if l == 0 {
		return a
	}
	s := min(1, max(0, r3.Dot(r3.Sub(p, a), ab)/l))
	return r3.Add(a, r3.Scale(s, ab))
}

// plainNearest is the square of the distance to a triangle found the long way:
// the foot on its plane if that is within it, the nearest edge otherwise.
func plainNearest(a, b, c, p r3.Vec) float64 {
	best := math.Inf(1)
	for _, e := range [3][2]r3.Vec{{a, b}, {b, c}, {c, a}} {
		best = min(best, r3.Norm2(r3.Sub(p, segment(e[0], e[1], p))))
	}
	n, _ := geom.TriangleNormal(a, b, c)
	if n == (r3.Vec{}) {
		return best
	}
	foot := r3.Sub(p, r3.Scale(r3.Dot(r3.Sub(p, a), n), n))
	for _, e := range [3][2]r3.Vec{{a, b}, {b, c}, {c, a}} {
		if r3.Dot(r3.Cross(r3.Sub(e[1], e[0]), r3.Sub(foot, e[0])), n) < 0 {
			return best
		}
	}
	return min(best, r3.Norm2(r3.Sub(p, foot)))
}

func TestNearestAgainstAll(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		far := rapid.SampledFrom([]float64{0, 0, 1e4, 1e7}).Draw(t, "far")
		m := soup(rapid.IntRange(1, 300).Draw(t, "n"), rapid.Uint64().Draw(t, "seed"), r3.Vec{X: far, Y: -far})
		tree := Build(m)
		c := rapid.Float64Range(-150, 150)
		for range 10 {
			p := r3.Vec{X: far + c.Draw(t, "x"), Y: -far + c.Draw(t, "y"), Z: c.Draw(t, "z")}
			if rapid.Bool().Draw(t, "on") {
				p = m.Pos[rapid.IntRange(0, len(m.Pos)-1).Draw(t, "vertex")]
			}
			want := math.Inf(1)
			for i := range m.Tri {
				a, b, c := m.Corners(i)
				want = min(want, plainNearest(a, b, c, p))
			}
			tri, at, got := tree.Nearest(p)
			tol := 1e-7 + 1e-14*far
			if math.Abs(math.Sqrt(got)-math.Sqrt(want)) > tol {
				t.Fatalf("distance %.12g, by trying all %.12g", math.Sqrt(got), math.Sqrt(want))
			}
			if d := r3.Norm(r3.Sub(at, p)); math.Abs(d-math.Sqrt(got)) > 1e-9+4e-16*far {
				t.Fatalf("the point is %g away, the distance is %g", d, math.Sqrt(got))
			}
			a, b, cc := m.Corners(tri)
			if d := plainNearest(a, b, cc, at); math.Sqrt(d) > tol {
				t.Fatalf("the point is %g off its triangle", math.Sqrt(d))
			}
			if tri, _, d := tree.NearestWithin(p, got*0.999); tri != None || d != got*0.999 {
				t.Fatalf("something lies within less than the least distance")
			}
			if tri, _, d := tree.NearestWithin(p, got*1.001+1e-12); tri == None || d != got {
				t.Fatalf("nothing lies within more than the least distance")
			}
		}
	})
}

func TestRayAgainstAll(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := soup(rapid.IntRange(1, 300).Draw(t, "n"), rapid.Uint64().Draw(t, "seed"), r3.Vec{})
		tree := Build(m)
		c := rapid.Float64Range(-1, 1)
		for range 10 {
			o := r3.Vec{X: 80 * c.Draw(t, "ox"), Y: 80 * c.Draw(t, "oy"), Z: 80 * c.Draw(t, "oz")}
			d := r3.Vec{X: c.Draw(t, "dx"), Y: c.Draw(t, "dy"), Z: c.Draw(t, "dz")}
			switch rapid.IntRange(0, 3).Draw(t, "kind") {
			case 0:
				d = r3.Vec{Z: math.Copysign(1, d.Z)}
			case 1: // through the middle of some triangle
				a, b, c := m.Corners(rapid.IntRange(0, len(m.Tri)-1).Draw(t, "tri"))
				d = r3.Sub(r3.Scale(1.0/3, r3.Add(a, r3.Add(b, c))), o)
			}
			tmin := rapid.SampledFrom([]float64{0, 0.5, -1}).Draw(t, "tmin")
			tmax := rapid.SampledFrom([]float64{math.Inf(1), 1, 2}).Draw(t, "tmax")
			// Every triangle without asking any box.
			var want []Hit
			r, _ := tree.aim(o, d, tmin, tmax)
			for i := range tree.tri {
				if h, ok := r.meets(&tree.tri[i]); ok {
					h.Tri = int(tree.id[i])
					want = append(want, h)
				}
			}
			got := tree.RayAll(nil, o, d, tmin, tmax)
			if len(got) != len(want) || tree.RayAny(o, d, tmin, tmax) != (len(want) > 0) {
				t.Fatalf("%d hits, by trying all %d", len(got), len(want))
			}
			tri, at, u, v, ok := tree.Ray(o, d, tmin, tmax)
			if ok != (len(want) > 0) {
				t.Fatalf("hit %v, by trying all %d", ok, len(want))
			}
			if !ok {
				continue
			}
			for _, h := range want {
				if h.T < at {
					t.Fatalf("met at %g, triangle %d is met at %g", at, h.Tri, h.T)
				}
			}
			a, b, c := m.Corners(tri)
			p := r3.Add(r3.Scale(1-u-v, a), r3.Add(r3.Scale(u, b), r3.Scale(v, c)))
			n, area := geom.TriangleNormal(a, b, c)
			if steep := math.Abs(r3.Dot(n, r3.Unit(d))); area > 1e-3 && steep > 1e-3 {
				if off := r3.Norm(r3.Sub(p, r3.Add(o, r3.Scale(at, d)))); off > 1e-8 {
					t.Fatalf("the corners' mean is %g off the ray", off)
				}
			}
		}
	})
}

// A ray along z through a triangle in the plane z = 2, from first principles.
func TestRayWeights(t *testing.T) {
	m := &mesh.Mesh{Pos: []r3.Vec{{Z: 2}, {X: 4, Z: 2}, {Y: 8, Z: 2}}, Tri: [][3]uint32{{0, 1, 2}}}
	tri, at, u, v, ok := Build(m).Ray(r3.Vec{X: 1, Y: 2, Z: 0}, r3.Vec{Z: 0.5}, 0, 10)
	if !ok || tri != 0 || at != 4 || u != 0.25 || v != 0.25 {
		t.Errorf("tri %d at %g, weights %g %g, ok %v", tri, at, u, v, ok)
	}
}

// Rays from inside a closed mesh, aimed exactly at vertices, edge middles and
// nowhere in particular, near the origin and far from it: all must hit.
func TestRaysDoNotLeak(t *testing.T) {
	for _, shift := range []r3.Vec{{}, {X: 1e5, Y: 3e4}} {
		m := pebble(60)
		for i := range m.Pos {
			m.Pos[i] = r3.Add(m.Pos[i], shift)
		}
		tree := Build(m)
		rng := rand.New(rand.NewPCG(3, 4))
		shots := 0
		fire := func(o, target r3.Vec) {
			shots++
			if _, _, _, _, ok := tree.Ray(o, r3.Sub(target, o), 0, math.Inf(1)); !ok {
				t.Errorf("the ray from %v to %v leaks", o, target)
			}
			// And from outside, far away, through the same place.
			out := r3.Sub(target, r3.Scale(1e5, r3.Unit(r3.Sub(target, o))))
			if !tree.RayAny(out, r3.Sub(target, out), 0, math.Inf(1)) {
				t.Errorf("the ray from far away through %v leaks", target)
			}
		}
		for range 20 {
			o := r3.Add(shift, r3.Vec{X: 10 * (rng.Float64() - 0.5), Y: 10 * (rng.Float64() - 0.5), Z: 10 * (rng.Float64() - 0.5)})
			for i, v := range m.Tri {
				a, b, c := m.Corners(i)
				fire(o, m.Pos[v[i%3]])
				fire(o, r3.Scale(0.5, r3.Add(a, b)))
				fire(o, r3.Add(r3.Scale(0.3, b), r3.Scale(0.7, c)))
			}
		}
		// Along the axes, through the poles, where many triangles meet.
		for _, d := range []r3.Vec{{X: 1}, {X: -1}, {Y: 1}, {Y: -1}, {Z: 1}, {Z: -1}} {
			fire(shift, r3.Add(shift, d))
		}
		if shots < 400_000 {
			t.Errorf("only %d shots", shots)
		}
	}
}

// A lattice of vertices on round numbers, straight down on every vertex and
// edge: the flat boxes and the zero components of the direction.
func TestRaysOnLattice(t *testing.T) {
	m := &mesh.Mesh{}
	const n = 20
	for i := range n + 1 {
		for j := range n + 1 {
			m.Pos = append(m.Pos, r3.Vec{X: float64(i), Y: float64(j), Z: 5})
		}
	}
	at := func(i, j int) uint32 { return uint32(i*(n+1) + j) }
	for i := range n {
		for j := range n {
			m.Tri = append(m.Tri, [3]uint32{at(i, j), at(i+1, j), at(i+1, j+1)}, [3]uint32{at(i, j), at(i+1, j+1), at(i, j+1)})
		}
	}
	tree := Build(m)
	for i := range 2*n + 1 {
		for j := range 2*n + 1 {
			o := r3.Vec{X: float64(i) / 2, Y: float64(j) / 2, Z: 9}
			if _, at, _, _, ok := tree.Ray(o, r3.Vec{Z: -2}, 0, 100); !ok || at != 2 {
				t.Errorf("from %v: met %v at %g", o, ok, at)
			}
			if tree.RayAny(o, r3.Vec{Z: -2}, 0, 1.999) || tree.RayAny(o, r3.Vec{Z: 2}, 0, 100) {
				t.Errorf("from %v: met what is out of range", o)
			}
		}
	}
}

func TestEmptyTree(t *testing.T) {
	tree := Build(&mesh.Mesh{})
	if tri, _, d := tree.Nearest(r3.Vec{}); tri != None || !math.IsInf(d, 1) {
		t.Errorf("nearest of nothing is %d at %g", tri, d)
	}
	if _, _, _, _, ok := tree.Ray(r3.Vec{}, r3.Vec{X: 1}, 0, 1); ok || tree.Inside(r3.Vec{}) || tree.Winding(r3.Vec{}) != 0 {
		t.Error("an empty tree is met or has an inside")
	}
	if !tree.Box().Empty() || tree.Len() != 0 {
		t.Error("an empty tree has a box or triangles")
	}
	full := Build(pebble(8))
	for _, d := range []r3.Vec{{}, {X: math.NaN()}, {X: math.Inf(1)}} {
		if full.RayAny(r3.Vec{}, d, 0, math.Inf(1)) {
			t.Errorf("a ray of direction %v meets something", d)
		}
	}
}

// Every triangle is in exactly one leaf, inside the boxes above it, and the
// tree is the same for any number of cores.
func TestBuildAnyCores(t *testing.T) {
	m := pebble(200)
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	want := Build(m)
	for _, n := range []int{2, 3, 8} {
		runtime.GOMAXPROCS(n)
		got := Build(m)
		if !slices.Equal(want.id, got.id) || !slices.Equal(want.nodes, got.nodes) || !slices.Equal(want.tri, got.tri) {
			t.Fatalf("the tree built on %d cores differs", n)
		}
	}
	seen := make([]int, len(m.Tri))
	for _, id := range want.id {
		seen[id]++
	}
	for i, n := range seen {
		if n != 1 {
			t.Fatalf("triangle %d is in %d leaves", i, n)
		}
	}
}

// Meshes made to break the splitting: all centres equal, and sizes that halve
// each time.
func TestBuildOddMeshes(t *testing.T) {
	same, shrinking := &mesh.Mesh{}, &mesh.Mesh{}
	for i := range 5000 {
		k := uint32(3 * i)
		s := 1 + float64(i)/100
		same.Pos = append(same.Pos, r3.Vec{X: s}, r3.Vec{X: -s, Y: s}, r3.Vec{Y: -s})
		same.Tri = append(same.Tri, [3]uint32{k, k + 1, k + 2})
		h := math.Pow(0.97, float64(i))
		shrinking.Pos = append(shrinking.Pos, r3.Vec{X: 100 * h}, r3.Vec{X: 101 * h, Y: h}, r3.Vec{X: 101 * h, Z: h})
		shrinking.Tri = append(shrinking.Tri, [3]uint32{k, k + 1, k + 2})
	}
	for _, m := range []*mesh.Mesh{same, shrinking} {
		tree := Build(m)
		for i := 0; i < len(m.Pos); i += 17 {
			if _, _, d := tree.Nearest(m.Pos[i]); d > 1e-20 {
				t.Fatalf("vertex %d is %g away from its own mesh", i, d)
			}
		}
	}
}

// Many points at once get the answers they get one by one.
func TestNearestAll(t *testing.T) {
	m := pebble(50)
	tree := Build(m)
	for _, pts := range [][]r3.Vec{nil, {{X: 1}}, nearPoints(m, 5000), {{}, {}, {}}, {{X: math.NaN()}, {X: 5}}} {
		out := make([]Near, len(pts))
		tree.NearestAll(pts, 9, out)
		for i, p := range pts {
			if tri, at, d := tree.NearestWithin(p, 9); out[i] != (Near{int32(tri), at, d}) {
				t.Fatalf("point %d: %+v in a batch, %d %v %g alone", i, out[i], tri, at, d)
			}
		}
	}
}
