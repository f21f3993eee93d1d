package region

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"
)

// Traced draws each loop anew in as few lines and arcs as stay within tol of it:
// corners and middles of sides lie within tol of what is drawn for them. Unlike
// [Region.Edges], which tells the arcs that a loop was drawn from, it makes arcs of
// whatever is round enough, so that an outline of a thousand short sides becomes a
// few dozen moves of a cutter. Ends are corners of the loop. A circle comes as two
// halves.
//
// Each piece is as long as can be, found by doubling and halving, from the loop's
// sharpest corner on.
func (a Region) Traced(tol float64) [][]Edge {
	all := make([][]Edge, 0, len(a.Loops))
	for _, loop := range a.Loops {
		t := tracer{loop, sharpest(loop), tol}
		// Once more from where the longest piece ended, so that none is cut in two by the
		// loop's beginning.
		first, sides := t.pieces()
		most, at := 0, 0
		for i, k := 0, 0; i < len(first); i++ {
			k += sides[i]
			if sides[i] > most {
				most, at = sides[i], k
			}
		}
		t.start = (t.start + at) % len(loop)
		edges, _ := t.pieces()
		if len(edges) > len(first) {
			edges = first
		}
		all = append(all, edges)
	}
	return all
}

// pieces are the lines and arcs from the start on, and how many sides each stands
// for.
func (t tracer) pieces() (edges []Edge, sides []int) {
	for i := 0; i < len(t.loop); {
		most := len(t.loop) - i
		n := t.longest(i, most, t.line)
		e := Edge{From: t.at(i), To: t.at(i + n)}
		if m := t.longest(i, most, t.round); m > n+1 || m > n && n == 1 && m > 2 {
			e, _ = t.arc(i, m)
			n = m
		}
		edges, sides = append(edges, e), append(sides, n)
		i += n
	}
	return edges, sides
}

type tracer struct {
	loop  []r2.Vec
	start int
	tol   float64
}

func (t tracer) at(i int) r2.Vec { return t.loop[(t.start+i)%len(t.loop)] }

// sharpest is the corner at which a loop turns most.
func sharpest(loop []r2.Vec) int {
	best, turn := 0, -1.0
	for i, p := range loop {
		in := r2.Sub(p, loop[(i+len(loop)-1)%len(loop)])
		out := r2.Sub(loop[(i+1)%len(loop)], p)
		if a := math.Abs(math.Atan2(r2.Cross(in, out), r2.Dot(in, out))); a > turn+1e-9 {
			best, turn = i, a
		}
	}
	return best
}

// longest is the most sides from corner i on, at least 1, of which fits holds, as
// far as doubling and halving find it.
func (t tracer) longest(i, most int, fits func(i, n int) bool) int {
	n, fails := 1, most+1
	for n+1 < fails {
		try := min(2*n, most)
		if fails <= most || try == n {
			try = (n + fails) / 2
		}
		if fits(i, try) {
			n = try
		} else {
			fails = try
		}
	}
	return n
}

// line reports whether n sides from corner i lie on the line between their ends.
func (t tracer) line(i, n int) bool {
	if n == len(t.loop) {
		return false
	}
	a, d := t.at(i), r2.Sub(t.at(i+n), t.at(i))
	l := r2.Norm(d)
	if l == 0 {
		return false
	}
	for k := 1; k < n; k++ {
		q := r2.Sub(t.at(i+k), a)
		if along := r2.Dot(q, d) / l; math.Abs(r2.Cross(d, q))/l > t.tol || along < -t.tol || along > l+t.tol {
			return false
		}
	}
	return true
}

// round reports whether n sides from corner i lie on an arc.
func (t tracer) round(i, n int) bool {
	_, ok := t.arc(i, n)
	return ok
}

// arc is the one through the ends of n sides whose centre is where the squares of the
// corners' distances are least off; of no more than half a circle.
func (t tracer) arc(i, n int) (Edge, bool) {
	e := Edge{From: t.at(i), To: t.at(i + n)}
	if n < 2 {
		return e, false
	}
	mid := r2.Scale(0.5, r2.Add(e.From, e.To))
	half := r2.Sub(e.To, mid)
	l := r2.Norm(half)
	if l <= t.tol {
		return e, false
	}
	across := r2.Vec{X: -half.Y / l, Y: half.X / l}
	// A centre at the distance s from the middle along across gives a point at w from
	// there the power |w|² − l² − 2s·(w·across), which is 0 on the circle.
	var num, den, side float64
	for k := range 2*n - 1 {
		p := t.along(i, k+1)
		w := r2.Sub(p, mid)
		h := r2.Dot(w, across)
		num += h * (r2.Norm2(w) - l*l)
		den += h * h
		side += h
	}
	if den == 0 {
		return e, false
	}
	s := num / den / 2
	e.Centre = r2.Add(mid, r2.Scale(s, across))
	e.Radius = math.Hypot(s, l)
	// The arc passes on the other side of the chord than the centre, or it is more than
	// half a circle.
	if s*side > t.tol*math.Abs(side) || e.Radius > 1e5*t.tol+1e4 {
		return e, false
	}
	e.Left = side < 0
	last := 0.0
	from := r2.Sub(e.From, e.Centre)
	for k := range 2*n - 1 {
		q := r2.Sub(t.along(i, k+1), e.Centre)
		if math.Abs(r2.Norm(q)-e.Radius) > t.tol {
			return e, false
		}
		turn := math.Atan2(r2.Cross(from, q), r2.Dot(from, q))
		if !e.Left {
			turn = -turn
		}
		if turn < last-2*t.tol/e.Radius {
			return e, false
		}
		last = max(last, turn)
	}
	return e, true
}

// along is the corner or the middle of a side, k halves of sides past corner i.
func (t tracer) along(i, k int) r2.Vec {
	if k%2 == 0 {
		return t.at(i + k/2)
	}
	return r2.Scale(0.5, r2.Add(t.at(i+k/2), t.at(i+k/2+1)))
}
