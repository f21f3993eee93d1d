package plug

import (
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// seat is the face round a mouth, as the underside of a head follows it: a
// height over the plan, c0 + c1 x + c2 y + c3 x² + c4 xy + c5 y².
type seat [6]float64

func terms(q r2.Vec) [6]float64 { return [6]float64{1, q.X, q.Y, q.X * q.X, q.X * q.Y, q.Y * q.Y} }

func (s seat) at(q r2.Vec) float64 {
	sum := 0.0
	for k, t := range terms(q) {
		sum += s[k] * t
	}
	return sum
}

// sit chooses the rim and the face that the head comes to rest on. A rim that would
// meet something that stands up beside the mouth is made smaller.
func (d *design) sit() {
	b := d.b
	rims := []float64{rimMost, rimLeast, 0.8, 0.5}
	if b.plan.wide < 6 {
		rims = rims[1:]
	}
	for _, d.rim = range rims {
		d.hits = false
		var at []r2.Vec
		var high []float64
		for _, k := range []float64{0.02, 0.25, 0.5, 0.75, 1} {
			for _, q := range b.plan.outline(b.mouth+k*d.rim, 96) {
				h, ok := b.ground(q)
				switch {
				case !ok || h < b.high-overEdge:
					// Over the part's edge.
				case h > b.high+wallFrom:
					d.hits = true
				default:
					at, high = append(at, q), append(high, h)
				}
			}
		}
		if d.hits {
			continue
		}
		d.face, d.stand = rest(at, high, b.high)
		return
	}
	d.face = seat{b.high}
}

const (
	wallFrom = 1.5 // mm above the mouth from which something is no longer its face
	overEdge = 4.0 // mm below it from which something is the ground beside the part
)

// ground is the height of the first of the part that one meets coming down on q.
func (b *bore) ground(q r2.Vec) (float64, bool) {
	const from = 200
	_, t, _, _, ok := b.tree.Ray(b.f.out(q, b.high+from), r3.Scale(-1, b.f.z), 0, math.Inf(1))
	return b.high + from - t, ok
}

// rest is the smooth face through the heights, by least squares, raised until it
// lies above all of them, and by how much it then stands off the deepest. Where
// the heights are no smooth face it is level, on the highest.
func rest(at []r2.Vec, high []float64, level float64) (seat, float64) {
	flat := seat{level}
	low := level
	for _, h := range high {
		flat[0], low = max(flat[0], h), min(low, h)
	}
	stand := flat[0] - low
	if stand < 0.02 || len(at) < 24 {
		return flat, stand
	}
	a := mat.NewDense(len(at), 6, nil)
	for i, q := range at {
		t := terms(q)
		a.SetRow(i, t[:])
	}
	var c mat.VecDense
	if err := c.SolveVec(a, mat.NewVecDense(len(high), high)); err != nil {
		return flat, stand
	}
	var s seat
	for k := range s {
		s[k] = c.AtVec(k)
	}
	over, under := 0.0, 0.0
	for i, q := range at {
		off := high[i] - s.at(q)
		over, under = max(over, off), max(under, -off)
	}
	if over+under > 0.5*stand {
		return flat, stand
	}
	s[0] += over
	return s, over + under
}
