package region

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"
)

// Offset grows a region by d mm all round, or shrinks it where d is below 0; arcs
// are drawn within tol mm of true, never on the wrong side: what is grown holds
// every point within d, what is shrunk none within −d of the border, but for
// the grid's rounding.
//
// Growing unites the region with a rectangle of width d on every side and a sector
// on every outward corner. The sum of all their outlines is one curve beside each
// loop: along the far sides of the rectangles, round the sectors, and in and out
// again over every inward corner. It winds round each point as often as rectangles,
// sectors and region cover it, so what it winds round at all is the answer.
// Shrinking subtracts rectangles and sectors of the inner side; there what is wound
// round once is covered by none. (After X. Chen and S. McMains, Polygon offsetting
// by computing winding numbers, ASME DETC2005-85513, whose curves leave out the way
// over inward corners.)
func (a Region) Offset(d, tol float64) Region {
	if !(tol > 0) || math.IsNaN(d) {
		panic("region: an offset needs a tolerance above zero")
	}
	a = a.unswallowed(d)
	if math.Abs(d) < Unit/2 {
		return Of(a.Loops...)
	}
	var segs []segment
	for _, loop := range a.Loops {
		segs = lines(segs, [][]r2.Vec{beside(loop, d, tol)}, 1, 0)
	}
	return more(segs, 0)
}

// beside is the curve at a distance d on the right of a loop.
func beside(loop []r2.Vec, d, tol float64) []r2.Vec {
	var v []r2.Vec
	for i, p := range loop {
		if p != loop[(i+len(loop)-1)%len(loop)] {
			v = append(v, p)
		}
	}
	n := len(v)
	if n < 3 {
		return nil
	}
	side, long := make([]r2.Vec, n), make([]float64, n) // unit vector to the right of the side after v
	for i, p := range v {
		e := r2.Sub(v[(i+1)%n], p)
		long[i] = math.Hypot(e.X, e.Y)
		side[i] = r2.Vec{X: e.Y / long[i], Y: -e.X / long[i]}
	}
	out := make([]r2.Vec, 0, 2*n)
	for i, p := range v {
		h := (i + n - 1) % n
		s, t := side[h], side[i]
		sin, cos := r2.Cross(s, t), r2.Dot(s, t)
		switch {
		case sin*d > 0 || sin == 0 && cos < 0:
			k, step := steps(math.Atan2(sin, cos), math.Abs(d), tol)
			start := math.Atan2(s.Y, s.X)
			if k == 1 {
				out = append(out, mitre(p, s, t, d))
				continue
			}
			r := d / math.Cos(step/2)
			for j := range k {
				sj, cj := math.Sincos(start + (float64(j)+0.5)*step)
				out = append(out, r2.Vec{X: p.X + r*cj, Y: p.Y + r*sj})
			}
		case cos > 0 && math.Abs(d*sin) <= min(long[h], long[i])/2:
			// The two rectangles cover each other's ends, so that the curve may go
			// over from one to the other where they cross.
			out = append(out, mitre(p, s, t, d))
		default:
			out = append(out, r2.Add(p, r2.Scale(d, s)), p, r2.Add(p, r2.Scale(d, t)))
		}
	}
	return out
}

// mitre is where the parallels at a distance d to two sides at p meet.
func mitre(p, s, t r2.Vec, d float64) r2.Vec {
	return r2.Add(p, r2.Scale(d/(1+r2.Dot(s, t)), r2.Add(s, t)))
}

// unswallowed leaves out what is gone at a distance d at a glance, as no disc of
// that radius fits into its box: a hole when growing, a part when shrinking. The
// answer would be the same with it, but its curve may cross itself at every
// corner.
func (a Region) unswallowed(d float64) Region {
	narrow := func(loop []r2.Vec) bool {
		lo, hi := Region{[][]r2.Vec{loop}}.Box()
		return min(hi.X-lo.X, hi.Y-lo.Y) < 2*math.Abs(d)-Unit
	}
	var kept Region
	if d > 0 {
		for _, loop := range a.Loops {
			if area, _ := moments(loop); area > 0 || !narrow(loop) {
				kept.Loops = append(kept.Loops, loop)
			}
		}
		return kept
	}
	found := false
	for _, loop := range a.Loops {
		area, _ := moments(loop)
		found = found || area > 0 && narrow(loop)
	}
	if !found {
		return a
	}
	for _, part := range a.Parts() {
		gone := false
		for _, loop := range part.Loops {
			area, _ := moments(loop)
			gone = gone || area > 0 && narrow(loop)
		}
		if !gone {
			kept.Loops = append(kept.Loops, part.Loops...)
		}
	}
	return kept
}

// Opened is what discs of a radius that lie in the region cover: what a round
// cutter can clear. It never goes beyond the region, holds all that the cutter
// clears, and at most what one would that is smaller by tol.
func (a Region) Opened(radius, tol float64) Region {
	if !(tol > 0 && radius > 0) {
		panic("region: opening needs a radius and a tolerance above zero")
	}
	// The least bit smaller, so that the cutter still enters a slot of its own width
	// and a corner of its own radius.
	t := min(tol, radius) / 4
	return a.Offset(t-radius, t).Offset(radius-t, t).And(a)
}
