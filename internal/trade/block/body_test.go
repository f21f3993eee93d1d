package block

import (
	"context"
	"image/png"
	"math"
	"os"
	"testing"

	"fettle/internal/output/draw"
	"fettle/internal/shape/bvh"
	"fettle/internal/shape/letter"
	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// checkSolid demands one closed body, outward, whose surface does not cross itself.
func checkSolid(t *testing.T, name string, m *mesh.Mesh) {
	t.Helper()
	tp := mesh.NewTopology(m)
	got := mesh.Measure(m, tp)
	if !got.Closed || got.Bodies != 1 || got.Shells != 1 || got.Volume <= 0 {
		t.Errorf("%s: closed %v, %d borders, %d tangles, %d flips, %d shells, volume %.1f", name, got.Closed, tp.Borders, tp.Tangles, tp.Flips, got.Shells, got.Volume)
	}
	if c := bvh.Crossings(m); len(c) > 0 {
		a, b, d := m.Corners(int(c[0][0]))
		e, f, g := m.Corners(int(c[0][1]))
		t.Errorf("%s: %d pairs of facets cross, the first at %v %v %v and %v %v %v", name, len(c), a, b, d, e, f, g)
	}
}

// picture draws a solid where asked to, for a person to look at.
func picture(t *testing.T, name string, m *mesh.Mesh, v draw.View) {
	t.Helper()
	dir := os.Getenv("BLOCK_PICTURES")
	if dir == "" {
		return
	}
	img, err := draw.Shade(m, v, 900)
	if err != nil {
		t.Fatal(err)
	}
	f, err := os.Create(dir + "/" + name + ".png")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if err := png.Encode(f, img); err != nil {
		t.Fatal(err)
	}
}

var oblique = draw.FromAbove(r3.Vec{Z: 1}).Oblique()

func side() draw.View {
	toward := r3.Unit(r3.Vec{X: -0.5, Y: -1, Z: 0.25})
	right := r3.Unit(r3.Cross(r3.Vec{Z: 1}, toward))
	return draw.View{Right: right, Up: r3.Cross(toward, right), Toward: toward}
}

func TestBodies(t *testing.T) {
	flat := func(r2.Vec) float64 { return 0 }
	valley := func(p r2.Vec) float64 { return 9 - math.Sqrt(81-p.Y*p.Y) }
	dome := func(p r2.Vec) float64 { return -(p.X*p.X/124 + p.Y*p.Y/326) }
	bowl := func(p r2.Vec) float64 { return 40 - math.Sqrt(1600-p.X*p.X-p.Y*p.Y) }
	for _, c := range []struct {
		name string
		b    body
	}{
		{"flat", body{face: outline{60, 40, 2.5}, round: 1.25, stepX: 2, stepY: 2, z: flat, slot: 1.5}},
		{"small", body{face: outline{8, 4, 1}, round: 0.8, stepX: 1, stepY: 1, z: flat}},
		{"narrow", body{face: outline{50, 6, 1.5}, round: 1, stepX: 1, stepY: 1, z: flat, slot: 1.6, neck: 4}},
		{"valley", body{face: outline{40, 13, 2.5}, round: 1.25, stepX: 2, stepY: 0.4, z: valley, slot: 1.5}},
		{"dome", body{face: outline{36, 40, 2.5}, round: 1.25, stepX: 1, stepY: 1, z: dome, slot: 1.5}},
		{"bowl", body{face: outline{26, 44, 2.5}, round: 1.25, stepX: 0.6, stepY: 0.6, z: bowl, slot: 1.5}},
		{"long", body{face: outline{80, 45, 2.5}, round: 1.25, stepX: 2, stepY: 2, z: flat, slot: 1.5}},
	} {
		if testing.Short() && c.name != "valley" && c.name != "small" {
			continue
		}
		c.b.text = [2][]string{{"P240", "paper 0.30"}, {"job 17", "show-1"}}
		m, err := c.b.build(context.Background(), letter.Text)
		if err != nil {
			t.Fatalf("%s: %v", c.name, err)
		}
		checkSolid(t, c.name, m.mesh)
		checkLeans(t, c.name, m)
		picture(t, "body-"+c.name, m.mesh, oblique)
		picture(t, "body-"+c.name+"-side", m.mesh, side())
		if m.bare {
			t.Errorf("%s: no room for the text", c.name)
		}
		other := c.b
		m2, err := other.build(context.Background(), backwards(letter.Text))
		if err != nil {
			t.Fatal(err)
		}
		checkSolid(t, c.name+" mirrored", mirrored(m2.mesh))
		picture(t, "body-"+c.name+"-mirror", mirrored(m2.mesh), side())
	}
}

// checkLeans looks for what hangs over: facets that look down by more than 45° from
// level, but for the bottom and the letters' undersides, which are 0.6 mm deep.
func checkLeans(t *testing.T, name string, m *made) {
	t.Helper()
	for i := range m.mesh.Tri {
		n, area := m.mesh.Normal(i)
		a, b, c := m.mesh.Corners(i)
		if n.Z > -math.Sqrt2/2-1e-6 || max(a.Z, b.Z, c.Z) < 1e-9 || area < 1e-9 {
			continue
		}
		far := 0.0
		for _, p := range []r3.Vec{a, b, c} {
			far = max(far, math.Abs(p.X)-m.grip.long/2, math.Abs(p.Y)-m.grip.wide/2)
		}
		if math.Abs(far-letterRaised) < 1e-9 && a.Z < gripHigh {
			continue
		}
		t.Errorf("%s: a facet at %v looks down by %.1f°", name, a, math.Asin(-n.Z)*180/math.Pi)
		return
	}
}
