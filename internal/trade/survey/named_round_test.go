package survey

import (
	"math"
	"math/rand/v2"
	"testing"

	"fettle"
	"fettle/internal/shape/form"
	"fettle/internal/shape/geom"
	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

func ring(z, major, minor float64) geom.Surface {
	return geom.Surface{Kind: geom.Torus, At: r3.Vec{Z: z}, Axis: r3.Vec{Z: 1}, Major: major, Radius: minor}
}

func ballAt(z, radius float64) geom.Surface {
	return geom.Surface{Kind: geom.Sphere, At: r3.Vec{Z: z}, Radius: radius}
}

// wavy is a washer, its top lifted onto a surface over the plan: a bore in a face
// that is not flat.
func wavy(bore, outer float64, rings, n int, top func(x, y float64) float64) *mesh.Mesh {
	profile := []r2.Vec{{X: bore}, {X: outer}}
	for i := range rings + 1 {
		profile = append(profile, r2.Vec{X: outer + (bore-outer)*float64(i)/float64(rings), Y: 1})
	}
	m := form.Revolve(profile, n)
	for i, p := range m.Pos {
		if p.Z == 1 {
			m.Pos[i].Z = top(p.X, p.Y)
		}
	}
	return m
}

// meanTop is the mean height of a top over a circle, by the periodic trapezoid rule.
func meanTop(radius float64, top func(x, y float64) float64) float64 {
	sum := 0.0
	const n = 512
	for i := range n {
		s, c := math.Sincos(2 * math.Pi * float64(i) / n)
		sum += top(radius*c, radius*s) / n
	}
	return sum
}

// Turned parts and bores whose mouths are rounded or on curved faces, coarsely, with
// named faces: openings, radii and corners are the drawing's.
func TestNamedRoundParts(t *testing.T) {
	barrel := func(x, y float64) float64 { return math.Sqrt(400-x*x) - 8 }
	dome := func(x, y float64) float64 { return math.Sqrt(900-x*x-y*y) - 18 }
	slope := func(x, y float64) float64 { return 10 + 0.3*x - 0.1*y }
	hole := func(z, wide, widest, depth float64, through bool) drawn {
		return at("hole", r2.Vec{}, z, false, fettle.Opening{
			Kind: fettle.Hole, Through: through, WidthMM: wide, WidestMM: widest, LengthMM: wide, DepthMM: depth, InsideMM: wide / 2})
	}
	mouth := meanTop(3, barrel)
	crown := dome(3, 0)
	r := rand.New(rand.NewPCG(21, 4))
	for _, c := range []struct {
		name     string
		mesh     *mesh.Mesh
		surfaces []geom.Surface
		want     []drawn
		corners  []fettle.Corner // radius, length, angle
	}{
		{"filleted mouth", form.Revolve(join(pts(6, 0, 20, 0, 20, 10), arc(8, 8, 2, 90, 180, 3)), 14),
			[]geom.Surface{level(0), level(10), bore(r2.Vec{}, 6), bore(r2.Vec{}, 20), ring(8, 8, 2)},
			[]drawn{hole(10, 12, 16, 10, true)}, nil},
		{"mouth broken with a tenth", form.Revolve(join(pts(6, 0, 20, 0, 20, 10), arc(6.1, 9.9, 0.1, 90, 180, 3)), 24),
			[]geom.Surface{level(0), level(10), bore(r2.Vec{}, 6), bore(r2.Vec{}, 20), ring(9.9, 6.1, 0.1)},
			[]drawn{hole(10, 12, 12.2, 10, true)}, nil},
		{"filleted floor", form.Revolve(join(pts(0, 0, 20, 0, 20, 10, 6, 10), arc(4.5, 5.5, 1.5, 0, -90, 3), pts(0, 4)), 16),
			[]geom.Surface{level(0), level(4), level(10), bore(r2.Vec{}, 6), bore(r2.Vec{}, 20), ring(5.5, 4.5, 1.5)},
			[]drawn{hole(10, 12, 12, 6, false)},
			// Pappus: the way of the arc's middle, 4.5 + 1.5·2/π from the axis.
			[]fettle.Corner{{RadiusMM: 1.5, AngleDeg: 90, LengthMM: 2 * math.Pi * (4.5 + 3/math.Pi)}}},
		{"ball end", form.Revolve(join(pts(0, 0, 15, 0, 15, 20, 4, 20), arc(0, 8, 4, 0, -67.5, 3), pts(0, 4)), 16),
			[]geom.Surface{level(0), level(20), bore(r2.Vec{}, 4), bore(r2.Vec{}, 15), ballAt(8, 4)},
			[]drawn{hole(20, 8, 8, 16, false)}, nil},
		{"boss with a fillet", form.Revolve(join(pts(0, 0, 25, 0, 25, 5), arc(10, 7, 2, 270, 180, 3), pts(8, 20, 0, 20)), 18),
			[]geom.Surface{level(0), level(5), level(20), bore(r2.Vec{}, 25), bore(r2.Vec{}, 8), ring(7, 10, 2)}, nil,
			[]fettle.Corner{{RadiusMM: 2, AngleDeg: 90, LengthMM: 2 * math.Pi * (10 - 4/math.Pi)}}},
		{"boss", form.Revolve(pts(0, 0, 25, 0, 25, 5, 8, 5, 8, 20, 0, 20), 14),
			[]geom.Surface{level(0), level(5), level(20), bore(r2.Vec{}, 25), bore(r2.Vec{}, 8)}, nil,
			[]fettle.Corner{{AngleDeg: 90, LengthMM: 16 * math.Pi}}},
		{"bore in a barrel", wavy(3, 12, 6, 36, barrel),
			[]geom.Surface{level(0), bore(r2.Vec{}, 3), bore(r2.Vec{}, 12), {Kind: geom.Cylinder, At: r3.Vec{Z: -8}, Axis: r3.Vec{Y: 1}, Radius: 20}},
			[]drawn{hole(mouth, 6, 6, mouth, true)}, nil},
		{"bore in a dome", wavy(3, 12, 5, 14, dome),
			[]geom.Surface{level(0), bore(r2.Vec{}, 3), bore(r2.Vec{}, 12), ballAt(-18, 30)},
			[]drawn{hole(crown, 6, 6, crown, true)}, nil},
		{"bore in a slope", wavy(3, 12, 1, 13, slope),
			[]geom.Surface{level(0), bore(r2.Vec{}, 3), bore(r2.Vec{}, 12), plane(r3.Vec{Z: 10}, r3.Vec{X: -0.3, Y: 0.1, Z: 1})},
			[]drawn{hole(10, 6, 6, 10, true)}, nil},
	} {
		for _, halves := range []bool{false, true} {
			m := name(t, c.mesh, halves, c.surfaces...)
			o := someMotion(r)
			s, d := survey(t, o.moved(m), o.rot.Rotate(r3.Vec{Z: 1}))
			checkZones(t, m.Tri, s, d)
			if len(s.Faces) != len(c.surfaces) {
				t.Errorf("%s: %d faces, drawn %d", c.name, len(s.Faces), len(c.surfaces))
			}
			for _, f := range s.Faces {
				if f.ErrorUM > 1000*exactly {
					t.Errorf("%s: %s is off by %g µm", c.name, f.Kind, f.ErrorUM)
				}
				w := c.surfaces[m.Face[f.Facets[0]]/2]
				if w.Kind.String() != string(f.Kind) || w.Kind != geom.Plane && math.Abs(f.RadiusMM-w.Radius) > exactly || math.Abs(f.MajorMM-w.Major) > exactly {
					t.Errorf("%s: %s of %.9f and %.9f, drawn %v of %v and %v", c.name, f.Kind, f.RadiusMM, f.MajorMM, w.Kind, w.Radius, w.Major)
				}
			}
			exact(named{t, c.name}, s, c.want, o)
			if len(s.Corners) != len(c.corners) {
				t.Errorf("%s: %+v", c.name, s.Corners)
				continue
			}
			for i, w := range c.corners {
				g := s.Corners[i]
				if math.Abs(g.RadiusMM-w.RadiusMM) > exactly || math.Abs(g.LengthMM-w.LengthMM) > exactly || math.Abs(g.AngleDeg-w.AngleDeg) > exactly {
					t.Errorf("%s: corner %+v, want %+v", c.name, g, w)
				}
			}
		}
	}
}

// named says which part an error is about.
type named struct {
	*testing.T
	part string
}

func (n named) Errorf(format string, args ...any) {
	n.T.Helper()
	n.T.Errorf(n.part+": "+format, args...)
}

// A dimple of a ball in a plate is no opening, but its radius is known exactly.
func TestNamedDimple(t *testing.T) {
	deep := 1.2
	centre := 8 - deep + 10
	from := -90 + math.Acos((10-deep)/10)*180/math.Pi
	m := form.Revolve(join(pts(0, 0, 20, 0, 20, 8), arc(0, centre, 10, from, (from-180)/3, 2), pts(0, centre-10)), 14)
	s, _ := survey(t, name(t, m, true, level(0), level(8), bore(r2.Vec{}, 20), ballAt(centre, 10)), r3.Vec{Z: 1})
	if len(s.Faces) != 4 || len(s.Openings) != 0 {
		t.Fatalf("%+v %+v", s.Faces, s.Openings)
	}
	for _, f := range s.Faces {
		if f.Kind == fettle.SphereFace && (math.Abs(f.RadiusMM-10) > exactly || !f.Hollow || math.Abs(f.At[2]-centre) > exactly) {
			t.Errorf("%+v", f)
		}
	}
	if z := s.Zones[0]; math.Abs(z.ConcaveMM-10) > 1e-5 { // single precision inside
		t.Errorf("the show face is hollow with radius %v, drawn 10", z.ConcaveMM)
	}
}
