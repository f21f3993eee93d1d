package hold

import (
	"math"
	"testing"

	"fettle"
	"fettle/internal/shape/geom"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

func exactly(v float64) fettle.Estimate { return fettle.Exactly(v, fettle.BasisGuess) }

// held is a part of 50 × 30 mm that stands 12 mm out of the jaws, gripped 4 mm deep
// over 40 mm on both sides.
func held() *statics {
	b := func(y float64) fettle.Bearing {
		return fettle.Bearing{AreaMM2: 160, Centre: [3]float64{0, y, -2}, WideMM: 40, HighMM: 4, ReachMM: 10}
	}
	return &statics{
		Cut: fettle.Cut{AboveMM: 10}, plane: exactly(500), lift: exactly(200),
		clamp: exactly(8000), friction: exactly(0.15),
		bearing: [2]fettle.Bearing{b(15), b(-15)},
		part:    geom.Box{Min: r3.Vec{X: -25, Y: -15, Z: -4}, Max: r3.Vec{X: 25, Y: 15, Z: 12}},
	}
}

// TestStaticsByHand: P = 500 N and L = 200 N 10 mm above the jaws, F = 8000 N, µ = 0.15.
//
//	slides    2µF = 2·0.15·8000 = 2400 N against 500 N: 4.8
//	lifts     2400 against √(500² + 200²) = 538.516 N: 4.45669
//	opens     8000 against 500: 16
//	turns     µF(10 + 10) = 24 000 N·mm against 500·(10 + 2) + 200·25 = 11 000: 2.18182
//	both      1/√(1/4.45669² + 1/2.18182²) = 1/√(0.0503472 + 0.2100694) = 1.95960
//	tips      pushed to the moving jaw, e = 0, zf = −2, µD = 0.15·30 = 4.5, d = 30:
//	          8000·(2 + 4.5) = 52 000 against 500·(10 + 2 + 4.5) + 200·30 = 14 250: 3.64912
//	          (pushed to the fixed one: 52 000 against 500·10 + 6000 = 11 000: 4.73)
//	swings    pushed to the moving jaw at the end x = 25, bearing to x = 20:
//	          8000·(20 + 4.5) = 196 000 against 500·(25 + 4.5) = 14 750: 13.2881
func TestStaticsByHand(t *testing.T) {
	want := map[string]float64{
		"slides along the jaws": 4.8, "lifts": 4.45669, "pushes the moving jaw open": 16,
		"turns about the clamping axis": 2.18182, "slides and turns together": 1.95960,
		"tips over the jaws' edge": 3.64912, "swings about the vertical": 13.2881,
	}
	ways := held().ways()
	if len(ways) != len(want) {
		t.Fatalf("%d ways of coming loose, want %d", len(ways), len(want))
	}
	for _, w := range ways {
		near(t, w.Name, w.Factor.Value, want[w.Name], 1e-5)
		near(t, w.Name+": holds over pulls", w.Holds.Value/w.Pulls.Value, w.Factor.Value, 1e-12)
	}
}

// TestOffsetBearings: with the moving bearing 3 mm higher than the fixed one, the
// vise itself tips the part towards the moving jaw the less, and towards the fixed
// jaw the more: e − zm falls from 2 to −1, and friction alone, 4.5 − 1 = 3.5 mm, is
// left: 8000·3.5 = 28 000 against 500·(10 − 0) + 6000 = 11 000: 2.54545.
func TestOffsetBearings(t *testing.T) {
	s := held()
	s.bearing[0].Centre[2] = -2
	s.bearing[1].Centre[2] = 1 // for the sum's sake: above the jaws' top
	w, ok := s.levers("tips", s.tipping()[:1])
	if !ok {
		t.Fatal("nothing tips")
	}
	near(t, "tips", w.Factor.Value, 28000.0/11000, 1e-9)
	if Facing(s.bearing) == "" {
		t.Error("bearings 3 mm out of line in height face each other")
	}
	if says := Facing(held().bearing); says != "" {
		t.Error(says)
	}
	s = held()
	s.bearing[0].Centre[0] = 14
	if Facing(s.bearing) == "" {
		t.Error("bearings 14 mm out of line of 40 face each other")
	}
}

// TestTippingIsWhereEquilibriumEnds looks for an equilibrium of the part in the plane
// across the jaws by trying forces out: the moving jaw presses with F; the jaw that
// the part is pushed to may press anywhere over its height, the other at its middle;
// friction on each is anything up to µ times its pressure. There must be one just
// under the factor and none just over it.
func TestTippingIsWhereEquilibriumEnds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := func(name string, lo, hi float64) float64 { return rapid.Float64Range(lo, hi).Draw(t, name) }
		s := held()
		s.lift = exactly(0)
		s.plane = exactly(r("P", 50, 1500))
		s.AboveMM = r("above", 0.5, 40)
		s.friction = exactly(r("friction", 0.05, 0.3))
		for i := range s.bearing {
			s.bearing[i].HighMM = r("high", 1, 8)
			s.bearing[i].Centre[2] = -s.bearing[i].HighMM/2 - r("below", 0, 2)
		}
		toMoving := rapid.Bool().Draw(t, "to the moving jaw")
		l := s.tipping()[0]
		if toMoving {
			l = s.tipping()[1]
		}
		w, ok := s.levers("tips", []lever{l})
		if !ok || w.Factor.Value*s.plane.Value > 7000 {
			return // it opens the jaws first
		}
		f := w.Factor.Value
		if !stands(s, toMoving, f*0.999) {
			t.Fatalf("no equilibrium under the factor %.4f", f)
		}
		if stands(s, toMoving, f*1.001) {
			t.Fatalf("an equilibrium over the factor %.4f", f)
		}
	})
}

// stands reports whether a part can stand still against times·P across the jaws.
func stands(s *statics, toMoving bool, times float64) bool {
	p, f, mu := times*s.plane.Value, s.clamp.Value, s.friction.Value
	fixed, moving := s.bearing[0], s.bearing[1]
	push, fixedN := 1.0, f+p
	if toMoving {
		push, fixedN = -1, f-p
	}
	span := func(b fettle.Bearing, free bool) (lo, hi float64) {
		if free {
			return b.Centre[2] - b.HighMM/2, b.Centre[2] + b.HighMM/2
		}
		return b.Centre[2], b.Centre[2]
	}
	fixedLo, fixedHi := span(fixed, !toMoving)
	movingLo, movingHi := span(moving, toMoving)
	const n = 40
	// Moments about X at the origin are linear in each choice, so that a change of
	// sign between tries is an equilibrium.
	lo, hi := math.Inf(1), math.Inf(-1)
	for i := range n + 1 {
		u := float64(i) / n
		zf, zm := fixedLo+u*(fixedHi-fixedLo), movingLo+u*(movingHi-movingLo)
		for k := range n + 1 {
			rub := mu * min(fixedN, f) * (2*float64(k)/n - 1) // up on the fixed jaw, down on the moving one
			// Mx = y·Fz − z·Fy. The fixed jaw presses towards −Y, the moving one towards +Y.
			m := fixed.Centre[1]*rub - zf*-fixedN + moving.Centre[1]*-rub - zm*f - s.AboveMM*push*p
			lo, hi = min(lo, m), max(hi, m)
		}
	}
	return lo <= 0 && 0 <= hi
}

// TestCheck runs the whole: intervals in order, the least way first, and the verdict
// turns with the clamp.
func TestCheck(t *testing.T) {
	s := held()
	in := Held{
		Cut:      fettle.Cut{DiameterMM: 6, Flutes: 3, HelixDeg: 35, DepthMM: 6, WideMM: 0.6, FeedMM: 0.03, AboveMM: 10},
		Material: austenitic, Jaws: blankJaws(), Bearings: s.bearing, Part: s.part,
	}
	in.Jaws.ClampN = fettle.Guess(8000, 4000, 14000, fettle.BasisGuess)
	in.Jaws.Friction = fettle.Guess(0.15, 0.10, 0.22, fettle.BasisGuess)
	h := Check(in)
	for i, w := range h.Ways {
		for _, e := range []fettle.Estimate{w.Pulls, w.Holds, w.Factor} {
			if !e.Valid() {
				t.Errorf("%s: %+v", w.Name, e)
			}
		}
		if i > 0 && w.Factor.Value < h.Ways[i-1].Factor.Value {
			t.Errorf("%s stands after %s", w.Name, h.Ways[i-1].Name)
		}
	}
	if h.Factor != h.Ways[0].Factor || len(h.Assumes) == 0 || h.Says == "" {
		t.Errorf("%+v", h)
	}
	strong, weak := in, in
	strong.Jaws.ClampN = h.Factor.Over(h.Factor).Scale(8000 * 4 / h.Factor.Low)
	weak.Jaws.ClampN = fettle.Exactly(8000*1.9/h.Factor.Value, "")
	if c := Check(strong); !c.OK || c.Factor.Value < 2 {
		t.Errorf("four times over at the cautious end, and not OK: %s", c.Says)
	}
	if c := Check(weak); c.OK {
		t.Errorf("not twice over, and OK: %s", c.Says)
	}
	none := in
	none.Bearings[1].AreaMM2 = 0
	if c := Check(none); c.OK || c.Says == "" || c.Factor.Value != 0 {
		t.Errorf("a jaw bears on nothing: %+v", c)
	}
}
