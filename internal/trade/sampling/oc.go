package sampling

import (
	"math"

	"fettle"
)

// PassChance is the chance that a plan takes a lot with a share of bad pieces, 0 to 1:
// the operating characteristic. Lots come from a work that makes that share, so the
// count in the sample is binomial (the standard's type B curves for % nonconforming).
// A share outside 0 to 1 is taken for the nearer of them, one that is no number gives
// none.
func PassChance(p fettle.SamplingPlan, share float64) float64 {
	if math.IsNaN(share) {
		return share
	}
	return atMost(p.Accept, p.Size, min(max(share, 0), 1))
}

// PassesAt is the share of bad pieces, 0 to 1, at which a plan takes a lot with the
// given chance: with 0.10 what a sample can hardly see, with 0.95 what it lets by.
func PassesAt(p fettle.SamplingPlan, chance float64) float64 {
	lo, hi := 0.0, 1.0
	for range 60 {
		mid := (lo + hi) / 2
		if PassChance(p, mid) > chance {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2
}

// atMost is the chance that at most c of n are bad when each is so with chance q. The
// terms are summed from their logarithms, so that large samples do not underflow.
func atMost(c, n int, q float64) float64 {
	switch {
	case c >= n || q == 0:
		return 1
	case q == 1:
		return 0
	}
	lq, lp := math.Log(q), math.Log1p(-q)
	sum := 0.0
	for k := 0; k <= c; k++ {
		sum += math.Exp(logChoose(n, k) + float64(k)*lq + float64(n-k)*lp)
	}
	return min(sum, 1)
}

func logChoose(n, k int) float64 {
	lg := func(x int) float64 {
		v, _ := math.Lgamma(float64(x) + 1)
		return v
	}
	return lg(n) - lg(k) - lg(n-k)
}
