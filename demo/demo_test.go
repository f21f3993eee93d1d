package demo

import (
	"math"
	"strings"
	"testing"

	"fettle/internal/shape/mesh"
	"fettle/internal/trade/stock"

	"gonum.org/v1/gonum/spatial/r3"
)

func TestPartsAreClosedAndOutward(t *testing.T) {
	for _, f := range []Fineness{Coarse, Fine} {
		for _, p := range PartsAt(f) {
			tp := mesh.NewTopology(p.Mesh)
			if !tp.Closed() {
				t.Errorf("%s is open: %d borders, %d tangles, %d flips", p.ID, tp.Borders, tp.Tangles, tp.Flips)
			}
			if _, n := tp.Bodies(); n != 1 {
				t.Errorf("%s has %d bodies", p.ID, n)
			}
			low := math.Inf(1)
			for i := range p.Mesh.Tri {
				a, b, c := p.Mesh.Corners(i)
				_, s := p.Mesh.Normal(i)
				long := max(r3.Norm(r3.Sub(b, a)), r3.Norm(r3.Sub(c, b)), r3.Norm(r3.Sub(a, c)))
				low = min(low, 2*s/long)
			}
			// A micrometre is far above what 32-bit files round to on such parts.
			if low < 0.001 {
				t.Errorf("%s: a triangle is only %.2g mm high", p.ID, low)
			}
			if n := len(p.Mesh.Tri); n > 150_000 {
				t.Errorf("%s has %d triangles", p.ID, n)
			}
			t.Logf("%s at %g mm: %d triangles, lowest %.2g mm", p.ID, f.ChordMM, len(p.Mesh.Tri), low)
		}
	}
}

func volume(m *mesh.Mesh) float64 {
	v := 0.0
	for t := range m.Tri {
		a, b, c := m.Corners(t)
		v += r3.Dot(a, r3.Cross(b, c)) / 6
	}
	return v
}

// The drawing's thickness, summed over a grid of columns, knows nothing of
// triangles.
func TestVolumeAndSizeAreTheDrawings(t *testing.T) {
	for _, p := range Parts() {
		box := p.Mesh.Box()
		const n = 700
		dx, dy := (box.Max.X-box.Min.X)/n, (box.Max.Y-box.Min.Y)/n
		want := 0.0
		for i := range n {
			for j := range n {
				want += p.Truth.ThickZ(box.Min.X+(float64(i)+0.5)*dx, box.Min.Y+(float64(j)+0.5)*dy) * dx * dy
			}
		}
		got := volume(p.Mesh)
		if math.Abs(got/want-1) > 1e-3 {
			t.Errorf("%s: the mesh holds %.3f mm³, the drawing %.3f", p.ID, got, want)
		}
		t.Logf("%s: %.3f mm³, drawing %.3f (%.1e)", p.ID, got, want, got/want-1)
		size := box.Size()
		for k, v := range []float64{size.X, size.Y, size.Z} {
			if math.Abs(v-p.Truth.SizeMM[k]) > 0.01 {
				t.Errorf("%s: side %d of the box is %.4f, drawn %.4f", p.ID, k, v, p.Truth.SizeMM[k])
			}
		}
		if box.Min.Z != 0 {
			t.Errorf("%s does not stand on z = 0", p.ID)
		}
	}
}

// Rays along Z through the mesh must meet it where the drawing says.
func TestThicknessAlongRays(t *testing.T) {
	for _, p := range Parts() {
		box := p.Mesh.Box()
		// Odd shares keep the rays off vertices and off the parts' symmetry planes.
		for i := 1; i < 12; i++ {
			for j := 1; j < 12; j++ {
				x := box.Min.X + (float64(i)+0.137)/12.3*(box.Max.X-box.Min.X)
				y := box.Min.Y + (float64(j)+0.171)/12.4*(box.Max.Y-box.Min.Y)
				got, want := thickness(p.Mesh, x, y), p.Truth.ThickZ(x, y)
				if math.Abs(got-want) > 0.012 {
					t.Errorf("%s is %.4f thick at (%.3f, %.3f), drawn %.4f", p.ID, got, x, y, want)
				}
			}
		}
	}
}

// thickness sums signed crossings of the line over (x, y).
func thickness(m *mesh.Mesh, x, y float64) float64 {
	sum := 0.0
	for i := range m.Tri {
		a, b, c := m.Corners(i)
		side := func(p, q r3.Vec) float64 { return (q.X-p.X)*(y-p.Y) - (q.Y-p.Y)*(x-p.X) }
		u, v, w := side(b, c), side(c, a), side(a, b)
		if (u > 0 && v > 0 && w > 0) || (u < 0 && v < 0 && w < 0) {
			z := (u*a.Z + v*b.Z + w*c.Z) / (u + v + w)
			sum += math.Copysign(z, u)
		}
	}
	return sum
}

func TestBriefsHold(t *testing.T) {
	shelf := stock.Shelf()
	ids := map[string]bool{}
	for _, p := range PartsAt(Coarse) {
		if err := p.Brief.Validate(); err != nil {
			t.Errorf("%s: %v", p.ID, err)
		}
		if _, err := shelf.Material(p.Brief.Material); err != nil {
			t.Errorf("%s: %v", p.ID, err)
		}
		if _, err := shelf.Look(p.Brief.Finish); err != nil {
			t.Errorf("%s: %v", p.ID, err)
		}
		if p.Title == "" || p.Says == "" || !strings.HasPrefix(p.FileName, p.ID+".") || ids[p.ID] {
			t.Errorf("%s: title %q, file %q, says %q", p.ID, p.Title, p.FileName, p.Says)
		}
		ids[p.ID] = true
	}
}
