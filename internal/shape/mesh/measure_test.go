package mesh

import (
	"math"
	"runtime"
	"slices"
	"testing"

	"fettle/internal/shape/geom"

	"github.com/google/go-cmp/cmp"
	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

// brick is a closed box from lo to hi.
func brick(lo, hi r3.Vec) *Mesh {
	m := &Mesh{}
	for i := range 8 {
		p := lo
		if i&1 != 0 {
			p.X = hi.X
		}
		if i&2 != 0 {
			p.Y = hi.Y
		}
		if i&4 != 0 {
			p.Z = hi.Z
		}
		m.Pos = append(m.Pos, p)
	}
	for _, q := range [6][4]uint32{{0, 2, 3, 1}, {4, 5, 7, 6}, {0, 1, 5, 4}, {2, 6, 7, 3}, {0, 4, 6, 2}, {1, 3, 7, 5}} {
		m.Tri = append(m.Tri, [3]uint32{q[0], q[1], q[2]}, [3]uint32{q[0], q[2], q[3]})
	}
	return m
}

// ring is a torus of n flat segments with an m-gon as its section.
func ring(big, small float64, n, m int) *Mesh {
	out := &Mesh{}
	for i := range n {
		for j := range m {
			s, c := math.Sincos(2 * math.Pi * float64(i) / float64(n))
			t, d := math.Sincos(2 * math.Pi * float64(j) / float64(m))
			r := big + small*d
			out.Pos = append(out.Pos, r3.Vec{X: r * c, Y: r * s, Z: small * t})
		}
	}
	at := func(i, j int) uint32 { return uint32(i%n*m + j%m) }
	for i := range n {
		for j := range m {
			a, b, c, d := at(i, j), at(i+1, j), at(i+1, j+1), at(i, j+1)
			out.Tri = append(out.Tri, [3]uint32{a, b, c}, [3]uint32{a, c, d})
		}
	}
	return out
}

func join(parts ...*Mesh) *Mesh {
	out := &Mesh{}
	for _, p := range parts {
		base := uint32(len(out.Pos))
		out.Pos = append(out.Pos, p.Pos...)
		for _, t := range p.Tri {
			out.Tri = append(out.Tri, [3]uint32{t[0] + base, t[1] + base, t[2] + base})
		}
	}
	return out
}

func flipped(m *Mesh) *Mesh {
	out := &Mesh{Pos: m.Pos}
	for _, t := range m.Tri {
		out.Tri = append(out.Tri, [3]uint32{t[0], t[2], t[1]})
	}
	return out
}

func near(t testing.TB, what string, got, want, rel float64) {
	t.Helper()
	if math.Abs(got-want) > rel*math.Max(math.Abs(want), 1e-300) || math.IsNaN(got) {
		t.Errorf("%s = %.17g, want %.17g within %g", what, got, want, rel)
	}
}

// A box: volume, area and the moments m/12 (b² + c²) of every handbook.
func TestMeasureBox(t *testing.T) {
	m := brick(r3.Vec{X: 1, Y: 2, Z: 3}, r3.Vec{X: 3, Y: 7, Z: 6})
	got := Measure(m, nil)
	near(t, "volume", got.Volume, 30, 1e-14)
	near(t, "area", got.Area, 62, 1e-14)
	near(t, "Ixx", got.Inertia[0][0], 30.0/12*(25+9), 1e-14)
	near(t, "Iyy", got.Inertia[1][1], 30.0/12*(4+9), 1e-14)
	near(t, "Izz", got.Inertia[2][2], 30.0/12*(4+25), 1e-14)
	if d := r3.Norm(r3.Sub(got.Centroid, r3.Vec{X: 2, Y: 4.5, Z: 4.5})); d > 1e-14 {
		t.Errorf("centroid is off by %g", d)
	}
	if diff := cmp.Diff([3]float64{5, 3, 2}, got.Extent); diff != "" {
		t.Error(diff)
	}
	if !got.Closed || got.Bodies != 1 || got.Shells != 1 || got.Euler != 2 || got.Genus != 0 {
		t.Errorf("closed %v, bodies %d, shells %d, Euler %d, genus %d", got.Closed, got.Bodies, got.Shells, got.Euler, got.Genus)
	}
}

// The corner tetrahedron: ∫x² = 1/60 and ∫xy = 1/120 (integrals of the unit
// simplex), which no symmetry hides.
func TestMeasureTetrahedron(t *testing.T) {
	m := &Mesh{
		Pos: []r3.Vec{{}, {X: 1}, {Y: 1}, {Z: 1}},
		Tri: [][3]uint32{{0, 2, 1}, {0, 1, 3}, {0, 3, 2}, {1, 2, 3}},
	}
	got := Measure(m, NewTopology(m))
	near(t, "volume", got.Volume, 1.0/6, 1e-14)
	near(t, "area", got.Area, 1.5+math.Sqrt(3)/2, 1e-14)
	near(t, "centroid x", got.Centroid.X, 0.25, 1e-14)
	xx, xy := 1.0/60-1.0/6/16, 1.0/120-1.0/6/16 // about the centroid
	near(t, "Ixx", got.Inertia[0][0], 2*xx, 1e-13)
	near(t, "Ixy", got.Inertia[0][1], -xy, 1e-13)
}

// A ring of n flat segments with an m-gon as section has the volume
// n sin(2π/n) R A, A = m/2 r² sin(2π/m): integrate r over the section of one
// wedge. The limit for n and m to infinity is Pappus's 2π² R r².
func TestMeasureRing(t *testing.T) {
	const R, r, n, k = 30.0, 7.0, 97, 31
	got := Measure(ring(R, r, n, k), nil)
	section := k / 2.0 * r * r * math.Sin(2*math.Pi/k)
	near(t, "volume", got.Volume, n*math.Sin(2*math.Pi/n)*R*section, 1e-13)
	if got.Genus != 1 || got.Euler != 0 || !got.Closed {
		t.Errorf("genus %d, Euler %d, closed %v", got.Genus, got.Euler, got.Closed)
	}

	fine := Measure(ring(R, r, 2000, 500), nil)
	near(t, "volume of a fine ring", fine.Volume, 2*math.Pi*math.Pi*R*r*r, 4e-5)
	near(t, "area of a fine ring", fine.Area, 4*math.Pi*math.Pi*R*r, 2e-5)
	// Moments of the solid torus: Iz = m (R² + 3/4 r²), Ix = m (R²/2 + 5/8 r²).
	near(t, "Izz", fine.Inertia[2][2], fine.Volume*(R*R+0.75*r*r), 1e-4)
	near(t, "Ixx", fine.Inertia[0][0], fine.Volume*(R*R/2+0.625*r*r), 1e-4)
	near(t, "shortest extent", fine.Extent[2], 2*r, 1e-4)
	if math.Abs(math.Abs(fine.Axes[2].Z)-1) > 1e-9 {
		t.Errorf("the axis of the ring is %v", fine.Axes[2])
	}
}

// Far from the origin the part measures the same as near it.
func TestMeasureFarAway(t *testing.T) {
	for _, far := range []float64{0, 1e3, 1e6, 1 << 30} {
		m := brick(r3.Vec{X: far, Y: -far, Z: far}, r3.Vec{X: far + 2, Y: -far + 5, Z: far + 3})
		got := Measure(m, nil)
		near(t, "volume", got.Volume, 30, 1e-14)
		near(t, "Izz", got.Inertia[2][2], 72.5, 1e-14)
	}
}

func TestMeasureTurnedBox(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		size := rapid.Float64Range(0.5, 60)
		a := []float64{size.Draw(t, "a"), size.Draw(t, "b"), size.Draw(t, "c")}
		angle := rapid.Float64Range(-3, 3)
		turn := r3.NewRotation(angle.Draw(t, "turn"), r3.Vec{X: 1, Y: angle.Draw(t, "y"), Z: angle.Draw(t, "z")})
		m := brick(r3.Vec{}, r3.Vec{X: a[0], Y: a[1], Z: a[2]})
		want := Measure(m, nil)
		for i, p := range m.Pos {
			m.Pos[i] = turn.Rotate(p)
		}
		got := Measure(m, nil)
		for _, c := range [][2]float64{{got.Volume, want.Volume}, {got.Area, want.Area}} {
			if math.Abs(c[0]-c[1]) > 1e-12*c[1] {
				t.Fatalf("%g after the turn, %g before", c[0], c[1])
			}
		}
		slices.Sort(a)
		if a[1] < a[0]*1.01 || a[2] < a[1]*1.01 {
			return // nearly square: the principal axes are free
		}
		for k := range 3 {
			if math.Abs(got.Extent[k]-a[2-k]) > 1e-6*a[2] {
				t.Fatalf("extents %v of a box %v", got.Extent, a)
			}
			if c := r3.Dot(got.Axes[k], r3.Cross(got.Axes[(k+1)%3], got.Axes[(k+2)%3])); math.Abs(c-1) > 1e-9 {
				t.Fatalf("axes %v are not right-handed", got.Axes)
			}
		}
	})
}

func TestMeasureShells(t *testing.T) {
	cube := func(x, half float64) *Mesh {
		return brick(r3.Vec{X: x - half, Y: -half, Z: -half}, r3.Vec{X: x + half, Y: half, Z: half})
	}
	open := cube(0, 1)
	open.Tri = open.Tri[2:]
	for _, c := range []struct {
		name             string
		m                *Mesh
		volume           float64
		bodies, cavities int
	}{
		{"one", cube(0, 1), 8, 1, 0},
		{"two apart", join(cube(0, 1), cube(9, 1)), 16, 2, 0},
		{"a hollow", join(cube(0, 2), flipped(cube(0, 1))), 56, 1, 1},
		{"a hollow, named first", join(flipped(cube(0, 1)), cube(0, 2)), 56, 1, 1},
		{"two hollows", join(cube(0, 3), flipped(cube(-1.5, 1)), flipped(cube(1.5, 1))), 200, 1, 2},
		{"a ball in a hollow", join(cube(0, 3), flipped(cube(0, 2)), cube(0, 1)), 160, 2, 1},
		{"inside out beside another", join(cube(0, 2), flipped(cube(9, 1))), 56, 2, 0},
		{"inside out in the eye of a ring", join(ring(30, 7, 40, 20), flipped(cube(0, 1))), math.NaN(), 2, 0},
		{"inside out", flipped(cube(0, 1)), -8, 1, 0},
		{"a lid off", open, math.NaN(), 1, 0},
	} {
		got := Measure(c.m, nil)
		if !math.IsNaN(c.volume) {
			near(t, c.name+": volume", got.Volume, c.volume, 1e-13)
		}
		if got.Bodies != c.bodies || got.Cavities != c.cavities {
			t.Errorf("%s: %d bodies and %d cavities, want %d and %d", c.name, got.Bodies, got.Cavities, c.bodies, c.cavities)
		}
	}

	// A block with eight thousand bubbles, a lone one outside it facing inwards.
	bubbles := []*Mesh{cube(0, 100), flipped(cube(300, 1))}
	for i := range 8000 {
		at := r3.Vec{X: float64(i%20)*9 - 90, Y: float64(i/20%20)*9 - 90, Z: float64(i/400)*9 - 90}
		bubbles = append(bubbles, flipped(brick(at, r3.Add(at, r3.Vec{X: 3, Y: 3, Z: 3}))))
	}
	if got := Measure(join(bubbles...), nil); got.Cavities != 8000 || got.Bodies != 2 {
		t.Errorf("a block of bubbles: %d cavities, %d bodies", got.Cavities, got.Bodies)
	}

	// A box without its bottom: five squares, their area's centre a tenth of
	// the side above the middle.
	got := Measure(open, nil)
	near(t, "area", got.Area, 20, 1e-14)
	near(t, "centroid", got.Centroid.Z, 0.2, 1e-13)
	if got.Closed || got.Genus != -1 {
		t.Errorf("closed %v, genus %d", got.Closed, got.Genus)
	}
}

func TestMeasureEmpty(t *testing.T) {
	got := Measure(&Mesh{}, nil)
	if got.Volume != 0 || got.Area != 0 || got.Closed || got.Bodies != 0 || got.Extent != [3]float64{} {
		t.Errorf("an empty mesh measures %+v", got)
	}
	if !got.Box.Empty() {
		t.Errorf("an empty mesh has the box %+v", got.Box)
	}
}

// The same bits on one core and on several.
func TestMeasureAnyCores(t *testing.T) {
	m := ring(30, 7, 300, 100)
	tp := NewTopology(m)
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	want := Measure(m, tp)
	for _, n := range []int{2, 3, 8} {
		runtime.GOMAXPROCS(n)
		if got := Measure(m, tp); got != want {
			t.Errorf("%d cores: %v", n, cmp.Diff(want, got))
		}
	}
}

func BenchmarkMeasure1M(b *testing.B) {
	m := ring(30, 7, 1000, 500)
	tp := NewTopology(m)
	var sink geom.Box
	for b.Loop() {
		sink = Measure(m, tp).Box
	}
	_ = sink
}
