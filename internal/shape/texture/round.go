package texture

import (
	"context"
	"fmt"
	"math"

	"fettle/internal/shape/relief"

	"gonum.org/v1/gonum/mat"
)

// round is a sphere or a cylinder as heights over the plane, from the middle of
// the map in mm. A sphere of curvature k with its top at (x0, y0) is
// z0 − sag(r²), sag(s) = ks/(1 + √(1 − k²s)). A cylinder with its axis in the
// direction angle, rising by t along it, is z0 + t·u − √(1+t²)·sag((v−v0)²), u
// along and v across: its upright sections across are ellipses, √(1+t²) times
// as high as wide.
type round struct {
	cylinder bool
	m        *relief.Map
	base     float32
	// sphere: z0, k, x0, y0; cylinder: z0, k, angle, v0, t
	p [5]float64
}

func (r *round) unknowns() int {
	if r.cylinder {
		return 5
	}
	return 4
}

// sag is the drop at distance √s, with its derivatives by s and k. Past a
// quarter turn there is no surface: it is NaN there.
func sag(k, s float64) (v, byS, byK float64) {
	root := math.Sqrt(1 - k*k*s)
	v = k * s / (1 + root)
	byS = k / (2 * root)
	byK = s/(1+root) + k*k*s*s/(root*(1+root)*(1+root))
	return v, byS, byK
}

// at is the height and its derivatives by the unknowns.
func (r *round) at(x, y float64) (z float64, by [5]float64) {
	p := &r.p
	if !r.cylinder {
		dx, dy := x-p[2], y-p[3]
		v, byS, byK := sag(p[1], dx*dx+dy*dy)
		return p[0] - v, [5]float64{1, -byK, 2 * byS * dx, 2 * byS * dy}
	}
	s, c := math.Sincos(p[2])
	u, w := c*x+s*y, c*y-s*x-p[3]
	t := p[4]
	g := math.Sqrt(1 + t*t)
	v, byS, byK := sag(p[1], w*w)
	slope := -g * 2 * byS * w // by w
	// Turning by da moves u by v da and v by −u da.
	return p[0] + t*u - g*v, [5]float64{1, -g * byK, t*(w+p[3]) - slope*u, -slope, u - t/g*v}
}

func (r *round) xy(i, j int) (x, y float64) {
	m := r.m
	return (float64(i) - float64(m.W-1)/2) * m.DX, (float64(j) - float64(m.H-1)/2) * m.DY
}

func (r *round) row(j int, into []float64) {
	for i := range into {
		into[i], _ = r.at(r.xy(i, j))
	}
}

// fitRound starts from the best surface of second order.
func fitRound(ctx context.Context, m *relief.Map, base float32, cylinder bool) (*round, error) {
	q, err := fitPoly(ctx, m, base, 2)
	if err != nil {
		return nil, err
	}
	r := &round{cylinder: cylinder, m: m, base: base}
	// z = c + bx x + by y + (hxx x² + 2 hxy xy + hyy y²)/2 from the middle, mm.
	sx, sy := scaleTo1(m.W, m.DX), scaleTo1(m.H, m.DY)
	bx, by := q.slopes(m)
	hxx, hyy, hxy := 3*q.c[2][0]*sx*sx, 3*q.c[0][2]*sy*sy, q.c[1][1]*sx*sy
	z0 := q.c[0][0] - q.c[2][0]/2 - q.c[0][2]/2
	if cylinder {
		// The axis runs where the surface bends least.
		angle := 0.5 * math.Atan2(2*hxy, hxx-hyy) // of one main direction
		bend := func(a float64) float64 {
			s, c := math.Sincos(a)
			return hxx*c*c + 2*hxy*s*c + hyy*s*s
		}
		if math.Abs(bend(angle)) > math.Abs(bend(angle+math.Pi/2)) {
			angle += math.Pi / 2
		}
		s, c := math.Sincos(angle)
		k := -bend(angle + math.Pi/2)
		across, along := c*by-s*bx, c*bx+s*by
		if k == 0 {
			return nil, errFlat
		}
		v0 := across / k
		r.p = [5]float64{z0 + k*v0*v0/2, k, angle, v0, along}
	} else {
		k := -(hxx + hyy) / 2
		if k == 0 {
			return nil, errFlat
		}
		x0, y0 := bx/k, by/k
		r.p = [5]float64{z0 + k*(x0*x0+y0*y0)/2, k, x0, y0}
	}
	// Rows far apart bring it near, all cells settle it.
	for _, skip := range []int{max(1, m.Cells()/100000), 1} {
		if err := r.settle(ctx, skip); err != nil {
			return nil, err
		}
	}
	return r, nil
}

var errFlat = fmt.Errorf("texture: the map has no curvature that a radius could be told from: take off a plane instead")

// settle takes Gauss and Newton's steps over every skip-th cell until they
// change nothing, each halved while it makes the fit worse.
func (r *round) settle(ctx context.Context, skip int) error {
	k := r.unknowns()
	was := math.Inf(1)
	var step, before [5]float64
	for try := 0; try < 60; try++ {
		normal, right, sum, err := r.equations(ctx, skip)
		if err != nil {
			return err
		}
		if !(sum <= was*(1+1e-12)) { // NaN too: past the edge of the shape
			if math.IsInf(was, 1) {
				r.p[1] *= 0.5 // the first guess did not reach over the map
				continue
			}
			for i := range step {
				step[i] /= 2
				r.p[i] = before[i] + step[i]
			}
			continue
		}
		if !math.IsInf(was, 1) && was-sum <= 1e-9*was {
			return nil
		}
		was, before = sum, r.p
		x, err := solve(normal, right)
		if err != nil {
			return errFlat
		}
		step = [5]float64{}
		copy(step[:k], x)
		for i := range step {
			r.p[i] += step[i]
		}
	}
	r.p = before
	return nil
}

// equations are the normal equations of a step, and the sum of squares.
func (r *round) equations(ctx context.Context, skip int) (*mat.SymDense, *mat.VecDense, float64, error) {
	type sums struct {
		a   [5][5]float64
		b   [5]float64
		sum float64
	}
	m, k := r.m, r.unknowns()
	pieces := make([]sums, (m.H+bandRows-1)/bandRows)
	err := bands(ctx, m.H, bandRows, func(piece, lo, hi int) {
		s := &pieces[piece]
		for at := (lo*m.W + skip - 1) / skip * skip; at < hi*m.W; at += skip {
			v := m.Z[at]
			if v != v {
				continue
			}
			z, by := r.at(r.xy(at%m.W, at/m.W))
			d := float64(v-r.base) - z
			s.sum += d * d
			for i := range k {
				s.b[i] += by[i] * d
				for j := range i + 1 {
					s.a[i][j] += by[i] * by[j]
				}
			}
		}
	})
	if err != nil {
		return nil, nil, 0, err
	}
	normal, right, sum := mat.NewSymDense(k, nil), mat.NewVecDense(k, nil), 0.0
	for p := range pieces {
		s := &pieces[p]
		sum += s.sum
		for i := range k {
			right.SetVec(i, right.AtVec(i)+s.b[i])
			for j := range i + 1 {
				normal.SetSym(i, j, normal.At(i, j)+s.a[i][j])
			}
		}
	}
	return normal, right, sum, nil
}

// report says what the unknowns mean.
func (r *round) report(m *relief.Map, fit *Fitted) {
	fit.RadiusMM = 1 / r.p[1]
	midX, midY := m.X0+float64(m.W-1)/2*m.DX, m.Y0+float64(m.H-1)/2*m.DY
	if r.cylinder {
		s, c := math.Sincos(r.p[2])
		fit.AxisDeg = wrap180(r.p[2] * 180 / math.Pi)
		fit.X, fit.Y = midX-s*r.p[3], midY+c*r.p[3]
	} else {
		fit.X, fit.Y = midX+r.p[2], midY+r.p[3]
	}
	const d = 1e-4
	xp, _ := r.at(d, 0)
	xm, _ := r.at(-d, 0)
	yp, _ := r.at(0, d)
	ym, _ := r.at(0, -d)
	fit.SlopeX, fit.SlopeY = (xp-xm)/(2*d), (yp-ym)/(2*d)
}
