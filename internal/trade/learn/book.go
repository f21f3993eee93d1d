package learn

import (
	"context"
	"fmt"
	"math"

	"fettle"
	"fettle/internal/trade/tumble"

	"gonum.org/v1/gonum/mat"
)

// What differs from charge to charge of one process, as standard deviations of
// logarithms: a plan is for the next charge, not for the mean of all. A regression
// from a controlled rig was worth 18 % (Coatings 15 (2025) 286, conclusions).
var betweenCharges = [params]float64{iT: 0.15, iRL: 0.10, iMs: 0.15, iRough: 0}

// build finds the processes of the log and fits them.
func (b *Book) build(ctx context.Context) error {
	at := map[key]int{}
	var ps []process
	var ss []series
	for _, j := range b.runs {
		if !j.charge() {
			continue
		}
		k := keyOf(j.media, j.vessel, j.mat, j.Tone)
		s := observe(j, 0, false)
		if why := refused(s); why != "" {
			b.refused = append(b.refused, refusal(j, why))
			s = observe(j, 0, true)
		}
		if len(s.obs) == 0 {
			continue
		}
		p, seen := at[k]
		if !seen {
			p = len(ps)
			at[k] = p
			ps = append(ps, processOf(j.media, j.vessel, j.mat, j.Tone))
		}
		s.proc = p
		ss = append(ss, s)
	}
	if len(ps) == 0 {
		return nil
	}
	b.fit = newFit(ps, ss)
	if err := b.fit.solve(ctx); err != nil {
		return err
	}
	return b.integrate(ctx)
}

// integrate works out the marginals of the log's processes.
func (b *Book) integrate(ctx context.Context) error {
	rs := b.fit.spread()
	b.own = make(map[key]marginal, len(b.fit.ps))
	for p := range b.fit.ps {
		if err := ctx.Err(); err != nil {
			return err
		}
		k := knowledge{process: b.fit.ps[p]}
		b.count(&k)
		if c, ok := b.fit.cavityOf(p, rs); ok {
			q, ok := c.marginals(k.n)
			m := marginal{q, ok}
			if times, names := b.fit.disagreement(p, rs); times > 1 {
				m.widen(times)
				b.warnings = append(b.warnings, apart(k.process, names, times))
			}
			b.own[k.key] = m
		}
	}
	return nil
}

// marginal is quantiles of the numbers of a process, where they were integrated.
type marginal struct {
	q  [params]quantiles
	ok [params]bool
}

// knowledge is what is known of the numbers of one process.
type knowledge struct {
	process
	mean  [params]float64
	cov   [params][params]float64
	n     [params]int // own readings that bear on each
	kin   [params]int // those of its kin
	moved [params]bool
	own   marginal
}

func (k knowledge) sd(i int) float64 { return math.Sqrt(math.Max(0, k.cov[i][i])) }

// know is the posterior of a process, whether the log has it or only kin of it: then
// what the kin have moved moves it by its share in them.
func (b *Book) know(m fettle.Media, v fettle.Vessel, mt fettle.Material, tone fettle.Tone) knowledge {
	k := knowledge{process: processOf(m, v, mt, tone)}
	k.mean, k.cov = k.process.mean, covariance(k.process, k.process)
	if b == nil || b.fit == nil {
		return k
	}
	f := b.fit
	n := len(f.x)
	cross := mat.NewDense(params, n, nil)
	kin := false
	for q, p := range f.ps {
		c := covariance(k.process, p)
		for i := range params {
			for j := range params {
				cross.Set(i, params*q+j, c[i][j])
				kin = kin || c[i][j] != 0
			}
		}
	}
	if !kin {
		return k
	}
	b.count(&k)
	k.own = b.own[k.key]
	var w, mean, drop, add mat.Dense
	w.Mul(cross, f.kinv)
	off := mat.NewVecDense(n, nil)
	for i := range n {
		off.SetVec(i, f.x[i]-f.mu[i])
	}
	mean.Mul(&w, off)
	drop.Mul(&w, cross.T())
	var wc mat.Dense
	wc.Mul(&w, f.cov)
	add.Mul(&wc, w.T())
	for i := range params {
		k.mean[i] += mean.At(i, 0)
		for j := range params {
			k.cov[i][j] += (add.At(i, j) + add.At(j, i) - drop.At(i, j) - drop.At(j, i)) / 2
		}
		sd := k.process.sd[i]
		k.moved[i] = k.sd(i) < 0.995*sd || math.Abs(mean.At(i, 0)) > 0.005*sd
	}
	return k
}

// bears reports whether a kind of reading bears of itself on a number.
func bears(k fettle.ReadingKind, i int) bool {
	if i == iMs {
		return takes(k)
	}
	return rough(k)
}

// count counts the readings that bear on a process.
func (b *Book) count(k *knowledge) {
	for _, s := range b.fit.ss {
		p := b.fit.ps[s.proc]
		if p.dry != k.dry {
			continue
		}
		for _, o := range s.obs {
			for i := range params {
				if !bears(o.Kind, i) {
					continue
				}
				if p.key == k.key {
					k.n[i]++
				} else {
					k.kin[i]++
				}
			}
		}
	}
}

// basis says what a number rests on.
func (k knowledge) basis(i int) string {
	if k.n[i] > 0 {
		return fmt.Sprintf("shop log (n = %d)", k.n[i])
	}
	// Without own readings of its kind: those of its kin, and what else was read on
	// the process itself.
	n := k.kin[i]
	if n == 0 {
		for j := range params {
			n = max(n, k.kin[j], k.n[j])
		}
	}
	return fmt.Sprintf("starting guess, shifted by the shop log of its kin (n = %d)", n)
}

// estimate is one number with its interval, for the mean of all charges or, with
// next, for the next one.
func (k knowledge) estimate(i int, next bool) fettle.Estimate {
	prior := k.priorOf(i)
	if !k.moved[i] {
		return prior
	}
	mid, down, up := k.mean[i], z90*k.sd(i), z90*k.sd(i)
	if k.own.ok[i] {
		q := k.own.q[i]
		mid, down, up = q[2], q[2]-q[1], q[3]-q[2]
	}
	if next {
		down, up = math.Hypot(down, z90*betweenCharges[i]), math.Hypot(up, z90*betweenCharges[i])
	}
	// A log teaches; where it also contradicts the guess, its interval can be the
	// wider one, but a plan need not claim to know less than before.
	if most := 2 * z90 * k.process.sd[i]; down+up > most {
		down, up = down*most/(down+up), up*most/(down+up)
	}
	return fettle.Guess(math.Exp(mid), math.Exp(mid-down), math.Exp(mid+up), k.basis(i))
}

// z90 is the standard normal deviate at 90 %.
const z90 = 1.2815515655446004

// priorOf is the starting guess of one number.
func (k knowledge) priorOf(i int) fettle.Estimate {
	switch i {
	case iT:
		return k.prior.TimeConstantH
	case iRL:
		return k.prior.LimitRaUM
	case iMs:
		return k.prior.RemovalUMH
	}
	return fettle.LogNormal(math.Exp(k.process.mean[iRough]), k.process.sd[iRough], fettle.BasisGuess)
}

// Process is what media do in a vessel to a metal, with the log. Where the log
// says nothing of them or of their kin it is the starting guess; else the basis of
// each number says which: "shop log (n = 3)" where readings of this very process
// bear on it, and its kin where only they do. Intervals are for the next charge:
// what differs from charge to charge is in them.
func (b *Book) Process(m fettle.Media, v fettle.Vessel, mat fettle.Material, tone fettle.Tone) tumble.Process {
	k := b.know(m, v, mat, tone)
	p := k.prior
	p.TimeConstantH = k.estimate(iT, true)
	p.LimitRaUM = k.estimate(iRL, true)
	p.RemovalUMH = k.estimate(iMs, true)
	if p.RoughenH.Value > 0 && (k.moved[iT] || k.moved[iRough]) {
		v := k.cov[iT][iT] + k.cov[iRough][iRough] + 2*k.cov[iT][iRough] + betweenCharges[iT]*betweenCharges[iT]
		sd := math.Min(math.Sqrt(math.Max(v, 0)), p.RoughenH.LogSD())
		p.RoughenH = fettle.LogNormal(p.TimeConstantH.Value*math.Exp(k.mean[iRough]), sd, k.basis(iT))
	}
	return p
}
