package region

import (
	"math"
	"slices"

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
	switch e := math.Copysign(hair*Unit, d); {
	case math.Abs(d) < Unit/2:
		return Of(a.Loops...)
	case math.Abs(d) <= hair*Unit:
		return a.shifted(d, tol)
	default:
		return a.shifted(-e, tol).shifted(d+e, tol)
	}
}

// hair is half the width, in units, of what is taken for a trace of rounding: a
// hair that sticks out of the border is not grown, a crack in it is not widened.
// Without this a border that was led to and fro by a unit in earlier steps could
// cost a whole part.
const hair = 2

// shifted is Offset with all hairs and cracks.
func (a Region) shifted(d, tol float64) Region {
	curves, crossings := make([]curve, len(a.Loops)), 0.0
	for i, loop := range a.Loops {
		curves[i] = beside(loop, d, tol)
		crossings += curves[i].crossings(d)
	}
	if crossings > manyCrossings {
		return a.byStrips(curves, d)
	}
	var segs []segment
	for _, c := range curves {
		segs = lines(segs, [][]r2.Vec{slices.Concat(c.corner...)}, 1, 0)
	}
	return more(segs, 0)
}

// curve is what lies at a distance beside a loop.
type curve struct {
	at     []r2.Vec   // the loop's corners
	side   []r2.Vec   // unit vectors to the right of the sides that begin at them
	corner [][]r2.Vec // the curve's points at each corner
	spikes int        // corners at which it goes in and out
}

// beside is the curve at a distance d on the right of a loop.
func beside(loop []r2.Vec, d, tol float64) curve {
	var c curve
	for i, p := range loop {
		if p != loop[(i+len(loop)-1)%len(loop)] {
			c.at = append(c.at, p)
		}
	}
	n := len(c.at)
	if n < 3 {
		return curve{}
	}
	c.side, c.corner = make([]r2.Vec, n), make([][]r2.Vec, n)
	long := make([]float64, n)
	for i, p := range c.at {
		e := r2.Sub(c.at[(i+1)%n], p)
		long[i] = math.Hypot(e.X, e.Y)
		c.side[i] = r2.Vec{X: e.Y / long[i], Y: -e.X / long[i]}
	}
	// Where two rectangles overlap at an inward corner, the curve may go over from one
	// to the other at the point that is as far from both, as long as that leaves
	// some of every side: what is cut off so is still covered, as its nearest point
	// of the loop lies on another side.
	cut, spike := make([]float64, n), make([]bool, n)
	for i := range n {
		s, t := c.side[(i+n-1)%n], c.side[i]
		if sin, cos := r2.Cross(s, t), r2.Dot(s, t); !outward(s, t, d) {
			cut[i] = math.Abs(d*sin) / (1 + cos)
			spike[i] = cos <= 0
		}
	}
	for i := range n {
		if j := (i + 1) % n; cut[i]+cut[j] > long[i] {
			spike[i], spike[j] = spike[i] || cut[i] > 0, spike[j] || cut[j] > 0
		}
	}
	points := make([]r2.Vec, 0, 2*n)
	for i, p := range c.at {
		first := len(points)
		s, t := c.side[(i+n-1)%n], c.side[i]
		switch {
		case outward(s, t, d):
			k, step := steps(math.Atan2(r2.Cross(s, t), r2.Dot(s, t)), math.Abs(d), tol)
			if k == 1 {
				points = append(points, mitre(p, s, t, d))
				break
			}
			start, r := math.Atan2(s.Y, s.X), d/math.Cos(step/2)
			for j := range k {
				sin, cos := math.Sincos(start + (float64(j)+0.5)*step)
				points = append(points, r2.Vec{X: p.X + r*cos, Y: p.Y + r*sin})
			}
		case spike[i]:
			points = append(points, r2.Add(p, r2.Scale(d, s)), p, r2.Add(p, r2.Scale(d, t)))
			c.spikes++
		default:
			points = append(points, mitre(p, s, t, d))
		}
		c.corner[i] = points[first:len(points):len(points)]
	}
	return c
}

// outward reports whether there is a sector between two sides, given by the unit
// vectors to their right.
func outward(s, t r2.Vec, d float64) bool {
	sin := r2.Cross(s, t)
	return sin*d > 0 || sin == 0 && r2.Dot(s, t) < 0
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
