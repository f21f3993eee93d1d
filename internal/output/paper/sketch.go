package paper

import (
	"math"

	"fettle/internal/output/draw"
)

// Room of a sketch of a set-up on paper, in mm: the blank's, and beside it the arrows
// with what the readout shows.
const (
	sketchWide  = 30.0
	sketchHigh  = 36.0
	sketchArrow = 6.0
)

// sketch is the blank as the spindle sees it, to scale, the part in it, the axes at
// zero, and an arrow at each edge with what the readout must show there; nil where the
// blank is not known.
func (t *traveler) sketch(d side) (*draw.Drawing, error) {
	if d.stock == nil {
		return nil, nil
	}
	b := *d.stock
	w, h := b.hi[0]-b.lo[0], b.hi[1]-b.lo[1]
	if !(w > 0 && h > 0) || !finite(w+h) {
		return nil, nil
	}
	k := min(sketchWide/w, sketchHigh/h)
	at := func(x, y float64) draw.Pt { return draw.Pt{X: k * (x - b.lo[0]), Y: k * (b.hi[1] - y)} }
	out := &draw.Drawing{}
	if t.mesh != nil {
		view := draw.View{Right: d.frame.X, Up: d.frame.Y, Toward: d.frame.Z}
		lines, err := t.projected(view)
		if err != nil {
			return nil, err
		}
		origin := view.Spot(d.frame.Origin)
		for _, l := range lines.Lines {
			pts := make([]draw.Pt, len(l.Pts))
			for i, p := range l.Pts {
				pts[i] = at(p.X-origin.X, origin.Y-p.Y)
			}
			out.Lines = append(out.Lines, draw.Line{Pts: pts, Weight: draw.WeightThin, Closed: l.Closed})
		}
	} else if p := d.part; p != nil {
		a, c := at(p.lo[0], p.hi[1]), at(p.hi[0], p.lo[1])
		out.Rect(draw.WeightThin, a.X, a.Y, c.X-a.X, c.Y-a.Y)
	}
	out.Rect(draw.WeightOutline, 0, 0, k*w, k*h)
	size := labelSize
	// What the readout shows at each edge, with an arrow that touches it.
	for _, e := range []struct {
		name     string
		v        float64
		tip, out draw.Pt
	}{
		{t.say("X−"), b.lo[0], draw.Pt{X: 0, Y: k * h / 2}, draw.Pt{X: -1}},
		{t.say("X+"), b.hi[0], draw.Pt{X: k * w, Y: k * h / 2}, draw.Pt{X: 1}},
		{t.say("Y+"), b.hi[1], draw.Pt{X: k * w / 2, Y: 0}, draw.Pt{Y: -1}},
		{t.say("Y−"), b.lo[1], draw.Pt{X: k * w / 2, Y: k * h}, draw.Pt{Y: 1}},
	} {
		tail := draw.Pt{X: e.tip.X + sketchArrow*e.out.X, Y: e.tip.Y + sketchArrow*e.out.Y}
		out.Stroke(draw.WeightEdge, tail, e.tip)
		out.Arrow(e.tip, tail)
		read := readout(t.sys, e.v)
		switch {
		case e.out.X != 0: // two lines beside the arrow's tail
			align := draw.Left
			if e.out.X < 0 {
				align = draw.Right
			}
			x := tail.X + 1*e.out.X
			out.Texts = append(out.Texts,
				draw.Text{At: draw.Pt{X: x, Y: tail.Y - 0.35*size}, S: e.name, Size: size, Align: align},
				draw.Text{At: draw.Pt{X: x, Y: tail.Y + 0.95*size}, S: read, Size: size, Bold: true, Align: align})
		default:
			y := tail.Y + 0.35*size + 0.75*size*max(0, e.out.Y) - 0.9*size*max(0, -e.out.Y)
			mid := Metric(e.name+" ", size, false)
			out.Texts = append(out.Texts,
				draw.Text{At: draw.Pt{X: tail.X, Y: y}, S: e.name, Size: size, Align: draw.Right},
				draw.Text{At: draw.Pt{X: tail.X + 0.25*mid, Y: y}, S: read, Size: size, Bold: true})
		}
	}
	t.axesMark(out, at(0, 0), k*w, k*h)
	return out, nil
}

// axesMark draws the zero of a sketch: a circle with two quarters filled, and X and Y
// as arrows. A zero outside the blank is left out, as its place is told by the
// readings.
func (t *traveler) axesMark(out *draw.Drawing, zero draw.Pt, w, h float64) {
	const r, long = 1.7, 8.0
	if zero.X < -0.1 || zero.Y < -0.1 || zero.X > w+0.1 || zero.Y > h+0.1 {
		return
	}
	out.Circle(draw.WeightEdge, zero, r)
	for _, from := range []float64{0, math.Pi} {
		pts := []draw.Pt{zero}
		for i := range 9 {
			s, c := math.Sincos(from + float64(i)/8*math.Pi/2)
			pts = append(pts, draw.Pt{X: zero.X + r*c, Y: zero.Y - r*s})
		}
		out.Fills = append(out.Fills, draw.Fill{Pts: pts})
	}
	for _, a := range []struct {
		name string
		dir  draw.Pt
	}{{"X", draw.Pt{X: 1}}, {"Y", draw.Pt{Y: -1}}} {
		tip := draw.Pt{X: zero.X + long*a.dir.X, Y: zero.Y + long*a.dir.Y}
		out.Stroke(draw.WeightEdge, draw.Pt{X: zero.X + r*a.dir.X, Y: zero.Y + r*a.dir.Y}, tip)
		out.Arrow(tip, zero)
		s := draw.Text{At: draw.Pt{X: tip.X - 1.8, Y: tip.Y - 0.9}, S: a.name, Size: labelSize, Bold: true}
		if a.dir.X == 0 {
			s.At = draw.Pt{X: tip.X + 0.9, Y: tip.Y + 0.6*labelSize}
		}
		out.Texts = append(out.Texts, s)
	}
}

// projected is the part in a view, kept for a set-up that looks the same way.
func (t *traveler) projected(v draw.View) (*draw.Drawing, error) {
	for _, s := range t.seen {
		if s.view == v {
			return s.lines, nil
		}
	}
	d, err := draw.Project(t.mesh, v)
	if err != nil {
		return nil, err
	}
	t.seen = append(t.seen, seen{v, d})
	return d, nil
}

// seen is the part drawn in one view.
type seen struct {
	view  draw.View
	lines *draw.Drawing
}
