package cusp

import (
	"context"
	"math"

	"fettle"
	"fettle/internal/shape/relief"

	"gonum.org/v1/gonum/mat"
)

// quadric is a surface z = c0 + c1·x + c2·y + c3·x² + c4·xy + c5·y² about a point
// of the plan: the slope and the bends of a small piece of a part.
type quadric struct {
	x, y float64
	c    [6]float64
}

func (q *quadric) at(x, y float64) float64 {
	x -= q.x
	y -= q.y
	return q.c[0] + q.c[1]*x + q.c[2]*y + q.c[3]*x*x + q.c[4]*x*y + q.c[5]*y*y
}

// fitCells is how many places along a piece the quadric is fitted to.
const fitCells = 96

// smooth fits a quadric to the model over a piece by least squares. facetUM is
// how far the model goes up and down about it, which on a smooth face is mostly
// the work of its facets.
func (s *scene) smooth(ctx context.Context, sp spot) (q *quadric, facetUM float64, err error) {
	g := relief.Cover(sp.x, sp.y, sp.x+sp.w, sp.y+sp.h, sp.w/fitCells)
	part, err := relief.Raster(ctx, s.mesh, s.frame, g, s.zone.Facets)
	if err != nil {
		return nil, 0, err
	}
	q = &quadric{x: sp.x + sp.w/2, y: sp.y + sp.h/2}
	// Lengths are taken in halves of the piece, so that all terms are alike.
	unit := sp.w / 2
	var rows, rhs []float64
	for j := range g.H {
		for i := range g.W {
			z := part.At(i, j)
			if math.IsNaN(z) {
				continue
			}
			x, y := (g.X(i)-q.x)/unit, (g.Y(j)-q.y)/unit
			rows = append(rows, 1, x, y, x*x, x*y, y*y)
			rhs = append(rhs, z)
		}
	}
	if len(rhs) < 6 {
		return nil, 0, fettle.Errorf(fettle.NotFound, "zone %q is not there where its piece was looked for", s.zone.ID)
	}
	var c mat.VecDense
	if err := c.SolveVec(mat.NewDense(len(rhs), 6, rows), mat.NewVecDense(len(rhs), rhs)); err != nil {
		return nil, 0, fettle.Errorf(fettle.NotFound, "zone %q has no surface where its piece was looked for", s.zone.ID)
	}
	for k, by := range [6]float64{1, unit, unit, unit * unit, unit * unit, unit * unit} {
		q.c[k] = c.AtVec(k) / by
	}
	lo, hi := math.Inf(1), math.Inf(-1)
	for j := range g.H {
		for i := range g.W {
			if z := part.At(i, j); !math.IsNaN(z) {
				d := z - q.at(g.X(i), g.Y(j))
				lo, hi = math.Min(lo, d), math.Max(hi, d)
			}
		}
	}
	return q, (hi - lo) * 1000, nil
}

// rolled is a ball that rolls on a quadric.
type rolled struct {
	q *quadric
	t relief.Tool
}

// Tool is the ball.
func (r rolled) Tool() relief.Tool { return r.t }

// At finds the place (u, v) that the ball over (x, y) touches: its normal points
// at the ball's middle, so (u, v) − R·∇z/√(1+|∇z|²) = (x, y), solved by Newton's
// steps. ok is false where the surface is hollower than the ball, or bends so
// tightly that the steps find no end.
func (r rolled) At(x, y float64) (z, gx, gy float64, ok bool) {
	c, ball := &r.q.c, r.t.Radius
	u, v := x, y
	for range 40 {
		dx, dy := u-r.q.x, v-r.q.y
		gx, gy = c[1]+2*c[3]*dx+c[4]*dy, c[2]+c[4]*dx+2*c[5]*dy
		k := math.Sqrt(1 + gx*gx + gy*gy)
		fu, fv := u-ball*gx/k-x, v-ball*gy/k-y
		// d(∇z/k) = (I/k − ∇z·∇zᵀ/k³)·H, and H is constant.
		a, b, d := 1/k-gx*gx/(k*k*k), -gx*gy/(k*k*k), 1/k-gy*gy/(k*k*k)
		huu, huv, hvv := 2*c[3], c[4], 2*c[5]
		j11, j12 := 1-ball*(a*huu+b*huv), -ball*(a*huv+b*hvv)
		j21, j22 := -ball*(b*huu+d*huv), 1-ball*(b*huv+d*hvv)
		det := j11*j22 - j12*j21
		if det <= 1e-9 || j11+j22 <= 0 {
			return math.NaN(), 0, 0, false
		}
		du, dv := (fu*j22-fv*j12)/det, (fv*j11-fu*j21)/det
		u -= du
		v -= dv
		if math.Abs(du)+math.Abs(dv) < 1e-13*(1+ball) {
			return r.q.at(u, v) - ball*(1-1/k), gx, gy, true
		}
	}
	return math.NaN(), 0, 0, false
}
