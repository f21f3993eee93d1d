package region

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"fettle/internal/shape/bvh"
	"fettle/internal/shape/form"
	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

func shadow(t testing.TB, m *mesh.Mesh, from, to float64) Region {
	t.Helper()
	r, err := Shadow(context.Background(), m, nil, from, to)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// turned is a mesh turned about an axis and shifted.
func turned(m *mesh.Mesh, by float64, axis, shift r3.Vec) *mesh.Mesh {
	out := &mesh.Mesh{Pos: make([]r3.Vec, len(m.Pos)), Tri: m.Tri}
	rot := r3.NewRotation(by, axis)
	for i, p := range m.Pos {
		out.Pos[i] = r3.Add(rot.Rotate(p), shift)
	}
	return out
}

// plumb checks a shadow against vertical lines through the part.
func plumb(t *testing.T, rng *rand.Rand, m *mesh.Mesh, from, to float64, n int) {
	t.Helper()
	s := shadow(t, m, from, to)
	sound(t, s)
	tree, box := bvh.Build(m), m.Box()
	size := box.Size()
	held := 0
	for range n {
		p := r2.Vec{X: box.Min.X + size.X*(rng.Float64()*1.2-0.1), Y: box.Min.Y + size.Y*(rng.Float64()*1.2-0.1)}
		if math.Abs(s.Distance(p)) < 1e-5 {
			continue
		}
		// Some of the part lies between where a facet is met there or the lower end is
		// inside.
		o := r3.Vec{X: p.X, Y: p.Y, Z: from}
		want := tree.RayAny(o, r3.Vec{Z: 1}, 0, to-from) || tree.Inside(o)
		if s.Holds(p) != want {
			t.Fatalf("a plumb line at %v meets the part between %g and %g: %v; the shadow says %v, %g from its border", p, from, to, want, s.Holds(p), s.Distance(p))
		}
		if want {
			held++
		}
	}
	if held == 0 && !s.Empty() && n > 100 {
		t.Error("no line met the part")
	}
}

func TestShadowKnown(t *testing.T) {
	ball := shadow(t, form.Icosphere(5, 5), -9, 9)
	sound(t, ball)
	if got, want := ball.Area(), 25*math.Pi; math.Abs(got/want-1) > 2e-3 || len(ball.Loops) != 1 {
		t.Errorf("a ball's shadow has %g mm² in %d loops, want %g", got, len(ball.Loops), want)
	}
	// Between 3 and 9 only the cap above z = 3 is left, a disc of radius 4; below −3
	// the same, from under.
	for _, z := range [][2]float64{{3, 9}, {-9, -3}} {
		if got, want := shadow(t, form.Icosphere(5, 5), z[0], z[1]).Area(), 16*math.Pi; math.Abs(got/want-1) > 3e-3 {
			t.Errorf("a cap's shadow has %g mm², want %g", got, want)
		}
	}
	ring := form.Torus(10, 3, 256, 128)
	if got, want := shadow(t, ring, -9, 9), math.Pi*(13*13-7*7); math.Abs(got.Area()/want-1) > 1e-3 || len(got.Loops) != 2 {
		t.Errorf("a lying ring's shadow has %g mm² in %d loops, want %g in 2", got.Area(), len(got.Loops), want)
	}
	// Standing on edge it hides its hole: a capsule of 20 × 6 with round ends.
	edge := turned(ring, math.Pi/2, r3.Vec{X: 1}, r3.Vec{})
	if got, want := shadow(t, edge, -20, 20), 20*6+9*math.Pi; math.Abs(got.Area()/want-1) > 1e-3 || len(got.Loops) != 1 {
		t.Errorf("a standing ring's shadow has %g mm² in %d loops, want %g in 1", got.Area(), len(got.Loops), want)
	}
	// A plate with a through hole and a blind one; the bore's shadow stays open.
	outline := form.Rectangle(r2.Vec{}, 40, 25, 3, 8)
	through, blind := form.Circle(r2.Vec{X: 8}, 6, 48), form.Circle(r2.Vec{X: -9}, 8, 48)
	plate := form.Plate(outline, 5, form.Through(through), form.Blind(blind, 2))
	want := form.Area(outline) - form.Area(through)
	for _, z := range [][2]float64{{-1, 6}, {0, 5}, {0, 1}, {1, 2}, {2.5, 4}} {
		if got := shadow(t, plate, z[0], z[1]); math.Abs(got.Area()-want) > 1e-4 || len(got.Loops) != 2 {
			t.Errorf("a plate's shadow between %v has %g mm² in %d loops, want %g in 2", z, got.Area(), len(got.Loops), want)
		}
	}
	if got := shadow(t, plate, 3, 5); math.Abs(got.Area()-(want-form.Area(blind))) > 1e-4 || len(got.Loops) != 3 {
		t.Errorf("above the floor of the blind hole: %g mm² in %d loops", got.Area(), len(got.Loops))
	}
	for _, z := range [][2]float64{{-3, 0}, {5, 7}, {2, 1}} {
		if got := shadow(t, plate, z[0], z[1]); !got.Empty() {
			t.Errorf("between %v there is nothing but %v", z, got)
		}
	}
}

func TestShadowAgainstPlumbLines(t *testing.T) {
	rng := rand.New(rand.NewPCG(15, 16))
	outline := form.Rectangle(r2.Vec{}, 40, 25, 3, 8)
	plate := form.Plate(outline, 5, form.Countersunk(r2.Vec{X: 8}, 4, 9, 90, 32),
		form.Blind(form.Obround(r2.Vec{X: -9}, 12, 5, 30, 12), 2), form.Counterbored(r2.Vec{Y: 8}, 3, 6, 2, 24))
	parts := []*mesh.Mesh{plate, form.Torus(10, 3, 48, 24), form.Icosphere(8, 3), form.Frustum(12, 5, 9, 40)}
	rounds := 40
	if testing.Short() {
		rounds = 8
	}
	for i := range rounds {
		m := parts[i%len(parts)]
		if i >= len(parts) {
			m = turned(m, rng.Float64()*7, r3.Vec{X: rng.NormFloat64(), Y: rng.NormFloat64(), Z: rng.NormFloat64()}, r3.Vec{X: 3})
		}
		b := m.Box()
		u, v := rng.Float64(), rng.Float64()
		from, to := b.Min.Z+(b.Max.Z-b.Min.Z)*min(u, v), b.Min.Z+(b.Max.Z-b.Min.Z)*max(u, v)
		plumb(t, rng, m, from, to, 300)
		plumb(t, rng, m, b.Min.Z-1, b.Max.Z+1, 300)
		plumb(t, rng, m, from, math.Nextafter(from, 99), 50)
	}
}

func TestSection(t *testing.T) {
	ring := form.Torus(10, 3, 256, 256)
	// Level, through the middle: between circles of 7 and 13.
	s := Section(ring, 0)
	sound(t, s)
	if want := math.Pi * (13*13 - 7*7); len(s.Loops) != 2 || math.Abs(s.Area()/want-1) > 1e-3 {
		t.Errorf("%d loops, %g mm², want %g", len(s.Loops), s.Area(), want)
	}
	// Standing, through the middle: two circles of radius 3.
	edge := turned(ring, math.Pi/2, r3.Vec{X: 1}, r3.Vec{})
	for _, z := range []float64{0, 1e-9} {
		s = Section(edge, z)
		sound(t, s)
		if want := 18 * math.Pi; len(s.Loops) != 2 || math.Abs(s.Area()/want-1) > 1e-3 {
			t.Errorf("at %g: %d loops, %g mm², want %g", z, len(s.Loops), s.Area(), want)
		}
	}
	// At a face of a box the section is that just below.
	box := form.Box(3, 4, 5)
	for z, want := range map[float64]float64{0: 0, 1e-9: 12, 5: 12, 5.1: 0, -1: 0} {
		if got := Section(box, z).Area(); math.Abs(got-want) > 1e-9 {
			t.Errorf("a box cut at %g has %g mm², want %g", z, got, want)
		}
	}
	// Cavalieri: the volume is the integral of the sections.
	ball, sum := form.Icosphere(5, 4), 0.0
	const n = 400
	for i := range n {
		sum += Section(ball, -5+10*(float64(i)+0.5)/n).Area() * 10 / n
	}
	if want := mesh.Measure(ball, nil).Volume; math.Abs(sum/want-1) > 1e-4 {
		t.Errorf("sections add up to %g mm³ of %g", sum, want)
	}
}

func BenchmarkShadow(b *testing.B) {
	m := turned(form.Torus(20, 8, 400, 250), 0.7, r3.Vec{X: 1, Y: 0.3}, r3.Vec{})
	b.ReportMetric(float64(len(m.Tri)), "facets")
	for range b.N {
		if _, err := Shadow(context.Background(), m, nil, -5, 12); err != nil {
			b.Fatal(err)
		}
	}
}
