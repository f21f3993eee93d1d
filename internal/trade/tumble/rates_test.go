package tumble

import (
	"math"
	"testing"

	"fettle"
	"fettle/internal/trade/stock"

	"pgregory.net/rapid"
)

// Worked by hand from R(t) = RL + (R0 − RL)·e^(−t/T) with RL 0.4, T 3 h and,
// below the limit, 0.3 h: e^(−1) = 0.367879, e^(−2) = 0.135335.
func TestRoughnessRunsToItsLimitFromEitherSide(t *testing.T) {
	r := Rates{T: 3, Roughen: 0.3, RL: 0.4}
	near(t, "down, one T", r.Ra(1, 3), 0.4+0.6*0.367879, 1e-6)
	near(t, "down, two T", r.Ra(1, 6), 0.4+0.6*0.135335, 1e-6)
	near(t, "up, one of its own", r.Ra(0.1, 0.3), 0.4-0.3*0.367879, 1e-6)
	near(t, "up, two of its own", r.Ra(0.1, 0.6), 0.4-0.3*0.135335, 1e-6)
	near(t, "at the limit", r.Ra(0.4, 5), 0.4, 0)
	near(t, "at once", r.Ra(0.7, 0), 0.7, 0)
	near(t, "long after, from above", r.Ra(6, 100), 0.4, 1e-12)
	near(t, "long after, from below", r.Ra(0.01, 100), 0.4, 1e-12)
	// ln 2 = 0.693147: half of the way.
	near(t, "half way down", r.HoursTo(1, 0.7), 3*0.693147, 3e-6)
	near(t, "half way up", r.HoursTo(0.1, 0.25), 0.3*0.693147, 3e-6)
	published := Rates{T: 3, RL: 0.4}
	near(t, "the published form", published.Ra(0.1, 3), 0.4-0.3*0.367879, 1e-6)
	near(t, "its way up", published.HoursTo(0.1, 0.25), 3*0.693147, 3e-6)
	for _, never := range [][2]float64{{1, 0.4}, {1, 0.3}, {0.2, 0.1}, {0.2, 0.4}} {
		if h := r.HoursTo(never[0], never[1]); !math.IsInf(h, 1) {
			t.Errorf("Ra %g to %g takes %g h", never[0], never[1], h)
		}
	}
	for _, there := range [][2]float64{{0.5, 0.5}, {0.4, 0.4}, {0.2, 0.6}, {1, 2}} {
		near(t, "there already", r.HoursTo(there[0], there[1]), 0, 0)
	}
}

// M(t) = Ms·t + Mt·(1 − e^(−t/T)): its slope tends to Ms, and the straight line
// that it tends to starts at Mt.
func TestRemovalTendsToAStraightLine(t *testing.T) {
	r := Rates{T: 3, RL: 0.4, Ms: 0.5, Mt: 2}
	near(t, "one T", r.Removed(3), 1.5+2*(1-0.367879), 2e-6)
	near(t, "slope", (r.Removed(90)-r.Removed(80))/10, 0.5, 1e-9)
	near(t, "intercept", r.Removed(90)-90*0.5, 2, 1e-9)
	// At the start it is steeper by Mt/T.
	near(t, "first slope", r.Removed(1e-6)/1e-6, 0.5+2.0/3, 1e-6)
	near(t, "nothing yet", r.Removed(-1), 0, 0)
}

// The inverse, t = T·(z + W(Mt/a·e^(−z))) with a = Ms·T, z = (um − Mt)/a and W
// Lambert's function, to 15 digits from mpmath.
func TestHoursToRemoveInvertRemoval(t *testing.T) {
	for _, row := range [][5]float64{ // Ms, Mt, T, µm, h
		{0.5, 2, 3, 1, 0.931915347909313},
		{0.5, 2, 3, 5, 6.46379847968962},
		{0.01, 3, 0.5, 2.9, 1.62529938498371},
		{2, 0.1, 1.5, 10, 4.95184189526211},
	} {
		r := Rates{Ms: row[0], Mt: row[1], T: row[2]}
		near(t, "hours", r.HoursToRemove(row[3]), row[4], 1e-12*row[4])
	}
	near(t, "steady", Rates{T: 1, Ms: 4}.HoursToRemove(2), 0.5, 0)
	near(t, "early only", Rates{T: 2, Mt: 4}.HoursToRemove(2), 2*0.69314718056, 1e-10)
	near(t, "nothing", Rates{T: 2, Mt: 4}.HoursToRemove(0), 0, 0)
	near(t, "the early part at once", Rates{Ms: 2, Mt: 4}.HoursToRemove(6), 1, 0)
	for _, never := range []Rates{{T: 2, Mt: 4}, {T: 2}, {}} {
		if h := never.HoursToRemove(5); !math.IsInf(h, 1) {
			t.Errorf("%+v takes 5 µm in %g h", never, h)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		log := func(lo, hi float64, what string) float64 {
			return math.Exp(rapid.Float64Range(math.Log(lo), math.Log(hi)).Draw(t, what))
		}
		r := Rates{T: log(0.01, 100, "T"), Ms: log(1e-4, 50, "Ms"), Mt: log(1e-3, 10, "Mt")}
		um := log(1e-3, 100, "um")
		if back := r.Removed(r.HoursToRemove(um)); math.Abs(back-um) > 1e-9*um {
			t.Fatalf("%+v: %g µm come back as %g", r, um, back)
		}
	})
}

// A process answers with the laws of its medians.
func TestAProcessAndItsRatesAgree(t *testing.T) {
	s := stock.Shelf()
	rapid.Check(t, func(t *rapid.T) {
		m := rapid.SampledFrom(s.Media).Draw(t, "media")
		p := ProcessOf(m, rapid.SampledFrom(s.Vessels).Draw(t, "vessel"), rapid.SampledFrom(s.Materials).Draw(t, "metal"))
		p = p.Toned(rapid.SampledFrom([]fettle.Tone{fettle.ToneUsual, fettle.ToneBright, fettle.ToneDark}).Draw(t, "tone"), m)
		p.TransientUM = rapid.SampledFrom([]float64{0, 2}).Draw(t, "early")
		r := p.Rates()
		start := rapid.Float64Range(0.02, 4).Draw(t, "start")
		target := rapid.Float64Range(0.02, 4).Draw(t, "target")
		h := rapid.Float64Range(0, 40).Draw(t, "hours")
		same := func(what string, a, b float64) {
			if a != b && !(math.Abs(a-b) <= 1e-9*math.Abs(b)) {
				t.Fatalf("%s: %g and %g", what, a, b)
			}
		}
		same("Ra", p.Ra(fettle.Exactly(start, "test"), hours(h)).Value, r.Ra(start, h))
		same("hours", p.HoursTo(start, target).Value, r.HoursTo(start, target))
		same("removed", p.Removed(hours(h)).Value, r.Removed(h))
		same("hours to remove", p.HoursToRemove(target).Value, r.HoursToRemove(target))
	})
}

func TestTheLawsAllocateNothing(t *testing.T) {
	r := Rates{T: 3, Roughen: 0.3, RL: 0.4, Ms: 0.5, Mt: 2}
	if n := testing.AllocsPerRun(100, func() { sink += r.all() }); n != 0 {
		t.Errorf("%g allocations", n)
	}
}

var sink float64

func (r Rates) all() float64 {
	return r.Ra(1, 2) + r.HoursTo(1, 0.6) + r.Removed(2) + r.HoursToRemove(3)
}

func BenchmarkRates(b *testing.B) {
	r := Rates{T: 3, Roughen: 0.3, RL: 0.4, Ms: 0.5, Mt: 2}
	b.Run("Ra", func(b *testing.B) {
		for b.Loop() {
			sink += r.Ra(1, 2)
		}
	})
	b.Run("HoursTo", func(b *testing.B) {
		for b.Loop() {
			sink += r.HoursTo(1, 0.6)
		}
	})
	b.Run("Removed", func(b *testing.B) {
		for b.Loop() {
			sink += r.Removed(2)
		}
	})
	b.Run("HoursToRemove", func(b *testing.B) {
		for b.Loop() {
			sink += r.HoursToRemove(3)
		}
	})
}
