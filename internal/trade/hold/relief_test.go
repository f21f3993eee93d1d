package hold

import (
	"math"
	"testing"

	"fettle/internal/shape/form"
	"fettle/internal/shape/region"

	"gonum.org/v1/gonum/spatial/r2"
	"pgregory.net/rapid"
)

// slack is how far two outlines may differ and still be the same: arcs are drawn to
// arcMM, and a relief goes to within 1 µm of its corner.
const slack = 0.006

// holdsAll reports how far room sticks out of cut at most.
func sticksOut(room, cut region.Region) float64 {
	_, deep := farthest(room.Minus(cut), cut)
	return deep
}

// TestCornersAreCut asks of rooms of many shapes that all of them is open, and that
// nothing is open that the round cutter does not reach: the region equals its own
// opening by the cutter's disc.
func TestCornersAreCut(t *testing.T) {
	square := region.Rect(r2.Vec{}, r2.Vec{X: 20, Y: 12})
	for _, q := range []struct {
		name    string
		room    region.Region
		radius  float64
		corners int // that need a relief
	}{
		{"rectangle", square, 3, 4},
		{"rounded wider than the cutter", region.Of(form.Rectangle(r2.Vec{}, 20, 12, 4, 24)), 3, 0},
		{"rounded tighter than the cutter", region.Of(form.Rectangle(r2.Vec{}, 20, 12, 1, 24)), 3, 4},
		{"round", region.Of(form.Circle(r2.Vec{}, 15, 128)), 3, 0},
		{"acute", region.Of([]r2.Vec{{}, {X: 30}, {X: 30 * math.Cos(0.7), Y: 30 * math.Sin(0.7)}}), 2, 3},
		{"ell", square.Union(region.Rect(r2.Vec{}, r2.Vec{X: 8, Y: 30})), 2.5, 5},
	} {
		t.Run(q.name, func(t *testing.T) {
			cut, reliefs, ok := cuttable(q.room, q.radius)
			if !ok {
				t.Fatal("the cutter does not get in")
			}
			if out := sticksOut(q.room, cut); out > slack {
				t.Errorf("%.4f mm of the room is not open", out)
			}
			if uncut := sticksOut(cut, cut.Opened(q.radius-slack/2, arcMM)); uncut > slack {
				t.Errorf("the cutter does not reach %.4f mm of it", uncut)
			}
			if len(reliefs) != q.corners {
				t.Errorf("%d reliefs for %d sharp corners: %+v", len(reliefs), q.corners, reliefs)
			}
		})
	}
}

// In a right angle the cutter that stands tangent to both walls stays r(√2 − 1)
// from the tip; its relief stands with its centre r from the tip on the bisector.
func TestReliefOfARightAngle(t *testing.T) {
	cut, reliefs, ok := cuttable(region.Rect(r2.Vec{}, r2.Vec{X: 40, Y: 40}), 3)
	if !ok || len(reliefs) != 4 {
		t.Fatalf("%d reliefs, ok %v", len(reliefs), ok)
	}
	for _, r := range reliefs {
		x, y := min(r.At[0], 40-r.At[0]), min(r.At[1], 40-r.At[1])
		if math.Abs(x-3/math.Sqrt2) > slack || math.Abs(y-3/math.Sqrt2) > slack {
			t.Errorf("relief at %v, its centre should be 3/√2 from both walls", r.At)
		}
		if math.Abs(r.InsideDeg-90) > 0.5 {
			t.Errorf("the corner is said to have %.1f°", r.InsideDeg)
		}
	}
	// What is past the walls is four times two segments of the circle: each wall cuts
	// one off at the distance r/√2 from the centre, a quarter turn of arc:
	// r²/2·(π/2 − 1).
	want := 1600 + 8*9.0/2*(math.Pi/2-1)
	if got := cut.Area(); math.Abs(got-want) > 0.05 {
		t.Errorf("the pocket has %.3f mm², want %.3f", got, want)
	}
}

func TestCutterTooLarge(t *testing.T) {
	slot := region.Rect(r2.Vec{}, r2.Vec{X: 40, Y: 5})
	if _, _, ok := cuttable(slot, 3); ok {
		t.Error("a cutter of 6 mm is said to get into a slot of 5 mm")
	}
	if _, _, ok := cuttable(slot.Union(region.Rect(r2.Vec{X: 0, Y: 0}, r2.Vec{X: 20, Y: 20})), 3); ok {
		t.Error("a cutter of 6 mm is said to get into an arm 5 mm wide and 20 mm long")
	}
}

// Any polygon round a middle with corners that the cutter can pass is covered and
// cuttable.
func TestRandomRoomsAreCut(t *testing.T) {
	some(t, 25, func(t *rapid.T) {
		n := rapid.IntRange(3, 9).Draw(t, "corners")
		var l []r2.Vec
		for i := range n {
			a := 2 * math.Pi * (float64(i) + rapid.Float64Range(0, 0.6).Draw(t, "turn")) / float64(n)
			d := rapid.Float64Range(14, 22).Draw(t, "radius")
			l = append(l, r2.Vec{X: d * math.Cos(a), Y: d * math.Sin(a)})
		}
		room := region.Of(l)
		cut, _, ok := cuttable(room, 2)
		if !ok {
			t.Skip("no way in")
		}
		if out := sticksOut(room, cut); out > slack {
			t.Fatalf("%.4f mm of the room is not open", out)
		}
		if uncut := sticksOut(cut, cut.Opened(2-slack/2, arcMM)); uncut > slack {
			t.Fatalf("the cutter does not reach %.4f mm of it", uncut)
		}
	})
}
