package draw

import (
	"math"
	"slices"
	"strings"
	"testing"

	"fettle"
	"fettle/internal/output/draw/drawtest"
	"fettle/internal/trade/hold"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

func jawPlan2(t *testing.T, p fettle.JawPocket, sys fettle.System) *Drawing {
	t.Helper()
	pair := drawtest.Jaws()
	d, err := JawPlan(p, pair, pair.Cuts, PanelOptions{Width: 180, Height: 160, Display: sys})
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// A pocket is placed from the jaws' left end and middle and from the middle of the
// gap, by its walls and not by the corners cut past them.
func TestJawPlanDimensions(t *testing.T) {
	for sys, want := range map[fettle.System][]string{
		// 52 × 34 mm with 0.05 mm all round, its middle 8 mm right of the jaws' middle:
		// from the left end 50 + 8 − 26.05.
		fettle.Metric: {"31.95", "52.10", "8.00", "100.00", "17.05", "22.00", "10.00", "32.00", "4.00", "4.60", "sizes in mm"},
		fettle.Inch:   {"1.258", "2.051", "0.315", "3.937", "0.671", "0.866", "0.394", "1.260", "0.157", "0.181", "sizes in inch"},
	} {
		d := jawPlan2(t, drawtest.Pocket(), sys)
		all := texts(d)
		for _, w := range append(want, "Fixed jaw, as new", "Moving jaw, end for end", "push the part here", "knob, stem", "relief for the burr", "Section A–A, 1:1") {
			if !strings.Contains(all, w) {
				t.Errorf("%s: %q does not stand on the drawing:\n%s", sys, w, all)
			}
		}
		apart(t, d)
	}
	p := drawtest.Pocket()
	p.Stepped, p.Pose.Swapped = false, true
	if all := texts(jawPlan2(t, p, fettle.Metric)); !strings.Contains(all, "curved floor") || !strings.Contains(all, "Moving place: fixed jaw, end for end") {
		t.Errorf("a curved floor and changed places are not named:\n%s", all)
	}
}

// Half turns of a jaw about its three axes through the middle of its box are those
// of gonum's rotations.
func TestJawTurns(t *testing.T) {
	pair := drawtest.Jaws()
	mid := r3.Vec{Y: pair.ThickMM / 2, Z: -pair.HeightMM / 2}
	for turn, axis := range map[fettle.JawTurn]r3.Vec{fettle.EndForEnd: {Z: 1}, fettle.UpsideDown: {Y: 1}, fettle.UpsideDownEnd: {X: 1}} {
		rot := r3.NewRotation(math.Pi, axis)
		rapid.Check(t, func(t *rapid.T) {
			f := rapid.Float64Range(-60, 60)
			p := r3.Vec{X: f.Draw(t, "x"), Y: f.Draw(t, "y"), Z: f.Draw(t, "z")}
			want := r3.Add(mid, rot.Rotate(r3.Sub(p, mid)))
			s := stand{hold.Stand{Turn: turn, GapMM: 10}, pair}
			x, y, z := s.vise(p.X, p.Y, p.Z)
			near(t, "x", x, want.X, 1e-9)
			near(t, "y", y, want.Y+5, 1e-9)
			near(t, "z", z, want.Z, 1e-9)
			// In the moving jaw's place it is turned half about the vise's Z.
			s.Side = hold.MovingSide
			u, v, w := s.vise(p.X, p.Y, p.Z)
			near(t, "x in front", u, -x, 1e-9)
			near(t, "y in front", v, -y, 1e-9)
			near(t, "z in front", w, z, 1e-9)
		})
	}
}

// The old cut of the moving jaw, which was at its right as seen from the front of
// the vise when that jaw was new, lies at the back on the other end now that it is
// mounted end for end.
func TestOlderCutsMove(t *testing.T) {
	p, pair := drawtest.Pocket(), drawtest.Jaws()
	j := &jawPlan{p: p, pair: pair, opt: PanelOptions{Metric: Em}, stands: stands(pair, p.Pose), levels: pocket(p, 0.01), cuts: pair.Cuts}
	j.measure()
	if len(j.notes) != 2 {
		t.Fatalf("%d cuts are named, want one in each jaw", len(j.notes))
	}
	near(t, "x of the cut in the fixed jaw", j.notes[0].At.X, -38, 1e-3)
	near(t, "x of the cut in the moving jaw", j.notes[1].At.X, 38, 1e-3)
	if y := j.notes[1].At.Y; y > -20 || y < -27 {
		t.Errorf("the old cut of the moving jaw lies at Y %.1f, not at its back", y)
	}
	// Upside down it opens at the foot.
	p.Pose.Moving = fettle.UpsideDown
	v := stands(pair, p.Pose)[1].voids(pair.Cuts[1])[0]
	near(t, "its floor", v.high, -24, 1e-9)
	near(t, "its mouth", v.low, -32, 1e-9)
	near(t, "its area", v.plan.Area(), stands(pair, drawtest.Pocket().Pose)[1].voids(pair.Cuts[1])[0].plan.Area(), 1e-3)
	// The same pocket's own cuts are not older.
	p.ID = "p1"
	if d := jawPlan2(t, p, fettle.Metric); strings.Contains(texts(d), "knob, stem") {
		t.Error("a pocket's own cut is named as an older one")
	}
}

// Points of an arc lie on it, chords stray by no more than they may, and a circle
// of two arcs has its area.
func TestFlatArcs(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r, tol := rapid.Float64Range(0.1, 60).Draw(t, "radius"), rapid.Float64Range(1e-4, 0.02).Draw(t, "tolerance")
		a, turn := rapid.Float64Range(-7, 7).Draw(t, "from"), rapid.Float64Range(0.05, 6.2).Draw(t, "turn")
		at := func(s float64) [2]float64 { return [2]float64{3 + r*math.Cos(s), -2 + r*math.Sin(s)} }
		e := fettle.PlanEdge{From: at(a), To: at(a + turn), Centre: [2]float64{3, -2}, RadiusMM: r, Left: true}
		pts := append(Flat(e, tol), e.To)
		back := append(Flat(fettle.PlanEdge{From: e.To, To: e.From, Centre: e.Centre, RadiusMM: r}, tol), e.From)
		slices.Reverse(back)
		sum := 0.0
		for i, p := range pts {
			near(t, "radius", math.Hypot(p[0]-3, p[1]+2), r, 1e-9)
			if i == 0 {
				continue
			}
			q := pts[i-1]
			sum += 2 * math.Asin(min(1, math.Hypot(p[0]-q[0], p[1]-q[1])/2/r))
			if sag := r - math.Hypot((p[0]+q[0])/2-3, (p[1]+q[1])/2+2); sag > tol*1.01 && len(pts) > 3 {
				t.Errorf("a chord strays by %g mm, more than %g", sag, tol)
			}
		}
		near(t, "the angle that the chords span", sum, turn, 1e-6)
		if len(back) != len(pts) {
			t.Fatalf("the same arc backwards has %d points, not %d", len(back), len(pts))
		}
	})
	full := Flat(fettle.PlanEdge{From: [2]float64{5, 0}, To: [2]float64{5, 0}, RadiusMM: 5, Left: true}, 1e-4)
	area := 0.0
	for i, p := range full {
		q := full[(i+1)%len(full)]
		area += (p[0]*q[1] - p[1]*q[0]) / 2
	}
	near(t, "area of the circle", area, math.Pi*25, 0.01)
}

// The section through the stud cuts every level, and its steps are as wide as the
// plan says there.
func TestSectionMeetsEveryLevel(t *testing.T) {
	p, pair := drawtest.Pocket(), drawtest.Jaws()
	j := &jawPlan{p: p, pair: pair, opt: PanelOptions{Metric: Em}, stands: stands(pair, p.Pose), levels: pocket(p, 0.001)}
	j.measure()
	near(t, "place of the section", j.at, 19, 1e-3)
	for i, want := range [][][2]float64{{{-17.05, 17.05}}, {{-17.05, -15.55}, {4.95, 13.05}, {15.55, 17.05}}, {{4.95, 13.05}}} {
		got := crossings(j.levels[i].open, j.at)
		if len(got) != len(want) {
			t.Fatalf("level %d is open at %v, want %v", i+1, got, want)
		}
		for k := range want {
			near(t, "edge", got[k][0], want[k][0], 2e-3)
			near(t, "edge", got[k][1], want[k][1], 2e-3)
		}
	}
}

// Hatching covers its area: the length of its lines times their distance.
func TestHatch(t *testing.T) {
	j := &jawPlan{k: 1, out: &Drawing{}}
	r := box(0, 40, -30, 0).Minus(box(10, 20, -12, 1))
	j.hatch(r, math.Pi/4)
	sum := 0.0
	for _, l := range j.out.Lines {
		sum += math.Hypot(l.Pts[1].X-l.Pts[0].X, l.Pts[1].Y-l.Pts[0].Y)
	}
	near(t, "hatched area", sum*2.6, 40*30-10*12, 40)
}

// Whatever the jaws' proportions, the pocket's place and the units, nothing leaves
// the panel and no texts run into one another; what cannot be drawn is refused.
func TestJawPlanHoldsAnyJaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := func(name string, lo, hi float64) float64 { return rapid.Float64Range(lo, hi).Draw(t, name) }
		p, pair := drawtest.Pocket(), drawtest.Jaws()
		pair.WidthMM, pair.HeightMM, pair.ThickMM = f("width", 40, 300), f("height", 12, 90), f("thick", 8, 60)
		for i := range pair.Holes {
			h := &pair.Holes[i]
			h.XMM, h.ZMM, h.HeadMM, h.DiameterMM = math.Copysign(0.3*pair.WidthMM, h.XMM), -pair.HeightMM/2, 0.4*min(pair.HeightMM, 40), 0.2*min(pair.HeightMM, 40)
		}
		p.Pose.GapMM = f("gap", 0, 60)
		p.Pose.Fixed, p.Pose.Moving = rapid.SampledFrom(fettle.JawTurns()).Draw(t, "fixed"), rapid.SampledFrom(fettle.JawTurns()).Draw(t, "moving")
		p.Pose.Swapped = rapid.Bool().Draw(t, "swapped")
		dx, dy, k := f("x", -60, 60), f("y", -20, 20), f("size", 0.1, 2)
		move := func(q *[2]float64) { q[0], q[1] = k*q[0]+dx, k*q[1]+dy }
		for i := range p.Levels {
			for _, loop := range p.Levels[i].Edges {
				for n := range loop {
					e := &loop[n]
					move(&e.From)
					move(&e.To)
					move(&e.Centre)
					e.RadiusMM *= k
				}
			}
		}
		for i := range p.Reliefs {
			move(&p.Reliefs[i].At)
			p.Reliefs[i].RadiusMM *= k
		}
		for i := range p.Bearings {
			c := &p.Bearings[i].Centre
			c[0], c[1] = k*c[0]+dx, k*c[1]+dy
		}
		p.Stop.At[0], p.Stop.At[1] = k*p.Stop.At[0]+dx, k*p.Stop.At[1]+dy
		a := f("push", 0, 7)
		p.Stop.Towards = [2]float64{math.Cos(a), math.Sin(a)}
		for n := rapid.IntRange(0, 20).Draw(t, "stairs"); n > 0; n-- {
			l := p.Levels[0]
			l.DepthMM = 0.2 * float64(n)
			p.Levels = append([]fettle.PocketLevel{l}, p.Levels...)
		}
		w, h := f("panel width", 165, 220), f("panel height", 150, 220)
		d, err := JawPlan(p, pair, pair.Cuts, PanelOptions{Width: w, Height: h, Display: rapid.SampledFrom([]fettle.System{fettle.Metric, fettle.Inch}).Draw(t, "system")})
		if err != nil {
			t.Fatal(err)
		}
		apart(t, d)
		if b, _ := d.Bounds(nil); b.X0 < -0.3 || b.Y0 < -0.3 || b.X1 > w+0.3 || b.Y1 > h+0.3 {
			for _, x := range d.Texts {
				if f := x.Frame(nil); f.X0 < 0 || f.Y0 < 0 || f.X1 > w || f.Y1 > h {
					t.Errorf("%q leaves it", x.S)
				}
			}
			for _, l := range d.Lines {
				for _, p := range l.Pts {
					if p.X < 0 || p.Y < 0 || p.X > w || p.Y > h {
						t.Errorf("line %v leaves it", l.Pts)
						break
					}
				}
			}
			t.Errorf("the drawing leaves its panel of %.0f × %.0f: %v", w, h, b)
		}
	})
	bad := drawtest.Pocket()
	bad.Levels[0].Edges[0][0].From[0] = math.NaN()
	none := drawtest.Jaws()
	none.WidthMM = 0
	for name, err := range map[string]error{
		"a point that is none": second(JawPlan(bad, drawtest.Jaws(), nil, PanelOptions{Width: 180, Height: 160})),
		"no jaws":              second(JawPlan(drawtest.Pocket(), none, nil, PanelOptions{Width: 180, Height: 160})),
		"a stamp":              second(JawPlan(drawtest.Pocket(), drawtest.Jaws(), nil, PanelOptions{Width: 30, Height: 30})),
	} {
		if fettle.CodeOf(err) != fettle.Invalid {
			t.Errorf("%s: %v, want a sentence with code invalid", name, err)
		}
	}
	if _, err := JawPlan(fettle.JawPocket{}, drawtest.Jaws(), nil, PanelOptions{Width: 180, Height: 160}); err != nil {
		t.Errorf("jaws without a pocket are not drawn: %v", err)
	}
}

// The walls of a pocket leave out its relieved corners.
func TestPocketWalls(t *testing.T) {
	lo, hi := PocketWalls(drawtest.Pocket())
	got := []float64{lo[0], lo[1], hi[0], hi[1]}
	for i, want := range []float64{-18.05, -17.05, 34.05, 17.05} {
		near(t, "wall", got[i], want, 1e-9)
	}
	blo, _ := pocket(drawtest.Pocket(), 0.001)[0].open.Box()
	// A cutter of radius 2 in a sharp corner goes 2 − √2 past both walls.
	near(t, "past the wall", lo[0]-blo.X, 2-math.Sqrt2, 2e-3)
}

func BenchmarkJawPlan(b *testing.B) {
	p, pair := drawtest.Pocket(), drawtest.Jaws()
	for b.Loop() {
		if _, err := JawPlan(p, pair, pair.Cuts, PanelOptions{Width: 180, Height: 160}); err != nil {
			b.Fatal(err)
		}
	}
}
