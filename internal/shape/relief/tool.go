package relief

import "math"

// Ball, Bull and Flat make the three ends that cutters have; lengths in mm.
func Ball(radius float64) Tool { return Tool{radius, radius} }

// Bull is an end of the given radius whose edge is rounded.
func Bull(radius, corner float64) Tool { return Tool{radius, corner} }

// Flat is an end with a square edge.
func Flat(radius float64) Tool { return Tool{Radius: radius} }

// flat is the radius of the level middle of the end.
func (t Tool) flat() float64 { return t.Radius - t.Corner }

// isBall is true where no level middle is left.
func (t Tool) isBall() bool { return t.Corner >= t.Radius }

// rise is how far the end stands above its tip at r from its axis, r ≤ Radius.
func (t Tool) rise(r float64) float64 {
	d := r - t.flat()
	if d <= 0 {
		return 0
	}
	return t.Corner - math.Sqrt(math.Max(0, t.Corner*t.Corner-d*d))
}

// steepest bounds slopes, which have no end at the rim of a tool.
const steepest = 1e9

// slope is the derivative of rise.
func (t Tool) slope(r float64) float64 {
	d := r - t.flat()
	if d <= 0 || t.Corner == 0 {
		return 0
	}
	s := t.Corner*t.Corner - d*d
	if s <= d*d/(steepest*steepest) {
		return steepest
	}
	return d / math.Sqrt(s)
}

// lag is by how much the place that a move with slope m forms trails the tool's
// axis, at b beside it, |b| ≤ Radius: the w ≥ 0 at which the end's slope along
// the move is |m|.
//
// For a ball it has a closed form, the edge of a flat end is where it is, and
// for a bull nose the slope is solved for: it grows with w, from 0 at the rim of
// the level middle to infinity at the outside.
func (t Tool) lag(b, m float64) float64 {
	m = math.Abs(m)
	out := math.Sqrt(math.Max(0, t.Radius*t.Radius-b*b))
	switch {
	case m == 0:
		return 0
	case t.Corner == 0:
		return out
	case t.isBall():
		return out * m / math.Sqrt(1+m*m)
	}
	f := t.flat()
	lo, hi := math.Sqrt(math.Max(0, f*f-b*b)), out
	// With d = r − f the end's slope is d/√(c²−d²), and its part along the move
	// is w/r of that. Solved for d/c the condition has no pole:
	// d/c = 1/√(1+v²) with v = w/(m·r); left minus right grows with w.
	w := math.Min(hi, math.Max(lo, f+t.Corner*m/math.Sqrt(1+m*m)))
	for range 60 {
		r := math.Sqrt(w*w + b*b)
		if r == 0 {
			break
		}
		v := w / (m * r)
		q := 1 / math.Sqrt(1+v*v)
		g := (r-f)/t.Corner - q
		if g > 0 {
			hi = w
		} else {
			lo = w
		}
		next := w - g/(w/(r*t.Corner)+v*q*q*q*b*b/(m*r*r*r))
		if !(next > lo && next < hi) {
			next = (lo + hi) / 2
		}
		if math.Abs(next-w) < 1e-12*t.Radius {
			return next
		}
		w = next
	}
	return w
}
