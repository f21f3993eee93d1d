package proof

import (
	"math"

	"fettle/internal/shape/relief"
)

// kink is the turn, about 1°, past which the part's surface is not taken as a
// plane around a cell.
const kink = 0.02

// crest is the height of the crest near a cell that stands v above the part:
// the highest place within a cell of it of the surface that the moves around it
// leave. Only balls are followed; for other ends it is v.
func (m *measured) crest(cell int, v float64) float64 {
	g := m.g
	ci, cj := cell%g.W, cell/g.W
	if ci < 2 || cj < 2 || ci >= g.W-2 || cj >= g.H-2 {
		return v
	}
	var near [25]int32
	k := 0
	for b := cj - 2; b <= cj+2; b++ {
	gather:
		for a := ci - 2; a <= ci+2; a++ {
			n := b*g.W + a
			o := m.owner[n]
			if o < 0 || math.IsNaN(float64(m.part.Z[n])) {
				return v
			}
			if t := m.tools[m.list[o].Tool]; t.Corner < t.Radius {
				return v
			}
			for _, have := range near[:k] {
				if have == o {
					continue gather
				}
			}
			near[k] = o
			k++
		}
	}
	if k == 1 {
		return v
	}
	// The part around the cell as a plane through its neighbours.
	z := func(a, b int) float64 { return float64(m.part.Z[b*g.W+a]) + m.part.Base }
	gx, gy := (z(ci+1, cj)-z(ci-1, cj))/(2*g.DX), (z(ci, cj+1)-z(ci, cj-1))/(2*g.DY)
	x0, y0, z0 := g.X(ci), g.Y(cj), z(ci, cj)
	// An edge or a kink of the model within the cell's neighbours makes no plane.
	if !(math.Abs(z(ci+1, cj)+z(ci-1, cj)-2*z0) < kink*g.DX) || !(math.Abs(z(ci, cj+1)+z(ci, cj-1)-2*z0) < kink*g.DY) {
		return v
	}
	lean := 1 / math.Sqrt(1+gx*gx+gy*gy)
	over := func(dx, dy float64) float64 {
		low := math.Inf(1)
		for _, o := range near[:k] {
			mv := &m.list[o]
			low = math.Min(low, ballHeight(mv, m.tools[mv.Tool].Radius, x0+dx, y0+dy))
		}
		return (low - z0 - gx*dx - gy*dy) * lean
	}
	bx, by, best := 0.0, 0.0, v
	for span := 1.0; span > 0.02; span *= 0.4 {
		mx, my := bx, by
		for b := -2; b <= 2; b++ {
			for a := -2; a <= 2; a++ {
				dx, dy := mx+span*float64(a)/2*g.DX, my+span*float64(b)/2*g.DY
				if h := over(dx, dy); h > best && !math.IsInf(h, 1) {
					bx, by, best = dx, dy, h
				}
			}
		}
	}
	return best
}

// ballHeight is the height at which a ball that makes a straight move leaves a
// place, +Inf where it does not come. Over the place stands the ball whose axis
// is at t along the move in plan; its height is convex in t and least where the
// ball's slope along the move is the move's.
func ballHeight(m *relief.Move, r, x, y float64) float64 {
	ex, ey := m.To[0]-m.From[0], m.To[1]-m.From[1]
	l := math.Hypot(ex, ey)
	px, py := x-m.From[0], y-m.From[1]
	if l == 0 {
		q := r*r - px*px - py*py
		if q < 0 {
			return math.Inf(1)
		}
		return math.Min(m.From[2], m.To[2]) + r - math.Sqrt(q)
	}
	ex, ey = ex/l, ey/l
	a, b := px*ex+py*ey, py*ex-px*ey
	q := r*r - b*b
	if q < 0 {
		return math.Inf(1)
	}
	slope := (m.To[2] - m.From[2]) / l
	t := a - math.Sqrt(q)*slope/math.Sqrt(1+slope*slope)
	t = math.Min(math.Max(t, 0), l)
	q -= (a - t) * (a - t)
	if q < 0 {
		return math.Inf(1)
	}
	return m.From[2] + slope*t + r - math.Sqrt(q)
}
