package plug

import (
	"math"

	"fettle/internal/shape/form"

	"gonum.org/v1/gonum/spatial/r2"
)

// plan is an outline that plugs are made for, its middle at the origin and its
// long way along X. Every outline of one plan has the same number of corners,
// whatever it is grown by.
type plan struct {
	form   string // as in fettle.PlugFit
	wide   float64
	long   float64
	corner float64 // radius, of a rounded rectangle
	round  float64 // diameter, of a keyhole's round end
	// shift is where a keyhole's round end has its centre, along X.
	shift float64
}

// sharpest is the smallest corner radius of a plug: a printed corner is no
// sharper.
const sharpest = 0.1

// outline is the plan grown by d all round, in chords for a full circle.
func (p plan) outline(d float64, n int) []r2.Vec {
	switch p.form {
	case "round":
		return form.Circle(r2.Vec{}, p.wide+2*d, n)
	case "slot":
		return form.Obround(r2.Vec{}, p.long+2*d, p.wide+2*d, 0, n/2)
	case "keyhole":
		loop := form.Keyhole(r2.Vec{}, p.round+2*d, p.wide+2*d, p.long-p.round/2+d, n)
		for i, q := range loop { // from −Y to +X
			loop[i] = r2.Vec{X: p.shift - q.Y, Y: q.X}
		}
		return loop
	default:
		r := min(max(p.corner+d, sharpest), 0.49*(p.wide+2*d))
		return form.Rectangle(r2.Vec{}, p.long+2*d, p.wide+2*d, r, max(2, n/4))
	}
}

// across is the narrow and the long way of the plan grown by d.
func (p plan) across(d float64) (wide, long float64) { return p.wide + 2*d, p.long + 2*d }

// bend is the largest radius in the plan.
func (p plan) bend() float64 {
	if p.form == "rounded rectangle" {
		return max(p.corner, 1)
	}
	return max(p.wide, p.round) / 2
}

// fit finds the plan of a loop, its centre and the direction of its long way,
// and by how much the loop strays from it. keyhole says that the opening was told
// to be one.
func fit(loop []r2.Vec, hole, keyhole bool) (p plan, centre, dir r2.Vec, off float64) {
	area := math.Abs(form.Area(loop))
	switch {
	case hole:
		p = plan{form: "round"}
		centre, dir = form.Centroid(loop), r2.Vec{X: 1}
		far := 0.0
		for _, q := range loop {
			far = max(far, r2.Norm(r2.Sub(q, centre)))
		}
		p.wide, p.long = 2*far, 2*far
	default:
		var box [2]r2.Vec
		dir, box = smallestBox(loop)
		if keyhole { // whose smallest box leans
			dir = longWay(loop)
			box = boxAlong(loop, dir)
		}
		p.long, p.wide = box[1].X-box[0].X, box[1].Y-box[0].Y
		mid := r2.Scale(0.5, r2.Add(box[0], box[1]))
		centre = back(mid, dir)
		if keyhole {
			p, dir = fitKeyhole(loop, centre, dir, p)
			break
		}
		// A rectangle lacks (4 − π)r² at its corners.
		p.corner = math.Sqrt(max(0, p.long*p.wide-area) / (4 - math.Pi))
		p.form = "rounded rectangle"
		if p.corner > 0.45*p.wide && p.corner < 0.55*p.wide {
			p.form = "slot"
		}
		p.corner = min(p.corner, p.wide/2)
	}
	outline := p.outline(0, form.Chords(p.bend(), 1e-3))
	for _, q := range loop {
		off = max(off, math.Abs(away(outline, along(r2.Sub(q, centre), dir))))
	}
	for _, q := range outline {
		off = max(off, math.Abs(away(loop, r2.Add(centre, back(q, dir)))))
	}
	return p, centre, dir, off
}

// fitKeyhole reads the round end and the slot off a loop whose box is known. The
// slot points to +X.
func fitKeyhole(loop []r2.Vec, centre, dir r2.Vec, box plan) (plan, r2.Vec) {
	width := func(x float64) float64 {
		lo, hi := math.Inf(1), math.Inf(-1)
		for i, a := range loop {
			p := along(r2.Sub(a, centre), dir)
			q := along(r2.Sub(loop[(i+1)%len(loop)], centre), dir)
			if (p.X > x) == (q.X > x) {
				continue
			}
			y := p.Y + (x-p.X)/(q.X-p.X)*(q.Y-p.Y)
			lo, hi = min(lo, y), max(hi, y)
		}
		return hi - lo
	}
	if width(-0.25*box.long) < width(0.25*box.long) {
		dir = r2.Scale(-1, dir)
	}
	round := box.wide
	// The slot is straight from the round end to its own: measured half-way.
	slot := width(round / 2)
	return plan{form: "keyhole", wide: min(slot, 0.99*round), long: box.long, round: round, shift: round/2 - box.long/2}, dir
}

// along turns p so that dir becomes +X; back undoes it.
func along(p, dir r2.Vec) r2.Vec { return r2.Vec{X: r2.Dot(p, dir), Y: r2.Cross(dir, p)} }

func back(p, dir r2.Vec) r2.Vec {
	return r2.Vec{X: p.X*dir.X - p.Y*dir.Y, Y: p.X*dir.Y + p.Y*dir.X}
}

// smallestBox is the rectangle of least area round a loop, its long way along
// dir: one of its sides lies along a side of the convex hull (Freeman and Shapira,
// "Determining the minimum-area encasing rectangle for an arbitrary closed
// curve", Communications of the ACM 18(7), 1975). The corners are seen along dir.
func smallestBox(loop []r2.Vec) (dir r2.Vec, box [2]r2.Vec) {
	hull := hull(loop)
	best := math.Inf(1)
	for i, p := range hull {
		d := r2.Unit(r2.Sub(hull[(i+1)%len(hull)], p))
		b := boxAlong(hull, d)
		lo, hi := b[0], b[1]
		if a := (hi.X - lo.X) * (hi.Y - lo.Y); a < best*(1-1e-9) {
			best, dir, box = a, d, b
		}
	}
	if box[1].X-box[0].X < box[1].Y-box[0].Y { // a quarter turn on
		dir = r2.Vec{X: -dir.Y, Y: dir.X}
		box = [2]r2.Vec{{X: box[0].Y, Y: -box[1].X}, {X: box[1].Y, Y: -box[0].X}}
	}
	return dir, box
}

// boxAlong is the box of points seen along a direction.
func boxAlong(pts []r2.Vec, dir r2.Vec) [2]r2.Vec {
	lo, hi := r2.Vec{X: math.Inf(1), Y: math.Inf(1)}, r2.Vec{X: math.Inf(-1), Y: math.Inf(-1)}
	for _, q := range pts {
		s := along(q, dir)
		lo = r2.Vec{X: min(lo.X, s.X), Y: min(lo.Y, s.Y)}
		hi = r2.Vec{X: max(hi.X, s.X), Y: max(hi.Y, s.Y)}
	}
	return [2]r2.Vec{lo, hi}
}

// longWay is the principal axis of the area that a loop surrounds, the one along
// which it is spread most: the axis of anything symmetric. Moments of polygons as
// in Steger, "On the Calculation of Arbitrary Moments of Polygons", 1996.
func longWay(loop []r2.Vec) r2.Vec {
	c := form.Centroid(loop)
	var xx, xy, yy, area float64
	for i, a := range loop {
		p, q := r2.Sub(a, c), r2.Sub(loop[(i+1)%len(loop)], c)
		k := r2.Cross(p, q)
		area += k / 2
		xx += k * (p.X*p.X + p.X*q.X + q.X*q.X) / 12
		yy += k * (p.Y*p.Y + p.Y*q.Y + q.Y*q.Y) / 12
		xy += k * (2*p.X*p.Y + p.X*q.Y + q.X*p.Y + 2*q.X*q.Y) / 24
	}
	if area < 0 {
		xx, xy, yy = -xx, -xy, -yy
	}
	turn := math.Atan2(2*xy, xx-yy) / 2
	return r2.Vec{X: math.Cos(turn), Y: math.Sin(turn)}
}
