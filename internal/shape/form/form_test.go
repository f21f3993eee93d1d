package form

import (
	"math"
	"testing"

	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// volume and area are written out here, so that these checks lean on nothing
// but the triangles.
func volume(m *mesh.Mesh) float64 {
	v := 0.0
	for t := range m.Tri {
		a, b, c := m.Corners(t)
		v += r3.Dot(a, r3.Cross(b, c)) / 6
	}
	return v
}

func area(m *mesh.Mesh) float64 {
	s := 0.0
	for t := range m.Tri {
		_, a := m.Normal(t)
		s += a
	}
	return s
}

// checkSolid demands a closed mesh of one body, outward, without a triangle
// that has no area.
func checkSolid(t *testing.T, name string, m *mesh.Mesh) {
	t.Helper()
	tp := mesh.NewTopology(m)
	if !tp.Closed() {
		t.Errorf("%s is open: %d borders, %d tangles, %d flips", name, tp.Borders, tp.Tangles, tp.Flips)
	}
	if _, n := tp.Bodies(); n != 1 {
		t.Errorf("%s has %d bodies", name, n)
	}
	if v := volume(m); v <= 0 {
		t.Errorf("%s has the volume %g", name, v)
	}
	for i := range m.Tri {
		a, b, c := m.Corners(i)
		long := max(r3.Norm(r3.Sub(b, a)), r3.Norm(r3.Sub(c, b)), r3.Norm(r3.Sub(a, c)))
		if _, s := m.Normal(i); 2*s/long < 1e-6 {
			t.Errorf("%s: triangle %d is %g mm high on %g", name, i, 2*s/long, long)
		}
	}
	used := make([]bool, len(m.Pos))
	for _, tri := range m.Tri {
		for _, v := range tri {
			used[v] = true
		}
	}
	for v, u := range used {
		if !u {
			t.Fatalf("%s: vertex %d is in no triangle", name, v)
		}
	}
}

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if math.Abs(got-want) > tol {
		t.Errorf("%s: got %.9g, want %.9g within %.2g", what, got, want, tol)
	}
}

// Measures of a polyhedron with n sides are exact; see any table of solids.
func TestPolyhedraAreExact(t *testing.T) {
	ngon := func(d float64, n int) float64 { return float64(n) * d * d / 8 * math.Sin(2*math.Pi/float64(n)) }
	box := Box(3, 4, 5)
	checkSolid(t, "box", box)
	near(t, "box volume", volume(box), 60, 1e-12)
	near(t, "box area", area(box), 94, 1e-12)

	cyl := Cylinder(10, 7, 32)
	checkSolid(t, "cylinder", cyl)
	near(t, "cylinder volume", volume(cyl), 7*ngon(10, 32), 1e-10)
	near(t, "cylinder area", area(cyl), 2*ngon(10, 32)+7*32*10*math.Sin(math.Pi/32), 1e-10)

	cone := Frustum(10, 0, 6, 24)
	checkSolid(t, "cone", cone)
	near(t, "cone volume", volume(cone), 6*ngon(10, 24)/3, 1e-10)

	fr := Frustum(10, 4, 6, 24)
	checkSolid(t, "frustum", fr)
	a, b := ngon(10, 24), ngon(4, 24)
	near(t, "frustum volume", volume(fr), 6.0/3*(a+b+math.Sqrt(a*b)), 1e-10)
}

// A mesh with its vertices on a curved surface misses volume and area by the
// square of the chord: halving the chord must quarter the error.
func TestCurvedSolidsConverge(t *testing.T) {
	ball := 4 * math.Pi / 3 * 125
	for _, c := range []struct {
		name         string
		make         func(n int) *mesh.Mesh
		volume, area float64
	}{
		{"sphere", func(n int) *mesh.Mesh { return Sphere(5, 8*n, 16*n) }, ball, 4 * math.Pi * 25},
		{"icosphere", func(n int) *mesh.Mesh { return Icosphere(5, 1+n/2) }, ball, 4 * math.Pi * 25},
		{"torus", func(n int) *mesh.Mesh { return Torus(8, 3, 24*n, 12*n) },
			2 * math.Pi * math.Pi * 8 * 9, 4 * math.Pi * math.Pi * 8 * 3},
		{"cylinder", func(n int) *mesh.Mesh { return Cylinder(10, 7, 16*n) }, math.Pi * 25 * 7, math.Pi * (50 + 70)},
		{"cone", func(n int) *mesh.Mesh { return Frustum(10, 0, 12, 16*n) }, math.Pi * 25 * 4, math.Pi * 5 * (5 + 13)},
	} {
		var lastV, lastA float64
		for _, n := range []int{1, 2, 4} {
			m := c.make(n)
			checkSolid(t, c.name, m)
			ev, ea := c.volume-volume(m), c.area-area(m)
			if n > 1 && (ev <= 0 || ea <= 0 || math.Abs(lastV/ev-4) > 0.5 || math.Abs(lastA/ea-4) > 0.5) {
				// The icosphere's divisions for 1, 2, 4 are 1, 2, 3: halves too.
				t.Errorf("%s with n = %d: volume error %g after %g, area error %g after %g; want a quarter",
					c.name, n, ev, lastV, ea, lastA)
			}
			lastV, lastA = ev, ea
		}
	}
}

func TestPlateWithEveryCut(t *testing.T) {
	at := func(x, y float64) r2.Vec { return r2.Vec{X: x, Y: y} }
	outline := Rectangle(at(0, 0), 80, 50, 6, 8)
	cuts := []Cut{
		Through(Circle(at(-30, 15), 6, 48)),
		Blind(Circle(at(-30, 0), 6, 48), 4),
		Drilled(at(-30, -15), 5, 5, 118, 48),
		Countersunk(at(-18, 15), 4, 8, 90, 48),
		Counterbored(at(-18, 0), 4, 8, 3, 48),
		Blind(Obround(at(-15, -16), 12, 3, 30, 12), 6),
		Through(Keyhole(at(0, 12), 8, 3, 14, 40)),
		{Sections: Blind(Rectangle(at(20, 0), 24, 20, 1.2, 6), 5).Sections, FromBack: true},
		Blind(Rectangle(at(20, 18), 10, 6, 0, 0), 2),
	}
	m := Plate(outline, 10, cuts...)
	checkSolid(t, "plate", m)
	ngon := func(d float64) float64 { return 48 * d * d / 8 * math.Sin(2*math.Pi/48) }
	want := Area(outline)*10 -
		ngon(6)*10 - ngon(6)*4 -
		ngon(5)*(5+2.5/math.Tan(59*math.Pi/180)/3) -
		(ngon(4)*8 + 2.0/3*(ngon(8)+ngon(4)+math.Sqrt(ngon(8)*ngon(4)))) -
		(ngon(8)*3 + ngon(4)*7) -
		Area(Obround(at(0, 0), 12, 3, 0, 12))*6 -
		Area(Keyhole(at(0, 0), 8, 3, 14, 40))*10 -
		Area(Rectangle(at(0, 0), 24, 20, 1.2, 6))*5 - 60*2
	near(t, "volume", volume(m), want, 1e-8)
	spaced := PlateSpaced(outline, 10, 2, cuts...)
	checkSolid(t, "spaced plate", spaced)
	near(t, "spaced volume", volume(spaced), want, 1e-8)
	if s := spaced.Box().Size(); s != (r3.Vec{X: 80, Y: 50, Z: 10}) {
		t.Errorf("the box is %v", s)
	}
}

func TestLiftedDome(t *testing.T) {
	// A cap of height 2 on a circle of radius 10: volume πh(3a²+h²)/6.
	const a, h = 10, 2.0
	r := (a*a + h*h) / (2 * h)
	dome := func(x, y float64) float64 { return 3 + math.Sqrt(r*r-x*x-y*y) - (r - h) }
	var b Builder
	loop := Circle(r2.Vec{}, 2*a, 256)
	low, rim := b.Ring(loop, 0), b.RingOn(loop, dome)
	b.Wall(low, rim)
	b.Region(Down, low)
	b.Lifted(Up, 0.5, dome, rim)
	m := b.Mesh()
	checkSolid(t, "dome", m)
	want := math.Pi*a*a*3 + math.Pi*h*(3*a*a+h*h)/6
	// The polygon lies inside the circle, and facets lie under the dome.
	near(t, "dome volume", volume(m), want, 5e-4*want)
	for _, p := range m.Pos {
		if p.Z > 0 {
			near(t, "a vertex of the dome", p.Z, dome(p.X, p.Y), 1e-12)
		}
	}
}

func TestKeyholeArea(t *testing.T) {
	got := Area(Keyhole(r2.Vec{X: 3, Y: -2}, 9, 3.5, 16, 4000))
	near(t, "keyhole", got, KeyholeArea(9, 3.5, 16), 1e-4)
}

func TestSubdivide(t *testing.T) {
	loop := Obround(r2.Vec{}, 20, 4, 15, 6)
	fine := Subdivide(loop, 1.5)
	near(t, "area", Area(fine), Area(loop), 1e-12)
	for i, p := range fine {
		if l := r2.Norm(r2.Sub(fine[(i+1)%len(fine)], p)); l > 1.5+1e-9 || l == 0 {
			t.Errorf("side %d is %g long", i, l)
		}
	}
}

func TestChords(t *testing.T) {
	for _, c := range []struct{ r, tol float64 }{{21, 0.002}, {1.2, 0.002}, {5, 0.05}, {0.01, 1}} {
		n := Chords(c.r, c.tol)
		if e := c.r * (1 - math.Cos(math.Pi/float64(n))); e > c.tol || n%4 != 0 {
			t.Errorf("Chords(%g, %g) = %d leaves %g", c.r, c.tol, n, e)
		}
	}
}
