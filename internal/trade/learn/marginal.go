package learn

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// A time constant read on ten places is not quite log-normal, and the scatter of
// the readings is not quite known. So the numbers that a process's own readings
// bear on are integrated on a grid, with Laplace's approximation for all others at
// each node and the scatter of each run summed over (integrated nested Laplace:
// Rue, Martino and Chopin, J. R. Stat. Soc. B 71 (2009) 319). What its kin say comes
// in as the normal prior that is left when its own readings are taken out of the
// joint posterior.

const (
	gridReach = 4.8 // standard deviations of the joint approximation
	gridNodes = 15  // along each axis
	// With more runs the posterior is narrow and normal.
	mostRuns = 12
)

// quantiles of a logarithm, at the shares of [levels].
type quantiles [5]float64

var levels = [5]float64{0.025, 0.1, 0.5, 0.9, 0.975}

// cavity is what is known of a process without its own readings.
type cavity struct {
	proc   int
	series []*series
	mean   [params]float64
	prec   [params][params]float64
	mode   [params]float64
	cov    [params][params]float64
	early  float64
	sums   []scatterSum
}

// cavityOf takes the readings of a process out of the posterior at its mode.
func (f *fit) cavityOf(p int, rs []reduced) (c cavity, ok bool) {
	c = cavity{proc: p, early: f.ps[p].prior.TransientUM}
	at := params * p
	cov := mat.NewSymDense(params, nil)
	for i := range params {
		c.mode[i] = f.x[at+i]
		for j := range params {
			c.cov[i][j] = f.cov.At(at+i, at+j)
			cov.SetSym(i, j, c.cov[i][j])
		}
	}
	prec := invert(cov)
	var g [params]float64
	for k := range f.ss {
		if f.ss[k].proc != p {
			continue
		}
		s := &f.ss[k]
		c.series = append(c.series, s)
		c.sums = append(c.sums, f.sumOver(s))
		for i := range params {
			g[i] += rs[k].g[i]
			for j := i; j < params; j++ {
				prec.SetSym(i, j, prec.At(i, j)-rs[k].a[i][j])
			}
		}
	}
	var ch mat.Cholesky
	if len(c.series) == 0 || len(c.series) > mostRuns || !ch.Factorize(prec) {
		return c, false
	}
	var d mat.VecDense
	_ = ch.SolveVecTo(&d, mat.NewVecDense(params, g[:]))
	for i := range params {
		c.mean[i] = c.mode[i] + d.AtVec(i)
		for j := range params {
			c.prec[i][j] = prec.At(i, j)
		}
	}
	return c, true
}

// scatterSum is the scatter of a run on a grid about what was learned of it.
type scatterSum struct {
	free   []int       // readings whose scatter is not stated
	weight [][]float64 // 1/variance of each of them, by node
	log    []float64   // what the node adds but for the residuals
}

// The scatter far from the limit is summed over about what was learned of it, on
// a scaled inverse χ² prior; that near the limit over all that it may be, with the
// usual and a quarter as the standard deviation of a normal prior that begins at
// none.
const (
	farNodes = 6
	farReach = 3.1 // standard deviations of a variance's logarithm
)

var nearNodes = [...]float64{0.01, 0.05, 0.1, 0.16, 0.23, 0.32, 0.45}

func (f *fit) sumOver(s *series) (sum scatterSum) {
	n := usualFar
	for i, o := range s.obs {
		if o.free {
			sum.free = append(sum.free, i)
			n++
		}
	}
	if len(sum.free) == 0 {
		return sum
	}
	usual := usualScatter()
	for a := range farNodes {
		far := s.noise.far * math.Exp(farReach*(2*float64(a)/(farNodes-1)-1)*math.Sqrt(2/n))
		for b, near := range nearNodes {
			width := 0.0 // of the node's part of the axis
			if b > 0 {
				width += (near - nearNodes[b-1]) / 2
			}
			if b+1 < len(nearNodes) {
				width += (nearNodes[b+1] - near) / 2
			}
			log := -usualFar/2*(math.Log(far)+usual.far/far) - near*near/(3*usual.near) + math.Log(width)
			ws := make([]float64, len(sum.free))
			for i, at := range sum.free {
				v := far + s.obs[at].near*near*near
				ws[i] = 1 / v
				log -= math.Log(v) / 2
			}
			sum.weight, sum.log = append(sum.weight, ws), append(sum.log, log)
		}
	}
	return sum
}

// loss is the negative logarithm of the likelihood of the readings without stated
// scatter, all scatters summed over, from their squared residuals.
func (sum *scatterSum) loss(e2 []float64) float64 {
	best := math.Inf(-1)
	var stack [farNodes * len(nearNodes)]float64
	for k, ws := range sum.weight {
		v := sum.log[k]
		for i, w := range ws {
			v -= w * e2[i] / 2
		}
		stack[k] = v
		best = math.Max(best, v)
	}
	total := 0.0
	for k := range sum.weight {
		total += math.Exp(stack[k] - best)
	}
	return -best - math.Log(total)
}

// at is the logarithm of the posterior density of some numbers of the process,
// all others integrated out by Laplace's approximation: fixed tells which are held
// at x.
func (c *cavity) at(x [params]float64, fixed [params]bool) float64 {
	own := make([][]float64, len(c.series))
	for k, s := range c.series {
		own[k] = append([]float64(nil), s.own...)
	}
	// The others begin where the joint approximation expects them.
	c.expect(&x, fixed)
	var det float64
	rs := make([]reduced, len(c.series))
	for round := range 3 {
		var h [params][params]float64
		var g [params]float64
		det = 0
		r := rates(x[:], c.early)
		for i := range params {
			for j := range params {
				h[i][j] = c.prec[i][j]
				g[i] += c.prec[i][j] * (x[j] - c.mean[j])
			}
		}
		for k, s := range c.series {
			t := *s
			t.own = own[k]
			rs[k] = t.linear(r).reduce(0)
			det += rs[k].det
			for i := range params {
				g[i] += rs[k].g[i]
				for j := range params {
					h[i][j] += rs[k].a[i][j]
				}
			}
		}
		step, d := solveFree(h, g, fixed)
		det += d
		if round == 2 {
			break
		}
		most := 0.0
		for i := range params {
			step[i] = math.Max(-2, math.Min(2, step[i]))
			x[i] -= step[i]
			most = math.Max(most, math.Abs(step[i]))
		}
		for k := range c.series {
			for i := range own[k] {
				du := rs[k].own[i]
				for j := range params {
					du -= rs[k].back[i][j] * step[j]
				}
				own[k][i] -= math.Max(-2, math.Min(2, du))
				most = math.Max(most, math.Abs(du))
			}
		}
		if most < 1e-3 {
			break
		}
	}
	v := det / 2
	for i := range params {
		for j := range params {
			v += (x[i] - c.mean[i]) * c.prec[i][j] * (x[j] - c.mean[j]) / 2
		}
	}
	e2 := make([]float64, 0, 16)
	r := rates(x[:], c.early)
	for k, s := range c.series {
		t := *s
		t.own = own[k]
		e2 = e2[:0]
		r0 := t.start()
		for _, o := range t.obs {
			l := t.likelihood(o, r, r0)
			if o.free {
				e2 = append(e2, l.residual*l.residual)
			} else {
				v += l.loss
			}
		}
		if len(e2) > 0 {
			v += c.sums[k].loss(e2)
		}
		for i, u := range t.own {
			v += t.prec[i] * (u - t.mean[i]) * (u - t.mean[i]) / 2
		}
	}
	return -v
}

// expect sets the numbers that are not held to what the joint approximation
// expects of them beside those that are.
func (c *cavity) expect(x *[params]float64, fixed [params]bool) {
	var h [params][params]float64
	var g [params]float64
	var not [params]bool
	for i := range params {
		not[i] = !fixed[i]
		for j := range params {
			h[i][j] = c.cov[i][j]
		}
		g[i] = x[i] - c.mode[i]
	}
	w, _ := solveFree(h, g, not) // Σ_FF⁻¹ (x_F − mode_F)
	for i := range params {
		if fixed[i] {
			continue
		}
		x[i] = c.mode[i]
		for j := range params {
			if fixed[j] {
				x[i] += c.cov[i][j] * w[j]
			}
		}
	}
}

// solveFree solves for the numbers that are not held, 0 for the others, and
// gives the logarithm of the determinant of their part.
func solveFree(h [params][params]float64, g [params]float64, fixed [params]bool) (x [params]float64, det float64) {
	for i := range params {
		if fixed[i] {
			for j := range params {
				h[i][j], h[j][i] = 0, 0
			}
			h[i][i], g[i] = 1, 0
		}
	}
	for c := range params {
		det += math.Log(h[c][c])
		for r := c + 1; r < params; r++ {
			f := h[r][c] / h[c][c]
			for j := c; j < params; j++ {
				h[r][j] -= f * h[c][j]
			}
			g[r] -= f * g[c]
		}
	}
	for i := params - 1; i >= 0; i-- {
		x[i] = g[i]
		for j := i + 1; j < params; j++ {
			x[i] -= h[i][j] * x[j]
		}
		x[i] /= h[i][i]
	}
	return x, det
}
