package form

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"
)

// Outlines are closed loops in plan, anticlockwise, in millimetres.

// Circle is a regular n-gon with its corners on a circle.
func Circle(centre r2.Vec, diameter float64, n int) []r2.Vec {
	return arc(nil, centre, diameter/2, 0, 2*math.Pi*(1-1/float64(n)), n-1)
}

// Rectangle has rounded corners of n chords each; a radius of 0 makes them
// sharp.
func Rectangle(centre r2.Vec, width, height, radius float64, n int) []r2.Vec {
	x, y := width/2-radius, height/2-radius
	if radius <= 0 {
		n = 0
	}
	var loop []r2.Vec
	for q, s := range [4][2]float64{{1, -1}, {1, 1}, {-1, 1}, {-1, -1}} {
		c := r2.Add(centre, r2.Vec{X: s[0] * x, Y: s[1] * y})
		from := float64(q-1) * math.Pi / 2
		loop = arc(loop, c, radius, from, from+math.Pi/2, n)
	}
	return dropRepeats(loop)
}

// Obround is a slot with round ends of n chords each, its long way along the
// direction turned deg from +X.
func Obround(centre r2.Vec, length, width, deg float64, n int) []r2.Vec {
	a := deg * math.Pi / 180
	along := r2.Scale((length-width)/2, r2.Vec{X: math.Cos(a), Y: math.Sin(a)})
	loop := arc(nil, r2.Add(centre, along), width/2, a-math.Pi/2, a+math.Pi/2, n)
	return arc(loop, r2.Sub(centre, along), width/2, a+math.Pi/2, a+3*math.Pi/2, n)
}

// Keyhole is a round hole with a slot of parallel walls and a round end running
// from it towards -Y; reach is from the round hole's centre to the slot's end.
// The round part has n chords, the slot's end n/2.
func Keyhole(centre r2.Vec, diameter, slot, reach float64, n int) []r2.Vec {
	half := math.Asin(slot / diameter)
	loop := arc(nil, centre, diameter/2, half-math.Pi/2, 3*math.Pi/2-half, n)
	end := r2.Vec{X: centre.X, Y: centre.Y - reach + slot/2}
	return arc(loop, end, slot/2, math.Pi, 2*math.Pi, max(2, n/2))
}

// KeyholeArea is the area of a keyhole's outline were its arcs true, in mm².
func KeyholeArea(diameter, slot, reach float64) float64 {
	r, w := diameter/2, slot/2
	half := math.Asin(w / r)
	round := math.Pi*r*r - r*r*(half-math.Sin(half)*math.Cos(half))
	return round + slot*(reach-w-r*math.Cos(half)) + math.Pi*w*w/2
}

// Subdivide puts points on the sides of a loop so that none is longer than the
// given length.
func Subdivide(loop []r2.Vec, longest float64) []r2.Vec {
	var out []r2.Vec
	for i, p := range loop {
		d := r2.Sub(loop[(i+1)%len(loop)], p)
		n := max(1, int(math.Ceil(r2.Norm(d)/longest-1e-9)))
		for k := range n {
			out = append(out, r2.Add(p, r2.Scale(float64(k)/float64(n), d)))
		}
	}
	return out
}

// Chords is the number of chords for a full circle, a multiple of 4, whose
// distance from the arc stays within tolerance.
func Chords(radius, tolerance float64) int {
	if tolerance >= radius {
		return 8
	}
	n := math.Pi / math.Acos(1-tolerance/radius)
	return max(8, 4*int(math.Ceil(n/4)))
}

// arc appends n chords of an arc, both ends included.
func arc(loop []r2.Vec, c r2.Vec, radius, from, to float64, n int) []r2.Vec {
	for i := 0; i <= n; i++ {
		a := from
		if n > 0 {
			a += (to - from) * float64(i) / float64(n)
		}
		loop = append(loop, r2.Vec{X: c.X + radius*math.Cos(a), Y: c.Y + radius*math.Sin(a)})
	}
	return loop
}

// dropRepeats leaves out points that repeat the one before, as where rounded
// corners leave no straight side.
func dropRepeats(loop []r2.Vec) []r2.Vec {
	var out []r2.Vec
	for i, p := range loop {
		if q := loop[(i+len(loop)-1)%len(loop)]; r2.Norm(r2.Sub(p, q)) > 1e-9 {
			out = append(out, p)
		}
	}
	return out
}

// Area is the area that a loop surrounds, positive when it is anticlockwise.
func Area(loop []r2.Vec) float64 {
	sum := 0.0
	for i, p := range loop {
		sum += r2.Cross(p, loop[(i+1)%len(loop)])
	}
	return sum / 2
}
