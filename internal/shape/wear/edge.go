package wear

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"
)

// Edge is the radius of an edge in mm after an open flat face has lost each of
// the removals, mm. Two faces meet there at angleDeg, measured in the material,
// above 0 and below 180: the first is flat, the second a straight wall where
// rim is 0. A rim above 0 is that radius of an outer rim, whose wall is the
// outside of a cylinder or cone; below 0 it is a hole's. exposure is that of
// the flat face and of the wall, against an open face.
//
// The radius is that of the circle fitted to the part of the edge where the
// surface has turned between 25 % and 75 % of the way from one face to the
// other; 0 while the edge is sharp, and 0 for an angle that makes no edge.
func Edge(angleDeg, rim float64, exposure [2]float64, law Law, removals []float64) []float64 {
	out := make([]float64, len(removals))
	if !(angleDeg > 0 && angleDeg < 180) {
		return out
	}
	s, ok := edgeSection(angleDeg*math.Pi/180, rim, exposure, law, removals)
	if !ok {
		return out
	}
	flow(s, law, (180-angleDeg)*math.Pi/180/edgeStretches, removals, func(i int, h float64, f *front) {
		if h > 0 {
			out[i] = f.edgeRadius()
		}
	})
	return out
}

// edgeStretches is the least number of stretches round an edge.
const edgeStretches = 20

// nearAxis is the furthest a face goes towards the axis, against the rim.
const nearAxis = 0.7

// edgeSection lays the corner in the origin, the material below the flat face,
// which runs to −X, and the axis where the rim wants it.
func edgeSection(angle, rim float64, exposure [2]float64, law Law, removals []float64) (Section, bool) {
	most := 0.0
	for _, h := range removals {
		if h > 0 && !math.IsInf(h, 1) {
			most = math.Max(most, h)
		}
	}
	hard := math.Max(exposure[0], exposure[1])
	if most == 0 || !(hard > 0) {
		return Section{}, false
	}
	b := law.B
	if rim != 0 {
		b += law.C / math.Abs(rim)
	}
	reach := 7*math.Sqrt(b*hard*most) + 3*hard*most*(1+1/math.Tan(angle/2))
	wall := r2.Vec{X: -math.Cos(angle), Y: -math.Sin(angle)}
	flat, down := reach, reach
	if rim > 0 {
		flat = math.Min(flat, nearAxis*rim)
	}
	if closer := -wall.X * math.Copysign(1, rim); rim != 0 && closer > 0 {
		down = math.Min(down, nearAxis*math.Abs(rim)/closer)
	}
	return Section{
		Points:   []r2.Vec{r2.Scale(down, wall), {}, {X: -flat}},
		Revolved: rim != 0,
		Axis:     -rim,
		Exposure: []float64{exposure[1], exposure[0]},
	}, true
}

// edgeRadius fits a circle to the middle half of the turn of an open front.
func (f *front) edgeRadius() float64 {
	f.measure()
	n := len(f.x)
	total := 0.0
	for _, t := range f.turn {
		total += t
	}
	if !(total > 0) {
		return 0
	}
	// Nodes stand at half their own turn past the stretch before.
	var at [][2]float64
	turned := 0.0
	place := func(i int, share float64) {
		at = append(at, [2]float64{f.x[i] + share*(f.x[i+1]-f.x[i]), f.y[i] + share*(f.y[i+1]-f.y[i])})
	}
	before := 0.0
	for i := range n {
		now := turned + f.turn[i]/2
		for _, edge := range [2]float64{0.25 * total, 0.75 * total} {
			if i > 0 && before < edge && now > edge {
				place(i-1, (edge-before)/(now-before))
			}
		}
		if now >= 0.25*total && now <= 0.75*total && i < n-1 {
			place(i, 0)
		}
		turned += f.turn[i]
		before = now
	}
	return circle(at)
}

// circle is the radius of the circle whose squared distances from the points,
// times four times its squared radius, are least (Kåsa 1976); 0 for fewer than
// three points or points on a line.
func circle(at [][2]float64) float64 {
	if len(at) < 3 {
		return 0
	}
	var mx, my float64
	for _, p := range at {
		mx += p[0] / float64(len(at))
		my += p[1] / float64(len(at))
	}
	var xx, xy, yy, xz, yz, zz float64
	for _, p := range at {
		x, y := p[0]-mx, p[1]-my
		z := x*x + y*y
		xx, xy, yy, xz, yz, zz = xx+x*x, xy+x*y, yy+y*y, xz+x*z, yz+y*z, zz+z
	}
	det := xx*yy - xy*xy
	if !(det > 1e-12*zz*zz) {
		return 0
	}
	cx, cy := (xz*yy-yz*xy)/(2*det), (yz*xx-xz*xy)/(2*det)
	return math.Sqrt(cx*cx + cy*cy + zz/float64(len(at)))
}
