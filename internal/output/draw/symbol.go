package draw

import "math"

// Arrow adds a filled arrow head of 2.6 mm with its tip at tip, pointing away
// from from.
func (d *Drawing) Arrow(tip, from Pt) {
	dx, dy := tip.X-from.X, tip.Y-from.Y
	l := math.Hypot(dx, dy)
	if l == 0 {
		return
	}
	dx, dy = dx/l, dy/l
	const long, half = 2.6, 0.5
	base := Pt{tip.X - long*dx, tip.Y - long*dy}
	d.Fills = append(d.Fills, Fill{Pts: []Pt{tip, {base.X - half*dy, base.Y + half*dx}, {base.X + half*dy, base.Y - half*dx}}})
}

// Circle adds the outline of a circle as a polygon that strays from it by less
// than 0.01 mm.
func (d *Drawing) Circle(weight float64, c Pt, r float64) {
	n := max(24, int(math.Ceil(math.Pi/math.Acos(max(0, 1-0.01/max(r, 0.02))))))
	pts := make([]Pt, n)
	for i := range pts {
		s, co := math.Sincos(2 * math.Pi * float64(i) / float64(n))
		pts[i] = Pt{c.X + r*co, c.Y + r*s}
	}
	d.Lines = append(d.Lines, Line{Pts: pts, Weight: weight, Closed: true})
}

// Warning is the general warning sign, a triangle with an exclamation mark
// (ISO 7010 W001), drawn in black on white for paper, h mm high, with its top
// left corner at (0, 0). It is h/cos 30° wide.
func Warning(h float64) *Drawing {
	side := h / math.Cos(math.Pi/6)
	d := &Drawing{}
	w := h * 0.09
	// The stroke lies inside the nominal triangle, with a round join.
	in := w / 2
	d.Lines = append(d.Lines, Line{Pts: []Pt{
		{side / 2, 2 * in}, {side - in*1.732, h - in}, {in * 1.732, h - in}}, Weight: w, Closed: true})
	x := side / 2
	d.Fills = append(d.Fills, Fill{Pts: []Pt{
		{x - 0.062*h, 0.36 * h}, {x + 0.062*h, 0.36 * h}, {x + 0.032*h, 0.68 * h}, {x - 0.032*h, 0.68 * h}}})
	dot := make([]Pt, 24)
	for i := range dot {
		s, c := math.Sincos(2 * math.Pi * float64(i) / 24)
		dot[i] = Pt{x + 0.055*h*c, 0.78*h + 0.055*h*s}
	}
	d.Fills = append(d.Fills, Fill{Pts: dot})
	return d
}
