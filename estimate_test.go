package fettle

import (
	"errors"
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"
)

// A log-normal's 10 % and 90 % points lie 1.2816 standard deviations from its
// median: NIST/SEMATECH e-Handbook of Statistical Methods, table 1.3.6.7.1
// (normal, 0.90 at 1.28).
func TestLogNormalRoundTrip(t *testing.T) {
	e := LogNormal(2, 0.7, BasisGuess)
	if got := e.LogSD(); math.Abs(got-0.7) > 1e-12 {
		t.Errorf("log sd %g, want 0.7", got)
	}
	if got := math.Log(e.High/2) / 0.7; math.Abs(got-1.28155) > 1e-5 {
		t.Errorf("90 %% point at %g sd, want 1.28155", got)
	}
}

func TestTimesWidensLikeIndependentErrors(t *testing.T) {
	a, b := LogNormal(3, 0.3, "a"), LogNormal(5, 0.4, "b")
	for _, p := range []Estimate{a.Times(b), a.Over(b)} {
		if got := p.LogSD(); math.Abs(got-0.5) > 1e-12 { // 3-4-5
			t.Errorf("log sd of the product %g, want 0.5", got)
		}
	}
	if got := a.Times(b).Value; got != 15 {
		t.Errorf("median %g, want 15", got)
	}
}

func TestEstimatesStayInOrder(t *testing.T) {
	draw := func(t *rapid.T, name string) Estimate {
		v := rapid.Float64Range(1e-3, 1e3).Draw(t, name)
		lo := rapid.Float64Range(0.05, 1).Draw(t, name+" low")
		hi := rapid.Float64Range(1, 20).Draw(t, name+" high")
		return Guess(v, v*lo, v*hi, BasisGuess)
	}
	rapid.Check(t, func(t *rapid.T) {
		a, b := draw(t, "a"), draw(t, "b")
		for name, e := range map[string]Estimate{
			"times": a.Times(b), "over": a.Over(b), "plus": a.Plus(b), "scaled": a.Scale(-2),
		} {
			if !e.Valid() {
				t.Fatalf("%s of %v and %v is out of order: %v", name, a, b, e)
			}
		}
		if p := a.Times(b); p.High/p.Value < a.High/a.Value*0.999999 {
			t.Fatalf("a product is surer than its factor: %v from %v", p, a)
		}
	})
}

func TestMoney(t *testing.T) {
	for _, c := range []struct {
		m    Money
		want string
	}{
		{Amount(1234.5, "USD"), "USD 1,234.50"},
		{Amount(-0.005, "EUR"), "EUR -0.01"},
		{Amount(999999.999, "USD"), "USD 1,000,000.00"},
		{Amount(0.07, "USD"), "USD 0.07"},
	} {
		if got := c.m.String(); got != c.want {
			t.Errorf("%v shown as %q, want %q", c.m.Minor, got, c.want)
		}
	}
	defer func() {
		if recover() == nil {
			t.Error("dollars and euros were added")
		}
	}()
	Amount(1, "USD").Plus(Amount(1, "EUR"))
}

func TestExitStatus(t *testing.T) {
	bad := Errorf(BadFile, "plate.stl: %w", errors.New("ends early"))
	for _, c := range []struct {
		err  error
		want int
	}{
		{nil, 0}, {Errorf(No, "no"), 1}, {Errorf(Invalid, "x"), 2}, {Errorf(NotFound, "x"), 2}, {bad, 3},
		{fmt.Errorf("reading: %w", bad), 3}, {errors.New("surprise"), 4},
	} {
		if got := ExitStatus(c.err); got != c.want {
			t.Errorf("%v exits with %d, want %d", c.err, got, c.want)
		}
	}
	if bad.Error() != "plate.stl: ends early" || bad.Err == nil {
		t.Errorf("cause lost: %#v", bad)
	}
}

func TestShelfNames(t *testing.T) {
	s := &Shelf{
		Materials: []Material{{Name: "naval brass", Title: "Naval brass C46400", Aliases: []string{"C46400"}}},
		Cutters:   []Cutter{{Name: "ball-6", Shape: Ball, DiameterMM: 6}},
	}
	for _, n := range []string{"Naval Brass", "c46400", "naval-brass", "NAVAL_BRASS"} {
		if m, err := s.Material(n); err != nil || m.Name != "naval brass" {
			t.Errorf("%q: %v, %v", n, m.Name, err)
		}
	}
	_, err := s.Material("unobtainium")
	if CodeOf(err) != NotFound || err.Error() != `material "unobtainium" is not on the shelf; there is: naval brass` {
		t.Errorf("unknown alloy: %v", err)
	}
	if c, err := s.Cutter("BALL 6"); err != nil || c.NoseMM() != 3 {
		t.Errorf("ball 6: %v, %v", c, err)
	}
	if _, err := s.Look("satin"); CodeOf(err) != NotFound {
		t.Errorf("an empty shelf found a look: %v", err)
	}
}

func TestBriefValidate(t *testing.T) {
	good := Brief{Material: "naval brass", Finish: "satin", Lot: 12}
	if err := good.Validate(); err != nil {
		t.Errorf("a good brief was refused: %v", err)
	}
	for name, spoil := range map[string]func(*Brief){
		"no material": func(b *Brief) { b.Material = "" },
		"no finish":   func(b *Brief) { b.Finish = "" },
		"no lot":      func(b *Brief) { b.Lot = 0 },
		"huge lot":    func(b *Brief) { b.Lot = 2_000_000 },
		"NaN Ra":      func(b *Brief) { b.RaMaxUM = math.NaN() },
		"minus edge":  func(b *Brief) { b.EdgeMaxUM = -1 },
		"up to ∞":     func(b *Brief) { b.Up[1] = math.Inf(-1) },
		"cubits":      func(b *Brief) { b.Display = "cubit" },
	} {
		b := good
		spoil(&b)
		if err := b.Validate(); CodeOf(err) != Invalid {
			t.Errorf("%s: %v, want a refusal", name, err)
		}
	}
}
