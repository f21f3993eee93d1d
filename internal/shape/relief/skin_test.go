package relief

import (
	"math"
	"math/rand/v2"
	"testing"

	"fettle/internal/shape/form"
	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

// TestFacetIsTheHighestOfItsPoints lowers a tool onto many points of a triangle.
func TestFacetIsTheHighestOfItsPoints(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tool := anyTool(t)
		var p [3]r3.Vec
		for i := range p {
			a := anyPlace(t, "p")
			p[i] = r3.Vec{X: a[0], Y: a[1], Z: a[2]}
		}
		f := newFacet(p[0], p[1], p[2])
		x, y := rapid.Float64Range(-7, 7).Draw(t, "x"), rapid.Float64Range(-7, 7).Draw(t, "y")
		want := math.Inf(-1)
		const n = 80
		for i := range n + 1 {
			for j := range n + 1 - i {
				u, v := float64(i)/n, float64(j)/n
				q := r3.Add(r3.Scale(1-u-v, p[0]), r3.Add(r3.Scale(u, p[1]), r3.Scale(v, p[2])))
				if r := math.Hypot(x-q.X, y-q.Y); r <= tool.Radius {
					want = math.Max(want, q.Z-tool.rise(r))
				}
			}
		}
		got, on := f.touch(tool, x, y)
		if math.IsInf(want, -1) {
			return // the tool may graze the triangle between the points tried
		}
		if on < 0 || got < want-1e-9 {
			t.Fatalf("%+v over %v at (%v, %v): %v, by trying %v", tool, p, x, y, got, want)
		}
		// Not higher than what it touches allows: the tool set down at that height
		// must meet the triangle somewhere, so the highest of nearby points is near.
		step := 0.0
		for i := range 3 {
			step = math.Max(step, r3.Norm(r3.Sub(p[i], p[(i+1)%3]))/n)
		}
		if top := max(p[0].Z, p[1].Z, p[2].Z); got > top+1e-9 {
			t.Fatalf("%+v over %v at (%v, %v): %v, higher than the triangle", tool, p, x, y, got)
		}
		if tool.isBall() && r3.Norm(r3.Sub(r3.Vec{X: x, Y: y}, r3.Vec{X: p[0].X, Y: p[0].Y})) < 0.7*tool.Radius {
			if got > want+3*step {
				t.Fatalf("%+v over %v at (%v, %v): %v, by trying %v", tool, p, x, y, got, want)
			}
		}
	})
}

func TestFacetPlanesLieOver(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tool := anyTool(t)
		var p [3]r3.Vec
		for i := range p {
			a := anyPlace(t, "p")
			p[i] = r3.Vec{X: a[0], Y: a[1], Z: a[2]}
		}
		f := newFacet(p[0], p[1], p[2])
		cx, cy := rapid.Float64Range(-9, 9).Draw(t, "cx"), rapid.Float64Range(-9, 9).Draw(t, "cy")
		z, gx, gy := f.plane(tool, cx, cy)
		for range 40 {
			x, y := rapid.Float64Range(-9, 9).Draw(t, "x"), rapid.Float64Range(-9, 9).Draw(t, "y")
			h, on := f.touch(tool, x, y)
			if over := z + gx*(x-cx) + gy*(y-cy); on >= 0 && over < h-1e-9*(1+math.Abs(over)) {
				t.Fatalf("%+v over %v: the plane touched at (%v, %v) is %v too low at (%v, %v)", tool, p, cx, cy, h-over, x, y)
			}
		}
	})
}

// bumpy is a sheet of hills, 12 by 10 mm.
func bumpy(seed uint64) *mesh.Mesh {
	rnd := rand.New(rand.NewPCG(seed, 5))
	return form.Sheet(-6, -5, 6, 5, 40, 33, func(x, y float64) float64 {
		return 0.6*math.Sin(1.1*x)*math.Cos(0.9*y) + 0.02*rnd.NormFloat64()
	})
}

// TestSkinIsTheHighestOfAll compares with every facet tried.
func TestSkinIsTheHighestOfAll(t *testing.T) {
	m := bumpy(1)
	for _, tool := range []Tool{Ball(0.7), Ball(3), Bull(2, 0.4), Flat(1.2)} {
		s, err := NewSkin(t.Context(), m, Model(), tool, -6.5, -5.5, 6.5, 5.5)
		if err != nil {
			t.Fatal(err)
		}
		g := Cover(-6.5, -5.5, 6.5, 5.5, 0.47)
		for j := range g.H {
			for i := range g.W {
				x, y := g.X(i), g.Y(j)
				want := math.Inf(-1)
				for k := range s.fam.facet {
					if h, on := s.fam.facet[k].touch(tool, x, y); on >= 0 {
						want = math.Max(want, h)
					}
				}
				z, gx, gy, ok := s.At(x, y)
				if math.IsInf(want, -1) {
					if ok {
						t.Fatalf("%+v at (%v, %v) touches something far away", tool, x, y)
					}
					continue
				}
				if !ok || math.Abs(z-want) > 1e-12 {
					t.Fatalf("%+v at (%v, %v): %v, should be %v", tool, x, y, z, want)
				}
				if tool.Corner > 0 { // a square edge has kinks
					const d = 1e-6
					zx, _, _, _ := s.At(x+d, y)
					zy, _, _, _ := s.At(x, y+d)
					zx0, _, _, _ := s.At(x-d, y)
					zy0, _, _, _ := s.At(x, y-d)
					// Between two facets that it touches the slope is one of theirs.
					if lo, hi := min((z-zx0)/d, (zx-z)/d)-1e-3, max((z-zx0)/d, (zx-z)/d)+1e-3; gx < lo || gx > hi {
						t.Fatalf("%+v at (%v, %v): slope %v, should be within %v and %v", tool, x, y, gx, lo, hi)
					}
					if lo, hi := min((z-zy0)/d, (zy-z)/d)-1e-3, max((z-zy0)/d, (zy-z)/d)+1e-3; gy < lo || gy > hi {
						t.Fatalf("%+v at (%v, %v): slope %v across, should be within %v and %v", tool, x, y, gy, lo, hi)
					}
				}
			}
		}
	}
}

// TestContactIsOnThePart follows a ball over a sphere, whose contacts and skin
// are known: the tip runs on a sphere of the sum of the radii, and every contact
// lies on the part.
func TestContactIsOnThePart(t *testing.T) {
	if testing.Short() {
		t.Skip("long under the race detector, which other tests of this room feed")
	}
	const rho = 8.0
	m := form.Icosphere(rho, 6)
	for _, tool := range []Tool{Ball(1), Ball(3), Bull(3, 1)} {
		s, err := NewSkin(t.Context(), m, Model(), tool, -6, -6, 6, 6)
		if err != nil {
			t.Fatal(err)
		}
		for x := -5.0; x <= 5; x += 0.37 {
			for y := -5.0; y <= 5; y += 0.41 {
				z, gx, gy, ok := s.At(x, y)
				if !ok {
					t.Fatalf("nothing at (%v, %v)", x, y)
				}
				// The centre circle of the corner runs on ρ + corner.
				r := math.Max(0, math.Hypot(x, y)-tool.flat())
				want := math.Sqrt((rho+tool.Corner)*(rho+tool.Corner)-r*r) - tool.Corner
				if math.Abs(z-want) > 0.004 { // facets of a fine ball lie inside it by 2 µm
					t.Errorf("%+v at (%v, %v): the tip is at %v, should be at %v", tool, x, y, z, want)
				}
				if tool.isBall() {
					if c := tool.Contact(x, y, z, gx, gy); math.Abs(r3.Norm(c)-rho) > 0.004 {
						t.Errorf("%+v at (%v, %v): touches %v, which is %v from the middle", tool, x, y, c, r3.Norm(c))
					}
				}
			}
		}
	}
}

// TestRasterIsTheTopOfThePart compares with the closed form of a ball and with
// every facet tried on a bumpy sheet.
func TestRasterIsTheTopOfThePart(t *testing.T) {
	m := bumpy(2)
	g := Grid{W: 130, H: 90, DX: 0.1, DY: 0.12, X0: -6.3, Y0: -5.2}
	got, err := Raster(t.Context(), m, Model(), g, nil)
	if err != nil {
		t.Fatal(err)
	}
	for j := range g.H {
		for i := range g.W {
			x, y := g.X(i), g.Y(j)
			want := math.NaN()
			for _, tr := range m.Tri {
				a, b, c := m.Pos[tr[0]], m.Pos[tr[1]], m.Pos[tr[2]]
				area := cross2(a, b, c.X, c.Y)
				u, v, w := cross2(b, c, x, y)/area, cross2(c, a, x, y)/area, cross2(a, b, x, y)/area
				if u >= -1e-12 && v >= -1e-12 && w >= -1e-12 {
					if z := u*a.Z + v*b.Z + w*c.Z; !(want >= z) {
						want = z
					}
				}
			}
			if have := got.At(i, j); math.IsNaN(want) != math.IsNaN(have) || math.Abs(have-want) > 1e-6 {
				t.Fatalf("cell (%d, %d): %v, should be %v", i, j, have, want)
			}
		}
	}
	// Seen from the side, of a chosen few facets.
	side := Frame{Origin: r3.Vec{X: 1}, X: r3.Vec{Y: 1}, Y: r3.Vec{Z: 1}, Z: r3.Vec{X: 1}}
	ball := form.Icosphere(4, 6)
	g = Cover(-4.2, -4.2, 4.2, 4.2, 0.1)
	if got, err = Raster(t.Context(), ball, side, g, nil); err != nil {
		t.Fatal(err)
	}
	seen := 0
	for j := range g.H {
		for i := range g.W {
			r := math.Hypot(g.X(i), g.Y(j))
			z := got.At(i, j)
			if r < 3.9 {
				seen++
				if want := math.Sqrt(16-r*r) - 1; math.Abs(z-want) > 0.004 {
					t.Fatalf("ball at %v from its middle: %v, should be %v", r, z, want)
				}
			}
			if r > 4.001 && !math.IsNaN(z) {
				t.Fatalf("there is metal at %v from the middle of a ball of 4 mm", r)
			}
		}
	}
	if seen < 4000 {
		t.Fatalf("only %d cells looked at", seen)
	}
}
