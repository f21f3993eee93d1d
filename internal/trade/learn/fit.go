package learn

import (
	"context"
	"math"

	"fettle"
	"fettle/internal/trade/tumble"

	"gonum.org/v1/gonum/mat"
)

// fit is the posterior of all processes of a log: its mode and its covariance
// there (Laplace's approximation, of logarithms).
type fit struct {
	ps    []process
	ss    []series
	mu    []float64
	prior *mat.SymDense // covariance
	kinv  *mat.SymDense
	x     []float64
	cov   *mat.SymDense
	loss  float64
}

const (
	mostOwn   = 4 // numbers of a run of its own: R0 and a factor for each other kind
	local     = params + mostOwn
	mostSteps = 60
	// rounds of learning how far the readings of a run scatter
	scatterRounds = 12
)

// block is what a series adds to the normal equations.
type block struct {
	n int // params and own
	a [local][local]float64
	g [local]float64
}

// newFit prepares the prior.
func newFit(ps []process, ss []series) *fit {
	f := &fit{ps: ps, ss: ss, mu: make([]float64, params*len(ps)), prior: priorMatrix(ps)}
	for i, p := range ps {
		copy(f.mu[params*i:], p.mean[:])
	}
	f.x = append([]float64(nil), f.mu...)
	f.kinv = invert(f.prior)
	return f
}

// invert a covariance. The prior's is positive definite because every process
// has a share of its own.
func invert(s *mat.SymDense) *mat.SymDense {
	var c mat.Cholesky
	out := mat.NewSymDense(s.SymmetricDim(), nil)
	if !c.Factorize(s) {
		panic(fettle.Errorf(fettle.Internal, "a covariance is not positive"))
	}
	if err := c.InverseTo(out); err != nil {
		// A condition number that is merely large is no failure.
		return out
	}
	return out
}

// numbers of the process of a series.
func (f *fit) numbers(x []float64, s *series) []float64 {
	return x[params*s.proc : params*(s.proc+1)]
}

// objective is the negative logarithm of the posterior but for a constant.
func (f *fit) objective(x []float64, own [][]float64) float64 {
	n := len(x)
	v := 0.0
	for i := range n {
		di := x[i] - f.mu[i]
		row := 0.0
		for j := range n {
			row += f.kinv.At(i, j) * (x[j] - f.mu[j])
		}
		v += di * row / 2
	}
	for k := range f.ss {
		s := &f.ss[k]
		keep := s.own
		s.own = own[k]
		r, r0 := rates(f.numbers(x, s), f.ps[s.proc].prior.TransientUM), s.start()
		for _, o := range s.obs {
			v += s.likelihood(o, r, r0).loss
		}
		for i, u := range s.own {
			v += s.prec[i] * (u - s.mean[i]) * (u - s.mean[i]) / 2
		}
		s.own = keep
	}
	return v
}

// linear is the block of a series at the present numbers.
func (f *fit) linear(s *series) block {
	return s.linear(rates(f.numbers(f.x, s), f.ps[s.proc].prior.TransientUM))
}

func (s *series) linear(at tumble.Rates) (b block) {
	b.n = params + len(s.own)
	r0 := s.start()
	for _, o := range s.obs {
		l := s.likelihood(o, at, r0)
		j := l.row()
		for r := range b.n {
			b.g[r] += l.score * j[r]
			for c := range b.n {
				b.a[r][c] += l.info * j[r] * j[c]
			}
		}
	}
	for i, u := range s.own {
		b.a[params+i][params+i] += s.prec[i]
		b.g[params+i] += s.prec[i] * (u - s.mean[i])
	}
	return b
}

func (l *likelihood) row() (j [local]float64) {
	copy(j[:], l.d[:])
	copy(j[params:], l.own[:])
	return j
}

// reduced takes a run's own numbers out of its block (Schur's complement), so
// that the joint system stays as small as the processes are many. back holds what
// brings them in again: own = −A⁻¹(g + B·x).
type reduced struct {
	a    [params][params]float64
	g    [params]float64
	inv  [mostOwn][mostOwn]float64
	back [mostOwn][params]float64 // inv·B
	own  [mostOwn]float64         // inv·g
	det  float64                  // logarithm of the determinant of A
}

func (b block) reduce(damp float64) (r reduced) {
	q := b.n - params
	var m [mostOwn][2 * mostOwn]float64
	for i := range q {
		for j := range q {
			m[i][j] = b.a[params+i][params+j]
		}
		m[i][i] *= 1 + damp
		m[i][mostOwn+i] = 1
	}
	for c := range q { // Gauss and Jordan; positive, so no pivots are needed
		p := m[c][c]
		r.det += math.Log(p)
		for j := range m[c] {
			m[c][j] /= p
		}
		for i := range q {
			if i == c {
				continue
			}
			f := m[i][c]
			for j := range m[i] {
				m[i][j] -= f * m[c][j]
			}
		}
	}
	for i := range q {
		for j := range q {
			r.inv[i][j] = m[i][mostOwn+j]
		}
	}
	for i := range q {
		for j := range q {
			r.own[i] += r.inv[i][j] * b.g[params+j]
			for c := range params {
				r.back[i][c] += r.inv[i][j] * b.a[params+j][c]
			}
		}
	}
	for i := range params {
		r.g[i] = b.g[i]
		for k := range q {
			r.g[i] -= b.a[i][params+k] * r.own[k]
		}
		for j := range params {
			r.a[i][j] = b.a[i][j]
			for k := range q {
				r.a[i][j] -= b.a[i][params+k] * r.back[k][j]
			}
		}
	}
	return r
}

// climb finds the mode from the present numbers: Gauss and Newton's steps,
// damped after Levenberg and Marquardt where they overshoot.
func (f *fit) climb(ctx context.Context) error {
	n := len(f.x)
	own := make([][]float64, len(f.ss))
	for k := range f.ss {
		own[k] = f.ss[k].own
	}
	f.loss = f.objective(f.x, own)
	damp := 0.0
	for range mostSteps {
		if err := ctx.Err(); err != nil {
			return err
		}
		h := mat.NewSymDense(n, nil)
		h.CopySym(f.kinv)
		g := make([]float64, n)
		for i := range n {
			for j := range n {
				g[i] += f.kinv.At(i, j) * (f.x[j] - f.mu[j])
			}
		}
		rs := make([]reduced, len(f.ss))
		for k := range f.ss {
			at := params * f.ss[k].proc
			rs[k] = f.linear(&f.ss[k]).reduce(damp)
			for i := range params {
				g[at+i] += rs[k].g[i]
				for j := i; j < params; j++ {
					h.SetSym(at+i, at+j, h.At(at+i, at+j)+rs[k].a[i][j])
				}
			}
		}
		for i := range n {
			h.SetSym(i, i, h.At(i, i)*(1+damp))
		}
		var c mat.Cholesky
		var step mat.VecDense
		if !c.Factorize(h) {
			damp = math.Max(10*damp, 1e-3)
			continue
		}
		_ = c.SolveVecTo(&step, mat.NewVecDense(n, g)) // a large condition number is no failure
		x := make([]float64, n)
		most := 0.0
		for i := range x {
			x[i] = f.x[i] - step.AtVec(i)
			most = math.Max(most, math.Abs(step.AtVec(i)))
		}
		next := make([][]float64, len(f.ss))
		for k := range f.ss {
			s := &f.ss[k]
			next[k] = append([]float64(nil), s.own...)
			for i := range next[k] {
				du := rs[k].own[i]
				for j := range params {
					du -= rs[k].back[i][j] * step.AtVec(params*s.proc+j)
				}
				next[k][i] -= du
				most = math.Max(most, math.Abs(du))
			}
		}
		loss := f.objective(x, next)
		if !(loss <= f.loss+1e-12*math.Abs(f.loss)) || most > 20 {
			damp = math.Max(10*damp, 1e-3)
			if damp > 1e8 {
				return nil
			}
			continue
		}
		f.x, f.loss = x, loss
		for k := range f.ss {
			f.ss[k].own = next[k]
		}
		damp /= 10
		if damp < 1e-9 {
			damp = 0
		}
		if most < 1e-7 {
			return nil
		}
	}
	return nil
}

// spread works out the covariance at the present numbers.
func (f *fit) spread() []reduced {
	h := mat.NewSymDense(len(f.x), nil)
	h.CopySym(f.kinv)
	rs := make([]reduced, len(f.ss))
	for k := range f.ss {
		at := params * f.ss[k].proc
		rs[k] = f.linear(&f.ss[k]).reduce(0)
		for i := range params {
			for j := i; j < params; j++ {
				h.SetSym(at+i, at+j, h.At(at+i, at+j)+rs[k].a[i][j])
			}
		}
	}
	f.cov = invert(h)
	return rs
}

// predicted is the variance of what the fit says of a reading.
func (f *fit) predicted(s *series, r reduced, l likelihood) float64 {
	var j [params]float64
	q := len(s.own)
	v := 0.0
	for c := range params {
		j[c] = l.d[c]
		for i := range q {
			j[c] -= r.back[i][c] * l.own[i]
		}
	}
	at := params * s.proc
	for a := range params {
		for b := range params {
			v += j[a] * j[b] * f.cov.At(at+a, at+b)
		}
	}
	for a := range q {
		for b := range q {
			v += l.own[a] * l.own[b] * r.inv[a][b]
		}
	}
	return v
}

// solve finds the posterior: each process by itself from several beginnings,
// because a time constant far from its guess can hide behind a flat stretch, then
// all together, and the scatter of the readings with them.
func (f *fit) solve(ctx context.Context) error {
	for p := range f.ps {
		if err := f.begin(ctx, p); err != nil {
			return err
		}
	}
	for round := range scatterRounds {
		f.weigh()
		if err := f.climb(ctx); err != nil {
			return err
		}
		if moved := f.learnScatter(f.spread()); moved < 1e-3 && round > 0 {
			break
		}
	}
	f.spread()
	return nil
}

// begin finds the best start for one process.
func (f *fit) begin(ctx context.Context, p int) error {
	var ss []series
	var at []int
	for k, s := range f.ss {
		if s.proc == p && len(s.obs) > 0 {
			s.proc = 0
			ss = append(ss, s)
			at = append(at, k)
		}
	}
	if len(ss) == 0 {
		return nil
	}
	proc := f.ps[p]
	starts := [][params]float64{proc.mean}
	for _, k := range []float64{-1.5, 1.5} {
		x := proc.mean
		x[iT] += k * proc.sd[iT]
		starts = append(starts, x)
	}
	for k := range ss {
		if x, ok := freely(&ss[k], proc); ok {
			starts = append(starts, x)
			break
		}
	}
	best := math.Inf(1)
	for _, x := range starts {
		g := newFit([]process{proc}, append([]series(nil), ss...))
		copy(g.x, x[:])
		g.weigh()
		if err := g.climb(ctx); err != nil {
			return err
		}
		if g.loss < best-1e-6 {
			best = g.loss
			copy(f.x[params*p:], g.x)
			for k := range g.ss {
				f.ss[at[k]].own = g.ss[k].own
			}
		}
	}
	return nil
}

// freely is a start from the plain exponential through a series' own roughness.
func freely(s *series, p process) ([params]float64, bool) {
	x := p.mean
	var h, ra []float64
	for _, o := range s.obs {
		if rough(o.Kind) {
			h, ra = append(h, o.AtH), append(ra, math.Exp(o.asRa()))
		}
	}
	_, rl, t, err := Exponential(h, ra)
	if err != nil || !(rl > 0) || !(t > 0) {
		return x, false
	}
	x[iT], x[iRL] = math.Log(t), math.Log(rl)
	return x, true
}
