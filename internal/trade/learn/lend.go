package learn

import (
	"fmt"
	"math"

	"fettle"
	"fettle/internal/trade/tumble"

	"gonum.org/v1/gonum/mat"
)

// Setting is media in a vessel on a metal, run in a tone.
type Setting struct {
	Media    fettle.Media
	Vessel   fettle.Vessel
	Material fettle.Material
	Tone     fettle.Tone
}

// Loan is a process of another shop with what its log taught of it, lent to a process
// of ours. Names mean nothing between two shops, so the lender says what is the same
// thing; kinds of media, classes of metal and tones speak for themselves.
type Loan struct {
	From    Setting
	Learned []fettle.Parameter // of From
	// SameMedia and SameVessel tell that ours are the same things by their
	// description.
	SameMedia, SameVessel bool
}

// number is which of a process's numbers a parameter is of; false for others.
func number(p fettle.Parameter) (int, bool) {
	for _, s := range shown {
		if s.name == p.Name {
			return s.i, true
		}
	}
	return 0, false
}

// Process is the lender's own, by its shelf and its log. Intervals are for the next
// charge.
func (l Loan) Process() tumble.Process {
	p := priorOf(l.From.Media, l.From.Vessel, l.From.Material, l.From.Tone)
	for _, q := range l.Learned {
		i, ok := number(q)
		if !ok {
			continue
		}
		e := forNext(q.Value, i)
		switch i {
		case iT:
			if p.RoughenH.Value > 0 {
				p.RoughenH = p.RoughenH.Scale(e.Value / p.TimeConstantH.Value).Because(e.Basis)
			}
			p.TimeConstantH = e
		case iRL:
			p.LimitRaUM = e
		case iMs:
			p.RemovalUMH = e
		}
	}
	return p
}

// forNext adds what differs from charge to charge to either side of an interval.
func forNext(e fettle.Estimate, i int) fettle.Estimate {
	side := func(r float64) float64 { return math.Exp(math.Hypot(math.Log(r), z90*betweenCharges[i])) }
	return fettle.Guess(e.Value, e.Value/side(e.Value/e.Low), e.Value*side(e.High/e.Value), e.Basis)
}

// lent is the mean and the covariance that a loan gives the numbers of our process.
//
// Both guesses are wrong for reasons that they share with their kin (see shares): the
// kind of media, the media, the vessel, the metal, and what is each process's own. So
// the logarithms of both processes' numbers are jointly normal about their guesses,
// with the covariance C of what they have in common, and what the lender's log moved
// moves ours by W = C(ours, theirs)·C(theirs, theirs)⁻¹:
//
//	mean = guess(ours) + W·(learned − guess(theirs))
//	cov  = C(ours, ours) − W·C(theirs, ours) + W·S·Wᵀ
//
// with S the covariance that the lender is left with (C. E. Rasmussen and C. K. I.
// Williams, Gaussian Processes for Machine Learning, 2006, A.6, for S = 0). With the
// same media on the same metal in another vessel, W is about 0.6 for the time constant
// and 0.7 for the limit: what belongs to the media and the metal goes along, what
// belongs to the vessel stays, for its speed is in the guess of ours. The same in all
// W is 1, and ours is theirs. A lender tells intervals and not how its numbers go
// together, so the guess's correlations are taken for S.
func (l Loan) lent(ours process) (mean [params]float64, cov [params][params]float64, n int, moved bool) {
	theirs := processOf(l.From.Media, l.From.Vessel, l.From.Material, l.From.Tone)
	theirs.media, theirs.vessel = ours.media, ours.vessel
	if !l.SameMedia {
		theirs.media += "\x00"
	}
	if !l.SameVessel {
		theirs.vessel += "\x00"
	}
	mean, cov = ours.mean, covariance(ours, ours)
	off := mat.NewVecDense(params, nil)
	left := theirs.sd
	for _, q := range l.Learned {
		i, ok := number(q)
		if !ok || !(q.Value.Low > 0) {
			continue
		}
		off.SetVec(i, math.Log(q.Value.Value)-theirs.mean[i])
		left[i] = q.Value.LogSD()
		n, moved = max(n, q.N), true
	}
	if !moved || theirs.dry != ours.dry {
		return mean, cov, 0, false
	}
	dense := func(c [params][params]float64) *mat.Dense {
		d := mat.NewDense(params, params, nil)
		for i := range params {
			d.SetRow(i, c[i][:])
		}
		return d
	}
	own := covariance(theirs, theirs)
	s := mat.NewDense(params, params, nil)
	for i := range params {
		for j := range params {
			s.Set(i, j, own[i][j]/(theirs.sd[i]*theirs.sd[j])*left[i]*left[j])
		}
	}
	var inverse, w, shift, drop, ws, add mat.Dense
	if err := inverse.Inverse(dense(own)); err != nil {
		return ours.mean, covariance(ours, ours), 0, false
	}
	cross := dense(covariance(ours, theirs))
	w.Mul(cross, &inverse)
	shift.Mul(&w, off)
	drop.Mul(&w, cross.T())
	ws.Mul(&w, s)
	add.Mul(&ws, w.T())
	for i := range params {
		mean[i] += shift.At(i, 0)
		for j := range params {
			cov[i][j] += (add.At(i, j) + add.At(j, i) - drop.At(i, j) - drop.At(j, i)) / 2
		}
	}
	return mean, cov, n, true
}

// Borrow is [Book.Process] with what another shop lends on top of our own log (the
// Book may be nil): what both say of our process beside the guess is multiplied, as
// two logs that know nothing of each other. Where the log itself has readings of what
// the loan names, the same media in the same vessel under the same names on the same
// metal, the loan is taken to be our own log, and nothing is counted twice.
func (b *Book) Borrow(l Loan, ours Setting) tumble.Process {
	p := b.Process(ours.Media, ours.Vessel, ours.Material, ours.Tone)
	k := b.know(ours.Media, ours.Vessel, ours.Material, ours.Tone)
	if b.has(l.From) {
		return p
	}
	mean, cov, n, moved := l.lent(k.process)
	if !moved {
		return p
	}
	basis := "starting guess, shifted by another shop's log"
	if l.SameMedia && l.SameVessel && ours.Material.Class == l.From.Material.Class {
		basis = "another shop's log"
	}
	if n > 0 {
		basis += fmt.Sprintf(" (n = %d)", n)
	}
	if k.moved != [params]bool{} {
		var ok bool
		if mean, cov, ok = joined(k, mean, cov); !ok {
			return p
		}
		basis = k.basis(iT) + ", joined with another shop's"
	}
	e := func(i int) fettle.Estimate {
		sd := math.Min(math.Sqrt(math.Max(0, cov[i][i])), k.process.sd[i])
		return forNext(fettle.LogNormal(math.Exp(mean[i]), sd, basis), i)
	}
	if p.RoughenH.Value > 0 {
		v := cov[iT][iT] + cov[iRough][iRough] + 2*cov[iT][iRough] + betweenCharges[iT]*betweenCharges[iT]
		sd := math.Min(math.Sqrt(math.Max(v, 0)), k.prior.RoughenH.LogSD())
		p.RoughenH = fettle.LogNormal(math.Exp(mean[iT]+mean[iRough]), sd, basis)
	}
	p.TimeConstantH, p.LimitRaUM, p.RemovalUMH = e(iT), e(iRL), e(iMs)
	return p
}

// has reports whether the log has readings of a process under these very names.
func (b *Book) has(s Setting) bool {
	if b == nil || b.fit == nil {
		return false
	}
	k := keyOf(s.Media, s.Vessel, s.Material, s.Tone)
	for _, p := range b.fit.ps {
		if p.key == k {
			return true
		}
	}
	return false
}

// joined multiplies what a log and a loan each say beside the guess: precisions add,
// and the guess's own, which is in both, is taken off once.
func joined(k knowledge, mean [params]float64, cov [params][params]float64) ([params]float64, [params][params]float64, bool) {
	sum := mat.NewDense(params, params, nil)
	rhs := mat.NewVecDense(params, nil)
	add := func(m [params]float64, c [params][params]float64, sign float64) bool {
		d := mat.NewDense(params, params, nil)
		for i := range params {
			d.SetRow(i, c[i][:])
		}
		var p mat.Dense
		if err := p.Inverse(d); err != nil {
			return false
		}
		p.Scale(sign, &p)
		sum.Add(sum, &p)
		var v mat.VecDense
		v.MulVec(&p, mat.NewVecDense(params, m[:]))
		rhs.AddVec(rhs, &v)
		return true
	}
	if !add(k.mean, k.cov, 1) || !add(mean, cov, 1) || !add(k.process.mean, covariance(k.process, k.process), -1) {
		return mean, cov, false
	}
	var inverse mat.Dense
	if err := inverse.Inverse(sum); err != nil {
		return mean, cov, false
	}
	var at mat.VecDense
	at.MulVec(&inverse, rhs)
	for i := range params {
		mean[i] = at.AtVec(i)
		for j := range params {
			cov[i][j] = (inverse.At(i, j) + inverse.At(j, i)) / 2
		}
	}
	return mean, cov, true
}
