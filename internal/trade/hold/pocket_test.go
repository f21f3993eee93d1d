package hold

import (
	"context"
	"math"
	"strings"
	"testing"

	"fettle"
	"fettle/demo"
	"fettle/internal/shape/bvh"
	"fettle/internal/shape/form"
	"fettle/internal/shape/mesh"
	"fettle/internal/shape/region"
	"fettle/internal/trade/stock"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

var back = [3]float64{0, 0, -1}

func inputOf(m *mesh.Mesh) Input {
	s := stock.Shelf()
	return Input{Mesh: m, File: "part.stl", SHA256: "1", Pairs: s.Jaws, Cutters: s.Cutters, Down: back}
}

func made(t *testing.T, in Input) *Made {
	t.Helper()
	m, err := Make(context.Background(), in)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// cutterOf is the radius of the cutter that a level is cut with.
func cutterOf(t *testing.T, d fettle.JawPocket, l fettle.PocketLevel, shelf []fettle.Cutter) float64 {
	t.Helper()
	if !l.Relief || d.GrooveCutter == "" {
		return d.CutterMM / 2
	}
	for _, c := range shelf {
		if c.Name == d.GrooveCutter {
			return c.DiameterMM / 2
		}
	}
	t.Fatalf("the groove is cut with %s, which is not on the shelf", d.GrooveCutter)
	return 0
}

// looksRight asks of a pocket what must hold for each: the part and the jaws share
// no place and the room between them is at least the one stated; both jaws close;
// every outline can be cut with the cutter stated; what was taken is what the levels
// say.
func looksRight(t *testing.T, in Input, m *Made) {
	t.Helper()
	d := m.Doc
	if !d.LoadsClear || d.Fit.LeastMM < d.ClearanceMM-1e-6 {
		t.Errorf("the room between part and jaws is %.6f mm, stated %.3f", d.Fit.LeastMM, d.ClearanceMM)
	}
	all := mesh.Join(m.Part, m.Jaws[0], m.Jaws[1])
	if x := bvh.Crossings(all); len(x) > 0 {
		t.Errorf("facets of the part and the jaws cross, %d pairs: the first are %v", len(x), x[0])
	}
	for i, j := range m.Jaws {
		if got := mesh.Measure(j, nil); !got.Closed || !(got.Volume > 0) {
			t.Errorf("jaw %d is closed %v and has %.1f mm³", i, got.Closed, got.Volume)
		}
	}
	for i, l := range d.Levels {
		if len(d.Levels) > 6 && i > 1 && i%5 != 0 { // stairs are alike
			continue
		}
		r := outlined(l)
		if got := r.Area(); math.Abs(got-l.AreaMM2) > 2*tracedMM*around(r)+0.01 {
			t.Errorf("level %d: the outline holds %.3f mm², stated %.3f", i, got, l.AreaMM2)
		}
		radius := cutterOf(t, d, l, in.Cutters)
		if uncut := sticksOut(r, r.Opened(radius-2*tracedMM, arcMM)); uncut > 4*tracedMM {
			t.Errorf("level %d at %.3f mm: a cutter of radius %.1f mm does not reach %.4f mm of it", i, l.DepthMM, radius, uncut)
		}
	}
}

// flattened is an edge as points at most 0.02 mm apart, without its end.
func flattened(e fettle.PlanEdge) []r2.Vec {
	from, to := r2.Vec{X: e.From[0], Y: e.From[1]}, r2.Vec{X: e.To[0], Y: e.To[1]}
	if e.RadiusMM == 0 {
		return []r2.Vec{from}
	}
	c := r2.Vec{X: e.Centre[0], Y: e.Centre[1]}
	a, b := r2.Sub(from, c), r2.Sub(to, c)
	turn := math.Atan2(r2.Cross(a, b), r2.Dot(a, b))
	if e.Left && turn <= 0 {
		turn += 2 * math.Pi
	} else if !e.Left && turn >= 0 {
		turn -= 2 * math.Pi
	}
	n := int(math.Ceil(math.Abs(turn) * math.Sqrt(e.RadiusMM/(8*arcMM)))) // chords within arcMM of the arc
	var out []r2.Vec
	for k := range n {
		s, co := math.Sincos(turn * float64(k) / float64(n))
		out = append(out, r2.Add(c, r2.Vec{X: co*a.X - s*a.Y, Y: s*a.X + co*a.Y}))
	}
	return out
}

// A block of 40 × 24 × 12 mm: all is known. Each jaw bears on the long side over the
// grip less what two corner reliefs take: of each wall their circles cut r√2, half of
// it on either side of the corner's middle: r√2 from the corner on. The pocket's
// volume in the two jaws is its plan less the gap, four reliefs, times its depth, and
// the groove.
func TestPocketOfABlock(t *testing.T) {
	in := inputOf(form.Box(40, 24, 12))
	in.GripMM, in.GapMM, in.Cutter = 4, 6, "flat-6"
	in.Pairs = in.Pairs[1:]
	m := made(t, in)
	looksRight(t, in, m)
	d := m.Doc
	if !d.Stepped || d.Pose.TurnDeg != 0 || len(d.Levels) < 1 {
		t.Fatalf("a block's pocket is %+v", d)
	}
	relief := 3 * math.Sqrt2
	want := (40 - 2*relief) * 4
	for i, b := range d.Bearings {
		if math.Abs(b.AreaMM2-want) > 0.03*want {
			t.Errorf("jaw %d bears on %.2f mm², want %.2f", i, b.AreaMM2, want)
		}
		if math.Abs(b.Centre[0]-d.Pose.ShiftMM) > 0.05 || math.Abs(b.Centre[2]+2) > 0.05 || math.Abs(math.Abs(b.Centre[1])-12) > 1e-6 {
			t.Errorf("jaw %d bears about %v", i, b.Centre)
		}
	}
	if len(d.Reliefs) != 4 {
		t.Errorf("%d reliefs in four corners", len(d.Reliefs))
	}
	c := in.ClearanceMM + clearanceMM + spareMM
	plan := (40+2*c)*(24+2*c-6) + 8*9.0/2*(math.Pi/2-1)
	vol := plan * (4 + clearanceMM + spareMM/4)
	for _, l := range d.Levels {
		if l.Relief { // the ring, less what of it lies over the gap
			vol += ringOver(l, 6) * grooveMM
		}
	}
	if math.Abs(d.TakenMM3-vol) > 0.002*vol {
		t.Errorf("%.2f mm³ are cut away, want %.2f", d.TakenMM3, vol)
	}
}

// outlined is the region within a level's edges.
func outlined(l fettle.PocketLevel) region.Region {
	var loops [][]r2.Vec
	for _, loop := range l.Edges {
		var pts []r2.Vec
		for _, e := range loop {
			pts = append(pts, flattened(e)...)
		}
		loops = append(loops, pts)
	}
	return region.Of(loops...)
}

// ringOver is the area of a level's outline outside a gap.
func ringOver(l fettle.PocketLevel, gap float64) float64 {
	r := outlined(l)
	lo, hi := r.Box()
	return r.Minus(region.Rect(r2.Vec{X: lo.X - 1, Y: -gap / 2}, r2.Vec{X: hi.X + 1, Y: gap / 2})).Area()
}

// A round part in a round pocket keeps true arcs: its outline is one circle, as wide
// as the part and the room round it.
func TestPocketOfACylinderIsACircle(t *testing.T) {
	in := inputOf(form.Cylinder(24, 15, 400))
	in.GripMM = 5
	m := made(t, in)
	looksRight(t, in, m)
	top := m.Doc.Levels[0]
	if len(top.Edges) != 1 || len(top.Edges[0]) != 2 {
		t.Fatalf("the outline is %+v", top.Edges)
	}
	for _, e := range top.Edges[0] {
		// The corners of the model lie on the circle, its sides within 0.4 µm of it.
		if want := 12 + clearanceMM + spareMM; math.Abs(e.RadiusMM-want) > 0.003 {
			t.Errorf("its radius is %.4f mm, want %.4f", e.RadiusMM, want)
		}
	}
	if len(m.Doc.Reliefs) != 0 {
		t.Errorf("a round pocket has %d corner reliefs", len(m.Doc.Reliefs))
	}
	// Projected area d·h on each side, less the gap and the last part of the quarter
	// that only rubs.
	h := 5.0
	cos := math.Sqrt(1 - leastFacing*leastFacing)
	want := 2 * 12 * min(cos, math.Sqrt(1-math.Pow(m.Doc.Pose.GapMM/2/12, 2))) * h
	if got := m.Doc.Bearings[0].AreaMM2; math.Abs(got-want) > 0.03*want {
		t.Errorf("the fixed jaw bears on %.2f mm², want %.2f", got, want)
	}
}

// The demo's parts, either side down: curved undersides, openings, a waist, a groove.
func TestPocketsOfTheDemo(t *testing.T) {
	if testing.Short() {
		t.Skip("-short: simple parts have tests of their own")
	}
	shelf := stock.Shelf()
	for _, p := range demo.Parts() {
		for _, down := range [][3]float64{{0, 0, 1}, {0, 0, -1}} {
			m, _ := mesh.Clean(p.Mesh, mesh.Options{})
			in := inputOf(m)
			in.Down = down
			var err error
			if in.Material, err = shelf.Material(p.Brief.Material); err != nil {
				t.Fatal(err)
			}
			in.Cuts = []fettle.Cut{Rough(shelf.Cutters[len(shelf.Cutters)-2], in.Material, 2)}
			got := made(t, in)
			looksRight(t, in, got)
			d := got.Doc
			if d.Stepped != (down[2] < 0) {
				t.Errorf("%s, %v down: stepped is %v", p.ID, down, d.Stepped)
			}
			if d.Holding == nil || len(d.Holding.Assumes) == 0 || d.Holding.Factor.Value <= 0 {
				t.Errorf("%s, %v down: not checked: %+v", p.ID, down, d.Holding)
			}
			// The part is where the pose says.
			box := got.Part.Box()
			if math.Abs(box.Min.Z+d.Pose.GripMM) > 1e-9 || math.Abs((box.Min.X+box.Max.X)/2-d.Pose.ShiftMM) > 1e-9 {
				t.Errorf("%s lies at %v, its pose is %+v", p.ID, box, d.Pose)
			}
		}
	}
}

// What was cut is remembered, and found again: the same part goes in the same pocket
// and bears on what it did; another pair has no such pocket, and says so.
func TestPocketIsRemembered(t *testing.T) {
	if testing.Short() {
		t.Skip("long under the race detector, which other tests of this room feed")
	}
	in := inputOf(form.Plate(form.Rectangle(r2.Vec{}, 30, 18, 2, 12), 10))
	in.GripMM = 4
	first := made(t, in)
	for i := range in.Pairs {
		if in.Pairs[i].Name == first.Pair.Name {
			in.Pairs[i].Cuts = first.Cuts
		}
	}
	all := in.Pairs
	again, err := Reuse(context.Background(), in, first.Doc.ID, all)
	if err != nil {
		t.Fatal(err)
	}
	if !again.Doc.LoadsClear || len(again.Doc.Warnings) != 0 {
		t.Errorf("the part that the pocket was cut for: %s, %q", again.Doc.Loads, again.Doc.Warnings)
	}
	for i, b := range again.Doc.Bearings {
		if want := first.Doc.Bearings[i].AreaMM2; math.Abs(b.AreaMM2-want) > 0.02*want {
			t.Errorf("jaw %d bears on %.2f mm² the second time, %.2f the first", i, b.AreaMM2, want)
		}
	}

	other := in
	other.SHA256 = "2"
	for _, p := range all {
		if p.Name != first.Pair.Name {
			other.Pairs = []fettle.Jaws{p}
		}
	}
	wrong, err := Reuse(context.Background(), other, first.Doc.ID, all)
	if err != nil {
		t.Fatal(err)
	}
	said := strings.Join(wrong.Doc.Warnings, "\n")
	if wrong.Doc.LoadsClear || !strings.Contains(said, "was drawn for the pair "+first.Pair.Name) || !strings.Contains(said, "another file") {
		t.Errorf("in another pair: %s, %q", wrong.Doc.Loads, wrong.Doc.Warnings)
	}

	// A smaller part finds nothing to bear on in the middle of that pocket, and as much
	// as in new jaws beside it or on another edge.
	small := inputOf(form.Plate(form.Rectangle(r2.Vec{}, 22, 12, 2, 12), 10))
	small.GripMM = 3.5
	fresh := made(t, small)
	small.Pairs = all
	second := made(t, small)
	looksRight(t, small, second)
	if second.Doc.Pair == first.Pair.Name && second.Doc.Pose.Fixed == first.Doc.Pose.Fixed && math.Abs(second.Doc.Pose.ShiftMM) < 20 {
		t.Errorf("the second pocket is put in the first: %+v", second.Doc.Pose)
	}
	if a, b := second.Doc.Bearings[0].AreaMM2, fresh.Doc.Bearings[0].AreaMM2; a < 0.98*b {
		t.Errorf("the second pocket bears on %.2f mm², on %.2f in new jaws", a, b)
	}
}

// A jaw's half of the pocket does not depend on which way the jaw is told to stand:
// what is remembered of it is in its own metal.
func TestRememberedInTheMetal(t *testing.T) {
	in := inputOf(form.Box(20, 14, 10))
	in.GripMM = 4
	m := made(t, in)
	pair := m.Pair
	pair.Cuts = m.Cuts
	for _, turn := range fettle.JawTurns() {
		pose := m.Doc.Pose
		pose.Fixed, pose.Moving = turn, turn
		fixed, _ := Mount(pair, pose)
		taken := 0.0
		for _, l := range fixed.Slabs() {
			taken += l.Region.And(fixed.blank(pair)).Area() * (l.High - l.Low)
		}
		if math.Abs(taken-m.Doc.TakenMM3/2) > 1e-3*taken {
			t.Errorf("%s: %.3f mm³ are missing in the fixed jaw, %.3f were cut", turn, taken, m.Doc.TakenMM3/2)
		}
	}
}

func TestPocketsRefused(t *testing.T) {
	if testing.Short() {
		t.Skip("long under the race detector, which other tests of this room feed")
	}
	open := form.Sheet(0, 0, 20, 20, 4, 4, func(_, _ float64) float64 { return 0 })
	box := form.Box(20, 14, 10)
	for _, q := range []struct {
		says string
		in   func() Input
	}{
		{"not closed", func() Input { return inputOf(open) }},
		{"swallows", func() Input { in := inputOf(box); in.GripMM = 10; return in }},
		{"round nose", func() Input { in := inputOf(box); in.Cutter = "ball-6"; return in }},
		{"not on the shelf", func() Input { in := inputOf(box); in.Cutter = "hammer"; return in }},
		{"no upright sides", func() Input { return inputOf(form.Frustum(30, 0, 6, 64)) }},
		{"clearance", func() Input { in := inputOf(box); in.ClearanceMM = 3; return in }},
		{"a shift of NaN is none", func() Input { in := inputOf(box); v := math.NaN(); in.ShiftMM = &v; return in }},
		{"a turn of +Inf is none", func() Input { in := inputOf(box); v := math.Inf(1); in.TurnDeg = &v; return in }},
		{"no side", func() Input { in := inputOf(box); in.Down = [3]float64{}; return in }},
		{"no soft jaws", func() Input { in := inputOf(box); in.Pairs = nil; return in }},
		{"does not get into", func() Input {
			in := inputOf(form.Box(40, 5, 10))
			in.Cutter, in.GripMM = "flat:8", 4
			return in
		}},
	} {
		_, err := Make(context.Background(), q.in())
		if err == nil || !strings.Contains(err.Error(), q.says) {
			t.Errorf("wanted a refusal with %q, got %v", q.says, err)
		}
	}
	// A part too large for the jaws is drawn all the same, with what is wrong.
	in := inputOf(form.Box(140, 20, 12))
	in.Pairs = in.Pairs[:1]
	m, err := Make(context.Background(), in)
	if err != nil {
		t.Fatal(err)
	}
	if said := strings.Join(m.Doc.Warnings, "\n"); !strings.Contains(said, "the end of the jaw") {
		t.Errorf("a part longer than the jaws is warned of with %q", said)
	}
}

// Turning the model turns the pocket, and nothing else.
func TestPocketTurnsWithTheModel(t *testing.T) {
	if testing.Short() {
		t.Skip("long under the race detector, which other tests of this room feed")
	}
	box := form.Plate(form.Rectangle(r2.Vec{}, 30, 18, 3, 12), 10)
	turned := &mesh.Mesh{Tri: box.Tri}
	for _, p := range box.Pos {
		turned.Pos = append(turned.Pos, r3.Vec{X: p.Z, Y: p.X, Z: p.Y}) // Z up becomes X up
	}
	in := inputOf(box)
	in.GripMM = 4
	a := made(t, in)
	in.Mesh, in.Down = turned, [3]float64{-1, 0, 0}
	b := made(t, in)
	if math.Abs(a.Doc.TakenMM3-b.Doc.TakenMM3) > 0.01 || math.Abs(a.Doc.Bearings[0].AreaMM2-b.Doc.Bearings[0].AreaMM2) > 0.5 {
		t.Errorf("taken %.3f and %.3f mm³, borne on %.2f and %.2f mm²", a.Doc.TakenMM3, b.Doc.TakenMM3, a.Doc.Bearings[0].AreaMM2, b.Doc.Bearings[0].AreaMM2)
	}
}
