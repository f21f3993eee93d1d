package patch

import (
	"math"
	"math/rand/v2"
	"testing"

	"fettle/internal/shape/form"
	"fettle/internal/shape/geom"
	"fettle/internal/shape/mesh"

	"github.com/google/go-cmp/cmp"
	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// by names each facet after where its middle lies and how it faces.
func by(m *mesh.Mesh, id func(mid, n r3.Vec) int) *mesh.Mesh {
	m.Face = make([]int32, len(m.Tri))
	for i := range m.Tri {
		a, b, c := m.Corners(i)
		n, _ := m.Normal(i)
		m.Face[i] = int32(id(r3.Scale(1.0/3, r3.Add(a, r3.Add(b, c))), n))
	}
	return m
}

// bands names the facets of a turned part after the stretch of the profile that
// they were turned from, given by one number for each of its sides.
func bands(profile []r2.Vec, n int, ids ...int) *mesh.Mesh {
	if len(ids) != len(profile) {
		panic("one id for each side")
	}
	return by(form.Revolve(profile, n), func(mid, nn r3.Vec) int {
		best, at := math.Inf(1), 0
		rho := math.Hypot(mid.X, mid.Y) / math.Cos(math.Pi/float64(n)*0.6)
		for i, p := range profile {
			q := profile[(i+1)%len(profile)]
			d, w := r2.Sub(q, p), r2.Sub(r2.Vec{X: rho, Y: mid.Z}, p)
			t := max(0, min(1, r2.Dot(w, d)/r2.Norm2(d)))
			out := r2.Unit(r2.Vec{X: d.Y, Y: -d.X})
			// The facet's own normal in the half-plane tells sides apart that meet.
			turn := r2.Norm(r2.Sub(out, r2.Vec{X: math.Hypot(nn.X, nn.Y) * math.Copysign(1, nn.X*mid.X+nn.Y*mid.Y), Y: nn.Z}))
			if off := r2.Norm(r2.Sub(w, r2.Scale(t, d))) + turn; off < best {
				best, at = off, ids[i]
			}
		}
		return at
	})
}

func curve(x, y, r, from, to float64, n int) []r2.Vec {
	var out []r2.Vec
	for i := range n + 1 {
		s, c := math.Sincos((from + (to-from)*float64(i)/float64(n)) * math.Pi / 180)
		out = append(out, r2.Vec{X: x + r*c, Y: y + r*s})
	}
	return out
}

// Parts of a few facets whose files name the faces: what is told by vertices, by
// the faces beside it, or not at all.
func TestGivenFaces(t *testing.T) {
	type want map[string]int
	// A box with rounded edges of two facets each.
	box := by(roundBox(40, 30, 20, 3, 2), func(mid, _ r3.Vec) int {
		id := 0
		for _, c := range [3][2]float64{{mid.X, 17}, {mid.Y, 12}, {mid.Z, 7}} {
			id *= 3
			if math.Abs(c[0]) > c[1] {
				id += 1 + int(math.Copysign(0.5, c[0])+0.5)
			}
		}
		return id
	})
	// A face of a plate in two pieces.
	plate := by(form.PlateSpaced(form.Rectangle(r2.Vec{}, 40, 20, 0, 1), 5, 4), func(mid, n r3.Vec) int {
		switch {
		case n.Z > 0.5 && mid.X > 0:
			return 9
		case n.Z > 0.5:
			return 8
		}
		return int(math.Round(n.X + 2*n.Y + 4*n.Z))
	})
	// A shaft with a flat, whose corners all lie on the shaft.
	flat := form.Circle(r2.Vec{}, 20, 48)
	flat = append(flat[:1:1], flat[4:]...)
	shaft := by(form.Plate(flat, 10), func(mid, n r3.Vec) int {
		switch {
		case math.Abs(n.Z) > 0.5:
			return int(math.Copysign(2, n.Z))
		case math.Hypot(mid.X, mid.Y) < 9.9:
			return 1
		}
		return 0
	})
	prism := by(form.Plate(form.Circle(r2.Vec{}, 30, 24), 10, form.Through(form.Circle(r2.Vec{}, 10, 12))), func(mid, n r3.Vec) int {
		switch {
		case math.Abs(n.Z) > 0.5:
			return int(math.Copysign(100, n.Z))
		case math.Hypot(mid.X, mid.Y) < 8:
			return 50
		}
		return int(math.Round(math.Atan2(n.Y, n.X)/math.Pi*12 + 24.5))
	})
	// A shaft of radius 10 under a cone of 60°, a fillet of radius 4 between them in
	// one row of facets: the profile touches it at 0° and 30°.
	neck := curve(6, 20, 4, 0, 30, 1)
	end := r2.Add(neck[1], r2.Vec{X: -5 * math.Sin(math.Pi/6), Y: 5 * math.Cos(math.Pi/6)})
	fillet := bands([]r2.Vec{{}, {X: 10}, neck[0], neck[1], end, {Y: end.Y}}, 16, 0, 1, 2, 3, 4, 5)
	chamfer := bands([]r2.Vec{{}, {X: 10}, {X: 10, Y: 20}, {X: 8, Y: 22}, {Y: 22}}, 24, 0, 1, 2, 3, 4)
	low := bands([]r2.Vec{{}, {X: 10}, {X: 10, Y: 20}, {X: 8, Y: 20.8}, {Y: 20.8}}, 24, 0, 1, 2, 3, 4)
	r := rand.New(rand.NewPCG(2, 6))
	for _, c := range []struct {
		name string
		mesh *mesh.Mesh
		want want
	}{
		{"rounded box of two steps", box, want{"plane": 6, "cylinder": 12, "sphere": 8}},
		{"plane in two pieces", plate, want{"plane": 6}},
		{"shaft with a flat", shaft, want{"plane": 3, "cylinder": 1}},
		{"prism with a bore", prism, want{"plane": 26, "hollow cylinder": 1}},
		{"fillet of one row", fillet, want{"plane": 2, "cylinder": 1, "cone": 1, "torus": 1}},
		{"chamfer", chamfer, want{"plane": 2, "cylinder": 1, "cone": 1}},
		{"low chamfer", low, want{"plane": 2, "cylinder": 1, "cone": 1}},
		{"ring in one piece", by(form.Torus(20, 5, 24, 12), func(r3.Vec, r3.Vec) int { return 3 }), want{"torus": 1}},
		{"ring in quarters", by(form.Torus(20, 5, 24, 12), func(mid, _ r3.Vec) int {
			return int(math.Floor(math.Atan2(mid.Y, mid.X)/math.Pi*2)) + 10*int(math.Copysign(1, mid.Z))
		}), want{"torus": 1}},
	} {
		for _, how := range []string{"as drawn", "moved", "in single precision"} {
			m := *c.mesh
			switch how {
			case "moved":
				rot := r3.NewRotation(6*r.Float64(), r3.Unit(r3.Vec{X: r.NormFloat64(), Y: 1, Z: r.NormFloat64()}))
				m.Pos = make([]r3.Vec, len(c.mesh.Pos))
				for i, p := range c.mesh.Pos {
					m.Pos[i] = r3.Add(rot.Rotate(p), r3.Vec{X: 30, Y: -20, Z: 7})
				}
			case "in single precision":
				m = *turned(&m, r)
				m.Face = c.mesh.Face
			}
			p := Find(&m, mesh.NewTopology(&m))
			if d := cmp.Diff(map[string]int(c.want), count(p)); d != "" {
				t.Errorf("%s, %s: faces (-want +got)\n%s", c.name, how, d)
			}
			if how == "in single precision" {
				continue
			}
			for i := range p.Faces {
				f := &p.Faces[i]
				if f.Max > 1e-9 {
					t.Errorf("%s, %s: %v is %g off", c.name, how, f.Kind, f.Max)
				}
				if f.Kind == geom.Torus && c.name == "fillet of one row" && (math.Abs(f.Radius-4) > 1e-6 || math.Abs(f.Major-6) > 1e-6) {
					t.Errorf("%s, %s: fillet of %v on %v, drawn 4 on 6", c.name, how, f.Radius, f.Major)
				}
			}
		}
	}
}

// The curvatures of a ring are known in closed form: across the tube 1/r, round
// the axis cos u / (R + r cos u) (do Carmo, Differential Geometry of Curves and
// Surfaces, §3.3).
func TestTorusCurvature(t *testing.T) {
	m := by(form.Torus(20, 5, 48, 24), func(r3.Vec, r3.Vec) int { return 0 })
	p := Find(m, mesh.NewTopology(m))
	c := p.Curvature()
	for i := range m.Tri {
		a, b, d := m.Corners(i)
		mid := r3.Scale(1.0/3, r3.Add(a, r3.Add(b, d)))
		u := math.Atan2(mid.Z, math.Hypot(mid.X, mid.Y)-20)
		round := math.Cos(u) / (20 + 5*math.Cos(u))
		if got := c.Facet[i]; math.Abs(float64(got[0])-0.2) > 1e-7 || math.Abs(float64(got[1])-round) > 1e-7 {
			t.Fatalf("facet %d: %v, want 0.2 and %v", i, got, round)
		}
	}
	if ridge, valley := sharpLength(p); ridge+valley > 0 {
		t.Errorf("sharp edges %v and %v on a smooth ring", ridge, valley)
	}
}

// A plate with a hundred bores, with and without its faces' names.
func BenchmarkGiven(b *testing.B) {
	var cuts []form.Cut
	for i := range 100 {
		cuts = append(cuts, form.Through(form.Circle(r2.Vec{X: 8 * float64(i%10), Y: 8 * float64(i/10)}, 5, 96)))
	}
	m := form.PlateSpaced(form.Rectangle(r2.Vec{X: 36, Y: 36}, 82, 82, 3, 24), 10, 0.5, cuts...)
	tp := mesh.NewTopology(m)
	found := Find(m, tp)
	named := &mesh.Mesh{Pos: m.Pos, Tri: m.Tri, Face: found.Face}
	for _, c := range []struct {
		name string
		mesh *mesh.Mesh
	}{{"without names", m}, {"with names", named}} {
		b.Run(c.name, func(b *testing.B) {
			for b.Loop() {
				if p := Find(c.mesh, tp); len(p.Faces) != len(found.Faces) {
					b.Fatalf("%d faces", len(p.Faces))
				}
			}
		})
	}
}
