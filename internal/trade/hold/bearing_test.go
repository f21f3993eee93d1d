package hold

import (
	"math"
	"testing"

	"fettle"
	"fettle/internal/shape/form"
	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

// at is a mesh shifted.
func at(m *mesh.Mesh, by r3.Vec) *mesh.Mesh {
	out := &mesh.Mesh{Pos: make([]r3.Vec, len(m.Pos)), Tri: m.Tri}
	for i, p := range m.Pos {
		out.Pos[i] = r3.Add(p, by)
	}
	return out
}

// lying is a mesh with its Z axis laid along Y.
func lying(m *mesh.Mesh) *mesh.Mesh {
	out := &mesh.Mesh{Pos: make([]r3.Vec, len(m.Pos)), Tri: m.Tri}
	for i, p := range m.Pos {
		out.Pos[i] = r3.Vec{X: p.X, Y: -p.Z, Z: p.Y}
	}
	return out
}

func bearings(m *mesh.Mesh, j fettle.Jaws, pose fettle.PocketPose, spacing float64) [2]fettle.Bearing {
	fixed, moving := Mount(j, pose)
	return Sample(m, spacing).Bearings(fixed, moving, pose, nil, 0.03)
}

// TestBlockBears: a block of 40 × 24 mm gripped 5 mm deep bears on 40·5 = 200 mm² of
// either jaw, 2.5 mm deep in the middle, whatever the spacing. The mean distance of a
// rectangle's points from its middle is, for sides 2a and 2b with the diagonal 2d,
// d/3 + (a²/6b)·ln((b + d)/a) + (b²/6a)·ln((a + d)/b) (∫∫√(x² + y²), in polar
// coordinates).
func TestBlockBears(t *testing.T) {
	block := at(form.Box(40, 24, 20), r3.Vec{X: -20, Y: -12, Z: -5})
	a, b := 20.0, 2.5
	d := math.Hypot(a, b)
	reach := d/3 + a*a/(6*b)*math.Log((b+d)/a) + b*b/(6*a)*math.Log((a+d)/b)
	for _, spacing := range []float64{0, 0.4, 3} {
		for i, got := range bearings(block, blankJaws(), fettle.PocketPose{GapMM: 6, ShiftMM: 7}, spacing) {
			near(t, "area", got.AreaMM2, 200, 1e-9)
			near(t, "wide", got.WideMM, 40, 1e-9)
			near(t, "high", got.HighMM, 5, 1e-9)
			near(t, "reach", got.ReachMM, reach, 0.01)
			near(t, "pressure", got.PressureMPa, 8000.0/200, 1e-9)
			want := r3.Vec{X: 7, Y: 12 - 24*float64(i), Z: -2.5}
			if c := (r3.Vec{X: got.Centre[0], Y: got.Centre[1], Z: got.Centre[2]}); r3.Norm(r3.Sub(c, want)) > 1e-9 {
				t.Errorf("jaw %d bears at %v, want %v", i+1, c, want)
			}
			if got.LostMM2 != 0 || got.Jaw != i+1 {
				t.Errorf("%+v", got)
			}
		}
	}
}

// TestRoundBears: square to the clamping force a cylinder has d·h. Counted is what
// faces that by more than 0.3: d·h·√(1 − 0.3²), less nothing for a gap that is
// narrower than where that ends, 0.3·d.
func TestRoundBears(t *testing.T) {
	const d, h = 30.0, 6.0
	m := at(form.Cylinder(d, 20, 240), r3.Vec{Z: -h})
	for _, got := range bearings(m, blankJaws(), fettle.PocketPose{GapMM: 2}, 0.5) {
		near(t, "area", got.AreaMM2, d*h*math.Sqrt(1-leastFacing*leastFacing), 0.005)
		near(t, "wide", got.WideMM, d*math.Sqrt(1-leastFacing*leastFacing), 0.005)
		near(t, "high", got.HighMM, h, 1e-9)
	}
	// With a gap of 20 the jaws begin at y = 10: what is left of the width is
	// 2√(15² − 10²), but for the 0.08 mm that the jaw's metal stands off.
	for _, got := range bearings(m, blankJaws(), fettle.PocketPose{GapMM: 20}, 0.4) {
		near(t, "area over a wide gap", got.AreaMM2, 2*math.Sqrt(15*15-10*10)*h, 0.015)
		if got.LostMM2 != 0 {
			t.Errorf("%.3g mm² lost to a gap", got.LostMM2)
		}
	}
}

// TestDiscsReach: on a round face that is evenly pressed friction has an arm of a
// third of the diameter, as a disc clutch has (uniform pressure: T = µF·D/3; J. E.
// Shigley, Mechanical Engineering Design, from memory).
func TestDiscsReach(t *testing.T) {
	m := at(lying(form.Cylinder(20, 30, 180)), r3.Vec{Y: 15, Z: -12})
	fixed, moving := Mount(blankJaws(), fettle.PocketPose{GapMM: 4})
	g := Sample(m, 0.5)
	var flat Grip
	for _, p := range g.Points {
		if math.Abs(p.Normal.Y) > 0.99 {
			flat.Points = append(flat.Points, p)
		}
	}
	for _, got := range flat.Bearings(fixed, moving, fettle.PocketPose{GapMM: 4}, nil, 0.03) {
		near(t, "area", got.AreaMM2, math.Pi*100, 1e-3)
		near(t, "reach", got.ReachMM, 20.0/3, 2e-3)
	}
}

// TestLeaningWalls: a cone's side counts up to 30° from upright, and with its area
// square to the force.
func TestLeaningWalls(t *testing.T) {
	for _, c := range []struct {
		bottom float64
		bears  bool
	}{{20 - 2*6*math.Tan(29*math.Pi/180), true}, {20 - 2*6*math.Tan(31*math.Pi/180), false}} {
		m := at(form.Frustum(c.bottom, 20, 6, 360), r3.Vec{Z: -6})
		for _, got := range bearings(m, blankJaws(), fettle.PocketPose{GapMM: 1}, 0.3) {
			want := 0.0
			if c.bears {
				// Normals lean by 29°: their part in plan is cos 29°, so that the bound 0.3
				// is met at sin ψ = 0.3/cos 29°.
				want = (c.bottom + 20) / 2 * 6 * math.Sqrt(1-math.Pow(leastFacing/math.Cos(29*math.Pi/180), 2))
			}
			if math.Abs(got.AreaMM2-want) > 0.01*want {
				t.Errorf("foot %.3f: bears on %.3f mm², want %.3f", c.bottom, got.AreaMM2, want)
			}
		}
	}
}

// TestFineFacetsAreThinned: a finely divided side keeps its area to the last digit and
// loses its facets.
func TestFineFacetsAreThinned(t *testing.T) {
	outline := form.Subdivide(form.Rectangle(r2.Vec{}, 30, 20, 4, 40), 0.05)
	m := at(form.Plate(outline, 8), r3.Vec{Z: -3})
	g := Sample(m, 0.8)
	if n := len(m.Tri); len(g.Points) > n/3 {
		t.Errorf("%d points of %d facets", len(g.Points), n)
	}
	square := 0.0
	for _, p := range g.Points {
		if p.Normal.Y > 0 {
			square += p.square()
		}
	}
	near(t, "area square to the force", square, 30*3, 2e-3)
}

// slabIn is a rectangle cut from a jaw, in its own frame.
func slabIn(x0, x1, y0, y1, low, high float64) fettle.JawSlab {
	return fettle.JawSlab{LowMM: low, HighMM: high, Loops: [][][2]float64{{{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}}}}
}

// TestOldPocketTakesBearing: a block bears on less by what an older pocket took, on
// the jaw and in the turn in which it was cut, and on nothing less in the other turns.
func TestOldPocketTakesBearing(t *testing.T) {
	block := at(form.Box(40, 24, 20), r3.Vec{X: -20, Y: -12, Z: -5})
	j := blankJaws()
	// Ten of the forty millimetres, from x = 5 to 15 in the fixed jaw; 12 mm from the
	// middle is 9 mm behind the face.
	j.Cuts = []fettle.JawCut{{Name: "old", Jaw: fettle.FixedJaw, Slabs: []fettle.JawSlab{slabIn(5, 15, 0, 12, -8, 0)}}}
	for _, c := range []struct {
		turn        fettle.JawTurn
		swapped     bool
		fixed, lost float64
		moving      float64
	}{
		{fettle.AsNew, false, 150, 50, 200},
		{fettle.AsNew, true, 200, 0, 150},
		{fettle.EndForEnd, false, 200, 0, 200}, // the old one is at the back, 8 to 20 mm behind the face
		{fettle.UpsideDown, false, 200, 0, 200},
		{fettle.UpsideDownEnd, false, 200, 0, 200},
	} {
		pose := fettle.PocketPose{GapMM: 6, Fixed: c.turn, Moving: c.turn, Swapped: c.swapped}
		if c.turn == fettle.EndForEnd {
			pose.GapMM = 14 // 12 mm from the middle is 5 mm behind the face, in front of it
		}
		got := bearings(block, j, pose, 0.25)
		if math.Abs(got[0].AreaMM2-c.fixed) > 1.5 || math.Abs(got[1].AreaMM2-c.moving) > 1.5 || math.Abs(got[0].LostMM2-c.lost) > 1.5 {
			t.Errorf("%s, swapped %v: bears on %.2f (%.2f lost) and %.2f mm², want %.0f (%.0f) and %.0f", c.turn, c.swapped,
				got[0].AreaMM2, got[0].LostMM2, got[1].AreaMM2, c.fixed, c.lost, c.moving)
		}
	}
}

// TestMetalInTheVise compares what is said of a point of the vise with what is said
// of it in the jaw's own frame, where the blank, its holes and its cuts were
// written down.
func TestMetalInTheVise(t *testing.T) {
	j := blankJaws()
	j.Holes = []fettle.JawHole{
		{XMM: -30, ZMM: -15, DiameterMM: 8, HeadMM: 13, HeadDeepMM: 8, BothFaces: true},
		{XMM: 30, ZMM: -15, DiameterMM: 8, HeadMM: 13, HeadDeepMM: 8, BothFaces: true},
	}
	j.Cuts = []fettle.JawCut{
		{Name: "a", Jaw: fettle.FixedJaw, Slabs: []fettle.JawSlab{slabIn(-20, 3, -1, 7, -6, 0), slabIn(-12, 1, -1, 5, -9, -6)}},
		{Name: "b", Jaw: fettle.MovingJaw, Slabs: []fettle.JawSlab{slabIn(10, 40, 4, 9, -11, 0)}},
	}
	own := func(jaw int, p r3.Vec) bool {
		if math.Abs(p.X) > 50 || p.Y < 0 || p.Y > 20 || p.Z > 0 || p.Z < -30 {
			return false
		}
		for _, h := range j.Holes {
			r := 4.0
			if p.Y < 8 || p.Y > 12 {
				r = 6.5
			}
			if math.Hypot(p.X-h.XMM, p.Z-h.ZMM) < r {
				return false
			}
		}
		in := func(x0, x1, y0, y1, low, high float64) bool {
			return p.X > x0 && p.X < x1 && p.Y > y0 && p.Y < y1 && p.Z > low && p.Z < high
		}
		if jaw == fettle.FixedJaw {
			return !in(-20, 3, -1, 7, -6, 0) && !in(-12, 1, -1, 5, -9, -6)
		}
		return !in(10, 40, 4, 9, -11, 0)
	}
	rapid.Check(t, func(t *rapid.T) {
		pose := fettle.PocketPose{
			Fixed:   rapid.SampledFrom(fettle.JawTurns()).Draw(t, "fixed"),
			Moving:  rapid.SampledFrom(fettle.JawTurns()).Draw(t, "moving"),
			GapMM:   10,
			Swapped: rapid.Bool().Draw(t, "swapped"),
		}
		fixed, moving := Mount(j, pose)
		for _, m := range []*Metal{fixed, moving} {
			for range 40 {
				// Off the borders, which are at whole and half millimetres.
				between := func(lo, hi int, name string) float64 {
					return float64(rapid.IntRange(4*lo, 4*hi).Draw(t, name))/4 + 0.1
				}
				p := r3.Vec{X: between(-52, 52, "x"), Y: between(-27, 27, "y"), Z: between(-31, 1, "z")}
				if got, want := m.Holds(p), own(m.Jaw, m.Own(j, p)); got != want {
					t.Fatalf("%+v at %v: metal %v, want %v", m.Stand, p, got, want)
				}
			}
			// What was cut, carried to the vise and back.
			back := m.ToOwn(j, m.Slabs())
			n := 0
			for _, c := range j.Cuts {
				if c.Jaw == m.Jaw {
					n += len(c.Slabs)
				}
			}
			if len(back) != n {
				t.Fatalf("%d slabs came back of %d", len(back), n)
			}
			for i, l := range back {
				if l.HighMM > 0 || l.LowMM < -30 || i > 0 && l.HighMM > back[i-1].HighMM {
					t.Fatalf("slab %d is at %g to %g", i, l.LowMM, l.HighMM)
				}
				turn := 0.0
				for _, loop := range l.Loops {
					for k, p := range loop {
						q := loop[(k+1)%len(loop)]
						turn += p[0]*q[1] - p[1]*q[0]
						if p[1] < 0 || p[1] > 20 {
							t.Fatalf("a slab reaches outside the blank: %v", p)
						}
					}
				}
				if turn <= 0 {
					t.Fatal("an outline came back clockwise")
				}
			}
		}
	})
}
