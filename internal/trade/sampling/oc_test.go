package sampling

import (
	"math"
	"strings"
	"testing"

	"fettle"

	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"
)

func of(n, accept int) fettle.SamplingPlan {
	return fettle.SamplingPlan{Lot: 1 << 30, Size: n, Accept: accept, Reject: accept + 1}
}

// The binomial of an independent library.
func TestPassChanceIsBinomial(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 3150).Draw(t, "n")
		c := rapid.IntRange(0, min(n, 25)).Draw(t, "accept")
		p := rapid.Float64Range(0, 1).Draw(t, "share")
		want := distuv.Binomial{N: float64(n), P: p}.CDF(float64(c))
		if got := PassChance(of(n, c), p); math.Abs(got-want) > 1e-9 {
			t.Errorf("%d of %d at %g: %g, want %g", c, n, p, got, want)
		}
	})
	if !math.IsNaN(PassChance(of(8, 0), math.NaN())) {
		t.Error("a share that is no number has a chance")
	}
	if PassChance(of(8, 0), -1) != 1 || PassChance(of(8, 0), 2) != 0 {
		t.Error("shares outside 0 to 1")
	}
}

// Shares of bad pieces, in %, at which lots pass with a chance: tables X of
// MIL-STD-105E (tabulated values of the operating characteristic), from memory.
func TestOperatingCharacteristics(t *testing.T) {
	for _, c := range []struct {
		letter    string
		aql       float64
		n, accept int
		at        map[float64]float64
	}{
		{"A", 6.5, 2, 0, map[float64]float64{0.99: 0.501, 0.95: 2.53, 0.90: 5.13, 0.50: 29.3, 0.10: 68.4}},
		{"D", 1.5, 8, 0, map[float64]float64{0.95: 0.639, 0.50: 8.30, 0.10: 25.0}},
		{"F", 0.65, 20, 0, map[float64]float64{0.95: 0.256, 0.50: 3.41, 0.10: 10.9}},
		{"J", 1.0, 80, 2, map[float64]float64{0.95: 1.03, 0.50: 3.33, 0.10: 6.52}},
	} {
		col, err := parseAQL(c.aql)
		if err != nil {
			t.Fatal(err)
		}
		at, accept := tables[Normal].follow(strings.Index(letters, c.letter), col)
		if sizes[at] != c.n || accept != c.accept {
			t.Errorf("letter %s: %d, %d", c.letter, sizes[at], accept)
		}
		for chance, want := range c.at {
			if got := 100 * PassesAt(of(sizes[at], accept), chance); math.Abs(got/want-1) > 0.005 {
				t.Errorf("letter %s passes with %g at %.4g %%, want %g", c.letter, chance, got, want)
			}
		}
	}
}

// Large samples near the Poisson law: np at 95 % and the ratio of the shares at 10 and
// 95 % (J. M. Cameron, Industrial Quality Control 9 (1952) 37).
func TestCameron(t *testing.T) {
	for c, want := range [][2]float64{{0.051, 44.89}, {0.355, 10.95}, {0.818, 6.51}, {1.366, 4.89}, {1.970, 4.06}, {2.613, 3.55}} {
		p := of(2000, c)
		if np := 2000 * PassesAt(p, 0.95); math.Abs(np/want[0]-1) > 0.01 {
			t.Errorf("%d: np %.4g, want %g", c, np, want[0])
		}
		if r := PassesAt(p, 0.10) / PassesAt(p, 0.95); math.Abs(r/want[1]-1) > 0.01 {
			t.Errorf("%d: ratio %.4g, want %g", c, r, want[1])
		}
	}
	// 7 CFR 42.140 reads from its curve 6, 500 pieces and at most 3: 26 % of lots with 1
	// in a hundred.
	if got := PassChance(of(500, 3), 0.01); math.Abs(got-0.26) > 0.01 {
		t.Errorf("%.3f of such lots, want 0.26", got)
	}
}

// At the AQL normal inspection takes about 88 % of the lots where samples are small
// and up to 99 % where they are large (MIL-STD-105E, appendix on its curves; from
// memory).
func TestAtTheAQL(t *testing.T) {
	lowest, highest := 1.0, 0.0
	for row := range tables[Normal].rows {
		for col, aql := range AQLs {
			at, accept := tables[Normal].follow(row, col)
			if at != row {
				continue
			}
			p := PassChance(of(sizes[at], accept), aql/100)
			lowest, highest = min(lowest, p), max(highest, p)
		}
	}
	if lowest < 0.87 || lowest > 0.90 || highest < 0.98 || highest > 0.995 {
		t.Errorf("from %.3f to %.3f", lowest, highest)
	}
}

func TestPlansAreInOrder(t *testing.T) {
	level, aql := rapid.SampledFrom(Levels), rapid.SampledFrom(AQLs)
	severity := rapid.SampledFrom([]string{Normal, Tightened})
	lots := rapid.OneOf(rapid.IntRange(1, 2000), rapid.IntRange(1, mostLot))
	plan := func(t *rapid.T, lot int, level string, aql float64, severity string) fettle.SamplingPlan {
		p, err := Plan(lot, level, aql, severity)
		if err != nil {
			t.Fatal(err)
		}
		if p.Size < 1 || p.Size > lot || p.All != (p.Size == lot) || p.Reject != p.Accept+1 || p.Accept < 0 {
			t.Fatalf("%+v", p)
		}
		return p
	}
	rapid.Check(t, func(t *rapid.T) {
		l, a, s := level.Draw(t, "level"), aql.Draw(t, "aql"), severity.Draw(t, "severity")
		m, n := lots.Draw(t, "lot"), lots.Draw(t, "other lot")
		small, large := plan(t, min(m, n), l, a, s), plan(t, max(m, n), l, a, s)
		if large.Size < small.Size {
			t.Errorf("the larger lot has the smaller sample: %+v, %+v", small, large)
		}
		b := aql.Draw(t, "other aql")
		strict, lax := plan(t, m, l, min(a, b), s), plan(t, m, l, max(a, b), s)
		if lax.Accept < strict.Accept || PassesAt(lax, 0.95) < PassesAt(strict, 0.95)-1e-12 && !lax.All && !strict.All {
			t.Errorf("the larger AQL is the stricter: %+v, %+v", strict, lax)
		}
		normal, tight := plan(t, m, l, a, Normal), plan(t, m, l, a, Tightened)
		// Beyond half of the pieces bad, two pieces of letter A pass more than five of
		// letter C.
		share := rapid.Float64Range(0, 0.4).Draw(t, "share")
		if PassChance(tight, share) > PassChance(normal, share)+1e-12 && !tight.All && !normal.All {
			t.Errorf("tightened inspection takes more at %g: %+v, %+v", share, normal, tight)
		}
		// A worse lot never passes more.
		if PassChance(normal, share/2) < PassChance(normal, share)-1e-12 {
			t.Errorf("%+v takes more of the worse lots at %g", normal, share)
		}
	})
}
