package demo

import (
	"math"
	"testing"

	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r3"
)

// Facets of the domed face stay within the chord tolerance of the drawing, give
// or take the diagonal of a cell.
func TestShowFaceFollowsTheDrawing(t *testing.T) {
	for _, f := range []Fineness{Coarse, Fine} {
		m := Escutcheon(f).Mesh
		worst := 0.0
		for i := range m.Tri {
			n, _ := m.Normal(i)
			a, b, c := m.Corners(i)
			if n.Z < 0.9 || min(a.Z, b.Z, c.Z) < plateRim {
				continue // not of the show face: back, walls, countersinks
			}
			for _, w := range [][3]float64{{1, 1, 1}, {3, 3, 0}, {0, 3, 3}, {3, 0, 3}} {
				s := w[0] + w[1] + w[2]
				p := r3.Scale(1/s, r3.Add(r3.Add(r3.Scale(w[0], a), r3.Scale(w[1], b)), r3.Scale(w[2], c)))
				worst = max(worst, math.Abs(p.Z-plateTop(p.X, p.Y)))
			}
		}
		if worst > 1.25*f.ChordMM || worst < f.ChordMM/20 {
			t.Errorf("facets lie up to %.2g mm off the drawn face at a tolerance of %g", worst, f.ChordMM)
		}
		t.Logf("tolerance %g mm: worst %.2g mm", f.ChordMM, worst)
	}
}

// Dome and cove: heights meet, slopes meet, and the cove is hollow with the
// radius that a ball has to fit.
func TestPlateSection(t *testing.T) {
	z := func(x float64) float64 { return plateTop(x, 0) }
	const h = 1e-4
	for _, x := range []float64{domeEnd * plateWide / 2, coveEnd * plateWide / 2} {
		before, after := (z(x-h)-z(x-2*h))/h, (z(x+2*h)-z(x+h))/h
		if math.Abs(z(x+h)-z(x-h)) > 1e-3 || math.Abs(before-after) > 1e-3 {
			t.Errorf("at x = %g: heights %g and %g, slopes %g and %g", x, z(x-h), z(x+h), before, after)
		}
	}
	curve := func(x float64) float64 {
		d := 1e-3
		s := (z(x+d) - z(x-d)) / (2 * d)
		return (z(x+d) - 2*z(x) + z(x-d)) / (d * d) / math.Pow(1+s*s, 1.5)
	}
	if r := 1 / curve((domeEnd+coveEnd)/2*plateWide/2); r < 6 || r > 8 {
		t.Errorf("the cove's radius at the waist is %g", r)
	}
	if r := -1 / curve(1); r < 50 || r > 80 {
		t.Errorf("the dome's radius is %g", r)
	}
}

// Every opening of the drawing is there: material ends at its wall, at its
// floor, and nowhere before.
func TestOpeningsAreWhereTheDrawingSays(t *testing.T) {
	for _, p := range Parts() {
		for _, o := range p.Truth.Openings {
			// Just inside the wall across the middle of the opening there is less
			// material than just outside it, on both sides.
			const skin = 0.01
			at := o.At
			if o.Form == "keyhole" { // its middle lies where slot and round part meet
				at[1] = keyY - keyReach + keySlot
			}
			for _, s := range []float64{-1, 1} {
				dir := [2]float64{s, 0}
				if p.ID == "pull" {
					dir = [2]float64{0, s}
				}
				in, out := o.WidthMM/2-skin, o.WidthMM/2+skin
				gap := thickness(p.Mesh, at[0]+out*dir[0]+1e-5, at[1]+out*dir[1]+1e-5) -
					thickness(p.Mesh, at[0]+in*dir[0]+1e-5, at[1]+in*dir[1]+1e-5)
				want := o.DepthMM
				if o.Form == "keyhole" { // the dome has fallen there
					want = plateTop(at[0]+o.WidthMM/2, at[1]) - recessDeep
				}
				if o.Form == "countersunk" { // its cone stands over the narrow part
					want -= (screwMouth - screwHole) / 2
				}
				if math.Abs(gap-want) > 0.02 {
					t.Errorf("%s %s: %.3f mm more material outside than inside its wall, want %.3f", p.ID, o.ID, gap, want)
				}
			}
		}
	}
}

// No two triangles of a coarse part cross, but for neighbours at their shared
// corners.
func TestNoTrianglesCross(t *testing.T) {
	for _, p := range PartsAt(Coarse) {
		if n := crossings(p.Mesh); n > 0 {
			t.Errorf("%s crosses itself in %d places", p.ID, n)
		}
	}
	// The check itself: a triangle that another one pierces.
	m := &mesh.Mesh{Pos: []r3.Vec{{X: -1, Y: -1}, {X: 2, Y: -1}, {Y: 2}, {Z: -1}, {Z: 1}, {X: 0.3, Y: 0.3, Z: 1}},
		Tri: [][3]uint32{{0, 1, 2}, {3, 4, 5}}}
	if crossings(m) == 0 {
		t.Error("two triangles that cross were not found")
	}
}

// crossings counts edges that pass through the inside of a triangle with which
// they share no corner. Every pair with overlapping boxes is looked at.
func crossings(m *mesh.Mesh) int {
	n := 0
	lo, hi := make([]r3.Vec, len(m.Tri)), make([]r3.Vec, len(m.Tri))
	for i := range m.Tri {
		a, b, c := m.Corners(i)
		lo[i] = r3.Vec{X: min(a.X, b.X, c.X), Y: min(a.Y, b.Y, c.Y), Z: min(a.Z, b.Z, c.Z)}
		hi[i] = r3.Vec{X: max(a.X, b.X, c.X), Y: max(a.Y, b.Y, c.Y), Z: max(a.Z, b.Z, c.Z)}
	}
	six := func(a, b, c, d r3.Vec) float64 {
		return r3.Dot(r3.Sub(a, d), r3.Cross(r3.Sub(b, d), r3.Sub(c, d)))
	}
	const flat = 1e-9 // six volumes below this mean touching, not crossing
	for i, s := range m.Tri {
		a, b, c := m.Corners(i)
		for j, u := range m.Tri {
			if i == j || lo[i].X > hi[j].X || lo[j].X > hi[i].X || lo[i].Y > hi[j].Y || lo[j].Y > hi[i].Y ||
				lo[i].Z > hi[j].Z || lo[j].Z > hi[i].Z {
				continue
			}
			for k := range 3 {
				v, w := u[k], u[(k+1)%3]
				if v == s[0] || v == s[1] || v == s[2] || w == s[0] || w == s[1] || w == s[2] {
					continue
				}
				p, q := m.Pos[v], m.Pos[w]
				above, below := six(a, b, c, p), six(a, b, c, q)
				if math.Abs(above) < flat || math.Abs(below) < flat || above*below > 0 {
					continue
				}
				x, y, z := six(a, b, p, q), six(b, c, p, q), six(c, a, p, q)
				if (x > flat && y > flat && z > flat) || (x < -flat && y < -flat && z < -flat) {
					n++
				}
			}
		}
	}
	return n
}
