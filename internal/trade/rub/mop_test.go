package rub

import (
	"math"
	"testing"

	"fettle"

	"pgregory.net/rapid"
)

func mop() fettle.Mop {
	return fettle.Mop{
		Name: "mop", ContactMM: 12, LimitRaUM: fettle.Guess(0.06, 0.03, 0.12, "test"),
		MinPer100CM2: fettle.Guess(4, 2, 8, "test"), CutUMMin: fettle.Guess(0.2, 0.1, 0.5, "test"), StartRaUM: 0.3,
	}
}

// The law is the solution of dR/dt = −(R − RL)/T: stepping that equation comes to
// the same minutes.
func TestMopFollowsItsEquation(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := Face{AreaMM2: rapid.Float64Range(100, 5e4).Draw(t, "area"), Class: fettle.ClassBrass}
		limit := rapid.Float64Range(0.01, 0.1).Draw(t, "limit")
		to := limit + rapid.Float64Range(0.01, 0.1).Draw(t, "to")
		from := to + rapid.Float64Range(0.01, 0.3).Draw(t, "from")
		m := mop()
		minutes := MopMinutes(f, m, from, to, limit)
		const n = 4000
		tau := MopMinutes(f, m, math.E, 1, 0) // the time constant, by its definition
		r, dt := from, minutes/n
		for range n { // midpoint rule
			mid := r - dt/2*(r-limit)/tau
			r -= dt * (mid - limit) / tau
		}
		if math.Abs(r-to) > 1e-6 {
			t.Fatalf("after %.3f min the equation gives %.7f, want %.7f", minutes, r, to)
		}
	})
}

func TestMopOnSteelIsAsItsShelfSays(t *testing.T) {
	f := Face{AreaMM2: 1e4, Class: fettle.ClassMildSteel}
	m := mop()
	if got := MopMinutes(f, m, 0.06+0.2*math.E, 0.26, 0.06); math.Abs(got-4) > 1e-9 {
		t.Errorf("100 cm² of steel to 1/e: %.4f min, the shelf says 4", got)
	}
	if got := MopRemoved(f, m, 5); math.Abs(got-1) > 1e-9 {
		t.Errorf("5 min at 0.2 µm: %.4f µm", got)
	}
	brass := f
	brass.Class = fettle.ClassBrass
	if got := MopMinutes(brass, m, 0.3, 0.1, 0.06) / MopMinutes(f, m, 0.3, 0.1, 0.06); math.Abs(got-0.5) > 1e-9 {
		t.Errorf("brass takes %.3f of steel's time, want half", got)
	}
	if got := MopRemoved(brass, m, 5); math.Abs(got-2) > 1e-9 {
		t.Errorf("brass loses %.3f µm where steel loses 1", got)
	}
	if got := MopMinutes(f, m, 0.1, 0.2, 0.06); got != 0 {
		t.Errorf("a face that is there already takes %.3f min", got)
	}
	if got := MopMinutes(f, m, 0.3, 0.06, 0.06); !math.IsInf(got, 1) {
		t.Errorf("a mop comes to its own limit in %.3f min", got)
	}
	if s, b := MopLimit(m, fettle.ClassMildSteel), MopLimit(m, fettle.ClassBrass); s.Value != 0.06 || math.Abs(b.Value-0.078) > 1e-9 || !b.Valid() {
		t.Errorf("limits %v and %v", s, b)
	}
}

// A step in two halves rounds an edge as far as in one.
func TestMopEdgeAddsUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rapid.Float64Range(0, 300).Draw(t, "radius")
		a, b := rapid.Float64Range(0, 5).Draw(t, "a"), rapid.Float64Range(0, 5).Draw(t, "b")
		once, twice := MopEdge(r, a+b), MopEdge(MopEdge(r, a), b)
		if math.Abs(once-twice) > 1e-9*(1+once) || once < r {
			t.Fatalf("%.6f at once, %.6f in two steps from %.6f", once, twice, r)
		}
	})
}

func TestMopReach(t *testing.T) {
	was := 0.0
	for _, r := range []float64{0.5, 3, 5, 8, 20, 49, 50, 200} {
		got := MopReach(r)
		if got < was || got <= 0 || got > 1 {
			t.Errorf("a hollow of %g mm leaves %.3f open, a tighter one %.3f", r, got, was)
		}
		was = got
	}
	if MopReach(0) != 1 || MopReach(60) != 1 || MopReach(3) >= 1 {
		t.Errorf("none %.2f, wide %.2f, tight %.2f", MopReach(0), MopReach(60), MopReach(3))
	}
}
