package jam

import (
	"math"

	"fettle/internal/shape/convex"

	"gonum.org/v1/gonum/spatial/r3"
)

// shadow measures what a turned body shows along the axis of an opening: the
// narrowest strip and the smallest circle that hold it.
type shadow struct{ strip, circle float64 }

// shadows are those of each listed turn, at its best within the room that
// settling leaves it, down the axis Z.
func shadows(b *convex.Body, turns convex.Turns) []shadow {
	out := make([]shadow, len(turns.List))
	for i, t := range turns.List {
		best := shadowOf(b, t)
		room := settled * turns.Step / 2
		for range 3 {
			from := t
			for _, w := range []r3.Vec{{X: room}, {X: -room}, {Y: room}, {Y: -room}} {
				u := from.About(w)
				s := shadowOf(b, u)
				if s.circle < best.circle {
					t = u
				}
				best = shadow{math.Min(best.strip, s.strip), math.Min(best.circle, s.circle)}
			}
			room /= 2
		}
		out[i] = best
	}
	return out
}

func shadowOf(b *convex.Body, t convex.Turn) shadow {
	const steps = 24
	var dir [steps][2]float64
	var reach [steps]float64
	for i := range steps {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / steps)
		dir[i] = [2]float64{cos, sin}
		reach[i] = b.Support(t.Back(r3.Vec{X: cos, Y: sin}))
	}
	s := shadow{math.Inf(1), math.Inf(1)}
	for i := range steps / 2 {
		s.strip = math.Min(s.strip, reach[i]+reach[i+steps/2])
	}
	// The circle's centre, by steps towards where it is overstepped most (M. Bădoiu
	// and K. L. Clarkson, Smaller core-sets for balls, SODA 2003).
	var x, y float64
	for k := range 24 {
		most, at := 0.0, 0
		for i, d := range dir {
			if r := reach[i] - x*d[0] - y*d[1]; r > most {
				most, at = r, i
			}
		}
		s.circle = math.Min(s.circle, 2*most)
		x += most * dir[at][0] / float64(k+2)
		y += most * dir[at][1] / float64(k+2)
	}
	return s
}
