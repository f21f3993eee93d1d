package mesh

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"gonum.org/v1/gonum/spatial/r3"
)

// cubeAt is a closed cube, outward, with shared vertices.
func cubeAt(x, y, z, side float64) *Mesh {
	m := &Mesh{}
	for i := range 8 {
		m.Pos = append(m.Pos, r3.Vec{X: x + side*float64(i&1), Y: y + side*float64(i>>1&1), Z: z + side*float64(i>>2)})
	}
	for _, q := range [6][4]uint32{{0, 2, 3, 1}, {4, 5, 7, 6}, {0, 1, 5, 4}, {2, 6, 7, 3}, {0, 4, 6, 2}, {1, 3, 7, 5}} {
		m.Tri = append(m.Tri, [3]uint32{q[0], q[1], q[2]}, [3]uint32{q[0], q[2], q[3]})
	}
	return m
}

// soup is the mesh with every facet on vertices of its own.
func soup(m *Mesh) *Mesh {
	out := &Mesh{Face: m.Face}
	for t := range m.Tri {
		a, b, c := m.Corners(t)
		n := uint32(len(out.Pos))
		out.Pos = append(out.Pos, a, b, c)
		out.Tri = append(out.Tri, [3]uint32{n, n + 1, n + 2})
	}
	return out
}

// reversedMesh turns every facet.
func reversedMesh(m *Mesh) *Mesh {
	out := &Mesh{Pos: m.Pos}
	for _, t := range m.Tri {
		out.Tri = append(out.Tri, [3]uint32{t[0], t[2], t[1]})
	}
	return out
}

// wave is a closed body of about 4·n·n facets: a ball with a rippled surface.
func wave(n int) *Mesh {
	m := &Mesh{}
	rows, cols := n, 2*n
	for i := 1; i < rows; i++ {
		for j := range cols {
			a, b := math.Pi*float64(i)/float64(rows), 2*math.Pi*float64(j)/float64(cols)
			r := 20 + 0.5*math.Sin(9*a)*math.Cos(7*b)
			m.Pos = append(m.Pos, r3.Vec{X: r * math.Sin(a) * math.Cos(b), Y: r * math.Sin(a) * math.Sin(b), Z: r * math.Cos(a)})
		}
	}
	top, bottom := uint32(len(m.Pos)), uint32(len(m.Pos)+1)
	m.Pos = append(m.Pos, r3.Vec{Z: 20}, r3.Vec{Z: -20})
	at := func(i, j int) uint32 { return uint32((i-1)*cols + j%cols) }
	for j := range cols {
		m.Tri = append(m.Tri, [3]uint32{top, at(1, j), at(1, j+1)}, [3]uint32{bottom, at(rows-1, j+1), at(rows-1, j)})
		for i := 1; i < rows-1; i++ {
			m.Tri = append(m.Tri, [3]uint32{at(i, j), at(i+1, j), at(i+1, j+1)}, [3]uint32{at(i, j), at(i+1, j+1), at(i, j+1)})
		}
	}
	return m
}

// volumeOf is the signed volume by the divergence theorem.
func volumeOf(m *Mesh) float64 {
	v := 0.0
	for t := range m.Tri {
		a, b, c := m.Corners(t)
		v += r3.Dot(a, r3.Cross(b, c)) / 6
	}
	return v
}

// counts are the repairs by kind.
func counts(rs []Repair) map[string]int {
	m := map[string]int{}
	for _, r := range rs {
		m[r.Kind] = r.Count
	}
	return m
}

// sound fails the test unless m keeps what Clean promises.
func sound(t *testing.T, m *Mesh) {
	t.Helper()
	used := make([]bool, len(m.Pos))
	seen := map[[3]uint32]bool{}
	for i, v := range m.Tri {
		for _, k := range v {
			if int(k) >= len(m.Pos) {
				t.Fatalf("triangle %d names vertex %d of %d", i, k, len(m.Pos))
			}
			used[k] = true
		}
		a, b, c := m.Corners(i)
		if flat(a, b, c) {
			t.Fatalf("triangle %d has no area: %v %v %v", i, a, b, c)
		}
		s := v
		slices.Sort(s[:])
		if seen[s] {
			t.Fatalf("triangle %d is there twice", i)
		}
		seen[s] = true
	}
	if i := slices.Index(used, false); i >= 0 {
		t.Fatalf("vertex %d is not used", i)
	}
	if m.Face != nil && len(m.Face) != len(m.Tri) {
		t.Fatalf("%d face ids for %d triangles", len(m.Face), len(m.Tri))
	}
	w := NewWelder(len(m.Pos))
	for _, p := range m.Pos {
		w.Add(p.X, p.Y, p.Z)
	}
	if len(w.Pos) != len(m.Pos) {
		t.Fatalf("%d vertices at %d places", len(m.Pos), len(w.Pos))
	}
}

// stable fails the test unless cleaning m again changes nothing.
func stable(t *testing.T, m *Mesh) {
	t.Helper()
	again, rs := Clean(m, Options{})
	if d := cmp.Diff(m, again); d != "" {
		t.Fatalf("cleaning twice changes the mesh (-once +twice):\n%s", d)
	}
	for _, r := range rs {
		switch r.Kind {
		case Hole, Tangle, OneSided, Cavity, Undecided:
		default:
			t.Fatalf("cleaning twice repairs again: %s", r.Says)
		}
	}
}

func TestClean(t *testing.T) {
	cube := cubeAt(0, 0, 0, 10)
	without := func(m *Mesh, gone ...int) *Mesh {
		out := &Mesh{Pos: m.Pos}
		for i, tri := range m.Tri {
			if !slices.Contains(gone, i) {
				out.Tri = append(out.Tri, tri)
			}
		}
		return out
	}
	with := func(m *Mesh, extra ...[3]uint32) *Mesh {
		return &Mesh{Pos: m.Pos, Tri: append(slices.Clone(m.Tri), extra...)}
	}
	// A cube whose lower front edge is cut by a vertex that one side has as a
	// facet without area: 0-1-5-4 is the front, 8 the middle of 0-1.
	cap := &Mesh{Pos: append(slices.Clone(cube.Pos), r3.Vec{X: 5}), Tri: slices.Clone(cube.Tri)}
	for i, v := range cap.Tri { // the bottom's facet over 0-1 becomes two
		if slices.Contains(v[:], 0) && slices.Contains(v[:], 1) && slices.Contains(v[:], 3) {
			cap.Tri[i] = [3]uint32{0, 3, 8}
			cap.Tri = append(cap.Tri, [3]uint32{8, 3, 1}, [3]uint32{0, 8, 1})
			break
		}
	}
	// Two cubes that share a wall of the same two facets.
	wall := Join(cube, cubeAt(10, 0, 0, 10))
	shifted := soup(cube)
	for i := range shifted.Pos {
		shifted.Pos[i].X += 1e-6 * float64(i%3)
		shifted.Pos[i].Y -= 1e-6 * float64(i%2)
	}
	oddOneOut := with(cube)
	oddOneOut.Tri[3] = [3]uint32{cube.Tri[3][0], cube.Tri[3][2], cube.Tri[3][1]}
	bad := with(cube, [3]uint32{0, 1, 77}, [3]uint32{0, 1, 8}, [3]uint32{0, 1, 9})
	bad.Pos = append(slices.Clone(cube.Pos), r3.Vec{X: math.NaN()}, r3.Vec{Y: math.Inf(1)}, r3.Vec{X: 3})

	for _, c := range []struct {
		name   string
		m      *Mesh
		facets int
		volume float64
		want   map[string]int
	}{
		{"nothing to do", cube, 12, 1000, map[string]int{}},
		{"soup", soup(cube), 12, 1000, map[string]int{WeldedExact: 28}},
		{"rounding noise", shifted, 12, 1000, map[string]int{WeldedExact: counts(second(Clean(shifted, Options{Tolerance: -1})))[WeldedExact], WeldedNear: 0}},
		{"one facet turned", oddOneOut, 12, 1000, map[string]int{Reversed: 1}},
		{"inside out", reversedMesh(cube), 12, 1000, map[string]int{InsideOut: 1}},
		{"facets twice", with(cube, cube.Tri...), 12, 1000, map[string]int{Duplicate: 12}},
		{"both sides", with(cube, reversedMesh(cube).Tri...), 12, 1000, map[string]int{Duplicate: 12}},
		{"repeated corner", with(cube, [3]uint32{1, 1, 3}), 12, 1000, map[string]int{Degenerate: 1}},
		{"flat facet on an edge", cap, 14, 1000, map[string]int{Degenerate: 1}},
		{"inner wall", wall, 20, 2000, map[string]int{WeldedExact: 4, InnerWall: 4}},
		{"broken facets", bad, 12, 1000, map[string]int{OutOfRange: 1, NotFinite: 2, Unused: 1}},
		{"one facet missing", without(cube, 4), 12, 1000, map[string]int{Filled: 1}},
		{"a side missing", without(cube, 4, 5), 10, math.NaN(), map[string]int{Hole: 1}},
		{"cavity that faces out", Join(cube, cubeAt(3, 3, 3, 2)), 24, 992, map[string]int{Cavity: 1, InsideOut: 1}},
		{"cavity", Join(cube, reversedMesh(cubeAt(3, 3, 3, 2))), 24, 992, map[string]int{Cavity: 1}},
		{"body in a cavity", Join(reversedMesh(cube), cubeAt(3, 3, 3, 4), cubeAt(4, 4, 4, 1)), 36, 937, map[string]int{Cavity: 1, InsideOut: 2}},
		{"apart", Join(cube, reversedMesh(cubeAt(30, 0, 0, 1))), 24, 1001, map[string]int{InsideOut: 1}},
		{"overlapping", Join(cube, cubeAt(5, 1, 1, 7)), 24, 1343, map[string]int{}},
		{"touching along an edge", Join(cube, cubeAt(10, 10, 0, 10)), 24, 2000, map[string]int{WeldedExact: 2, Tangle: 1}},
		{"empty", &Mesh{}, 0, 0, map[string]int{}},
	} {
		t.Run(c.name, func(t *testing.T) {
			given := &Mesh{Pos: slices.Clone(c.m.Pos), Tri: slices.Clone(c.m.Tri)}
			got, rs := Clean(c.m, Options{})
			sound(t, got)
			stable(t, got)
			if !slices.Equal(given.Tri, c.m.Tri) || len(given.Pos) != len(c.m.Pos) {
				t.Error("the given mesh was touched")
			}
			if len(got.Tri) != c.facets {
				t.Errorf("%d facets, want %d", len(got.Tri), c.facets)
			}
			if v := volumeOf(got); !math.IsNaN(c.volume) && math.Abs(v-c.volume) > 1e-2 {
				t.Errorf("volume %v, want %v", v, c.volume)
			}
			have := counts(rs)
			if _, ok := c.want[WeldedNear]; ok {
				if have[WeldedNear] == 0 {
					t.Error("no vertex was joined to a near one")
				}
				delete(have, WeldedNear)
				delete(c.want, WeldedNear)
			}
			if d := cmp.Diff(c.want, have); d != "" {
				t.Errorf("repairs (-want +got):\n%s", d)
			}
			for _, r := range rs {
				if r.Says == "" {
					t.Errorf("%s says nothing", r.Kind)
				}
			}
			if tp := NewTopology(got); !math.IsNaN(c.volume) && c.facets > 0 && c.want[Tangle] == 0 && !tp.Closed() {
				t.Errorf("not closed: %d borders, %d tangles, %d flips", tp.Borders, tp.Tangles, tp.Flips)
			}
		})
	}
}

// second is the second of two values.
func second[A, B any](_ A, b B) B { return b }

// Steps finer than the tolerance, but many of them, are a feature: a border of
// points closer together than the tolerance must not shrink to one.
func TestCleanKeepsFineBorders(t *testing.T) {
	m := &Mesh{Pos: []r3.Vec{{Z: 100}}}
	const n = 2000
	for i := range n {
		a := 2 * math.Pi * float64(i) / n
		m.Pos = append(m.Pos, r3.Vec{X: 1e-3 * math.Cos(a), Y: 1e-3 * math.Sin(a)})
	}
	for i := range uint32(n) {
		m.Tri = append(m.Tri, [3]uint32{0, 1 + i, 1 + (i+1)%n})
	}
	got, rs := Clean(m, Options{})
	if len(got.Tri) != n || len(got.Pos) != n+1 {
		t.Errorf("%d facets and %d vertices, want %d and %d: %v", len(got.Tri), len(got.Pos), n, n+1, rs)
	}
}

// Two bodies a hair apart stay two.
func TestCleanKeepsBodiesApart(t *testing.T) {
	got, rs := Clean(Join(cubeAt(0, 0, 0, 10), cubeAt(10+1e-7, 0, 0, 10)), Options{})
	if len(got.Pos) != 16 || len(rs) != 0 {
		t.Errorf("%d vertices, repairs %v; want 16 and none", len(got.Pos), rs)
	}
}

// Near welding gives the same places whatever the order of the facets.
func TestCleanNearWeldIsOrderIndependent(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	m := soup(wave(12))
	for i := range m.Pos {
		m.Pos[i] = r3.Add(m.Pos[i], r3.Vec{X: 1e-6 * rng.Float64(), Y: 1e-6 * rng.Float64(), Z: 1e-6 * rng.Float64()})
	}
	places := func(m *Mesh) []r3.Vec {
		out, _ := Clean(m, Options{})
		if tp := NewTopology(out); !tp.Closed() {
			t.Fatalf("not closed: %d borders, %d tangles", tp.Borders, tp.Tangles)
		}
		p := slices.Clone(out.Pos)
		slices.SortFunc(p, compareVec)
		return p
	}
	want := places(m)
	if len(want) != len(wave(12).Pos) {
		t.Errorf("%d vertices, want %d", len(want), len(wave(12).Pos))
	}
	rng.Shuffle(len(m.Tri), func(i, j int) { m.Tri[i], m.Tri[j] = m.Tri[j], m.Tri[i] })
	if d := cmp.Diff(want, places(m)); d != "" {
		t.Errorf("the places depend on the order:\n%s", d)
	}
}

func TestCleanKeepsFaceIDs(t *testing.T) {
	m := cubeAt(0, 0, 0, 1)
	m.Tri = append([][3]uint32{{0, 0, 1}, m.Tri[5]}, m.Tri...)
	for i := range m.Tri {
		m.Face = append(m.Face, int32(i))
	}
	got, _ := Clean(m, Options{})
	want := []int32{1, 2, 3, 4, 5, 6, 8, 9, 10, 11, 12, 13}
	if !slices.Equal(got.Face, want) {
		t.Errorf("faces %v, want %v", got.Face, want)
	}
}

// A strip with a half twist has one side (A. F. Möbius, 1858).
func TestCleanOneSided(t *testing.T) {
	m := &Mesh{}
	const n = 12
	for i := range n {
		a := 2 * math.Pi * float64(i) / n
		for _, w := range [2]float64{-1, 1} {
			r := 5 + w*math.Cos(a/2)
			m.Pos = append(m.Pos, r3.Vec{X: r * math.Cos(a), Y: r * math.Sin(a), Z: w * math.Sin(a/2)})
		}
	}
	for i := range uint32(n) {
		a, b, c, d := 2*i, 2*i+1, 2*i+2, 2*i+3
		if i == n-1 {
			c, d = 1, 0
		}
		m.Tri = append(m.Tri, [3]uint32{a, c, b}, [3]uint32{b, c, d})
	}
	got, rs := Clean(m, Options{})
	sound(t, got)
	if counts(rs)[OneSided] != 1 {
		t.Errorf("repairs %v, want one one-sided shell", rs)
	}
}

// Meshes made to be slow, with very many facets on one edge and very many
// nested shells, come out right; BenchmarkClean1M measures the time.
func TestCleanMeshesMadeToBeSlow(t *testing.T) {
	const n = 50_000
	fan := &Mesh{Pos: []r3.Vec{{}, {Z: 1}}}
	for i := range uint32(n) {
		a := 2 * math.Pi * float64(i) / float64(n)
		fan.Pos = append(fan.Pos, r3.Vec{X: math.Cos(a), Y: math.Sin(a)})
		fan.Tri = append(fan.Tri, [3]uint32{0, 1, i + 2})
	}
	nest := &Mesh{}
	for i := range 400 {
		nest = appendMesh(nest, cubeAt(float64(-i), float64(-i), float64(-i), float64(2*i+1)))
	}
	for name, m := range map[string]*Mesh{"fan": fan, "nest": nest} {
		got, rs := Clean(m, Options{})
		if name == "nest" && counts(rs)[Cavity] != 200 {
			t.Errorf("nest: %v, want 200 cavities", rs)
		}
		if name == "fan" && (len(got.Tri) != n || counts(rs)[Tangle] != 1) {
			t.Errorf("fan: %d facets, %v", len(got.Tri), rs)
		}
	}
}

// appendMesh adds q to m in place.
func appendMesh(m, q *Mesh) *Mesh {
	n := uint32(len(m.Pos))
	m.Pos = append(m.Pos, q.Pos...)
	for _, t := range q.Tri {
		m.Tri = append(m.Tri, [3]uint32{t[0] + n, t[1] + n, t[2] + n})
	}
	return m
}

func BenchmarkClean1M(b *testing.B) {
	for _, c := range []struct {
		name string
		m    *Mesh
	}{{"shared", wave(500)}, {"soup", soup(wave(500))}} {
		b.Run(c.name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				Clean(c.m, Options{})
			}
			b.ReportMetric(float64(len(c.m.Tri))*float64(b.N)/b.Elapsed().Seconds()/1e6, "Mtri/s")
		})
	}
}
