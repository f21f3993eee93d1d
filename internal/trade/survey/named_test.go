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
	"pgregory.net/rapid"
)

// exactly is how near the survey of a part must come to its drawing, in mm, where
// the model names its faces and its vertices lie on them: chords of coarse facets
// are a thousand times that and more.
const exactly = 1e-6

// plane, bore, level and sink are surfaces of a drawing.
func plane(p, n r3.Vec) geom.Surface { return geom.Surface{Kind: geom.Plane, At: p, Axis: r3.Unit(n)} }
func bore(c r2.Vec, radius float64) geom.Surface {
	return geom.Surface{Kind: geom.Cylinder, At: r3.Vec{X: c.X, Y: c.Y}, Axis: r3.Vec{Z: 1}, Radius: radius}
}
func level(z float64) geom.Surface { return plane(r3.Vec{Z: z}, r3.Vec{Z: 1}) }

// sink is the cone of a countersink whose diameter at height z is d.
func sink(c r2.Vec, d, z, deg float64) geom.Surface {
	half := deg / 2 * math.Pi / 180
	return geom.Surface{Kind: geom.Cone, At: r3.Vec{X: c.X, Y: c.Y, Z: z - d/2/math.Tan(half)}, Axis: r3.Vec{Z: 1}, HalfAngle: half, Radius: d / 2}
}

// name gives each facet the first of the surfaces that it lies on, and round ones
// as two halves where asked, as many files have them.
func name(t fatal, m *mesh.Mesh, halves bool, surfaces ...geom.Surface) *mesh.Mesh {
	t.Helper()
	m.Face = make([]int32, len(m.Tri))
	for i, v := range m.Tri {
		n, _ := m.Normal(i)
		m.Face[i] = -1
		for k := range surfaces {
			s := &surfaces[k]
			on := true
			for _, q := range v {
				on = on && math.Abs(s.Distance(m.Pos[q])) < 1e-9
			}
			a, b, c := m.Corners(i)
			mid := r3.Scale(1.0/3, r3.Add(a, r3.Add(b, c)))
			if !on || math.Abs(r3.Dot(s.Normal(mid), n)) < math.Cos(math.Pi/5) {
				continue
			}
			m.Face[i] = 2 * int32(k)
			if halves && s.Kind != geom.Plane && mid.Y < s.At.Y {
				m.Face[i]++
			}
			break
		}
		if m.Face[i] < 0 {
			t.Errorf("facet %d lies on no surface of the drawing", i)
		}
	}
	return m
}

// moved moves a mesh with its faces' names, without rounding.
func (o motion) moved(m *mesh.Mesh) *mesh.Mesh {
	out := &mesh.Mesh{Tri: m.Tri, Face: m.Face, Pos: make([]r3.Vec, len(m.Pos))}
	for i, p := range m.Pos {
		out.Pos[i] = o.point(p)
	}
	return out
}

// coarseCut draws one opening with as few facets as a coarse export has, and the
// surfaces of its walls and floor.
func coarseCut(r *rand.Rand, kind int, c r2.Vec) (form.Cut, drawn, []geom.Surface) {
	n := 12 + 2*r.IntN(3)
	d := 3 + 2*r.Float64()
	depth := 2 + 5*r.Float64()
	x := r2.Vec{X: 1}
	wall := func(p r2.Vec, n r2.Vec) geom.Surface {
		return plane(r3.Vec{X: c.X + p.X, Y: c.Y + p.Y}, r3.Vec{X: n.X, Y: n.Y})
	}
	hole := func(what, shape string, through bool, wide, depth float64) drawn {
		return at(what, c, plateZ, false, fettle.Opening{
			Kind: fettle.Hole, Form: shape, Through: through, WidthMM: d, WidestMM: wide, LengthMM: d, DepthMM: depth, InsideMM: d / 2})
	}
	switch kind {
	case 0:
		return form.Through(form.Circle(c, d, n)), hole("through hole", "", true, d, plateZ), []geom.Surface{bore(c, d/2)}
	case 1:
		return form.Blind(form.Circle(c, d, n), depth), hole("blind hole", "", false, d, depth),
			[]geom.Surface{bore(c, d/2), level(plateZ - depth)}
	case 2:
		return form.Drilled(c, d, depth, 118, n), hole("drilled hole", "", false, d, depth),
			[]geom.Surface{bore(c, d/2), sink(c, d, plateZ-depth, 118)}
	case 3, 4:
		deg := [2]float64{90, 82}[kind-3]
		return form.Countersunk(c, d, 1.9*d, deg, n), hole("countersunk hole", "countersunk", true, 1.9*d, plateZ),
			[]geom.Surface{bore(c, d/2), sink(c, 1.9*d, plateZ, deg)}
	case 5:
		return form.Counterbored(c, d, 1.7*d, depth, n), hole("counterbored hole", "counterbored", true, 1.7*d, plateZ),
			[]geom.Surface{bore(c, d/2), bore(c, 1.7*d/2), level(plateZ - depth)}
	case 6:
		l := d * (1.6 + r.Float64())
		return form.Blind(form.Obround(c, l, d, 0, n/2), depth), at("slot", c, plateZ, false, fettle.Opening{
				Kind: fettle.Slot, WidthMM: d, WidestMM: d, LengthMM: l, DepthMM: depth, InsideMM: d / 2}),
			[]geom.Surface{
				wall(r2.Vec{Y: d / 2}, r2.Vec{Y: 1}), wall(r2.Vec{Y: -d / 2}, r2.Vec{Y: 1}),
				bore(r2.Add(c, r2.Scale((l-d)/2, x)), d/2), bore(r2.Sub(c, r2.Scale((l-d)/2, x)), d/2), level(plateZ - depth)}
	case 7:
		l, radius := 1.5*d, 0.3+r.Float64()
		s := []geom.Surface{level(plateZ - depth)}
		for _, k := range [2]float64{-1, 1} {
			s = append(s, wall(r2.Vec{X: k * l / 2}, r2.Vec{X: 1}), wall(r2.Vec{Y: k * d / 2}, r2.Vec{Y: 1}))
			for _, j := range [2]float64{-1, 1} {
				s = append(s, bore(r2.Vec{X: c.X + k*(l/2-radius), Y: c.Y + j*(d/2-radius)}, radius))
			}
		}
		return form.Blind(form.Rectangle(c, l, d, radius, 3), depth), at("pocket", c, plateZ, false, fettle.Opening{
			Kind: fettle.Pocket, WidthMM: d, WidestMM: d, LengthMM: l, DepthMM: depth, InsideMM: radius}), s
	}
	slot, reach := 0.45*d, d
	top := r2.Vec{X: c.X, Y: c.Y + (reach-d/2)/2}
	return form.Through(form.Keyhole(top, d, slot, reach, n)), at("keyhole", c, plateZ, false, fettle.Opening{
			Kind: fettle.Slot, Form: "keyhole", Through: true, WidthMM: slot, WidestMM: d, LengthMM: reach + d/2, DepthMM: plateZ, InsideMM: slot / 2}),
		[]geom.Surface{
			wall(r2.Vec{X: slot / 2}, r2.Vec{X: 1}), wall(r2.Vec{X: -slot / 2}, r2.Vec{X: 1}),
			bore(top, d/2), bore(r2.Vec{X: top.X, Y: top.Y - reach + slot/2}, slot/2)}
}

// Plates with openings of every kind, drawn coarsely with named faces and moved
// anywhere: all measures are those of the drawing, however few the facets.
func TestNamedPlates(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(rt, "seed"), 17))
		surfaces := []geom.Surface{level(0), level(plateZ)}
		for _, w := range []float64{-9, 22} {
			surfaces = append(surfaces, plane(r3.Vec{X: w}, r3.Vec{X: 1}), plane(r3.Vec{Y: w}, r3.Vec{Y: 1}))
		}
		var cuts []form.Cut
		var want []drawn
		for i := range 4 {
			c := r2.Vec{X: 13*float64(i%2) + r.Float64(), Y: 13*float64(i/2) + r.Float64()}
			cut, d, s := coarseCut(r, r.IntN(9), c)
			cuts, want, surfaces = append(cuts, cut), append(want, d), append(surfaces, s...)
		}
		m := name(rt, form.Plate(form.Rectangle(r2.Vec{X: 6.5, Y: 6.5}, 31, 31, 0, 1), plateZ, cuts...), r.IntN(2) == 0, surfaces...)
		o := someMotion(r)
		s, _ := survey(t, o.moved(m), o.rot.Rotate(r3.Vec{Z: 1}))
		exact(rt, s, want, o)
		if len(s.Faces) != len(surfaces) {
			rt.Errorf("%d faces, drawn %d", len(s.Faces), len(surfaces))
		}
	})
}

// exact compares openings with their drawing without any tolerance but rounding's.
func exact(t fatal, s fettle.Survey, want []drawn, o motion) {
	t.Helper()
	if len(s.Openings) != len(want) {
		t.Errorf("%d openings, drawn %d", len(s.Openings), len(want))
	}
	for _, w := range want {
		place, axis := o.point(geom.Vec(w.At)), o.rot.Rotate(geom.Vec(w.Axis))
		best := fettle.Opening{ID: "none"}
		for _, g := range s.Openings {
			if best.ID == "none" || r3.Norm(r3.Sub(geom.Vec(g.At), place)) < r3.Norm(r3.Sub(geom.Vec(best.At), place)) {
				best = g
			}
		}
		g := best
		if g.Kind != w.Kind || g.Form != w.Form || g.Through != w.Through {
			t.Errorf("%s: %s %q through %v, want %s %q through %v", w.name, g.ID, g.Form, g.Through, w.Kind, w.Form, w.Through)
		}
		for _, c := range []struct {
			what      string
			got, want float64
		}{
			{"place", r3.Norm(r3.Sub(geom.Vec(g.At), place)), 0},
			{"axis", r3.Norm(r3.Sub(geom.Vec(g.Axis), axis)), 0},
			{"width", g.WidthMM, w.WidthMM}, {"widest", g.WidestMM, w.WidestMM}, {"length", g.LengthMM, w.LengthMM},
			{"depth", g.DepthMM, w.DepthMM}, {"inside radius", g.InsideMM, w.InsideMM},
		} {
			if !(math.Abs(c.got-c.want) <= exactly) {
				t.Errorf("%s: %s %.9f, drawn %.9f", w.name, c.what, c.got, c.want)
			}
		}
	}
}

// Names that mean nothing, as a damaged file may have them, are surveyed without a
// panic, and every facet still has its zone.
func TestNonsenseNames(t *testing.T) {
	parts := []*mesh.Mesh{
		form.Torus(20, 5, 24, 12), form.Icosphere(10, 2), form.Frustum(10, 0, 8, 12),
		form.Plate(form.Rectangle(r2.Vec{}, 40, 30, 2, 3), 8, form.Drilled(r2.Vec{}, 6, 4, 118, 12), form.Countersunk(r2.Vec{X: 12}, 3, 6, 90, 12)),
		{Pos: []r3.Vec{{}, {X: 1}, {Y: 1}, {X: 2}}, Tri: [][3]uint32{{0, 1, 2}, {0, 1, 3}, {1, 1, 2}}},
	}
	r := rand.New(rand.NewPCG(4, 9))
	for i, m := range parts {
		for _, ids := range []int{1, 2, 7, len(m.Tri)} {
			m.Face = make([]int32, len(m.Tri))
			for k := range m.Face {
				m.Face[k] = int32(r.IntN(ids)) - 1
			}
			s, d := survey(t, m, r3.Vec{Z: 1})
			checkZones(t, m.Tri, s, d)
			for _, f := range s.Faces {
				if math.IsNaN(f.RadiusMM+f.MajorMM+f.ErrorUM+f.At[0]+f.Axis[0]) || math.IsInf(f.RadiusMM+f.MajorMM, 0) {
					t.Errorf("part %d, %d names: %+v", i, ids, f)
				}
			}
		}
	}
}
