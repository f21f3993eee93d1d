package block

import (
	"context"
	"errors"
	"math"
	"strings"
	"testing"

	"fettle"
	"fettle/demo"
	"fettle/internal/shape/bvh"
	"fettle/internal/shape/form"
	"fettle/internal/shape/mesh"
	"fettle/internal/trade/survey"

	"gonum.org/v1/gonum/spatial/r3"
)

const paperMM = 0.3

// input asks for a block for those facets of a mesh that keep says yes to.
func input(t testing.TB, m *mesh.Mesh, keep func(mid, n r3.Vec) bool) Input {
	t.Helper()
	m, _ = mesh.Clean(m, mesh.Options{})
	s, d, err := survey.Of(context.Background(), m, mesh.NewTopology(m), survey.Options{})
	if err != nil {
		t.Fatal(err)
	}
	z := fettle.Zone{ID: "test"}
	for i := range m.Tri {
		a, b, c := m.Corners(i)
		n, area := m.Normal(i)
		if keep(r3.Scale(1.0/3, r3.Add(a, r3.Add(b, c))), n) {
			z.Facets = append(z.Facets, int32(i))
			z.AreaMM2 += area
		}
	}
	s.Zones = []fettle.Zone{z}
	return Input{Mesh: m, Survey: s, Detail: d, Zone: "test", Paper: fettle.Exactly(paperMM, "test"), Grit: "P240", Job: "trial"}
}

func make1(t testing.TB, in Input) Made {
	t.Helper()
	made, err := Make(context.Background(), in)
	if err != nil {
		t.Fatal(err)
	}
	if len(made) != 1 {
		t.Fatalf("%d patches", len(made))
	}
	return made[0]
}

func all(r3.Vec, r3.Vec) bool { return true }

// shapes are surfaces whose distance is known in closed form.
func shapes() []struct {
	name, kind, stroke string
	mesh               *mesh.Mesh
	keep               func(mid, n r3.Vec) bool
	off                func(p r3.Vec) float64 // distance of p from the true surface, without sign
	tol                float64                // µm, of the facets of the model
} {
	up := func(_, n r3.Vec) bool { return n.Z > 0.5 }
	around := func(_, n r3.Vec) bool { return math.Abs(n.Z) < 0.8 }
	cone := math.Atan2(10, 60) // half angle
	return []struct {
		name, kind, stroke string
		mesh               *mesh.Mesh
		keep               func(mid, n r3.Vec) bool
		off                func(p r3.Vec) float64
		tol                float64
	}{
		{"plane", "plane", "straight", form.Box(60, 40, 10), up, func(p r3.Vec) float64 { return math.Abs(p.Z - 10) }, 0},
		{"cylinder", "cylinder", "round an axis", form.Cylinder(30, 40, 512), around,
			func(p r3.Vec) float64 { return math.Abs(math.Hypot(p.X, p.Y) - 15) }, 0.3},
		{"cone", "revolved", "round an axis", form.Frustum(40, 20, 60, 512), around, func(p r3.Vec) float64 {
			return math.Abs((math.Hypot(p.X, p.Y)-20)*math.Cos(cone) + p.Z*math.Sin(cone))
		}, 0.4},
		{"sphere", "sphere", "round an axis", form.Sheet(-20, -15, 20, 15, 80, 60, func(x, y float64) float64 { return math.Sqrt(1600 - x*x - y*y) }), all,
			func(p r3.Vec) float64 { return math.Abs(r3.Norm(p) - 40) }, 2},
		{"hollow sphere", "sphere", "round an axis", form.Sheet(-20, -15, 20, 15, 80, 60, func(x, y float64) float64 { return -math.Sqrt(1600 - x*x - y*y) }), all,
			func(p r3.Vec) float64 { return math.Abs(r3.Norm(p) - 40) }, 2},
		{"torus", "revolved", "round an axis", form.Sheet(-14, 22, 14, 36, 60, 50, func(x, y float64) float64 {
			d := math.Hypot(x, y) - 29
			return math.Sqrt(144 - d*d)
		}), all, func(p r3.Vec) float64 { return math.Abs(math.Hypot(math.Hypot(p.X, p.Y)-29, p.Z) - 12) }, 4},
		{"helix", "helix", "screw", form.Sheet(12, -14, 28, 14, 50, 60, func(x, y float64) float64 { return 6 * math.Atan2(y, x) }), all,
			func(p r3.Vec) float64 { return helicoid(p, 6) }, 2},
	}
}

// helicoid is the distance from the surface z = c·θ, by walking along the normal of
// z − cθ, whose slope is known in closed form, until nothing is left.
func helicoid(p r3.Vec, c float64) float64 {
	q := p
	for range 50 {
		r2 := q.X*q.X + q.Y*q.Y
		g := r3.Vec{X: c * q.Y / r2, Y: -c * q.X / r2, Z: 1}
		f := q.Z - c*math.Atan2(q.Y, q.X)
		// Newton onto the surface, then the foot by taking off what is along it.
		on := r3.Sub(q, r3.Scale(f/r3.Norm2(g), g))
		n := r3.Unit(g)
		d := r3.Sub(p, on)
		q = r3.Sub(p, r3.Scale(r3.Dot(d, n), n))
	}
	return r3.Norm(r3.Sub(p, q))
}

// Blocks over surfaces with known distances: measured on the true surface, not on
// the facets that they were made from.
func TestFacesLieAPaperOff(t *testing.T) {
	for _, c := range shapes() {
		if testing.Short() && c.name != "cylinder" && c.name != "helix" {
			continue
		}
		b := make1(t, input(t, c.mesh, c.keep))
		d := b.Doc
		if !d.Stiff || d.Surface != c.kind || d.Strokes[0].Kind != c.stroke {
			t.Errorf("%s: stiff %v, a %s, stroked %v: %s", c.name, d.Stiff, d.Surface, d.Strokes, d.Says)
			continue
		}
		var off []float64
		for _, f := range b.Face {
			if f.Over {
				off = append(off, math.Abs(c.off(f.Part)-paperMM)*1000)
			}
		}
		// Vertices lie on the offset as true as the model's facets are; the middles of the
		// block's own facets, within its chord height of 3 µm, stray as well.
		over := len(off)
		worst := quantile(off, 0.99) // the rest lies at the patch's border
		t.Logf("%s: face %.1f × %.1f, worst %.2f µm on the facets, %.2f on the surface; reach %.1f, stands off %.2f; covers %.2f, clear %.2f",
			c.name, d.FaceMM[0], d.FaceMM[1], d.Fit.WorstUM, worst, d.Strokes[0].ReachMM, d.Strokes[0].ErrorUM, d.Covered, d.Fit.ClearMM)
		if over < len(b.Face)/2 || worst > c.tol+4 || d.Fit.WorstUM > 6 || d.Fit.MaxUM > 60 {
			t.Errorf("%s: %d of %d over, worst %.2f µm from the surface, fit %+v", c.name, over, len(b.Face), worst, d.Fit)
		}
		if d.Fit.ClearMM < besideMM || d.Covered < 0.5 || !d.Closed || d.Strokes[0].ReachMM < 5 {
			t.Errorf("%s: clear %.2f, covered %.2f, closed %v, reach %.1f", c.name, d.Fit.ClearMM, d.Covered, d.Closed, d.Strokes[0].ReachMM)
		}
		// What slides on itself keeps fitting, to twice the facets.
		for _, s := range d.Strokes {
			if s.ErrorUM > 4*c.tol+2 {
				t.Errorf("%s: stroked %s it stands off by %.1f µm", c.name, s.Kind, s.ErrorUM)
			}
		}
		checkSolid(t, c.name, b.Mesh)
		if c.name == "helix" {
			checkSolid(t, c.name+" in the mirror", b.Mirror)
		}
		if b.Wedge != nil {
			checkSolid(t, c.name+"'s strip", b.Wedge)
		}
		picture(t, "over-"+strings.ReplaceAll(c.name, " ", "-"), b.Mesh, side())
	}
}

// The same surface gives the same block wherever the part lies.
func TestPoseIsRigid(t *testing.T) {
	if testing.Short() {
		t.Skip("two whole blocks")
	}
	m := form.Sheet(-20, -15, 20, 15, 30, 50, func(x, y float64) float64 { return math.Sqrt(900 - y*y) })
	a := make1(t, input(t, m, all))
	rot := r3.NewRotation(1.1, r3.Vec{X: 1, Y: 2, Z: -0.5})
	moved := &mesh.Mesh{Tri: m.Tri}
	for _, p := range m.Pos {
		moved.Pos = append(moved.Pos, r3.Add(rot.Rotate(p), r3.Vec{X: 7, Y: -30, Z: 12}))
	}
	b := make1(t, input(t, moved, all))
	for _, p := range []Pose{a.Pose, b.Pose} {
		if e := r3.Norm(r3.Sub(r3.Cross(p.X, p.Y), p.Z)); e > 1e-12 || math.Abs(r3.Dot(p.X, p.Y)) > 1e-12 {
			t.Errorf("a pose that is not rigid: %v", p)
		}
	}
	if math.Abs(a.Doc.VolumeMM3-b.Doc.VolumeMM3) > 1e-3*a.Doc.VolumeMM3 || math.Abs(a.Doc.Fit.RMSUM-b.Doc.Fit.RMSUM) > 0.1 {
		t.Errorf("volumes %.1f and %.1f, fits %v and %v", a.Doc.VolumeMM3, b.Doc.VolumeMM3, a.Doc.Fit, b.Doc.Fit)
	}
	for _, f := range b.Face[:20] {
		if e := r3.Norm(r3.Sub(b.Pose.Point(f.At), f.Part)) + r3.Norm(r3.Sub(b.Pose.Back(f.Part), f.At)); e > 1e-9 {
			t.Errorf("a point is %g mm from itself", e)
		}
	}
}

// The mirror block's face is the block's face in the mirror; its text reads the same.
func TestMirrorPair(t *testing.T) {
	if testing.Short() {
		t.Skip("a whole block")
	}
	// A cone's patch, which is not its own mirror image.
	in := input(t, form.Frustum(60, 30, 40, 180), func(_, n r3.Vec) bool { return math.Abs(n.Z) < 0.8 })
	in.WideMM = 15
	b := make1(t, in)
	one, two := bvh.Build(b.Mesh), bvh.Build(b.Mirror)
	height := func(tr *bvh.Tree, x, y float64) float64 {
		_, at, _, _, ok := tr.Ray(r3.Vec{X: x, Y: y, Z: 200}, r3.Vec{Z: -1}, 0, 300)
		if !ok {
			return -1
		}
		return 200 - at
	}
	skew := 0.0
	for x := -0.45; x < 0.5; x += 0.1 {
		for y := -0.45; y < 0.5; y += 0.1 {
			px, py := x*b.Doc.FaceMM[0], y*b.Doc.FaceMM[1]
			h := height(one, px, py)
			if e := math.Abs(h - height(two, px, -py)); e > 1e-9 {
				t.Fatalf("at %.1f, %.1f the mirror is off by %g mm", px, py, e)
			}
			skew = max(skew, math.Abs(h-height(one, px, -py)))
		}
	}
	if skew < 0.01 {
		t.Error("the patch is its own mirror image, which proves nothing")
	}
	// The paper's side: seen from outside, the same places are raised.
	size := b.Mesh.Box().Size()
	raised := 0
	for u := -0.35; u < 0.35; u += 0.01 {
		for z := 4.0; z < gripHigh; z += 0.5 {
			_, a, _, _, ok1 := one.Ray(r3.Vec{X: u * size.X, Y: -100, Z: z}, r3.Vec{Y: 1}, 0, 300)
			_, c, _, _, ok2 := two.Ray(r3.Vec{X: -u * size.X, Y: 100, Z: z}, r3.Vec{Y: -1}, 0, 300)
			if ok1 != ok2 || math.Abs(a-c) > 1e-9 {
				t.Fatalf("at %.2f, %.1f the text differs", u, z)
			}
			if math.Abs(100-a-gripWide/2-letterRaised) < 1e-6 {
				raised++
			}
		}
	}
	if raised < 50 {
		t.Errorf("only %d places of the text are raised", raised)
	}
}

// A plane with a hole in its middle is bridged, not filled in.
func TestOpeningsAreBridged(t *testing.T) {
	m := form.PlateSpaced(form.Rectangle(r2v(0, 0), 70, 40, 3, 8), 8, 2, form.Through(form.Circle(r2v(0, 0), 12, 90)))
	b := make1(t, input(t, m, func(mid, n r3.Vec) bool { return n.Z > 0.9 && mid.Z > 7.9 }))
	for _, f := range b.Face {
		if e := math.Abs(f.Part.Z - 8 - paperMM); e > 1e-5 {
			t.Fatalf("the face is at %v, %.1f µm off the plane", f.Part, 1000*e)
		}
	}
	want := math.Pi * 36 / (b.Doc.FaceMM[0] * b.Doc.FaceMM[1])
	if got := b.Doc.Fit.BridgedShare; math.Abs(got-want) > 0.1*want {
		t.Errorf("%.4f of the face is over the hole, want about %.4f", got, want)
	}
}

func TestRefusals(t *testing.T) {
	if testing.Short() {
		t.Skip("long under the race detector, which other tests of this room feed")
	}
	waves := input(t, form.Sheet(-20, -20, 20, 20, 40, 40, func(x, y float64) float64 { return 1.5 * math.Sin(x/3) * math.Cos(y/4) }), all)
	if b := make1(t, waves); b.Doc.Stiff || b.Mesh != nil || !strings.Contains(b.Doc.Says, "soft pad") || !strings.Contains(b.Doc.Says, "µm") {
		t.Errorf("waves: stiff %v: %s", b.Doc.Stiff, b.Doc.Says)
	}
	// The inside of a pipe has no room for a grip.
	pipe := form.Plate(form.Circle(r2v(0, 0), 40, 180), 30, form.Through(form.Circle(r2v(0, 0), 20, 180)))
	b := make1(t, input(t, pipe, func(mid, n r3.Vec) bool { return math.Abs(n.Z) < 0.1 && math.Hypot(mid.X, mid.Y) < 15 }))
	if b.Doc.Stiff || !strings.Contains(b.Doc.Says, "room") {
		t.Errorf("the inside of a pipe: %+v", b.Doc)
	}
	for _, c := range []struct {
		change func(*Input)
		says   string
	}{
		{func(in *Input) { in.Zone = "belly" }, "belly"},
		{func(in *Input) { in.Patch = "test-7" }, "test-7"},
		{func(in *Input) { in.Paper.Value = 0 }, "thick"},
		{func(in *Input) { in.Paper.Value = math.NaN() }, "thick"},
		{func(in *Input) { in.LimitUM = -1 }, "µm"},
		{func(in *Input) { in.LongMM = 1000 }, "1000"},
		{func(in *Input) { in.WideMM = 1 }, "small"},
	} {
		in := waves
		c.change(&in)
		_, err := Make(context.Background(), in)
		var fe *fettle.Error
		if !errors.As(err, &fe) || !strings.Contains(err.Error(), c.says) {
			t.Errorf("want an error with %q, got %v", c.says, err)
		}
	}
	ctx, stop := context.WithCancel(context.Background())
	stop()
	if _, err := Make(ctx, waves); !errors.Is(err, context.Canceled) {
		t.Errorf("stopped: %v", err)
	}
}

// The demo's parts: whatever a block is made for, it fits, is one closed body and
// stays clear; what none can follow is refused in words.
func TestDemoParts(t *testing.T) {
	parts := demo.PartsAt(demo.Fineness{ChordMM: 0.02, SideMM: 4})
	if testing.Short() {
		parts = parts[2:]
	}
	for _, p := range parts {
		m, _ := mesh.Clean(p.Mesh, mesh.Options{})
		s, d, err := survey.Of(context.Background(), m, mesh.NewTopology(m), survey.Options{})
		if err != nil {
			t.Fatal(err)
		}
		for _, z := range s.Zones {
			if z.ID != "show" && (testing.Short() || p.ID == "pull" || p.ID == "knob" && z.ID != "sides") {
				continue
			}
			made, err := Make(context.Background(), Input{Mesh: m, Survey: s, Detail: d, Zone: z.ID, Paper: fettle.Guess(paperMM, 0.25, 0.35, "test"), Grit: "P240", Job: p.ID})
			if err != nil {
				t.Fatalf("%s, %s: %v", p.ID, z.ID, err)
			}
			for _, b := range made {
				o := b.Doc
				t.Logf("%s %s %s: %v, face %.1f, worst %.1f µm, clear %.2f, covered %.2f: %s", p.ID, o.Patch, o.Surface, o.Stiff, o.FaceMM, o.Fit.WorstUM, o.Fit.ClearMM, o.Covered, o.Says)
				if !o.Stiff {
					if b.Mesh != nil || o.Says == "" {
						t.Errorf("%s %s: refused without a word", p.ID, o.Patch)
					}
					continue
				}
				if o.Fit.WorstUM > 10 || o.Fit.ClearMM <= 0 || !o.Closed || o.VolumeMM3 <= 0 || o.Sheet.LongMM < o.FaceMM[0] {
					t.Errorf("%s %s: %+v", p.ID, o.Patch, o)
				}
				for _, q := range o.Strokes {
					if q.ErrorUM > (o.LimitUM+3*o.Fit.FacetUM)*1.2 {
						t.Errorf("%s %s: stands off by %.1f µm within its reach", p.ID, o.Patch, q.ErrorUM)
					}
				}
				checkSolid(t, p.ID+" "+o.Patch, b.Mesh)
				picture(t, p.ID+"-"+o.Patch, b.Mesh, side())
			}
		}
	}
}
