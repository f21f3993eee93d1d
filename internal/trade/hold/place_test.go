package hold

import (
	"context"
	"flag"
	"math"
	"strconv"
	"strings"
	"testing"

	"fettle"
	"fettle/internal/shape/form"
	"fettle/internal/shape/region"
	"fettle/internal/trade/stock"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

// boxPocket is a block of x × y gripped so deep, with its pocket.
func boxPocket(x, y, grip, gap, spacing float64, pairs ...fettle.Jaws) PlaceInput {
	const c = 0.03
	m := at(form.Box(x, y, grip+10), r3.Vec{X: -x / 2, Y: -y / 2, Z: -grip})
	layers := []region.Layer{{Low: -grip - c, High: 0, Region: region.Rect(r2.Vec{X: -x/2 - c, Y: -y/2 - c}, r2.Vec{X: x/2 + c, Y: y/2 + c})}}
	return PlaceInput{
		Pairs: pairs, Pose: fettle.PocketPose{GapMM: gap, GripMM: grip},
		Grip: Sample(m, spacing), Pocket: [2][]region.Layer{layers, layers}, ClearanceMM: c,
	}
}

func place(t testing.TB, in PlaceInput) []fettle.JawTried {
	t.Helper()
	out, err := Place(context.Background(), in)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// TestNewJaws: nothing is cut yet, so the part goes in the middle and bears on all
// that it offers: 30·4 mm².
func TestNewJaws(t *testing.T) {
	for _, j := range stock.Shelf().Jaws {
		got := place(t, boxPocket(30, 24, 4, 6, 0.3, j))
		if len(got) != 1 || !got[0].OK || got[0].Pose.ShiftMM != 0 {
			t.Fatalf("%s: %+v", j.Name, got)
		}
		near(t, "support", got[0].SupportMM2, 120, 1e-9)
	}
}

// TestRoomByHand: jaws of 100 × 20 × 30 with screws of 8 mm at ±30, 15 deep, whose heads
// of 13 mm are 8 deep. A pocket for a block of 30 × 24 gripped 4 mm deep over a gap of
// 6, with 0.03 mm all round, moved by 12: it reaches from −3.03 to 27.03 and 9.03 mm
// behind the face.
//
//	end    50 − 27.03 = 22.97; back 20 − 9.03 = 10.97; foot 30 − 4.03 = 25.97
//	hole 2, fixed jaw: the head's middle is 30 − 27.03 = 2.97 beside the pocket and
//	       15 − 4.03 = 10.97 under it: √(2.97² + 10.97²) − 6.5 = 4.86491
//	hole 1: 26.97 and 10.97: √(26.97² + 10.97²) − 6.5 = 22.61579
//	an older pocket from 31 to 40 and 7 mm deep from the face: 31 − 27.03 = 3.97
//	one from −10 to 10 on the lower edge, that reaches up to 10 below the top:
//	       10 − 4.03 = 5.97
func TestRoomByHand(t *testing.T) {
	j := blankJaws()
	j.Holes = []fettle.JawHole{
		{XMM: -30, ZMM: -15, DiameterMM: 8, HeadMM: 13, HeadDeepMM: 8, BothFaces: true},
		{XMM: 30, ZMM: -15, DiameterMM: 8, HeadMM: 13, HeadDeepMM: 8, BothFaces: true},
	}
	j.Cuts = []fettle.JawCut{
		{Name: "knob", Jaw: fettle.FixedJaw, Slabs: []fettle.JawSlab{slabIn(31, 40, 0, 7, -6, 0)}},
		{Name: "stem", Jaw: fettle.FixedJaw, Slabs: []fettle.JawSlab{slabIn(-10, 10, 0, 7, -30, -10)}},
		{Name: "lever", Jaw: fettle.FixedJaw, Slabs: []fettle.JawSlab{slabIn(0, 10, 2, 7, -2, 0)}},
	}
	in := boxPocket(30, 24, 4, 6, 1, j)
	fixed, moving := Mount(j, in.Pose)
	got := Rooms(fixed, moving, in.Pocket, 12)
	want := []fettle.JawRoom{
		{To: "the end of the jaw", Jaw: 1, MM: 22.97, WantsMM: 3, OK: true},
		{To: "the back of the jaw", Jaw: 1, MM: 10.97, WantsMM: 5, OK: true},
		{To: "the foot of the jaw", Jaw: 1, MM: 25.97, WantsMM: 5, OK: true},
		{To: "mounting hole 1", Jaw: 1, MM: 27.89502 - 6.5 + 1.22077, WantsMM: 2, OK: true},
		{To: "mounting hole 2", Jaw: 1, MM: math.Hypot(2.97, 10.97) - 6.5, WantsMM: 2, OK: true},
		{To: `pocket "knob"`, Jaw: 1, MM: 3.97, WantsMM: 3, OK: true},
		{To: `pocket "stem"`, Jaw: 1, MM: 5.97, WantsMM: 3, OK: true},
		{To: `pocket "lever", which it cuts over`, Jaw: 1, MM: 0, WantsMM: 3, OK: true},
	}
	want[3].MM = math.Hypot(26.97, 10.97) - 6.5
	for i, w := range want {
		g := got[i]
		if math.Abs(g.MM-w.MM) > 1e-5 {
			t.Errorf("%s: %.5f mm, want %.5f", w.To, g.MM, w.MM)
		}
		if g.MM = w.MM; g != w {
			t.Errorf("%+v, want %+v", g, w)
		}
	}
	// In the moving jaw, which is turned half about, hole 1 is at the right.
	if a, b := got[len(want)+3], want[4]; a.To != "mounting hole 1" || math.Abs(a.MM-b.MM) > 1e-5 {
		t.Errorf("moving jaw: %+v", a)
	}
	// 1.5 mm farther, the wall to the knob is too thin; 4 mm farther there is none.
	for shift, ok := range map[float64]bool{12.9: true, 13.5: false, 15.9: false, 16: true} {
		if q := Rooms(fixed, moving, in.Pocket, shift)[5]; q.OK != ok {
			t.Errorf("at %g: %+v", shift, q)
		}
	}
}

// TestRoomAgainstPoints compares distances with those of a fine net of points on
// random pockets, holes and older pockets.
func TestRoomAgainstPoints(t *testing.T) {
	some(t, 30, func(t *rapid.T) {
		r := func(name string, lo, hi float64) float64 { return rapid.Float64Range(lo, hi).Draw(t, name) }
		j := blankJaws()
		h := fettle.JawHole{XMM: r("hole x", -20, 20), ZMM: r("hole z", -20, -5), DiameterMM: r("hole", 3, 8), HeadDeepMM: r("head deep", 1, 8), BothFaces: rapid.Bool().Draw(t, "both")}
		h.HeadMM = h.DiameterMM + r("head", 1, 5)
		j.Holes = []fettle.JawHole{h}
		disc := region.Disc(r2.Vec{X: r("old x", -30, 30), Y: r("old y", 2, 15)}, r("old radius", 1, 6), 0.01)
		old := fettle.JawSlab{HighMM: r("old top", -8, 0), Loops: [][][2]float64{plain(disc.Loops[0])}}
		old.LowMM = old.HighMM - r("old deep", 1, 8)
		j.Cuts = []fettle.JawCut{{Name: "old", Jaw: fettle.FixedJaw, Slabs: []fettle.JawSlab{old}}}

		turn := rapid.SampledFrom(fettle.JawTurns()).Draw(t, "turn")
		fixed, moving := Mount(j, fettle.PocketPose{GapMM: 4, Fixed: turn})
		tri := region.Of([]r2.Vec{{X: r("ax", -20, -5), Y: r("ay", 3, 8)}, {X: r("bx", 0, 20), Y: r("by", 3, 8)}, {X: r("cx", -10, 10), Y: r("cy", 9, 16)}})
		if tri.Empty() {
			return
		}
		low, shift := -r("deep", 0.5, 8), r("shift", -10, 10)
		got := Rooms(fixed, moving, [2][]region.Layer{{{Low: low, High: 0, Region: tri}}, nil}, shift)

		var net []r3.Vec
		lo, hi := tri.Box()
		const n = 40
		for i := range n + 1 {
			for k := range n + 1 {
				p := r2.Vec{X: lo.X + (hi.X-lo.X)*float64(i)/n, Y: lo.Y + (hi.Y-lo.Y)*float64(k)/n}
				if tri.Holds(p) {
					net = append(net, r3.Vec{X: p.X + shift, Y: p.Y})
				}
			}
		}
		for _, l := range tri.Loops {
			for i, a := range l {
				for k := range 2*n + 1 {
					p := r2.Add(a, r2.Scale(float64(k)/(2*n), r2.Sub(l[(i+1)%len(l)], a)))
					net = append(net, r3.Vec{X: p.X + shift, Y: p.Y})
				}
			}
		}
		// Heights where something is nearest.
		hv := fixed.Vise(j, r3.Vec{X: h.XMM, Z: h.ZMM})
		oldLow, oldHigh := fixed.heights(j, old.LowMM, old.HighMM)
		heights := []float64{low, low / 2, 0, hv.Z, oldLow, oldHigh}
		hole, wall := math.Inf(1), math.Inf(1)
		for _, p := range net {
			for _, z := range heights {
				q := p
				q.Z = max(low, min(0, z))
				own := fixed.Own(j, q)
				hole = min(hole, toBore(own, h.XMM, h.ZMM, h.DiameterMM/2, 0, j.ThickMM), toBore(own, h.XMM, h.ZMM, h.HeadMM/2, 0, h.HeadDeepMM))
				if h.BothFaces {
					hole = min(hole, toBore(own, h.XMM, h.ZMM, h.HeadMM/2, j.ThickMM-h.HeadDeepMM, j.ThickMM))
				}
				plan := max(0, disc.Distance(r2.Vec{X: own.X, Y: own.Y}))
				wall = min(wall, math.Hypot(plan, max(0, old.LowMM-own.Z, own.Z-old.HighMM)))
			}
		}
		// Inside the hole the net's own spacing tells: half a millimetre at most.
		if g := got[3].MM; g > hole+1e-6 || g < hole-0.4 || hole > 0.5 && g < hole-0.1 {
			t.Fatalf("%s: %.4f mm to the hole, the net has %.4f", turn, g, hole)
		}
		if g := got[4].MM; g > wall+1e-5 || g < wall-0.3 || wall > 1 && g < wall-0.1 {
			t.Fatalf("%s: %.4f mm to the old pocket, the net has %.4f", turn, g, wall)
		}
	})
}

// TestMeetsIsWhereDistanceEnds: two regions share a place at a shift if and only if it
// lies in a stretch of those said to meet.
func TestMeetsIsWhereDistanceEnds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := func(name string, lo, hi float64) float64 { return rapid.Float64Range(lo, hi).Draw(t, name) }
		ring := region.Disc(r2.Vec{Y: r("y", -4, 4)}, r("outer", 3, 8), 0.05).Minus(region.Disc(r2.Vec{X: r("hx", -1, 1)}, r("inner", 0.5, 2.5), 0.05))
		tri := region.Of([]r2.Vec{{X: r("ax", -3, 3), Y: r("ay", -3, 3)}, {X: r("bx", -3, 3), Y: r("by", -3, 3)}, {X: r("cx", -3, 3), Y: r("cy", -3, 3)}})
		if tri.Empty() {
			return
		}
		f, g := newFence(ring), newFence(tri)
		over := f.meets(g)
		for range 20 {
			dx := r("shift", -15, 15)
			in, edge := false, math.Inf(1)
			for _, s := range over {
				in = in || s.from < dx && dx < s.to
				edge = min(edge, math.Abs(dx-s.from), math.Abs(dx-s.to))
			}
			if d := f.distance(g, dx, math.Inf(1)); edge > 1e-5 && in != (d == 0) {
				t.Fatalf("at %g they are %g apart, and they meet at %v", dx, d, over)
			}
			if d, want := f.distance(g, dx, math.Inf(1)), ring.Moved(0, r2.Vec{X: -dx}); d > 0 {
				least := math.Inf(1)
				for _, l := range tri.Loops {
					for i, a := range l {
						for k := range 50 {
							least = min(least, want.Distance(r2.Add(a, r2.Scale(float64(k)/50, r2.Sub(l[(i+1)%len(l)], a)))))
						}
					}
				}
				if d > least+1e-5 || d < least-0.15 {
					t.Fatalf("at %g they are %g apart, points %g", dx, d, least)
				}
			}
		}
	})
}

func toBore(p r3.Vec, x, z, radius, y0, y1 float64) float64 {
	a, b := math.Hypot(p.X-x, p.Z-z)-radius, max(y0-p.Y, p.Y-y1)
	if a > 0 && b > 0 {
		return math.Hypot(a, b)
	}
	return max(a, b)
}

// TestCutEdgeIsTurnedAway: the upper edge of both jaws is cut all along but for the
// right end; the part finds full support with the jaws upside down, and with them as
// they are only where it is left.
func TestCutEdgeIsTurnedAway(t *testing.T) {
	j := blankJaws()
	for _, jaw := range []int{fettle.FixedJaw, fettle.MovingJaw} {
		j.Cuts = append(j.Cuts, fettle.JawCut{Name: "long", Jaw: jaw, Slabs: []fettle.JawSlab{slabIn(-60, 20, 0, 10, -8, 0)}})
	}
	got := place(t, boxPocket(30, 24, 4, 6, 0.3, j))
	if len(got) != 8 {
		t.Fatalf("%d ways of mounting, want four turns, swapped and not", len(got))
	}
	best := got[0]
	if !best.OK || best.Pose.ShiftMM != 0 || best.Pose.Swapped || best.Pose.Fixed == fettle.AsNew {
		t.Errorf("best is %+v", best)
	}
	near(t, "support", best.SupportMM2, 120, 1e-9)
	for _, b := range got {
		if b.Pose.Fixed == fettle.AsNew && b.SupportMM2 > 60 {
			t.Errorf("as new, jaws whose left halves stand at either end of the vise bear on %.1f mm²", b.SupportMM2)
		}
	}
	// Each jaw turned on its own: more ways, nothing better than all of it.
	in := boxPocket(30, 24, 4, 6, 0.3, j)
	in.Apart = true
	if all := place(t, in); len(all) != 32 || all[0].SupportMM2 > 120+1e-9 {
		t.Errorf("%d ways, the best with %.1f mm²", len(all), all[0].SupportMM2)
	}
}

// TestShiftWithMostSupport: the fixed jaw has an older pocket from −35 to 15, and the
// part is 20 mm long. With its middle at 25 it bears on all of its 80 mm², and its
// pocket, from 14.97 on, opens into the older one; from 25.03 to 28.03 a wall would be
// left that is thinner than 3 mm. Half a percent less support counts as equal and
// is nearer to the middle by up to 0.1 mm.
func TestShiftWithMostSupport(t *testing.T) {
	j := blankJaws()
	j.Cuts = []fettle.JawCut{{Name: "knob", Jaw: fettle.FixedJaw, Slabs: []fettle.JawSlab{slabIn(-35, 15, 0, 12, -9, 0)}}}
	in := boxPocket(20, 16, 4, 4, 0.1, j)
	var asNew fettle.JawTried
	for _, b := range place(t, in) {
		if b.Pose.Fixed == fettle.AsNew && !b.Pose.Swapped {
			asNew = b
		}
	}
	if s := asNew.Pose.ShiftMM; !asNew.OK || s < 24.85 || s > 25 || asNew.SupportMM2 < 80*0.995 {
		t.Errorf("%+v", asNew)
	}
	fixed, moving := Mount(j, asNew.Pose)
	for shift, ok := range map[float64]bool{24.9: true, 25: true, 25.05: false, 28: false, 28.05: true} {
		for _, q := range Rooms(fixed, moving, in.Pocket, shift) {
			if q.Jaw == fettle.FixedJaw && strings.Contains(q.To, "knob") && q.OK != ok {
				t.Errorf("at %g: %+v", shift, q)
			}
		}
	}
}

// TestNowhere: a part that is longer than the jaws, and one that is wider than the
// vise opens, are told where they lie best and what is wrong.
func TestNowhere(t *testing.T) {
	long := place(t, boxPocket(120, 16, 4, 4, 1, blankJaws()))
	if len(long) != 1 || long[0].OK || long[0].Says == "" || math.Abs(long[0].Pose.ShiftMM) > 0.5 {
		t.Errorf("%+v", long)
	}
	wide := blankJaws()
	wide.OpenMM = 50
	if got := place(t, boxPocket(30, 80, 4, 60, 1, wide)); got[0].OK || got[0].Says == "" {
		t.Errorf("%+v", got)
	}
	odd := blankJaws()
	odd.Holes = []fettle.JawHole{{XMM: 10, ZMM: -10, DiameterMM: 6, HeadMM: 10, HeadDeepMM: 6}}
	odd.Cuts = []fettle.JawCut{{Name: "knob", Jaw: fettle.FixedJaw, Slabs: []fettle.JawSlab{slabIn(-35, -30, 0, 2, -2, 0)}}}
	got := place(t, boxPocket(30, 20, 4, 8, 1, odd))
	if len(got) != 2+3 || !got[0].OK || got[4].OK || got[4].SupportMM2 != 0 {
		t.Errorf("%+v", got)
	}
}

// anyWorn are small jaws with random older pockets.
func anyWorn(t *rapid.T) fettle.Jaws {
	r := func(name string, lo, hi float64) float64 { return rapid.Float64Range(lo, hi).Draw(t, name) }
	j := fettle.Jaws{
		Name: "worn", WidthMM: 36, HeightMM: 24, ThickMM: 16, OpenMM: 60,
		Holes: []fettle.JawHole{
			{XMM: -11, ZMM: -12, DiameterMM: 4, HeadMM: 7, HeadDeepMM: 4, BothFaces: true},
			{XMM: 11, ZMM: -12, DiameterMM: 4, HeadMM: 7, HeadDeepMM: 4, BothFaces: true},
		},
		ClampN: exactly(5000), Friction: exactly(0.15),
	}
	for range rapid.IntRange(1, 4).Draw(t, "cuts") {
		x, y := r("x", -18, 14), r("y", -1, 10)
		z := rapid.SampledFrom([]float64{0, -14}).Draw(t, "edge") - r("below", 0, 3)
		deep := min(r("deep", 2, 8), 24+z)
		j.Cuts = append(j.Cuts, fettle.JawCut{
			Name: "old", Jaw: rapid.IntRange(1, 2).Draw(t, "jaw"),
			Slabs: []fettle.JawSlab{slabIn(x, x+r("wide", 2, 14), y, y+r("long", 1, 8), z-deep, z)},
		})
	}
	return j
}

// TestPlaceAgainstEveryPlace compares the place found in each way of mounting with
// all places there are, each looked at by itself.
func TestPlaceAgainstEveryPlace(t *testing.T) {
	found := 0
	some(t, 40, func(t *rapid.T) {
		j := anyWorn(t)
		in := boxPocket(rapid.Float64Range(4, 16).Draw(t, "part x"), 12, rapid.Float64Range(1, 4).Draw(t, "grip"), 3, 1.2, j)
		got, err := Place(context.Background(), in)
		if err != nil {
			t.Fatal(err)
		}
		// One way a case is enough to try every place of.
		b := got[rapid.IntRange(0, len(got)-1).Draw(t, "way")]
		most, ok := everyPlace(in, b.Pose)
		if ok != b.OK {
			t.Fatalf("%+v, but trying every place says %v (%.3f mm²)", b, ok, most)
		}
		if !ok {
			return
		}
		found++
		fixed, moving := Mount(j, b.Pose)
		at := in.Grip.Bearings(fixed, moving, b.Pose, nil, in.ClearanceMM)
		if s := min(at[0].AreaMM2, at[1].AreaMM2); math.Abs(s-b.SupportMM2) > 1e-9*s {
			t.Fatalf("support of %.4f mm² is told and %.4f is there", b.SupportMM2, s)
		}
		for _, q := range Rooms(fixed, moving, in.Pocket, b.Pose.ShiftMM) {
			if !q.OK {
				t.Fatalf("said to be a good place, and not: %+v", q)
			}
		}
		if b.SupportMM2 < most*(1-0.005)-1e-9 || b.SupportMM2 > most*(1+1e-9) {
			t.Fatalf("%.4f mm² found at %.2f, and %.4f are to be had", b.SupportMM2, b.Pose.ShiftMM, most)
		}
	})
	if found < 2 {
		t.Errorf("only %d of the cases had a place at all", found)
	}
}

// some runs a check on so many random cases, on fewer where time is short: for checks
// that try everything out.
func some(t *testing.T, n int, check func(*rapid.T)) {
	t.Helper()
	if testing.Short() {
		n /= 5
	}
	was := flag.Lookup("rapid.checks")
	old := was.Value.String()
	if old == was.DefValue { // else someone asked for more
		if err := was.Value.Set(strconv.Itoa(n)); err != nil {
			t.Fatal(err)
		}
		defer func() { _ = was.Value.Set(old) }()
	}
	rapid.Check(t, check)
}

// everyPlace is the most support at places with room, one by one.
func everyPlace(in PlaceInput, pose fettle.PocketPose) (most float64, ok bool) {
	fixed, moving := Mount(in.Pairs[0], pose)
	a, b := newRoomy(fixed, hollowIn(fixed.Stand, in.Pocket[0])), newRoomy(moving, hollowIn(moving.Stand, in.Pocket[1]))
	box := in.Pocket[0][0].Region
	lo, hi := box.Box()
	w := in.Pairs[0].WidthMM / 2
	for k := math.Ceil((-w - lo.X) / 0.05); k*0.05 <= w-hi.X; k++ {
		pose.ShiftMM = k * 0.05
		good := true
		for _, q := range append(a.rooms(pose.ShiftMM), b.rooms(pose.ShiftMM)...) {
			good = good && q.OK
		}
		if !good {
			continue
		}
		at := in.Grip.Bearings(fixed, moving, pose, nil, in.ClearanceMM)
		if s := min(at[0].AreaMM2, at[1].AreaMM2); s > 1e-6 {
			most, ok = max(most, s), true
		}
	}
	return most, ok
}

// BenchmarkPlace is two pairs with two older pockets each, all turns, swapped or not.
func BenchmarkPlace(b *testing.B) {
	pairs := stock.Shelf().Jaws
	for i := range pairs {
		for _, jaw := range []int{1, 2} {
			for _, x := range []float64{-22, 18} {
				d := region.Disc(r2.Vec{X: x}, 12, 0.001)
				pairs[i].Cuts = append(pairs[i].Cuts, fettle.JawCut{Name: "old", Jaw: jaw, Slabs: []fettle.JawSlab{{LowMM: -6, Loops: [][][2]float64{plain(d.Loops[0])}}}})
			}
		}
	}
	const c = 0.03
	disc := region.Disc(r2.Vec{}, 15+c, 0.001)
	layers := []region.Layer{{Low: -5 - c, High: 0, Region: disc}}
	in := PlaceInput{
		Pairs: pairs, Pose: fettle.PocketPose{GapMM: 4, GripMM: 5}, ClearanceMM: c,
		Grip:   Sample(at(form.Cylinder(30, 12, 360), r3.Vec{Z: -5}), 0),
		Pocket: [2][]region.Layer{layers, layers},
	}
	b.ReportMetric(float64(len(in.Grip.Points)), "points")
	for b.Loop() {
		place(b, in)
	}
}

// BenchmarkPlaceStairs is a ball's lower end in jaws that held one like it before: 25
// stairs against 25.
func BenchmarkPlaceStairs(b *testing.B) {
	var layers []region.Layer
	var slabs []fettle.JawSlab
	for i := range 25 {
		z := -5 + float64(i)*0.2
		d := region.Disc(r2.Vec{}, 5+2*math.Sqrt(float64(i+1)), 0.001)
		layers = append(layers, region.Layer{Low: z, High: z + 0.2, Region: d})
		slabs = append(slabs, fettle.JawSlab{LowMM: z, HighMM: z + 0.2, Loops: [][][2]float64{plain(d.Moved(0, r2.Vec{X: 9, Y: 3}).Loops[0])}})
	}
	pairs := stock.Shelf().Jaws
	for i := range pairs {
		pairs[i].Cuts = []fettle.JawCut{{Name: "old", Jaw: 1, Slabs: slabs}, {Name: "old", Jaw: 2, Slabs: slabs}}
	}
	in := PlaceInput{
		Pairs: pairs, Pose: fettle.PocketPose{GapMM: 4, GripMM: 5}, ClearanceMM: 0.03,
		Grip:   Sample(at(form.Cylinder(29, 12, 360), r3.Vec{Z: -5}), 0),
		Pocket: [2][]region.Layer{layers, layers},
	}
	for b.Loop() {
		place(b, in)
	}
}
