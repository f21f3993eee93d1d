package hold

import (
	"flag"
	"math"
	"strconv"
	"testing"

	"fettle"
	"fettle/internal/shape/region"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

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
			d := f.distance(g, dx, math.Inf(1))
			if d == 0 && !in && ring.And(tri.Moved(0, r2.Vec{X: dx})).Empty() {
				continue // they touch and share no place
			}
			if edge > 1e-5 && in != (d == 0) {
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

// some runs a check on so many random cases (a fifth of them where time is short, as
// always): for checks that try everything out.
func some(t *testing.T, n int, check func(*rapid.T)) {
	t.Helper()
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
