package wear

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"
)

// front is the moving outline: nodes with their exposure.
type front struct {
	law      Law
	closed   bool
	revolved bool
	axis     float64
	finest   float64 // no stretch need be shorter

	x, y, e []float64
	// What a node needs: the length of the stretch to the next one, the turn
	// there, half the length of the stretches on either side, and the normal out of
	// the material, longer than 1 at a corner so that it moves with its faces.
	long, turn, half, nx, ny []float64
	// The equations of a step, and room.
	low, diag, up, rx, ry, re, rz, want []float64
	keep, old                           [3][]float64
	turnStep                            float64 // see space.go
}

// finestShare is the shortest stretch worth having against the size of all.
const finestShare = 1.0 / 20000

func newFront(s Section, law Law) *front {
	f := &front{law: law, closed: s.Closed, revolved: s.Revolved, axis: s.Axis, turnStep: turnStep}
	lo, hi := s.Points[0], s.Points[0]
	for _, p := range s.Points {
		lo = r2.Vec{X: math.Min(lo.X, p.X), Y: math.Min(lo.Y, p.Y)}
		hi = r2.Vec{X: math.Max(hi.X, p.X), Y: math.Max(hi.Y, p.Y)}
	}
	f.finest = finestShare * r2.Norm(r2.Sub(hi, lo))
	put := func(p r2.Vec, e float64) {
		if k := len(f.x); k == 0 || f.x[k-1] != p.X || f.y[k-1] != p.Y {
			f.x, f.y, f.e = append(f.x, p.X), append(f.y, p.Y), append(f.e, e)
		}
	}
	n := len(s.Points)
	stretches := n - 1
	if s.Closed {
		stretches = n
	}
	for i := range stretches {
		here := s.exposure(i)
		before, after := here, here
		if i > 0 || s.Closed {
			before = s.exposure((i + stretches - 1) % stretches)
		}
		if i < stretches-1 || s.Closed {
			after = s.exposure((i + 1) % stretches)
		}
		p, q := s.Points[i], s.Points[(i+1)%n]
		put(p, (before+here)/2)
		// A node close to where the exposure changes, so that it changes there and
		// not along the whole face.
		d := r2.Sub(q, p)
		if l := r2.Norm(d); l > 4*f.finest {
			d = r2.Scale(f.finest/l, d)
			if before != here {
				put(r2.Add(p, d), here)
			}
			if after != here {
				put(r2.Sub(q, d), here)
			}
		}
	}
	if !s.Closed {
		put(s.Points[n-1], s.exposure(n-2))
	}
	if k := len(f.x) - 1; s.Closed && k > 0 && f.x[k] == f.x[0] && f.y[k] == f.y[0] {
		f.x, f.y, f.e = f.x[:k], f.y[:k], f.e[:k]
	}
	return f
}

// exposure of the stretch from point i.
func (s *Section) exposure(i int) float64 {
	if i >= len(s.Exposure) {
		return 1
	}
	return math.Max(0, s.Exposure[i])
}

func (f *front) points() []r2.Vec {
	out := make([]r2.Vec, len(f.x))
	for i := range out {
		out[i] = r2.Vec{X: f.x[i], Y: f.y[i]}
	}
	return out
}

// sharpest is the turn at a node beyond which it is taken for this much: 2 rad.
const sharpest = 2.0

// measure takes lengths, turns and normals.
func (f *front) measure() {
	n := len(f.x)
	for _, s := range []*[]float64{&f.long, &f.turn, &f.half, &f.nx, &f.ny, &f.low, &f.diag, &f.up, &f.rx, &f.ry, &f.re, &f.rz, &f.want} {
		if cap(*s) < n {
			*s = make([]float64, n, 2*n)
		}
		*s = (*s)[:n]
	}
	for i := range n {
		j := i + 1
		if j == n {
			j = 0
		}
		f.long[i] = math.Hypot(f.x[j]-f.x[i], f.y[j]-f.y[i])
	}
	for i := range n {
		h, j := i-1, i+1
		if i == 0 {
			h = n - 1
		}
		if j == n {
			j = 0
		}
		if !f.closed && (i == 0 || i == n-1) {
			if i == 0 {
				h = i
			} else {
				j = i
			}
			l := f.long[h]
			f.turn[i], f.half[i] = 0, l
			f.nx[i], f.ny[i] = (f.y[j]-f.y[h])/l, (f.x[h]-f.x[j])/l
			continue
		}
		ax, ay, bx, by := f.x[i]-f.x[h], f.y[i]-f.y[h], f.x[j]-f.x[i], f.y[j]-f.y[i]
		l := f.long[h] + f.long[i]
		f.turn[i], f.half[i] = math.Atan2(ax*by-ay*bx, ax*bx+ay*by), l/2
		// The way that leaves both stretches behind by 1, as far as it can.
		p, q := 1/f.long[h], 1/f.long[i]
		mx, my := p*ay+q*by, -p*ax-q*bx
		k := 2 / math.Max(mx*mx+my*my, 0.25)
		f.nx[i], f.ny[i] = k*mx, k*my
	}
}

// across is the curvature κ₂ at node i.
func (f *front) across(i int) float64 {
	if !f.revolved {
		return 0
	}
	h, j := max(i-1, 0), min(i+1, len(f.x)-1)
	if f.closed {
		h, j = (i+len(f.x)-1)%len(f.x), (i+1)%len(f.x)
	}
	d := f.x[i] - f.axis
	if d == 0 || (f.x[h]-f.axis)*(f.x[j]-f.axis) <= 0 {
		return f.turn[i] / f.half[i] // on the axis the two are the same
	}
	return f.nx[i] / math.Hypot(f.nx[i], f.ny[i]) / d
}

// viscous is the least diffusion, against speed times length of a stretch, that
// keeps a front without curvature in its law from tying knots.
const viscous = 0.25

// step moves the front by dt: two backward Euler steps of half the time against
// one of the whole, and as much again as they are apart (Richardson): of second
// order, and stable for any step.
func (f *front) step(dt float64) {
	f.measure()
	f.euler(dt)
	n := len(f.x)
	for k, r := range [][]float64{f.rx, f.ry, f.re} {
		f.keep[k] = append(f.keep[k][:0], r...)
	}
	f.euler(dt / 2)
	for k, r := range []*[]float64{&f.x, &f.y, &f.e} {
		f.old[k] = append(f.old[k][:0], *r...)
	}
	copy(f.x, f.rx)
	copy(f.y, f.ry)
	copy(f.e, f.re)
	f.measure()
	f.euler(dt / 2)
	for i := range n {
		x, y := 2*f.rx[i]-f.keep[0][i], 2*f.ry[i]-f.keep[1][i]
		ox, oy := f.old[0][i], f.old[1][i]
		if (x-ox)*f.nx[i]+(y-oy)*f.ny[i] > 0 {
			x, y = ox, oy // never out of the material, whatever the neighbours did
		}
		f.x[i], f.y[i] = x, y
		f.e[i] = math.Max(0, 2*f.re[i]-f.keep[2][i])
	}
}

// euler is one backward Euler step, left in rx, ry and re: linear in the new
// places, with lengths, normals and the curvature across as measured. Since the
// turn of the whole outline is kept, a closed convex one loses area at the rate
// of its length plus 2πb.
func (f *front) euler(dt float64) {
	n := len(f.x)
	for i := range n {
		even, along := f.law.split(f.across(i))
		e := f.e[i]
		if !f.closed && (i == 0 || i == n-1) {
			along = 0
		} else if even+along*f.turn[i]/f.half[i] <= 0 {
			even, along = 0, 0
		} else {
			if t := math.Min(math.Abs(f.turn[i]), sharpest); t > 1e-4 {
				along *= t / math.Sin(t)
			}
			along = math.Max(along, viscous*even*f.half[i])
		}
		h := i - 1
		if h < 0 {
			h = n - 1
		}
		f.low[i] = dt * e * along / (f.half[i] * f.long[h])
		f.up[i] = dt * e * along / (f.half[i] * f.long[i])
		f.diag[i] = 1 + f.low[i] + f.up[i]
		f.rx[i] = f.x[i] - dt*e*even*f.nx[i]
		f.ry[i] = f.y[i] - dt*e*even*f.ny[i]
		f.re[i] = e
	}
	f.solve()
}

// solve does the three systems with one tridiagonal matrix, −low, diag, −up
// (Thomas); a closed front's two corner entries come in by Sherman and Morrison
// (Press et al., Numerical Recipes, "Cyclic tridiagonal systems").
func (f *front) solve() {
	n := len(f.x)
	low, diag, up := f.low, f.diag, f.up
	gamma, alpha, beta := 0.0, -up[n-1], -low[0] // alpha: last row, first column
	if f.closed {
		gamma = -diag[0]
		diag[0] -= gamma
		diag[n-1] -= alpha * beta / gamma
		for i := range f.rz {
			f.rz[i] = 0
		}
		f.rz[0], f.rz[n-1] = gamma, alpha
	}
	// Forward, with diag becoming its inverse.
	diag[0] = 1 / diag[0]
	for i := 1; i < n; i++ {
		m := low[i] * diag[i-1]
		diag[i] = 1 / (diag[i] - m*up[i-1])
		f.rx[i] += m * f.rx[i-1]
		f.ry[i] += m * f.ry[i-1]
		f.re[i] += m * f.re[i-1]
		f.rz[i] += m * f.rz[i-1]
	}
	f.rx[n-1] *= diag[n-1]
	f.ry[n-1] *= diag[n-1]
	f.re[n-1] *= diag[n-1]
	f.rz[n-1] *= diag[n-1]
	for i := n - 2; i >= 0; i-- {
		f.rx[i] = (f.rx[i] + up[i]*f.rx[i+1]) * diag[i]
		f.ry[i] = (f.ry[i] + up[i]*f.ry[i+1]) * diag[i]
		f.re[i] = (f.re[i] + up[i]*f.re[i+1]) * diag[i]
		f.rz[i] = (f.rz[i] + up[i]*f.rz[i+1]) * diag[i]
	}
	if !f.closed {
		return
	}
	k := beta / gamma
	for _, r := range [][]float64{f.rx, f.ry, f.re} {
		s := (r[0] + k*r[n-1]) / (1 + f.rz[0] + k*f.rz[n-1])
		for i := range r {
			r[i] -= s * f.rz[i]
		}
	}
}
