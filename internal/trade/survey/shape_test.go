package survey

import (
	"context"
	"math"
	"runtime"
	"strings"
	"testing"

	"fettle"
	"fettle/internal/shape/form"
	"fettle/internal/shape/mesh"

	"github.com/google/go-cmp/cmp"
	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// pts makes an outline from pairs.
func pts(v ...float64) []r2.Vec {
	var out []r2.Vec
	for i := 0; i+1 < len(v); i += 2 {
		out = append(out, r2.Vec{X: v[i], Y: v[i+1]})
	}
	return out
}

// arc is points on a circle from one angle to another in degrees, n steps.
func arc(x, y, r, from, to float64, n int) []r2.Vec {
	var out []r2.Vec
	for i := range n + 1 {
		s, c := math.Sincos((from + (to-from)*float64(i)/float64(n)) * math.Pi / 180)
		out = append(out, r2.Vec{X: x + r*c, Y: y + r*s})
	}
	return out
}

func join(parts ...[]r2.Vec) []r2.Vec {
	var out []r2.Vec
	for _, p := range parts {
		out = append(out, p...)
	}
	return out
}

// Single parts with what their drawings say, and parts that have no opening for
// all their hollows.
func TestShapes(t *testing.T) {
	plate := form.Rectangle(r2.Vec{}, 60, 40, 0, 1)
	type o = fettle.Opening
	for _, c := range []struct {
		name string
		mesh *mesh.Mesh
		want []o
	}{
		{"box", form.Box(10, 20, 30), nil},
		{"ball", form.Icosphere(10, 3), nil},
		{"ring", form.Torus(20, 5, 80, 40), nil},
		{"angle bracket", form.Plate(pts(0, 0, 30, 0, 30, 4, 4, 4, 4, 30, 0, 30), 20), nil},
		{"notch in an edge", form.Plate(join(pts(-20, -20, 20, -20), arc(20, 0, 6, 270, 90, 24), pts(20, 20, -20, 20)), 8), nil},
		{"spool", form.Revolve(pts(0, 0, 20, 0, 20, 5, 6, 5, 6, 35, 20, 35, 20, 40, 0, 40), 64), nil},
		{"shallow step between rails", form.Plate(pts(0, 0, 60, 0, 60, 10, 50, 10, 50, 8, 10, 8, 10, 10, 0, 10), 30), nil},

		{"saw kerf", form.Plate(pts(0, 0, 20, 0, 20, 15, 10.4, 15, 10.4, 5, 9.6, 5, 9.6, 15, 0, 15), 12), []o{{
			Kind: fettle.Slot, WidthMM: 0.8, WidestMM: 0.8, LengthMM: 12, DepthMM: 10, InsideMM: 0.4}}},
		{"ring groove", form.Revolve(pts(0, 0, 20, 0, 20, 10, 17, 10, 17, 13, 20, 13, 20, 40, 0, 40), 64), []o{{
			Kind: fettle.Slot, Form: "groove", WidthMM: 3, WidestMM: 3, LengthMM: 40 * math.Pi, DepthMM: 3, InsideMM: 1.5}}},
		{"washer", form.Revolve(pts(4, 0, 12, 0, 12, 2, 4, 2), 32), []o{{
			Kind: fettle.Hole, Through: true, WidthMM: 8, WidestMM: 8, LengthMM: 8, DepthMM: 2, InsideMM: 4}}},
		{"bearing seat with a ring groove", form.Revolve(pts(12, 0, 30, 0, 30, 20, 18, 20, 18, 17.3, 19.2, 17.3, 19.2, 16, 18, 16, 18, 6, 12, 6), 64), []o{{
			Kind: fettle.Hole, Form: "counterbored", Through: true, WidthMM: 24, WidestMM: 36, LengthMM: 24, DepthMM: 20, InsideMM: 12}}},
		{"bore with rounded mouths", form.Revolve(join(arc(8, 2, 2, 270, 180, 8), arc(8, 8, 2, 180, 90, 8), pts(20, 10, 20, 0)), 48), []o{{
			Kind: fettle.Hole, Through: true, WidthMM: 12, WidestMM: 16, LengthMM: 12, DepthMM: 10, InsideMM: 6}}},
		{"bore with a ball end", form.Revolve(join(pts(0, 0, 15, 0, 15, 20, 4, 20), arc(0, 8, 4, 0, -90, 8)), 48), []o{{
			Kind: fettle.Hole, WidthMM: 8, WidestMM: 8, LengthMM: 8, DepthMM: 16, InsideMM: 4}}},
		{"hole with a chamfered mouth", form.Plate(plate, 8, form.Countersunk(r2.Vec{}, 6, 7, 90, 32)), []o{{
			Kind: fettle.Hole, Through: true, WidthMM: 6, WidestMM: 7, LengthMM: 6, DepthMM: 8, InsideMM: 3}}},

		{"three-cornered pocket", form.Plate(plate, 8, form.Blind(form.Circle(r2.Vec{}, 20, 3), 4)), []o{{
			// The inscribed circle is half as wide as the circumscribed one.
			Kind: fettle.Pocket, WidthMM: 10, WidestMM: 10, LengthMM: 10 * math.Sqrt(3), DepthMM: 4}}},
		{"hexagon socket", form.Plate(plate, 8, form.Blind(form.Circle(r2.Vec{}, 10, 6), 4)), []o{{
			Kind: fettle.Pocket, WidthMM: 10 * math.Sqrt(3) / 2, WidestMM: 10 * math.Sqrt(3) / 2, LengthMM: 10, DepthMM: 4}}},
		{"narrow window", form.Plate(plate, 8, form.Through(form.Rectangle(r2.Vec{}, 30, 3, 0.5, 4))), []o{{
			Kind: fettle.Slot, Through: true, WidthMM: 3, WidestMM: 3, LengthMM: 30, DepthMM: 8, InsideMM: 0.5}}},
		{"pocket in a pocket", form.Plate(plate, 8, form.Cut{Sections: []form.Section{
			{Loop: form.Rectangle(r2.Vec{}, 30, 20, 4, 6), Depth: 0}, {Loop: form.Rectangle(r2.Vec{}, 30, 20, 4, 6), Depth: 3},
			{Loop: form.Rectangle(r2.Vec{}, 15, 10, 2, 5), Depth: 3}, {Loop: form.Rectangle(r2.Vec{}, 15, 10, 2, 5), Depth: 6}}}), []o{
			{Kind: fettle.Pocket, WidthMM: 20, WidestMM: 20, LengthMM: 30, DepthMM: 3, InsideMM: 4},
			{Kind: fettle.Pocket, WidthMM: 10, WidestMM: 10, LengthMM: 15, DepthMM: 3, InsideMM: 2}}},
	} {
		s, d := survey(t, c.mesh, r3.Vec{})
		checkZones(t, c.mesh.Tri, s, d)
		if len(s.Openings) != len(c.want) {
			t.Errorf("%s: %d openings, want %d: %+v", c.name, len(s.Openings), len(c.want), s.Openings)
			continue
		}
		for i, w := range c.want {
			g := s.Openings[i]
			if g.Kind != w.Kind || g.Form != w.Form || g.Through != w.Through {
				t.Errorf("%s: %s %q through %v, want %s %q %v", c.name, g.Kind, g.Form, g.Through, w.Kind, w.Form, w.Through)
			}
			for _, m := range []struct {
				what      string
				got, want float64
			}{
				{"width", g.WidthMM, w.WidthMM}, {"widest", g.WidestMM, w.WidestMM}, {"length", g.LengthMM, w.LengthMM},
				{"depth", g.DepthMM, w.DepthMM}, {"inside radius", g.InsideMM, w.InsideMM},
			} {
				if math.Abs(m.got-m.want) > 2e-3*m.want+1e-9 {
					t.Errorf("%s: %s %.4f, want %.4f", c.name, m.what, m.got, m.want)
				}
			}
		}
	}
}

// The foot of a boss: a fillet of 2 mm right round it, and a sharp one.
func TestCornersRoundABoss(t *testing.T) {
	const n = 96
	fillet := form.Revolve(join(pts(0, 0, 25, 0, 25, 5), arc(10, 7, 2, 270, 180, 12), pts(8, 20, 0, 20)), n)
	s, _ := survey(t, fillet, r3.Vec{Z: 1})
	if len(s.Corners) != 1 {
		t.Fatalf("%+v", s.Corners)
	}
	// Pappus: the area of the quarter tube round the boss is π/2·2 times the way of
	// its centroid; divided by its arc it is that way.
	way := 2 * math.Pi * (10 - 2*2/math.Pi)
	if c := s.Corners[0]; math.Abs(c.RadiusMM-2) > 0.02 || math.Abs(c.AngleDeg-90) > 0.5 || math.Abs(c.LengthMM-way) > 0.02*way || c.Opening != "" {
		t.Errorf("%+v, want radius 2, 90°, %.2f mm", c, way)
	}
	sharp := form.Revolve(pts(0, 0, 25, 0, 25, 5, 8, 5, 8, 20, 0, 20), n)
	s, _ = survey(t, sharp, r3.Vec{Z: 1})
	if len(s.Corners) != 1 || s.Corners[0].RadiusMM != 0 || math.Abs(s.Corners[0].AngleDeg-90) > 1e-6 ||
		math.Abs(s.Corners[0].LengthMM-16*math.Pi) > 1e-6 {
		t.Errorf("%+v", s.Corners)
	}
	if s.Corners[0].Zone != "show" || !s.Zones[0].SharpInside {
		t.Errorf("the corner is on the show face: %+v", s.Corners[0])
	}
}

// The same answer, to the bit, for any number of cores, and again.
func TestSameForAnyCores(t *testing.T) {
	m := form.Plate(form.Rectangle(r2.Vec{}, 60, 40, 5, 16), 8,
		form.Through(form.Keyhole(r2.Vec{Y: 5}, 8, 3, 10, 48)), form.Blind(form.Rectangle(r2.Vec{X: 18}, 12, 6, 1, 8), 3))
	first, _ := survey(t, m, r3.Vec{})
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0))
	for _, n := range []int{1, 2, 3} {
		runtime.GOMAXPROCS(n)
		again, _ := survey(t, m, r3.Vec{})
		if d := cmp.Diff(first, again); d != "" {
			t.Fatalf("with %d cores:\n%s", n, d)
		}
	}
}

// Broken and odd meshes are surveyed without a panic and with a word about them.
func TestTrouble(t *testing.T) {
	open := form.Plate(form.Rectangle(r2.Vec{}, 60, 40, 0, 1), 8, form.Through(form.Circle(r2.Vec{}, 6, 32)))
	open.Tri = open.Tri[3:]
	two := form.Box(5, 5, 5)
	for _, q := range form.Box(4, 4, 4).Pos {
		two.Pos = append(two.Pos, r3.Add(q, r3.Vec{X: 20}))
	}
	for _, v := range form.Box(4, 4, 4).Tri {
		two.Tri = append(two.Tri, [3]uint32{v[0] + 8, v[1] + 8, v[2] + 8})
	}
	for _, c := range []struct {
		name string
		mesh *mesh.Mesh
		says string
	}{
		{"open", open, "openings may be missed"},
		{"two bodies", two, "2 separate shells"},
		{"one facet", &mesh.Mesh{Pos: []r3.Vec{{}, {X: 1}, {Y: 1}}, Tri: [][3]uint32{{0, 1, 2}}}, "openings may be missed"},
		{"flat facet", &mesh.Mesh{Pos: []r3.Vec{{}, {X: 1}, {X: 2}}, Tri: [][3]uint32{{0, 1, 2}}}, ""},
		{"sharp pocket", form.Plate(form.Rectangle(r2.Vec{}, 60, 40, 0, 1), 8, form.Blind(form.Rectangle(r2.Vec{}, 20, 12, 0, 1), 3)),
			"pocket-1 has sharp corners in plan"},
	} {
		s, d := survey(t, c.mesh, r3.Vec{})
		checkZones(t, c.mesh.Tri, s, d)
		if !strings.Contains(strings.Join(s.Warnings, "\n"), c.says) {
			t.Errorf("%s: %q lacks %q", c.name, s.Warnings, c.says)
		}
		for _, w := range s.Warnings {
			if !strings.HasSuffix(w, ".") {
				t.Errorf("%s: not a sentence: %q", c.name, w)
			}
		}
	}
	ctx, stop := context.WithCancel(context.Background())
	stop()
	if _, _, err := Of(ctx, open, mesh.NewTopology(open), Options{}); err == nil {
		t.Error("a survey that was called off went on")
	}
}

func BenchmarkSurvey(b *testing.B) {
	m := form.Icosphere(20, 8)
	tp := mesh.NewTopology(m)
	b.Run("ball of 1.3 M", func(b *testing.B) {
		for b.Loop() {
			if _, _, err := Of(context.Background(), m, tp, Options{}); err != nil {
				b.Fatal(err)
			}
		}
	})
	ring := form.Torus(20, 5, 375, 200)
	rt := mesh.NewTopology(ring)
	b.Run("ring of 150 k", func(b *testing.B) {
		for b.Loop() {
			if _, _, err := Of(context.Background(), ring, rt, Options{}); err != nil {
				b.Fatal(err)
			}
		}
	})
}
