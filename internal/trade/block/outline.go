package block

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// outline is a rectangle with rounded corners round the origin, in plan: long along
// x, wide along y, its corners of radius round.
type outline struct{ long, wide, round float64 }

// inset is the outline moved inwards by d all round.
func (o outline) inset(d float64) outline {
	return outline{o.long - 2*d, o.wide - 2*d, max(0, o.round-d)}
}

// blend goes from o to p as u goes from 0 to 1.
func (o outline) blend(p outline, u float64) outline {
	at := func(a, b float64) float64 { return a + u*(b-a) }
	return outline{at(o.long, p.long), at(o.wide, p.wide), at(o.round, p.round)}
}

// A station is a place on an outline that has its like on every other: its whole
// part names a side or corner anticlockwise (0 the side at −y, run towards +x, 1 the
// corner after it, …, 7), its fraction how far along that is.
type station = float64

// at is the point of the outline at a station, and the unit normal there.
func (o outline) at(t station) (p, n r2.Vec) {
	k := int(t) % 8
	f := t - math.Floor(t)
	x, y := o.long/2-o.round, o.wide/2-o.round // of the corners' centres
	q := k / 2                                 // quarter turns
	var c r2.Vec
	a := -math.Pi / 2
	if k%2 == 0 {
		half := x
		if q%2 == 1 {
			half = y
		}
		s := (2*f - 1) * half
		c = [4]r2.Vec{{X: s, Y: -y}, {X: x, Y: s}, {X: -s, Y: y}, {X: -x, Y: -s}}[q]
	} else {
		c = [4]r2.Vec{{X: x, Y: -y}, {X: x, Y: y}, {X: -x, Y: y}, {X: -x, Y: -y}}[q]
		a += f * math.Pi / 2
	}
	a += float64(q) * math.Pi / 2
	n = r2.Vec{X: math.Cos(a), Y: math.Sin(a)}
	if k%2 == 0 {
		n = [4]r2.Vec{{Y: -1}, {X: 1}, {Y: 1}, {X: -1}}[q]
	}
	return r2.Add(c, r2.Scale(o.round, n)), n
}

// stations are places all round the outline: sides along x cut into pieces of at
// most dx, sides along y of dy, corners into chords; marks are places on the sides
// along x, as x, that must be among them, at both signs.
func (o outline) stations(dx, dy float64, corner int, marks ...float64) []station {
	var list []station
	for q := range 4 {
		half, step := o.long/2-o.round, dx
		if q%2 == 1 {
			half, step = o.wide/2-o.round, dy
		}
		breaks := []float64{0, 1}
		if q%2 == 0 {
			breaks = breaks[:1]
			for i := range marks {
				breaks = append(breaks, 0.5-marks[len(marks)-1-i]/(2*half))
			}
			for _, m := range marks {
				breaks = append(breaks, 0.5+m/(2*half))
			}
			breaks = append(breaks, 1)
		}
		for i := range breaks[1:] {
			a, b := breaks[i], breaks[i+1]
			n := max(1, int(math.Ceil((b-a)*2*half/step-1e-9)))
			for k := range n {
				list = append(list, float64(2*q)+a+(b-a)*float64(k)/float64(n))
			}
		}
		for k := range corner {
			list = append(list, float64(2*q+1)+float64(k)/float64(corner))
		}
	}
	return list
}

// loop is the outline's points at the stations.
func (o outline) loop(list []station) []r2.Vec {
	loop := make([]r2.Vec, len(list))
	for i, t := range list {
		loop[i], _ = o.at(t)
	}
	return loop
}

// holds reports whether p lies within the outline.
func (o outline) holds(p r2.Vec) bool { return o.depth(p) >= 0 }

// depth is how far within the outline p lies, below 0 for outside.
func (o outline) depth(p r2.Vec) float64 {
	x := math.Abs(p.X) - (o.long/2 - o.round)
	y := math.Abs(p.Y) - (o.wide/2 - o.round)
	return o.round - math.Hypot(max(0, x), max(0, y)) - min(0, max(x, y))
}

// beside is a quick test for a point that lies no farther than gap past the outline's
// box.
func (o outline) beside(p r3.Vec, gap float64) bool {
	return math.Abs(p.X) < o.long/2+gap && math.Abs(p.Y) < o.wide/2+gap
}
