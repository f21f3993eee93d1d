package learn

import (
	"math"
	"sort"
)

// marginals integrates the numbers of one process that its own readings bear on
// and gives the quantiles of their logarithms; ok tells which.
func (c *cavity) marginals(n [params]int) (q [params]quantiles, ok [params]bool) {
	if n[iT] > 0 {
		a, b, good := c.pair(iT, iRL)
		q[iT], q[iRL] = a, b
		ok[iT], ok[iRL] = good, good
	}
	if n[iMs] > 0 {
		q[iMs], ok[iMs] = c.alone(iMs)
	}
	return q, ok
}

// node of a grid along one axis, −gridReach to gridReach.
func node(i int) float64 { return gridReach * (2*float64(i)/(gridNodes-1) - 1) }

// alone integrates one number.
func (c *cavity) alone(i int) (quantiles, bool) {
	sd := math.Sqrt(c.cov[i][i])
	var at, w []float64
	var fixed [params]bool
	fixed[i] = true
	for k := range gridNodes {
		x := c.mode
		x[i] += sd * node(k)
		at, w = append(at, x[i]), append(w, c.at(x, fixed))
	}
	if !density(w) {
		return quantiles{}, false
	}
	return cut(at, w), true
}

// pair integrates two numbers on a grid that leans as the joint approximation
// does.
func (c *cavity) pair(i, j int) (a, b quantiles, ok bool) {
	l11 := math.Sqrt(c.cov[i][i])
	l21 := c.cov[i][j] / l11
	l22 := math.Sqrt(math.Max(c.cov[j][j]-l21*l21, 1e-12))
	var fixed [params]bool
	fixed[i], fixed[j] = true, true
	var xi, xj, w []float64
	for r := range gridNodes {
		for s := range gridNodes {
			u, v := node(r), node(s)
			if u*u+v*v > gridReach*gridReach*1.2 {
				continue
			}
			x := c.mode
			x[i] += l11 * u
			x[j] += l21*u + l22*v
			xi, xj, w = append(xi, x[i]), append(xj, x[j]), append(w, c.at(x, fixed))
		}
	}
	if !density(w) {
		return a, b, false
	}
	return cut(xi, w), cut(xj, w), true
}

// density turns logarithms into weights that sum to 1; false where they are no
// numbers.
func density(w []float64) bool {
	best := math.Inf(-1)
	for _, v := range w {
		if math.IsNaN(v) {
			return false
		}
		best = math.Max(best, v)
	}
	if math.IsInf(best, 0) {
		return false
	}
	sum := 0.0
	for i := range w {
		w[i] = math.Exp(w[i] - best)
		sum += w[i]
	}
	for i := range w {
		w[i] /= sum
	}
	return true
}

// cut finds the quantiles of weighted places, each half of its weight to either
// side.
func cut(x, w []float64) (q quantiles) {
	by := make([]int, len(x))
	for i := range by {
		by[i] = i
	}
	sort.SliceStable(by, func(a, b int) bool { return x[by[a]] < x[by[b]] })
	level, last, lastX := 0, 0.0, x[by[0]]
	sum := 0.0
	for _, k := range by {
		mid := sum + w[k]/2
		for level < len(levels) && mid >= levels[level] {
			f := 1.0
			if mid > last {
				f = (levels[level] - last) / (mid - last)
			}
			q[level] = lastX + f*(x[k]-lastX)
			level++
		}
		last, lastX = mid, x[k]
		sum += w[k]
	}
	for ; level < len(levels); level++ {
		q[level] = lastX
	}
	return q
}
