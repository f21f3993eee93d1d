package hold

import (
	"context"
	"math"
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
	if found < 2 && !testing.Short() {
		t.Errorf("only %d of the cases had a place at all", found)
	}
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
