package law

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"fettle"

	"pgregory.net/rapid"
)

// near fails where got is further from want than within.
func near(t testing.TB, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s: %.9g, should be %.9g", what, got, want)
	}
}

// guess is any estimate with bounds on both sides, one side as wide as it likes.
func guess(t *rapid.T) fettle.Estimate {
	v := math.Exp(rapid.Float64Range(-7, 7).Draw(t, "log median"))
	down, up := rapid.Float64Range(1.01, 6).Draw(t, "down"), rapid.Float64Range(1.01, 6).Draw(t, "up")
	return fettle.Guess(v, v/down, v*up, fettle.BasisGuess)
}

// TestWorldsKeepToTheEstimate: an estimate is a median with its 10 % and 90 % points,
// so those lie between the neighbouring worlds where a tenth of them ends.
func TestWorldsKeepToTheEstimate(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e := guess(t)
		n := rapid.IntRange(2, 300).Draw(t, "worlds")
		v := slices.Clone(Sample(n).Of("a", "µm", e))
		slices.Sort(v)
		for p, want := range map[float64]float64{0.1: e.Low, 0.5: e.Value, 0.9: e.High} {
			under, over := int(math.Floor(p*float64(n)-0.5)), int(math.Floor(p*float64(n)-0.5))+1
			if under >= 0 && v[under] > want*(1+1e-9) || over < n && v[over] < want*(1-1e-9) {
				t.Fatalf("%g %% of %d worlds: %g and %g, should have %g between", 100*p, n, v[max(under, 0)], v[min(over, n-1)], want)
			}
		}
	})
	w := Sample(400)
	e := fettle.Guess(3, 1, 20, fettle.BasisGuess)
	got := w.Sum(w.Of("skewed", "µm", e), "test")
	near(t, "median", got.Value, 3, 0.01)
	near(t, "low", got.Low, 1, 0.01)
	near(t, "high", got.High, 20, 0.2)
}

// TestUnknownsDoNotHangOnWhoAsksFirst: the same question gets the same answer.
func TestUnknownsDoNotHangOnWhoAsksFirst(t *testing.T) {
	e, f := fettle.Guess(1, 0.5, 2, "a"), fettle.Guess(7, 5, 20, "b")
	one, two := Sample(48), Sample(48)
	a, b := one.Of("a", "h", e), one.Of("b", "µm", f)
	d, c := two.Of("b", "µm", f), two.Of("a", "h", e)
	if !slices.Equal(a, c) || !slices.Equal(b, d) || !slices.Equal(a, one.Of("a", "h", e)) {
		t.Error("the answers depend on the order of the questions")
	}
	if got, unit := one.Known("b"); got != f || unit != "µm" {
		t.Errorf("b is known as %v %s", got, unit)
	}
	if got := two.Names(); !slices.Equal(got, []string{"b", "a"}) {
		t.Errorf("asked for %v", got)
	}
	two.Of("exact", "h", fettle.Exactly(4, "test"))
	if len(two.Names()) != 2 {
		t.Error("a number without an interval is an unknown")
	}
	defer func() {
		if recover() == nil {
			t.Error("one name stands for two estimates")
		}
	}()
	one.Of("a", "h", f)
}

// TestUnknownsDoNotKnowOfEachOther compares the rank correlations of all pairs of 60
// unknowns with those of independent orders, whose standard deviation is
// 1/√(n − 1) (M. G. Kendall, Rank Correlation Methods, 1948: Spearman's rho).
func TestUnknownsDoNotKnowOfEachOther(t *testing.T) {
	const n, names = 100, 60
	w := Sample(n)
	// Symmetric and with the logarithm's standard deviation 1, so that ranks can be
	// read off the values of a table of normal deviates: any monotone score does.
	rank := make([][]float64, names)
	for i := range rank {
		v := w.Of(fmt.Sprintf("unknown %d of any charge", i), "h", fettle.Guess(1, 0.5, 2, "test"))
		s := slices.Clone(v)
		slices.Sort(s)
		rank[i] = make([]float64, n)
		for k, x := range v {
			at, found := slices.BinarySearch(s, x)
			if !found || at+1 < n && s[at+1] == x {
				t.Fatal("two worlds have one value")
			}
			rank[i][k] = float64(at) - (n-1)/2.0
		}
	}
	var sum2, most float64
	pairs := 0
	for i := range rank {
		for j := range i {
			var r float64
			for k := range n {
				r += rank[i][k] * rank[j][k]
			}
			r /= n * (n*n - 1) / 12.0
			sum2 += r * r
			most = math.Max(most, math.Abs(r))
			pairs++
			if r > 0.999 {
				t.Errorf("unknowns %d and %d are one", i, j)
			}
		}
	}
	sd := 1 / math.Sqrt(n-1)
	// Of 1770 pairs the mean square is known to 3 %, and the largest is 3.5 standard
	// deviations or so.
	near(t, "rms rank correlation", math.Sqrt(sum2/float64(pairs)), sd, 0.1*sd)
	if most > 5*sd {
		t.Errorf("largest rank correlation %.2f", most)
	}
}

// TestQuantiles: the fifth definition of R. J. Hyndman and Y. Fan (The American
// Statistician 50 (1996) 361), p(k) = (k − ½)/n and straight between. Of 15 20 35 40 50
// the p-quantile stands at place 5p + ½, by hand.
func TestQuantiles(t *testing.T) {
	v := []float64{40, 15, 50, 35, 20}
	w := Sample(5)
	s := slices.Clone(v)
	slices.Sort(s)
	for p, want := range map[float64]float64{0.05: 15, 0.1: 15, 0.25: 18.75, 0.4: 27.5, 0.5: 35, 0.75: 42.5, 0.8: 45, 0.9: 50, 1: 50} {
		near(t, fmt.Sprintf("%g of five", p), quantile(s, p), want, 1e-12)
	}
	near(t, "median of five", w.Median(v), 35, 0)
	near(t, "median of four", Sample(4).Median([]float64{4, 1, 3, 2}), 2.5, 1e-12)
	if v[0] != 40 {
		t.Error("the worlds were put in order")
	}
	got := Sample(10).Sum([]float64{10, 9, 8, 7, 6, 5, 4, 3, 2, 1}, "test")
	if got != fettle.Guess(5.5, 1.5, 9.5, "test") { // places 5.5, 1.5 and 9.5
		t.Errorf("of one to ten: %v", got)
	}
	inf := math.Inf(1)
	if got := quantile([]float64{1, inf, inf}, 0.5); !math.IsInf(got, 1) {
		t.Errorf("half of it never: %v", got)
	}
	if got := quantile([]float64{1, 2, 3, inf}, 0.5); got != 2.5 {
		t.Errorf("a quarter of it never: %v", got)
	}
}

// alone asks f of worlds in which one of the names is out at a time.
func alone(names []string, es []fettle.Estimate, f func(x []float64) float64) (*Worlds, []float64) {
	w := Alone(names)
	cols := make([][]float64, len(names))
	for i, name := range names {
		cols[i] = w.Of(name, "", es[i])
	}
	v := make([]float64, w.N())
	for k := range v {
		x := make([]float64, len(names))
		for i := range x {
			x[i] = cols[i][k]
		}
		v[k] = f(x)
	}
	return w, v
}

// TestSharesOfAProduct: the logarithm of Π xᵢ^aᵢ has the variance Σ aᵢ²σᵢ², so the
// first-order share of xᵢ is its term (I. M. Sobol', Math. Comput. Simul. 55 (2001)
// 271, for a sum).
func TestSharesOfAProduct(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 6).Draw(t, "unknowns")
		names, es, power := make([]string, n), make([]fettle.Estimate, n), make([]float64, n)
		want := make([]float64, n)
		var sum float64
		for i := range n {
			names[i] = fmt.Sprint(i)
			sd := rapid.Float64Range(0.05, 1).Draw(t, "sd")
			es[i] = fettle.LogNormal(math.Exp(rapid.Float64Range(-3, 3).Draw(t, "log median")), sd, "test")
			power[i] = rapid.SampledFrom([]float64{-1, 1}).Draw(t, "sign") * rapid.Float64Range(0.1, 3).Draw(t, "power")
			want[i] = power[i] * power[i] * sd * sd
			sum += want[i]
		}
		w, v := alone(names, es, func(x []float64) float64 {
			p := 2.0
			for i := range x {
				p *= math.Pow(x[i], power[i])
			}
			return p
		})
		for i, got := range w.Shares(v) {
			if math.Abs(got-want[i]/sum) > 1e-9 {
				t.Fatalf("share %d is %v, should be %v", i, got, want[i]/sum)
			}
		}
		if got := w.Sum(v, "test"); got.Value != v[0] || got.Low != v[0] || w.Median(v) != v[0] {
			t.Fatal("alone, a sum is what the medians give")
		}
	})
}

// TestSharesOfTheLawOfRoughness: for small doubts the shares of R(t) = RL + (R0 − RL)·e^(−t/T)
// are those of its derivatives by the logarithms of R0, RL and T, written out.
func TestSharesOfTheLawOfRoughness(t *testing.T) {
	const r0, rl, tc, h, sd = 1.6, 0.2, 0.75, 1.0, 0.01
	es := []fettle.Estimate{fettle.LogNormal(r0, sd, "test"), fettle.LogNormal(rl, 2*sd, "test"), fettle.LogNormal(tc, 3*sd, "test")}
	w, v := alone([]string{"start", "limit", "time constant"}, es, func(x []float64) float64 {
		return x[1] + (x[0]-x[1])*math.Exp(-h/x[2])
	})
	e := math.Exp(-h / tc)
	d := []float64{r0 * e, 2 * rl * (1 - e), 3 * (r0 - rl) * e * h / tc}
	sum := d[0]*d[0] + d[1]*d[1] + d[2]*d[2]
	for i, got := range w.Shares(v) {
		near(t, "share "+w.Names()[i], got, d[i]*d[i]/sum, 0.01)
	}
	still := make([]float64, w.N())
	for k := range still {
		still[k] = 3
	}
	if got := w.Shares(still); got != nil {
		t.Errorf("shares of what nothing moves: %v", got)
	}
}
