package hold

import (
	"math"
	"testing"

	"fettle"
	"fettle/internal/trade/stock"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

// blankJaws are jaws without holes, round numbers.
func blankJaws() fettle.Jaws {
	return fettle.Jaws{
		Name: "blank", Title: "Blank pair", WidthMM: 100, HeightMM: 30, ThickMM: 20, OpenMM: 80,
		ClampN:   fettle.Exactly(8000, fettle.BasisGuess),
		Friction: fettle.Exactly(0.15, fettle.BasisGuess),
	}
}

func anyPoint(t *rapid.T) r3.Vec {
	c := rapid.Float64Range(-60, 60)
	return r3.Vec{X: c.Draw(t, "x"), Y: c.Draw(t, "y"), Z: c.Draw(t, "z")}
}

func closeTo(a, b r3.Vec) bool { return r3.Norm(r3.Sub(a, b)) < 1e-12*(1+r3.Norm(a)) }

// TestHalfTurnsAreAGroup holds the turns to the table of Klein's group of four,
// which is that of the half turns about three axes at right angles: each undoes
// itself, and any two make the third.
func TestHalfTurnsAreAGroup(t *testing.T) {
	third := map[[2]fettle.JawTurn]fettle.JawTurn{
		{fettle.EndForEnd, fettle.UpsideDown}:     fettle.UpsideDownEnd,
		{fettle.EndForEnd, fettle.UpsideDownEnd}:  fettle.UpsideDown,
		{fettle.UpsideDown, fettle.UpsideDownEnd}: fettle.EndForEnd,
	}
	j := blankJaws()
	rapid.Check(t, func(t *rapid.T) {
		p := anyPoint(t)
		for _, a := range fettle.JawTurns() {
			if q := turned(j, a, turned(j, a, p)); !closeTo(p, q) {
				t.Fatalf("%s twice takes %v to %v", a, p, q)
			}
			if q := turned(j, fettle.AsNew, turned(j, a, p)); !closeTo(q, turned(j, a, p)) {
				t.Fatalf("as new changes %s", a)
			}
		}
		for pair, c := range third {
			if q, want := turned(j, pair[0], turned(j, pair[1], p)), turned(j, c, p); !closeTo(q, want) {
				t.Fatalf("%s after %s takes %v to %v, and %s to %v", pair[0], pair[1], p, q, c, want)
			}
			if q, want := turned(j, pair[1], turned(j, pair[0], p)), turned(j, c, p); !closeTo(q, want) {
				t.Fatalf("%s after %s takes %v to %v, and %s to %v", pair[1], pair[0], p, q, c, want)
			}
		}
	})
}

// TestStandsAreMotions asks every way of standing to be a motion of a solid: it can
// be undone, keeps lengths, and does not mirror.
func TestStandsAreMotions(t *testing.T) {
	j := blankJaws()
	rapid.Check(t, func(t *rapid.T) {
		pose := fettle.PocketPose{
			Fixed:   rapid.SampledFrom(fettle.JawTurns()).Draw(t, "fixed"),
			Moving:  rapid.SampledFrom(fettle.JawTurns()).Draw(t, "moving"),
			GapMM:   rapid.Float64Range(0, 50).Draw(t, "gap"),
			Swapped: rapid.Bool().Draw(t, "swapped"),
		}
		p := anyPoint(t)
		stands := Stands(pose)
		if stands[0].Jaw+stands[1].Jaw != fettle.FixedJaw+fettle.MovingJaw {
			t.Fatalf("both places hold jaw %d", stands[0].Jaw)
		}
		for _, s := range stands {
			if q := s.Vise(j, s.Own(j, p)); !closeTo(p, q) {
				t.Fatalf("%+v takes %v to %v and not back", s, p, q)
			}
			o := s.Vise(j, r3.Vec{})
			x, y, z := r3.Sub(s.Vise(j, r3.Vec{X: 1}), o), r3.Sub(s.Vise(j, r3.Vec{Y: 1}), o), r3.Sub(s.Vise(j, r3.Vec{Z: 1}), o)
			if det := r3.Dot(r3.Cross(x, y), z); math.Abs(det-1) > 1e-12 {
				t.Fatalf("%+v has the determinant %g", s, det)
			}
		}
	})
}

// TestWhereJawsStand pins corners down by hand: gap 10, jaws 100 × 20 × 30.
func TestWhereJawsStand(t *testing.T) {
	j := blankJaws()
	// The upper corner of the face that grips when new, at the end with X = 50.
	corner := r3.Vec{X: 50}
	for _, c := range []struct {
		side Side
		turn fettle.JawTurn
		want r3.Vec
	}{
		{FixedSide, fettle.AsNew, r3.Vec{X: 50, Y: 5}},
		{FixedSide, fettle.EndForEnd, r3.Vec{X: -50, Y: 25}},
		{FixedSide, fettle.UpsideDown, r3.Vec{X: -50, Y: 5, Z: -30}},
		{FixedSide, fettle.UpsideDownEnd, r3.Vec{X: 50, Y: 25, Z: -30}},
		{MovingSide, fettle.AsNew, r3.Vec{X: -50, Y: -5}},
		{MovingSide, fettle.EndForEnd, r3.Vec{X: 50, Y: -25}},
		{MovingSide, fettle.UpsideDown, r3.Vec{X: 50, Y: -5, Z: -30}},
		{MovingSide, fettle.UpsideDownEnd, r3.Vec{X: -50, Y: -25, Z: -30}},
	} {
		s := Stand{Jaw: 1, Side: c.side, Turn: c.turn, GapMM: 10}
		if got := s.Vise(j, corner); !closeTo(got, c.want) {
			t.Errorf("side %d, %s: the corner lies at %v, want %v", c.side, c.turn, got, c.want)
		}
	}
}

// TestMounting asks the jaws on the shelf, whose screws are halfway up with heads in
// both faces, to go on all four ways, with holes on holes; and jaws of other kinds
// not to.
func TestMounting(t *testing.T) {
	for _, j := range stock.Shelf().Jaws {
		for _, turn := range fettle.JawTurns() {
			if ok, why := Mountable(j, turn); !ok {
				t.Errorf("%s: %s", j.Name, why)
			}
			for _, h := range j.Holes {
				p := turned(j, turn, r3.Vec{X: h.XMM, Z: h.ZMM})
				met := false
				for _, o := range j.Holes {
					met = met || math.Hypot(o.XMM-p.X, o.ZMM-p.Z) < 1e-9
				}
				if !met {
					t.Errorf("%s, %s: a hole comes to lie at %.3f, %.3f, where there was none", j.Name, turn, p.X, p.Z)
				}
			}
		}
	}
	hole := func(x, z float64, both bool) fettle.JawHole {
		return fettle.JawHole{XMM: x, ZMM: z, DiameterMM: 8, HeadMM: 13, HeadDeepMM: 8, BothFaces: both}
	}
	can := func(holes ...fettle.JawHole) (out [4]bool) {
		j := blankJaws()
		j.Holes = holes
		for i, turn := range fettle.JawTurns() {
			ok, why := Mountable(j, turn)
			if out[i] = ok; ok != (why == "") {
				t.Errorf("%s: mountable %v, because %q", turn, ok, why)
			}
		}
		return out
	}
	for _, c := range []struct {
		name  string
		got   [4]bool // as new, end for end, upside down, both
		wants [4]bool
	}{
		{"heads in one face only", can(hole(-30, -15, false), hole(30, -15, false)), [4]bool{true, false, true, false}},
		{"holes above the middle", can(hole(-30, -12, true), hole(30, -12, true)), [4]bool{true, true, false, false}},
		{"holes to one side, halfway up", can(hole(-30, -15, true), hole(20, -15, true)), [4]bool{true, false, false, true}},
		{"no holes", can(), [4]bool{true, true, true, true}},
	} {
		if c.got != c.wants {
			t.Errorf("%s: %v, want %v", c.name, c.got, c.wants)
		}
	}
}
