package bvh

import (
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"testing"
	"time"

	"fettle/internal/shape/form"
	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

func moved(m *mesh.Mesh, d r3.Vec) *mesh.Mesh {
	out := &mesh.Mesh{Tri: m.Tri, Pos: slices.Clone(m.Pos)}
	for i := range out.Pos {
		out.Pos[i] = r3.Add(out.Pos[i], d)
	}
	return out
}

func turned(m *mesh.Mesh, rng *rand.Rand) *mesh.Mesh {
	rot := r3.NewRotation(2*math.Pi*rng.Float64(), r3.Vec{X: rng.NormFloat64(), Y: rng.NormFloat64(), Z: rng.NormFloat64()})
	out := &mesh.Mesh{Tri: m.Tri, Pos: slices.Clone(m.Pos)}
	for i := range out.Pos {
		out.Pos[i] = rot.Rotate(out.Pos[i])
	}
	return out
}

// Solids that are known to be embedded have none, however they are turned and
// wherever they lie.
func TestCrossingsOfCleanSolids(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 1))
	keyhole := form.Through(form.Keyhole(r2.Vec{X: 10, Y: 10}, 6, 3, 8, 32))
	solids := map[string]*mesh.Mesh{
		"box": form.Box(3, 4, 5), "sphere": form.Sphere(10, 30, 60), "torus": form.Torus(20, 5, 60, 30),
		"icosphere": form.Icosphere(7, 3), "pebble": pebble(60),
		"plate": form.PlateSpaced(form.Rectangle(r2.Vec{X: 10, Y: 10}, 30, 40, 3, 8), 4, 1, keyhole),
		"two":   mesh.Join(form.Box(1, 1, 1), moved(form.Box(1, 1, 1), r3.Vec{X: 1 + 1e-6})),
	}
	turns := 4
	if testing.Short() {
		turns = 2
	}
	for name, m := range solids {
		for i := range turns {
			at := r3.Scale(float64(i*i*i)*100, r3.Vec{X: 1, Y: -2, Z: 0.5})
			turnedMesh := m
			if i > 0 {
				turnedMesh = moved(turned(m, rng), at)
			}
			if got := Crossings(turnedMesh); len(got) != 0 {
				t.Errorf("%s, turned %d: %d crossings, the first %v", name, i, len(got), got[0])
			}
			// As a soup, without shared indices.
			loose := &mesh.Mesh{}
			for k := range turnedMesh.Tri {
				a, b, c := turnedMesh.Corners(k)
				n := uint32(len(loose.Pos))
				loose.Pos = append(loose.Pos, a, b, c)
				loose.Tri = append(loose.Tri, [3]uint32{n, n + 1, n + 2})
			}
			if got := Crossings(loose); len(got) != 0 {
				t.Errorf("%s, loose, turned %d: %d crossings, the first %v", name, i, len(got), got[0])
			}
		}
	}
}

// Of two boxes, one through a face of the other, the faces that cross are known
// from the drawing: the four sides of the thin one with the top of the thick one,
// along the rim of a rectangle.
func TestCrossingsOfBoxes(t *testing.T) {
	thick := form.Box(10, 10, 10)
	thin := moved(form.Box(2, 1, 10), r3.Vec{X: 6.1, Y: 2.3, Z: 5})
	m := mesh.Join(thick, thin)
	got := Crossings(m)
	// The rim lies in one triangle of the top or is cut by its diagonal; each side
	// has two triangles, both of which meet the plane of the top.
	if len(got) < 8 || len(got) > 16 {
		t.Fatalf("%d crossings", len(got))
	}
	sides := map[int32]bool{}
	for _, p := range got {
		if p[0] >= p[1] || p[0] >= 12 || p[1] < 12 {
			t.Fatalf("pair %v", p)
		}
		a, b, c := m.Corners(int(p[0]))
		if a.Z != 10 || b.Z != 10 || c.Z != 10 {
			t.Errorf("pair %v: the first is not of the top", p)
		}
		n, _ := m.Normal(int(p[1]))
		if n.Z != 0 {
			t.Errorf("pair %v: the second is not a side", p)
		}
		sides[p[1]] = true
	}
	if len(sides) != 8 {
		t.Errorf("%d triangles of the sides", len(sides))
	}
	if !slices.IsSortedFunc(got, func(a, b [2]int32) int { return slices.Compare(a[:], b[:]) }) {
		t.Error("not sorted")
	}
}

// What touches does not cross, what goes in by more than the tolerance does.
func TestCrossingsTouching(t *testing.T) {
	tri := func(p ...r3.Vec) *mesh.Mesh { return &mesh.Mesh{Pos: p, Tri: [][3]uint32{{0, 1, 2}}} }
	v := func(x, y, z float64) r3.Vec { return r3.Vec{X: x, Y: y, Z: z} }
	base := tri(v(0, 0, 0), v(10, 0, 0), v(0, 10, 0))
	two := func(b *mesh.Mesh) *mesh.Mesh { return mesh.Join(base, b) }
	onEdge := func(p, q, r r3.Vec) *mesh.Mesh { // on the base's edge from 0 to 1
		return &mesh.Mesh{Pos: []r3.Vec{v(0, 0, 0), v(10, 0, 0), p, q, r}, Tri: [][3]uint32{{0, 1, 2}, {1, 0, 3}}}
	}
	for _, c := range []struct {
		name string
		m    *mesh.Mesh
		want int
	}{
		{"corner on a face", two(tri(v(2, 2, 0), v(2, 2, 5), v(3, 2, 5))), 0},
		{"corner just through", two(tri(v(2, 2, -1e-6), v(2, 2, 5), v(3, 2, 5))), 1},
		{"corner through by less than the tolerance", two(tri(v(2, 2, -1e-9), v(2, 2, 5), v(3, 2, 5))), 0},
		{"edge stands on a face", two(tri(v(2, 2, 0), v(4, 2, 0), v(3, 2, 5))), 1},
		{"edge stands on an edge", two(tri(v(2, 0, 0), v(4, 0, 0), v(3, 2, 5))), 0},
		{"edge reaches in over the rim", two(tri(v(5, -1, 0), v(5, 1, 0), v(5, 0, 5))), 1},
		{"edges meet crosswise from outside", two(tri(v(5, 0, -1), v(5, 0, 1), v(5, -5, 0))), 0},
		{"edge along the rim, other goes through", two(tri(v(2, 0, -3), v(8, 0, -3), v(5, 0, 5))), 1},
		{"one corner in common, through the inside", &mesh.Mesh{
			Pos: []r3.Vec{v(0, 0, 0), v(10, 0, 0), v(0, 10, 0), v(4, 4, -3), v(4, 4, 3)},
			Tri: [][3]uint32{{0, 1, 2}, {0, 3, 4}}}, 1},
		{"one corner in common, aside", &mesh.Mesh{
			Pos: []r3.Vec{v(0, 0, 0), v(10, 0, 0), v(0, 10, 0), v(-4, 4, -3), v(-4, 4, 3)},
			Tri: [][3]uint32{{0, 1, 2}, {0, 3, 4}}}, 0},
		{"unfolded along an edge", onEdge(v(0, 10, 0), v(3, -5, 0), v(0, 0, 0)), 0},
		{"folded onto each other along an edge", onEdge(v(0, 10, 0), v(3, 5, 0), v(0, 0, 0)), 1},
		{"folded almost shut", onEdge(v(0, 10, 0), v(3, 5, 1e-5), v(0, 0, 0)), 0},
		{"in one plane, side by side", two(tri(v(10, 0, 0), v(10, 10, 0), v(0, 10, 0))), 0},
		{"in one plane, overlapping", two(tri(v(9, 0, 0), v(10, 10, 0), v(0, 10, 0))), 1},
		{"in one plane, one inside the other", two(tri(v(1, 1, 0), v(2, 1, 0), v(1, 2, 0))), 1},
		{"a star of two, no corner inside", two(tri(v(7, 7, 0), v(-3, 7, 0), v(7, -3, 0))), 1},
		{"twice", mesh.Join(base, base), 1},
		{"without area", two(tri(v(2, 2, -1), v(2, 2, 0), v(2, 2, 5))), 0},
	} {
		if got := Crossings(c.m); len(got) != c.want {
			t.Errorf("%s: %v", c.name, got)
		}
	}
}

// A Möbius band with a half twist, wide enough to hold its shape, does not cross
// itself; flattened across a diameter its halves lie on each other.
func TestCrossingsOfMoebius(t *testing.T) {
	const n, across = 120, 6
	band := func(flat float64) *mesh.Mesh {
		m := &mesh.Mesh{}
		for i := range n {
			u := 2 * math.Pi * float64(i) / n
			for j := range across + 1 {
				w := 4 * (float64(j)/across - 0.5)
				r := 10 + w*math.Cos(u/2)
				m.Pos = append(m.Pos, r3.Vec{X: r * math.Cos(u), Y: flat * r * math.Sin(u), Z: w * math.Sin(u/2)})
			}
		}
		at := func(i, j int) uint32 {
			if i == n { // joined upside down
				return uint32(across - j)
			}
			return uint32(i*(across+1) + j)
		}
		for i := range n {
			for j := range across {
				a, b, c, d := at(i, j), at(i+1, j), at(i+1, j+1), at(i, j+1)
				m.Tri = append(m.Tri, [3]uint32{a, b, c}, [3]uint32{a, c, d})
			}
		}
		return m
	}
	if got := Crossings(band(1)); len(got) != 0 {
		t.Errorf("%d crossings of the band", len(got))
	}
	if got := Crossings(band(0)); len(got) < 100 {
		t.Errorf("%d crossings of the flattened band", len(got))
	}
}

// segmentMeets is the other way: does a segment meet a triangle, by the volumes of
// five tetrahedra; near is set where a volume is too small to trust.
func segmentMeets(p, q, a, b, c r3.Vec) (meets, near bool) {
	vol := func(a, b, c, d r3.Vec) float64 {
		return r3.Dot(r3.Sub(b, a), r3.Cross(r3.Sub(c, a), r3.Sub(d, a)))
	}
	v := [5]float64{vol(p, a, b, c), vol(q, a, b, c), vol(p, q, a, b), vol(p, q, b, c), vol(p, q, c, a)}
	for _, x := range v {
		near = near || math.Abs(x) < 1e-7
	}
	return v[0]*v[1] < 0 && v[2]*v[3] > 0 && v[3]*v[4] > 0, near
}

// Two triangles in general position cross exactly when an edge of one meets the
// other.
func TestCrossingsAgainstSegments(t *testing.T) {
	met := 0
	rapid.Check(t, func(t *rapid.T) {
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		flat := rapid.SampledFrom([]float64{1, 1, 0.1, 1e-3}).Draw(t, "flat")
		corners := rapid.IntRange(0, 1).Draw(t, "in common")
		for range 8 {
			m := &mesh.Mesh{Tri: [][3]uint32{{0, 1, 2}, {3, 4, 5}}}
			for range 6 {
				m.Pos = append(m.Pos, r3.Vec{X: rng.Float64(), Y: rng.Float64(), Z: flat * rng.Float64()})
			}
			if corners == 1 {
				m.Tri[1][rng.IntN(3)] = uint32(rng.IntN(3))
			}
			want, doubt := false, false
			for _, o := range [2][2]int{{0, 1}, {1, 0}} {
				s, f := m.Tri[o[0]], m.Tri[o[1]]
				a, b, c := m.Corners(o[1])
				for k := range 3 {
					i, j := s[k], s[(k+1)%3]
					if slices.Contains(f[:], i) || slices.Contains(f[:], j) {
						continue // it goes out from the corner in common
					}
					hit, near := segmentMeets(m.Pos[i], m.Pos[j], a, b, c)
					want, doubt = want || hit, doubt || near
				}
			}
			if doubt {
				continue
			}
			if want {
				met++
			}
			if got := Crossings(m); (len(got) == 1) != want {
				t.Fatalf("%v, want %v: %v", got, want, m)
			}
		}
	})
	if met < 10 {
		t.Errorf("only %d pairs met", met)
	}
}

// The tree leaves out no pair, and the list is the same on one core.
func TestCrossingsAgainstAllPairs(t *testing.T) {
	m := soup(400, 11, r3.Vec{})
	for i := range m.Pos {
		m.Pos[i] = r3.Scale(0.2, m.Pos[i]) // closer together
	}
	big := moved(form.Icosphere(8, 2), r3.Vec{X: 1})
	m = mesh.Join(m, big)
	tree := Build(m)
	tol := touch * tree.box.Diagonal()
	var want [][2]int32
	for i := range m.Tri {
		for j := range i {
			ca, cb := relative(m, int32(j), r3.Vec{}), relative(m, int32(i), r3.Vec{})
			a, okA := newFacet(&ca, tol)
			b, okB := newFacet(&cb, tol)
			if okA && okB && crosses(&a, &b, shared(m.Tri[i], m.Tri[j]), tol) {
				want = append(want, [2]int32{int32(j), int32(i)})
			}
			if okA && okB && crosses(&a, &b, 0, tol) != crosses(&b, &a, 0, tol) {
				t.Errorf("%d, %d cross one way round only", j, i)
			}
		}
	}
	slices.SortFunc(want, func(a, b [2]int32) int { return slices.Compare(a[:], b[:]) })
	got := Crossings(m)
	if len(want) < 20 || len(want) >= MostCrossings || !slices.Equal(got, want) {
		t.Fatalf("%d pairs, want %d", len(got), len(want))
	}
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	if alone := Crossings(m); !slices.Equal(got, alone) {
		t.Error("another list on one core")
	}
}

// A mesh that is listed twice is full, and the list ends.
func TestCrossingsEnd(t *testing.T) {
	m := pebble(60)
	start := time.Now()
	if got := Crossings(mesh.Join(m, m)); len(got) != MostCrossings {
		t.Errorf("%d pairs", len(got))
	}
	if d := time.Since(start); d > 20*time.Second {
		t.Errorf("it took %v", d)
	}
	if Crossings(&mesh.Mesh{}) != nil {
		t.Error("an empty mesh crosses itself")
	}
}

func BenchmarkCrossings100k(b *testing.B) {
	m := pebble(224)
	b.ReportMetric(float64(len(m.Tri)), "triangles")
	for b.Loop() {
		if n := len(Crossings(m)); n != 0 {
			b.Fatal(n)
		}
	}
}
