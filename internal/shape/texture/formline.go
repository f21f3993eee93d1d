package texture

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
)

// LevelProfile takes a form off a profile of heights in µm, dx mm apart: what
// is left, in µm, and what was taken off; Plane is the line, Cylinder and Sphere
// the circle.
func LevelProfile(z []float64, dxMM float64, form Form) ([]float64, Fitted, error) {
	n := len(z)
	fit := Fitted{Form: form}
	if n == 0 || !(dxMM > 0) {
		return nil, fit, errEmpty
	}
	var height func(i int) float64
	switch form.Shape {
	case AsIs:
		height = func(int) float64 { return 0 }
	case Plane, Polynomial:
		order := 1
		if form.Shape == Polynomial {
			order = form.Order
		}
		if order < 1 || order > maxOrder {
			return nil, fit, fmt.Errorf("texture: a polynomial of order %d cannot be taken off: choose 1 to %d", order, maxOrder)
		}
		c, p, err := fitLine(z, order)
		if err != nil {
			return nil, fit, err
		}
		_, rise := legendreAt0(order)
		for a, v := range c {
			fit.SlopeX += v * rise[a] * scaleTo1(n, dxMM) / 1000
		}
		height = func(i int) float64 {
			s := 0.0
			for a, v := range c {
				s += v * p[a][i]
			}
			return s
		}
	case Cylinder, Sphere:
		h, err := fitCircle(z, dxMM, &fit)
		if err != nil {
			return nil, fit, err
		}
		height = h
	default:
		return nil, fit, fmt.Errorf("texture: form %d is not known", form.Shape)
	}
	out := make([]float64, n)
	sum, count := 0.0, 0
	for i, v := range z {
		out[i] = v - height(i)
		if !math.IsNaN(v) {
			sum += out[i] * out[i]
			count++
		}
	}
	fit.RMSum = math.Sqrt(sum / float64(max(1, count)))
	return out, fit, nil
}

func fitLine(z []float64, order int) (c []float64, p [][]float64, err error) {
	p = legendre(order, len(z))
	normal, right := mat.NewSymDense(order+1, nil), mat.NewVecDense(order+1, nil)
	for a := range order + 1 {
		s := 0.0
		for b := range a + 1 {
			g := 0.0
			for i, v := range z {
				if !math.IsNaN(v) {
					g += p[a][i] * p[b][i]
				}
			}
			normal.SetSym(a, b, g)
		}
		for i, v := range z {
			if !math.IsNaN(v) {
				s += p[a][i] * v
			}
		}
		right.SetVec(a, s)
	}
	if c, err = solve(normal, right); err != nil {
		return nil, nil, fmt.Errorf("texture: the profile's points do not determine a form of order %d: choose a simpler one", order)
	}
	return c, p, nil
}

// fitCircle fits z0 − sag((x − x0)²), in mm from the middle.
func fitCircle(z []float64, dxMM float64, fit *Fitted) (func(i int) float64, error) {
	n := len(z)
	c, _, err := fitLine(z, 2)
	if err != nil {
		return nil, err
	}
	s := scaleTo1(n, dxMM)
	k := -3 * c[2] * s * s / 1000
	if k == 0 {
		return nil, errFlat
	}
	p := [3]float64{0, k, c[1] * s / 1000 / k}
	p[0] = (c[0]-c[2]/2)/1000 + k*p[2]*p[2]/2
	x := func(i int) float64 { return (float64(i) - float64(n-1)/2) * dxMM }
	was, before, step := math.Inf(1), p, [3]float64{}
	for range 60 {
		normal, right, sum := mat.NewSymDense(3, nil), mat.NewVecDense(3, nil), 0.0
		for i, v := range z {
			if math.IsNaN(v) {
				continue
			}
			d := x(i) - p[2]
			h, byS, byK := sag(p[1], d*d)
			by := [3]float64{1, -byK, 2 * byS * d}
			e := v/1000 - (p[0] - h)
			sum += e * e
			for a := range by {
				right.SetVec(a, right.AtVec(a)+by[a]*e)
				for b := range a + 1 {
					normal.SetSym(a, b, normal.At(a, b)+by[a]*by[b])
				}
			}
		}
		if !(sum <= was*(1+1e-12)) {
			if math.IsInf(was, 1) {
				p[1] *= 0.5
				continue
			}
			for i := range step {
				step[i] /= 2
				p[i] = before[i] + step[i]
			}
			continue
		}
		settled := !math.IsInf(was, 1) && was-sum <= 1e-9*was
		was, before = sum, p
		if settled {
			break
		}
		d, err := solve(normal, right)
		if err != nil {
			return nil, errFlat
		}
		copy(step[:], d)
		for i := range step {
			p[i] += step[i]
		}
	}
	p = before
	fit.RadiusMM, fit.X = 1/p[1], p[2]+float64(n-1)/2*dxMM
	h := func(i int) float64 {
		d := x(i) - p[2]
		v, _, _ := sag(p[1], d*d)
		return 1000 * (p[0] - v)
	}
	fit.SlopeX = (h(n/2+1) - h(n/2-1)) / (2000 * dxMM)
	return h, nil
}
