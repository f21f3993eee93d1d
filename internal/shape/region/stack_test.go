package region

import (
	"math"
	"math/rand/v2"
	"testing"

	"fettle/internal/shape/bvh"
	"fettle/internal/shape/form"
	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// stacked builds a stack and checks that it is closed, faces outward and has the
// volume and the surface that its layers say.
func stacked(t testing.TB, layers []Layer, within float64) *mesh.Mesh {
	t.Helper()
	m := Stack(layers)
	tp := mesh.NewTopology(m)
	if len(m.Tri) > 0 && !tp.Closed() {
		t.Fatalf("not closed: %d borders, %d tangles, %d flips\n%v", tp.Borders, tp.Tangles, tp.Flips, layers)
	}
	for i := range m.Tri {
		if _, area := m.Normal(i); area == 0 {
			t.Fatalf("facet %d has no area: %v", i, layers)
		}
	}
	volume, area := 0.0, 0.0
	var last Region
	for i, l := range layers {
		volume += l.Region.Area() * (l.High - l.Low)
		area += l.Region.Perimeter()*(l.High-l.Low) + l.Region.Minus(last).Area() + last.Minus(l.Region).Area()
		if last = l.Region; i == len(layers)-1 {
			area += last.Area()
		}
	}
	got := mesh.Measure(m, tp)
	if math.Abs(got.Volume-volume) > within*volume || math.Abs(got.Area-area) > 10*within*area {
		t.Fatalf("volume %.12g of %.12g, area %.12g of %.12g\n%v", got.Volume, volume, got.Area, area, layers)
	}
	return m
}

func TestStackKnown(t *testing.T) {
	plate := Of(form.Rectangle(r2.Vec{}, 60, 40, 4, 12))
	hole := Disc(r2.Vec{X: 10}, 6, 0.01)
	wide := Disc(r2.Vec{X: 10}, 9, 0.01)
	boss := Disc(r2.Vec{X: -15}, 7, 0.01)
	m := stacked(t, []Layer{{0, 3, plate.Minus(hole)}, {3, 5, plate.Minus(wide)}, {5, 9, boss}}, 1e-9)
	if got := mesh.Measure(m, nil); got.Genus != 1 || got.Bodies != 1 {
		t.Errorf("genus %d, %d bodies", got.Genus, got.Bodies)
	}
	// Level sections give the layers back.
	for z, want := range map[float64]Region{1: plate.Minus(hole), 4: plate.Minus(wide), 8: boss} {
		if got := Section(m, z); math.Abs(got.Area()-want.Area()) > 1e-7*want.Area() || len(got.Loops) != len(want.Loops) {
			t.Errorf("at %g: %g mm² of %g", z, got.Area(), want.Area())
		}
	}
	// A layer of nothing between two leaves two bodies; nothing at all an empty mesh.
	if got := mesh.Measure(stacked(t, []Layer{{0, 1, boss}, {1, 2, Region{}}, {2, 3, boss}}, 1e-9), nil); got.Bodies != 2 {
		t.Errorf("%d bodies", got.Bodies)
	}
	if m := Stack(nil); len(m.Tri) != 0 {
		t.Errorf("nothing has %d facets", len(m.Tri))
	}
}

func square(x, y, s float64) Region { return Rect(r2.Vec{X: x, Y: y}, r2.Vec{X: x + s, Y: y + s}) }

// Cubes that touch along edges and at corners, in the same layer and across
// layers.
func TestStackTouching(t *testing.T) {
	checks := square(0, 0, 1).Union(square(1, 1, 1))
	across := square(1, 0, 1).Union(square(0, 1, 1))
	base := square(-1, -1, 4)
	for name, layers := range map[string][]Layer{
		"upright edge":         {{0, 1, checks}},
		"level edge":           {{0, 1, square(0, 0, 1)}, {1, 2, square(1, 0, 1)}},
		"corner":               {{0, 1, square(0, 0, 1)}, {1, 2, square(1, 1, 1)}},
		"checkers":             {{0, 1, checks}, {1, 2, across}, {2, 3, checks}},
		"checkers on a base":   {{0, 1, base}, {1, 2, checks}, {2, 3, base}},
		"edge inside":          {{0, 1, base.Minus(square(0, 0, 1))}, {1, 2, square(0, 0, 1).Union(square(-1, -1, 0.5))}},
		"bridge and its mould": {{0, 1, base.Minus(checks)}, {1, 2, checks}, {2, 3, base.Minus(across)}},
	} {
		t.Run(name, func(t *testing.T) { stacked(t, layers, 1e-12) })
	}
}

// Layers drawn at random on a coarse grid touch in every way there is.
func TestStackRandom(t *testing.T) {
	rng := rand.New(rand.NewPCG(17, 18))
	rounds := 1200
	if testing.Short() {
		rounds = 200
	}
	for i := range rounds {
		var layers []Layer
		z := 0.0
		for range 1 + rng.IntN(4) {
			var r Region
			if i%2 == 0 { // on the grid throughout
				for range rng.IntN(8) {
					x, y := float64(rng.IntN(4)), float64(rng.IntN(4))
					if rng.IntN(3) == 0 {
						r = r.Union(Of([]r2.Vec{{X: x, Y: y}, {X: x + 1, Y: y}, {X: x + 1, Y: y + 1}}))
					} else {
						r = r.Union(square(x, y, 1))
					}
				}
			} else {
				r = Of(ragged(rng, 2, 6, 5, 1)...)
			}
			layers = append(layers, Layer{z, z + 1, r})
			z++
		}
		within := 1e-9
		if i%2 == 1 {
			within = 1e-4 // crossings go to the grid once more
		}
		m := stacked(t, layers, within)
		if len(m.Tri) == 0 {
			continue
		}
		tree := bvh.Build(m)
		for range 10 {
			p := r3.Vec{X: 5 * rng.Float64(), Y: 5 * rng.Float64(), Z: z * rng.Float64()}
			l := layers[int(p.Z)].Region
			if q := (r2.Vec{X: p.X, Y: p.Y}); math.Abs(l.Distance(q)) > 1e-4 && tree.Inside(p) != l.Holds(q) {
				t.Fatalf("%v is inside %v, in its layer %v: %v", p, tree.Inside(p), l.Holds(q), layers)
			}
		}
	}
}

func BenchmarkStack(b *testing.B) {
	plate := Of(form.Rectangle(r2.Vec{}, 100, 60, 10, 500))
	var layers []Layer
	for i := range 6 {
		r := plate
		for k := range 20 {
			r = r.Minus(Disc(r2.Vec{X: float64(k%5)*18 - 36, Y: float64(k/5)*13 - 20}, 2+float64(i)*0.5, 0.0005))
		}
		layers = append(layers, Layer{float64(i), float64(i + 1), r})
	}
	for b.Loop() {
		Stack(layers)
	}
	b.ReportMetric(float64(len(Stack(layers).Tri)), "facets")
}
