package texture

import (
	"context"
	"fmt"
	"math"

	"fettle/internal/shape/relief"

	"gonum.org/v1/gonum/mat"
)

// Shape is a kind of form.
type Shape int

const (
	AsIs Shape = iota // nothing is taken off
	Plane
	Cylinder // in a profile, a circle
	Sphere   // in a profile, a circle
	Polynomial
)

// Form is a shape to be taken off; Order is the greatest total degree of a
// polynomial.
type Form struct {
	Shape Shape
	Order int
}

const maxOrder = 12

// ParseForm reads none, plane, cylinder, sphere, or poly followed by an order
// from 1 to 12.
func ParseForm(s string) (Form, error) {
	switch s {
	case "none":
		return Form{Shape: AsIs}, nil
	case "plane":
		return Form{Shape: Plane}, nil
	case "cylinder":
		return Form{Shape: Cylinder}, nil
	case "sphere":
		return Form{Shape: Sphere}, nil
	}
	var f Form
	if n, _ := fmt.Sscanf(s, "poly%d", &f.Order); n == 1 && fmt.Sprintf("poly%d", f.Order) == s && f.Order >= 1 && f.Order <= maxOrder {
		f.Shape = Polynomial
		return f, nil
	}
	return Form{}, fmt.Errorf("texture: form %q is not known: write none, plane, cylinder, sphere or poly1 to poly%d", s, maxOrder)
}

// Fitted is the form that was taken off.
type Fitted struct {
	Form
	SlopeX, SlopeY float64 // of the plane; for others at the middle of the map, mm per mm
	RadiusMM       float64 // cylinder, sphere: greater than 0 for a crest, less for a hollow; ±Inf where flat
	AxisDeg        float64 // cylinder: its axis from X towards Y, 0 to 180
	// X, Y is the top or bottom of a sphere; for a cylinder the point of its axis
	// nearest to the map's middle. mm.
	X, Y  float64
	RMSum float64 // root mean square of what is left, µm
}

// Level takes a form off a map: least squares of the heights over the present
// cells. It returns what is left, with a base of 0, and what was taken off.
// Heights of a cylinder or a sphere are those of the true shape, found by Gauss
// and Newton's steps from the best second-order surface.
func Level(ctx context.Context, m *relief.Map, form Form) (*relief.Map, Fitted, error) {
	fit := Fitted{Form: form}
	if m.Cells() == 0 || len(m.Z) != m.Cells() {
		return nil, fit, errEmpty
	}
	base, some := middle(m)
	if !some {
		return nil, fit, errEmpty
	}
	var height func(j int, into []float64) // form over row j, from base
	var err error
	switch form.Shape {
	case AsIs:
		off := -m.Base - float64(base)
		height = func(_ int, into []float64) {
			for i := range into {
				into[i] = off
			}
		}
	case Plane, Polynomial:
		order := 1
		if form.Shape == Polynomial {
			order = form.Order
		}
		if order < 1 || order > maxOrder {
			return nil, fit, fmt.Errorf("texture: a polynomial of order %d cannot be taken off: choose 1 to %d", order, maxOrder)
		}
		var p *poly
		if p, err = fitPoly(ctx, m, base, order); err == nil {
			fit.SlopeX, fit.SlopeY = p.slopes(m)
			height = p.row
		}
	case Cylinder, Sphere:
		var r *round
		if r, err = fitRound(ctx, m, base, form.Shape == Cylinder); err == nil {
			r.report(m, &fit)
			height = r.row
		}
	default:
		err = fmt.Errorf("texture: form %d is not known", form.Shape)
	}
	if err != nil {
		return nil, fit, err
	}
	out := &relief.Map{Grid: m.Grid, Z: make([]float32, m.Cells())}
	sums, counts := make([]float64, m.H), make([]int, m.H)
	err = bands(ctx, m.H, bandRows, func(_, lo, hi int) {
		form := make([]float64, m.W)
		for j := lo; j < hi; j++ {
			height(j, form)
			dst := out.Z[j*m.W : (j+1)*m.W]
			for i, v := range m.Z[j*m.W : (j+1)*m.W] {
				d := float64(v-base) - form[i]
				dst[i] = float32(d)
				if d == d {
					sums[j] += d * d
					counts[j]++
				}
			}
		}
	})
	sum, n := 0.0, 0
	for j := range sums {
		sum, n = sum+sums[j], n+counts[j]
	}
	fit.RMSum = 1000 * math.Sqrt(sum/float64(max(1, n)))
	return out, fit, err
}

// poly is a polynomial in products of Legendre polynomials over the map, each
// direction scaled to −1 … 1: on a full map those are nearly orthogonal, and the
// normal equations as good as diagonal.
type poly struct {
	order int
	x     [][]float64 // x[a][i]: degree a at column i
	y     [][]float64
	c     [][]float64 // c[a][b], a + b ≤ order
}

// legendre gives degrees 0 … order at n even places from −1 to 1.
func legendre(order, n int) [][]float64 {
	p := make([][]float64, order+1)
	for a := range p {
		p[a] = make([]float64, n)
		for i := range p[a] {
			u := 0.0
			if n > 1 {
				u = 2*float64(i)/float64(n-1) - 1
			}
			switch a {
			case 0:
				p[a][i] = 1
			case 1:
				p[a][i] = u
			default:
				k := float64(a)
				p[a][i] = ((2*k-1)*u*p[a-1][i] - (k-1)*p[a-2][i]) / k
			}
		}
	}
	return p
}

// fitPoly sums row by row: a row gives the products of its degrees with each
// other (the same for every full row) and with the heights.
func fitPoly(ctx context.Context, m *relief.Map, base float32, order int) (*poly, error) {
	p := &poly{order: order, x: legendre(order, m.W), y: legendre(order, m.H)}
	n := order + 1
	gram := func(weight []float64) []float64 {
		g := make([]float64, n*n)
		for a := range n {
			for b := range a + 1 {
				s := 0.0
				for i, w := range weight {
					s += w * p.x[a][i] * p.x[b][i]
				}
				g[a*n+b], g[b*n+a] = s, s
			}
		}
		return g
	}
	ones := make([]float64, m.W)
	for i := range ones {
		ones[i] = 1
	}
	full := gram(ones)
	grams, rights := make([][]float64, m.H), make([]float64, m.H*n)
	err := bands(ctx, m.H, bandRows, func(_, lo, hi int) {
		there, z := make([]float64, m.W), make([]float64, m.W)
		for j := lo; j < hi; j++ {
			whole := true
			for i, v := range m.Z[j*m.W : (j+1)*m.W] {
				there[i], z[i] = 1, float64(v-base)
				if v != v {
					there[i], z[i], whole = 0, 0, false
				}
			}
			grams[j] = full
			if !whole {
				grams[j] = gram(there)
			}
			for a := range n {
				s := 0.0
				for i, v := range p.x[a] {
					s += v * z[i]
				}
				rights[j*n+a] = s
			}
		}
	})
	if err != nil {
		return nil, err
	}
	var terms [][2]int
	for d := range n { // lower degrees first: they stay when there is too little for more
		for b := range d + 1 {
			terms = append(terms, [2]int{d - b, b})
		}
	}
	k := len(terms)
	normal, right := mat.NewSymDense(k, nil), mat.NewVecDense(k, nil)
	for s, t := range terms {
		for r := range s + 1 {
			u := terms[r]
			v := 0.0
			for j := range m.H {
				v += p.y[t[1]][j] * p.y[u[1]][j] * grams[j][t[0]*n+u[0]]
			}
			normal.SetSym(s, r, v)
		}
		v := 0.0
		for j := range m.H {
			v += p.y[t[1]][j] * rights[j*n+t[0]]
		}
		right.SetVec(s, v)
	}
	x, err := solve(normal, right)
	if err != nil {
		return nil, fmt.Errorf("texture: %d by %d cells do not determine a form of order %d: choose a simpler one", m.W, m.H, order)
	}
	p.c = make([][]float64, n)
	for a := range p.c {
		p.c[a] = make([]float64, n)
	}
	for i, t := range terms {
		p.c[t[0]][t[1]] = x[i]
	}
	return p, nil
}

// solve is for normal equations; unknowns that the data say nothing about
// (columns of a single row) become 0.
func solve(normal *mat.SymDense, right *mat.VecDense) ([]float64, error) {
	k := right.Len()
	scale := make([]float64, k)
	for i := range scale {
		scale[i] = math.Sqrt(normal.At(i, i))
	}
	for i := range k {
		if scale[i] <= 1e-9*scale[0] {
			scale[i] = 1
			for j := range k {
				normal.SetSym(i, j, 0)
			}
			normal.SetSym(i, i, 1)
			right.SetVec(i, 0)
		}
	}
	for i := range k {
		for j := range i + 1 {
			normal.SetSym(i, j, normal.At(i, j)/(scale[i]*scale[j]))
		}
		right.SetVec(i, right.AtVec(i)/scale[i])
	}
	var chol mat.Cholesky
	if !chol.Factorize(normal) || chol.Cond() > 1e12 {
		return nil, fmt.Errorf("singular")
	}
	var x mat.VecDense
	if err := chol.SolveVecTo(&x, right); err != nil {
		return nil, err
	}
	out := make([]float64, k)
	for i := range out {
		out[i] = x.AtVec(i) / scale[i]
	}
	return out, nil
}

// row is the polynomial over row j.
func (p *poly) row(j int, into []float64) {
	clear(into)
	for a := range p.c {
		s := 0.0
		for b, c := range p.c[a] {
			s += c * p.y[b][j]
		}
		if s == 0 {
			continue
		}
		for i, v := range p.x[a] {
			into[i] += s * v
		}
	}
}

// slopes are those at the middle of the map, mm per mm.
func (p *poly) slopes(m *relief.Map) (x, y float64) {
	at, rise := legendreAt0(p.order)
	for a := range p.c {
		for b, c := range p.c[a] {
			x += c * rise[a] * at[b]
			y += c * at[a] * rise[b]
		}
	}
	return x * scaleTo1(m.W, m.DX), y * scaleTo1(m.H, m.DY)
}

// scaleTo1 is how much of −1 … 1 is passed per mm.
func scaleTo1(n int, d float64) float64 {
	if n < 2 {
		return 0
	}
	return 2 / (float64(n-1) * d)
}

// legendreAt0 gives values and derivatives at 0.
func legendreAt0(order int) (at, rise []float64) {
	at, rise = make([]float64, order+1), make([]float64, order+1)
	at[0] = 1
	if order > 0 {
		rise[1] = 1
	}
	for a := 2; a <= order; a++ {
		k := float64(a)
		at[a] = -(k - 1) * at[a-2] / k
		rise[a] = k * at[a-1]
	}
	return at, rise
}
