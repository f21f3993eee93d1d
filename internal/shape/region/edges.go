package region

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"
)

// Edge is a line, or an arc where Radius is above 0; Left where it runs
// anticlockwise.
type Edge struct {
	From, To, Centre r2.Vec
	Radius           float64
	Left             bool
}

// What a run of sides must be to count as an arc, so that a hexagon or a row of
// planed facets stays what it is.
const (
	fewestSides = 3
	widestChord = 30 * math.Pi / 180 // seen from the centre
	leastArc    = 10 * math.Pi / 180
	uneven      = 3.0 // longest side over shortest, but for the first or the last
)

// Edges tells lines and arcs in each loop: runs of three sides or more whose
// corners all lie within tol of one circle are arcs, as long as can be. Arcs run
// through their ends, which are corners. A full circle comes as two halves.
func (a Region) Edges(tol float64) [][]Edge {
	all := make([][]Edge, 0, len(a.Loops))
	for _, loop := range a.Loops {
		if e, ok := circle(loop, tol); ok {
			all = append(all, e)
			continue
		}
		// Begin where the arc of most sides ends, so that none is cut in two by the
		// loop's own beginning.
		start, most := 0, 0
		for i := 0; i < len(loop); {
			_, n := arc(loop, i, len(loop)-1, tol)
			if n > most {
				start, most = i+n, n
			}
			i += max(n, 1)
		}
		var edges []Edge
		for i := 0; i < len(loop); {
			e, n := arc(loop, start+i, min(len(loop)-i, len(loop)-1), tol)
			if n == 0 {
				at := (start + i) % len(loop)
				e, n = Edge{From: loop[at], To: loop[(at+1)%len(loop)]}, 1
			}
			edges = append(edges, e)
			i += n
		}
		all = append(all, edges)
	}
	return all
}

// arc is the longest arc that begins at corner i, of no more than most sides, and
// how many sides it has, 0 where there is none. How far sides turn the same way and
// are alike is a matter of one look; whether a circle fits is tried for twice as
// many each time, and then by halves.
func arc(loop []r2.Vec, i, most int, tol float64) (Edge, int) {
	most = alike(loop, i, most)
	if most < fewestSides {
		return Edge{}, 0
	}
	best, good := fit(loop, i, fewestSides, tol)
	if !good || lone(loop, i) && most == fewestSides {
		return Edge{}, 0
	}
	n, fails := fewestSides, most+1
	for n+1 < fails {
		try := min(2*n, most)
		if fails <= most {
			try = (n + fails) / 2
		}
		if e, ok := fit(loop, i, try, tol); ok {
			best, n = e, try
		} else {
			fails = try
		}
	}
	if angle(best) < leastArc {
		return Edge{}, 0
	}
	return best, n
}

// alike is how many sides from corner i on, no more than most, turn the same way by
// no more than a wide chord's angle and are about as long as each other.
func alike(loop []r2.Vec, i, most int) int {
	at := func(k int) r2.Vec { return loop[(i+k)%len(loop)] }
	last := r2.Sub(at(1), at(0))
	first := r2.Norm(last)
	short, long := math.Inf(1), 0.0
	sense := 0.0
	for k := 1; k < most; k++ {
		e := r2.Sub(at(k+1), at(k))
		sin, cos := r2.Cross(last, e), r2.Dot(last, e)
		// One of the two sides may be a piece of a chord only; the turn is never more
		// than a whole chord's.
		if sin == 0 || sense*sin < 0 || math.Abs(math.Atan2(sin, cos)) > widestChord*1.001 {
			return k
		}
		sense = sin
		l := r2.Norm(e)
		if k > 1 {
			// The side before is now one in the middle.
			m := r2.Norm(last)
			short, long = min(short, m), max(long, m)
			if long > uneven*short || first > uneven*long {
				return k
			}
		}
		if k > 1 && l > uneven*long {
			return k
		}
		last = e
	}
	return most
}

// lone reports whether the second side from corner i on is the only long one of
// three: any such three have their corners on a circle if they are symmetrical.
func lone(loop []r2.Vec, i int) bool {
	long := func(k int) float64 {
		return r2.Norm(r2.Sub(loop[(i+k+1)%len(loop)], loop[(i+k)%len(loop)]))
	}
	return long(1) > uneven*max(long(0), long(2))
}

// fit is the circle through the ends of n sides from corner i on, whose centre is
// where the squares of the distances of the corners between are least off, and
// whether all are within tol of it.
func fit(loop []r2.Vec, i, n int, tol float64) (Edge, bool) {
	at := func(k int) r2.Vec { return loop[(i+k)%len(loop)] }
	e := Edge{From: at(0), To: at(n)}
	mid := r2.Scale(0.5, r2.Add(e.From, e.To))
	half := r2.Sub(e.To, mid)
	l := r2.Norm(half)
	if l == 0 {
		return e, false
	}
	across := r2.Vec{X: -half.Y / l, Y: half.X / l}
	var num, den float64
	for k := 1; k < n; k++ {
		w := r2.Sub(at(k), mid)
		u := 2 * r2.Dot(across, w)
		num, den = num+u*(r2.Norm2(w)-l*l), den+u*u
	}
	if den == 0 {
		return e, false
	}
	e.Centre = r2.Add(mid, r2.Scale(num/den, across))
	e.Radius = r2.Norm(r2.Sub(e.From, e.Centre))
	e.Left = r2.Cross(r2.Sub(at(1), at(0)), r2.Sub(at(2), at(1))) > 0
	turned := 0.0
	u := r2.Sub(e.From, e.Centre)
	for k := 1; k <= n; k++ {
		v := r2.Sub(at(k), e.Centre)
		step := math.Atan2(r2.Cross(u, v), r2.Dot(u, v))
		if !e.Left {
			step = -step
		}
		if math.Abs(r2.Norm(v)-e.Radius) > tol || step <= 0 || step > widestChord*1.001 {
			return e, false
		}
		turned += step
		u = v
	}
	return e, turned < 2*math.Pi
}

// angle is the angle that an arc turns through.
func angle(e Edge) float64 {
	u, v := r2.Sub(e.From, e.Centre), r2.Sub(e.To, e.Centre)
	t := math.Atan2(r2.Cross(u, v), r2.Dot(u, v))
	if !e.Left {
		t = -t
	}
	if t < 0 {
		t += 2 * math.Pi
	}
	return t
}

// circle is a loop whose corners all lie on one circle, as two halves from its
// rightmost point: by least squares of |p|² (Kåsa, IEEE Trans. Instrum. Meas. 25
// (1976) 8).
func circle(loop []r2.Vec, tol float64) ([]Edge, bool) {
	n := len(loop)
	if float64(n)*widestChord*1.001 < 2*math.Pi || alike(loop, 0, n) < n || alike(loop, n/2, n) < n {
		return nil, false
	}
	var mean r2.Vec
	for _, p := range loop {
		mean = r2.Add(mean, r2.Scale(1/float64(n), p))
	}
	var xx, xy, yy, xq, yq, q float64
	for _, p := range loop {
		w := r2.Sub(p, mean)
		s := r2.Norm2(w)
		xx, xy, yy, xq, yq, q = xx+w.X*w.X, xy+w.X*w.Y, yy+w.Y*w.Y, xq+w.X*s, yq+w.Y*s, q+s
	}
	det := 2 * (xx*yy - xy*xy)
	if !(det > 0) {
		return nil, false
	}
	c := r2.Vec{X: (xq*yy - yq*xy) / det, Y: (yq*xx - xq*xy) / det}
	r := math.Sqrt(q/float64(n) + r2.Norm2(c))
	c = r2.Add(c, mean)
	for _, p := range loop {
		if math.Abs(r2.Norm(r2.Sub(p, c))-r) > tol {
			return nil, false
		}
	}
	area, _ := moments(loop)
	p, m := r2.Vec{X: c.X + r, Y: c.Y}, r2.Vec{X: c.X - r, Y: c.Y}
	return []Edge{{p, m, c, r, area > 0}, {m, p, c, r, area > 0}}, true
}
