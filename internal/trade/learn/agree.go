package learn

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// chanceAgree is the chance below which runs of one process are said to differ by
// more than their readings scatter.
const chanceAgree = 0.005

// disagreement is how many times as far apart the runs of a process lie, in time
// constant and limit, as the scatter of their readings explains; 1 where they
// agree, and names is which runs. Each run's own best lies S⁻¹g from the joint one, so
// the sum of gᵀS⁻¹g is χ² with two degrees of freedom a run, less the two that the
// joint one takes up.
func (f *fit) disagreement(p int, rs []reduced) (times float64, names []string) {
	q, runs := 0.0, 0
	for k := range f.ss {
		s := &f.ss[k]
		if s.proc != p {
			continue
		}
		hours := map[float64]bool{}
		for _, o := range s.obs {
			if rough(o.Kind) {
				hours[o.AtH] = true
			}
		}
		if len(hours) < 3 {
			continue // it bends to any process
		}
		a, b, c := rs[k].a[iT][iT], rs[k].a[iT][iRL], rs[k].a[iRL][iRL]
		ridge := 1e-6 * (a + c)
		a, c = a+ridge, c+ridge
		det := a*c - b*b
		if !(det > 0) {
			continue
		}
		g0, g1 := rs[k].g[iT], rs[k].g[iRL]
		q += (c*g0*g0 - 2*b*g0*g1 + a*g1*g1) / det
		runs++
		names = append(names, s.label())
	}
	if runs < 2 {
		return 1, nil
	}
	free := float64(2 * (runs - 1))
	if (distuv.ChiSquared{K: free}).Survival(q) >= chanceAgree {
		return 1, nil
	}
	return math.Sqrt(q / free), names
}

// widen stretches what was integrated about its median (Birge's ratio: R. T.
// Birge, Phys. Rev. 40 (1932) 207).
func (m *marginal) widen(times float64) {
	for _, i := range []int{iT, iRL} {
		mid := m.q[i][2]
		for k := range m.q[i] {
			m.q[i][k] = mid + times*(m.q[i][k]-mid)
		}
	}
}

// apart says that runs of one process differ.
func apart(p process, names []string, times float64) string {
	return fmt.Sprintf("Runs %s of %s in the %s on %s lie %.1f times as far apart as their readings scatter; the interval is widened by as much. Look for what differed: a lot of media, how wet, how full.", listed(names), p.media, p.vessel, p.class, times)
}

func listed(names []string) string {
	s := names[0]
	for i, n := range names[1:] {
		if i == len(names)-2 {
			s += " and " + n
		} else {
			s += ", " + n
		}
	}
	return s
}
