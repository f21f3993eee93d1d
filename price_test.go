package fettle

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// Unit times and total times as textbooks of operations management print them (the
// table of learning curve coefficients, from memory; three decimals).
func TestLearningIsTheTextbooks(t *testing.T) {
	for _, c := range []struct {
		rate        float64
		n           int
		unit, total float64
	}{
		{0.70, 10, 0.306, 4.932}, {0.75, 10, 0.385, 5.589}, {0.80, 10, 0.477, 6.315}, {0.85, 10, 0.583, 7.116}, {0.90, 10, 0.705, 7.994},
		{0.80, 5, 0.596, 3.738}, {0.80, 20, 0.381, 10.485}, {0.80, 25, 0.355, 12.309}, {0.80, 50, 0.284, 20.122}, {0.80, 100, 0.227, 32.651},
		{0.90, 20, 0.634, 14.608}, {0.90, 50, 0.552, 32.142}, {0.90, 100, 0.497, 58.141}, {0.85, 100, 0.340, 43.754},
	} {
		l := Learning{Rate: c.rate}
		if u, s := l.Unit(c.n), l.Lot(c.n); math.Abs(u-c.unit) > 6e-4 || math.Abs(s-c.total) > 6e-4 {
			t.Errorf("at %g, piece %d takes %.4f and %d pieces take %.4f; the table has %g and %g", c.rate, c.n, u, c.n, s, c.unit, c.total)
		}
	}
	// Not Wright's cumulative average, by which two pieces at 80 % take 1.6 of the first.
	if got := (Learning{Rate: 0.8}).Lot(2); math.Abs(got-1.8) > 1e-12 {
		t.Errorf("two pieces at 80 %% take %g of the first, want 1.8", got)
	}
}

func TestLearningStops(t *testing.T) {
	l := Learning{Rate: 0.8, Until: 4}
	// 1 + 0.8 + 3^log2(0.8) + 0.64, and four more at 0.64.
	if got, want := l.Lot(8), 1+0.8+0.7021037+5*0.64; math.Abs(got-want) > 1e-6 {
		t.Errorf("eight pieces that learn to the fourth take %g, want %g", got, want)
	}
	for _, none := range []Learning{{}, {Rate: 1}, {Rate: 1, Until: 3}, {Until: 3}} {
		if got := none.Lot(7); got != 7 {
			t.Errorf("%+v: seven pieces take %g, want 7", none, got)
		}
	}
	if got := (Learning{Rate: 0.9, Until: 5}).At(1).Lot(12); got != 12 {
		t.Errorf("a brief without learning takes %g for 12", got)
	}
	if got := (Learning{Rate: 0.9, Until: 5}).At(0); got.Rate != 0.9 {
		t.Errorf("a brief that does not say changes the rate to %g", got.Rate)
	}
}

// The sum is that of its pieces, up to a million of them; a lot grows with its pieces
// and takes less for each.
func TestLearningIsTheSumOfItsPieces(t *testing.T) {
	plain := func(l Learning, n int) float64 {
		b, sum := math.Log2(l.Rate), 0.0
		for i := n; i >= 1; i-- { // small ones first
			sum += math.Pow(float64(min(i, max(1, cmpOr(l.Until, n)))), b)
		}
		return sum
	}
	big := 1_000_000
	if testing.Short() {
		big = 20_000
	}
	for _, rate := range []float64{0.501, 0.6, 0.8, 0.95, 0.999} {
		for _, n := range []int{1, 63, 64, 65, 1000, big} {
			l := Learning{Rate: rate}
			if got, want := l.Lot(n), plain(l, n); math.Abs(got-want) > 1e-9*want {
				t.Errorf("at %g, %d pieces take %.12g, one by one %.12g", rate, n, got, want)
			}
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		l := Learning{Rate: rapid.Float64Range(0.501, 1).Draw(t, "rate"), Until: rapid.IntRange(0, 400).Draw(t, "until")}
		n := rapid.IntRange(1, 5000).Draw(t, "n")
		a, b := l.Lot(n), l.Lot(n+1)
		if got := b - a; math.Abs(got-l.Unit(n+1)) > 1e-9*b {
			t.Fatalf("piece %d takes %.12g by the sums, %.12g by itself", n+1, got, l.Unit(n+1))
		}
		if b/float64(n+1) > a/float64(n)*(1+1e-12) {
			t.Fatalf("a piece of %d takes %g, one of %d takes %g", n+1, b/float64(n+1), n, a/float64(n))
		}
	})
}

func cmpOr(a, b int) int {
	if a != 0 {
		return a
	}
	return b
}

func TestLearningInABriefIsChecked(t *testing.T) {
	b := Brief{Material: "brass", Finish: "satin", Lot: 3}
	for rate, ok := range map[float64]bool{0: true, 0.51: true, 0.9: true, 1: true, 0.5: false, 1.1: false, -0.9: false, math.NaN(): false} {
		b.Learning = rate
		if err := b.Validate(); (err == nil) != ok {
			t.Errorf("a rate of %g: %v", rate, err)
		}
	}
}

// Shelves that were stored before there were bars, saws and learning still stand; what
// is given must be of use.
func TestRatesForPricesAreChecked(t *testing.T) {
	e := Guess(2, 1, 4, BasisGuess)
	good := Rates{
		Currency: "USD", PersonPerH: e, ProgramH: e, SetupMin: e, HandlingMin: e, RoughMinCM3: e, Basis: BasisGuess,
	}
	material := Material{Name: "m", Density: 1, KC11: 1, CutSpeed: e, FeedPerTooth: e, PricePerKg: e}
	flat := StockSize{SectionMM: [2]float64{10, 50}, LengthMM: 1000}
	for name, c := range map[string]struct {
		change func(*Rates, *StockSize)
		ok     bool
	}{
		"as it was":         {func(*Rates, *StockSize) {}, true},
		"all of it":         {func(r *Rates, z *StockSize) { r.SawMin, r.JawMin, r.DropShare, r.KerfMM, z.PriceEach = e, e, 1, 2, e }, true},
		"learning too fast": {func(r *Rates, _ *StockSize) { r.Learning.Rate = 0.5 }, false},
		"drop":              {func(r *Rates, _ *StockSize) { r.DropShare = 1.5 }, false},
		"kerf":              {func(r *Rates, _ *StockSize) { r.KerfMM = -1 }, false},
		"saw":               {func(r *Rates, _ *StockSize) { r.SawMin = Estimate{Value: 1, Low: 2, High: 1, Basis: "x"} }, false},
		"no section":        {func(_ *Rates, z *StockSize) { z.SectionMM[0] = 0 }, false},
		"oval":              {func(_ *Rates, z *StockSize) { z.Round = true }, false},
		"no length":         {func(_ *Rates, z *StockSize) { z.LengthMM = math.Inf(1) }, false},
		"free":              {func(_ *Rates, z *StockSize) { z.PriceEach = Exactly(-1, "x") }, false},
	} {
		r, z := good, flat
		c.change(&r, &z)
		m := material
		m.Sold = []StockSize{z}
		s := Shelf{Materials: []Material{m}, Rates: r}
		if err := s.Validate(); (err == nil) != c.ok {
			t.Errorf("%s: %v", name, err)
		}
	}
	if a := (StockSize{SectionMM: [2]float64{20, 20}, Round: true}).AreaMM2(); math.Abs(a-314.159265) > 1e-6 {
		t.Errorf("a round bar of 20 has a section of %g mm²", a)
	}
}
