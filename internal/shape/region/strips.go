package region

import (
	"context"
	"math"

	"fettle/internal/shape/cores"

	"gonum.org/v1/gonum/spatial/r2"
)

const (
	// manyCrossings is from where on a curve beside loops is not drawn in one go.
	manyCrossings = 5e4
	stripSides    = 16 // sides in a strip
	stripJoin     = 8  // strips united at a time
)

// crossings is about how often a curve crosses itself: every spike the other spikes
// that lie nearer than the distance.
func (c curve) crossings(d float64) float64 {
	if c.spikes == 0 {
		return 0
	}
	near := 2 * math.Abs(d) * float64(c.spikes) / Region{[][]r2.Vec{c.at}}.Perimeter()
	return float64(c.spikes) * min(float64(c.spikes), near)
}

// byStrips is Offset strip by strip: the rectangles and sectors along a few sides
// are united first, then neighbouring strips, so that what lies inside a strip is
// gone before it can cross all others.
func (a Region) byStrips(curves []curve, d float64) Region {
	w := int32(1)
	if d < 0 {
		w = -1 // the outlines of what is on the left go round clockwise
	}
	var strips [][]segment
	for _, c := range curves {
		for i := 0; i < len(c.at); i += stripSides {
			// Each goes on into the next one by a few sides, for the same reason.
			j := min(i+stripSides, len(c.at)) + 1
			for ; j < i+len(c.at) && r2.Norm(r2.Sub(c.at[j%len(c.at)], c.at[(i+stripSides)%len(c.at)])) < 4*hair*Unit; j++ {
			}
			j = min(j, i+len(c.at))
			strips = append(strips, lines(nil, [][]r2.Vec{c.strip(i, j, d)}, w, 0))
		}
	}
	for {
		united := make([]Region, len(strips))
		// What each is does not depend on the others, so neither does the answer on
		// who does it. Nothing here can be cancelled.
		_ = cores.Each(context.Background(), len(strips), func(i int) { united[i] = more(strips[i], 0) })
		if len(united) <= stripJoin {
			if d < 0 {
				return a.Minus(Region{}.Union(united...))
			}
			return a.Union(united...)
		}
		strips = make([][]segment, (len(united)+stripJoin-1)/stripJoin)
		for i, u := range united {
			strips[i/stripJoin] = lines(strips[i/stripJoin], u.Loops, 1, 0)
		}
	}
}

// strip is the outline of the rectangles on the sides from corner i to corner j, and
// of the sectors on all corners but the first. It reaches over the loop by a few
// units, so that rounding leaves no crack between the two.
func (c curve) strip(i, j int, d float64) []r2.Vec {
	n := len(c.at)
	over := -math.Copysign(hair*Unit, d)
	beside := func(k, side int, d float64) r2.Vec { return r2.Add(c.at[k%n], r2.Scale(d, c.side[side%n])) }
	way := []r2.Vec{beside(i, i, over), beside(i, i, d)}
	for k := i + 1; k < j; k++ {
		way = append(way, c.corner[k%n]...)
	}
	if outward(c.side[(j-1)%n], c.side[j%n], d) {
		way = append(append(way, c.corner[j%n]...), beside(j, j, d), c.at[j%n])
	} else {
		way = append(way, beside(j, j-1, d))
	}
	way = append(way, beside(j, j-1, over))
	for k := j - 1; k > i; k-- {
		way = append(way, beside(k, k, over), beside(k, k-1, over))
	}
	return way
}
