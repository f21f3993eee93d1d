// Package draw turns a mesh into pictures: projected line drawings with hidden
// lines removed ([Project]), a panel of dimensioned views of a part ([Panel]),
// a few standard drawing symbols, and a softly lit rendering ([Shade]).
//
// A [Drawing] is a plain list of lines, filled shapes and texts in millimetres
// on paper, x to the right and y down from the top left corner, so that the
// same drawing can be put in a PDF or written as SVG ([Drawing.SVG]). Nothing
// here depends on the number of cores or on the order of a map: the same mesh
// gives the same drawing, bit for bit.
package draw

import "math"

// Pt is a point on paper in mm, y down.
type Pt struct{ X, Y float64 }

// Line is a polyline. Weight is its width in mm; Dash alternates lengths of
// dash and gap in mm, nil for a solid line; Shade runs from 0 (black) to 1
// (white).
type Line struct {
	Pts    []Pt
	Weight float64
	Dash   []float64
	Shade  float64
	Closed bool
}

// Fill is a filled polygon, Shade from 0 (black) to 1 (white).
type Fill struct {
	Pts   []Pt
	Shade float64
}

// Align says which end of a text stands at its point.
type Align int

// The alignments.
const (
	Left Align = iota
	Centre
	Right
)

// Text is one line of text. At is on its baseline, Size the height of the em
// in mm, Angle a turn in degrees, counter-clockwise as seen.
type Text struct {
	At    Pt
	S     string
	Size  float64
	Bold  bool
	Align Align
	Angle float64
	Shade float64
}

// Image is a picture, PNG or JPEG, with its top left corner at At, W × H mm.
type Image struct {
	At   Pt
	W, H float64
	Data []byte
	Type string // "image/png" or "image/jpeg"
	Says string // what it shows, for whoever cannot see it
}

// Drawing is what stands on a piece of paper. Images are painted first, then fills,
// then lines, then texts, each in their order.
type Drawing struct {
	Images []Image
	Fills  []Fill
	Lines  []Line
	Texts  []Text
}

// Metric measures the width of a text in mm for an em of size mm.
type Metric func(s string, size float64, bold bool) float64

// Em is a Metric for when the face is not known: it takes 0.56 of an em for
// every letter, a little more than most sans-serif faces need.
func Em(s string, size float64, bold bool) float64 {
	k := 0.56
	if bold {
		k = 0.62
	}
	n := 0
	for range s {
		n++
	}
	return k * size * float64(n)
}

// Add puts the contents of e, moved by (dx, dy), into d.
func (d *Drawing) Add(e *Drawing, dx, dy float64) {
	for _, i := range e.Images {
		i.At.X += dx
		i.At.Y += dy
		d.Images = append(d.Images, i)
	}
	for _, f := range e.Fills {
		f.Pts = moved(f.Pts, dx, dy)
		d.Fills = append(d.Fills, f)
	}
	for _, l := range e.Lines {
		l.Pts = moved(l.Pts, dx, dy)
		d.Lines = append(d.Lines, l)
	}
	for _, t := range e.Texts {
		t.At.X += dx
		t.At.Y += dy
		d.Texts = append(d.Texts, t)
	}
}

func moved(pts []Pt, dx, dy float64) []Pt {
	out := make([]Pt, len(pts))
	for i, p := range pts {
		out[i] = Pt{p.X + dx, p.Y + dy}
	}
	return out
}

// Stroke adds a solid black polyline of the given weight.
func (d *Drawing) Stroke(weight float64, pts ...Pt) {
	d.Lines = append(d.Lines, Line{Pts: pts, Weight: weight})
}

// Rect adds the outline of a rectangle.
func (d *Drawing) Rect(weight, x, y, w, h float64) {
	d.Lines = append(d.Lines, Line{Pts: []Pt{{x, y}, {x + w, y}, {x + w, y + h}, {x, y + h}}, Weight: weight, Closed: true})
}

// FillRect adds a filled rectangle.
func (d *Drawing) FillRect(shade, x, y, w, h float64) {
	d.Fills = append(d.Fills, Fill{[]Pt{{x, y}, {x + w, y}, {x + w, y + h}, {x, y + h}}, shade})
}

// Frame is a rectangle on paper.
type Frame struct{ X0, Y0, X1, Y1 float64 }

// W is the frame's width and H its height.
func (f Frame) W() float64 { return f.X1 - f.X0 }

// H is the frame's height.
func (f Frame) H() float64 { return f.Y1 - f.Y0 }

// Overlaps reports whether two frames share more than a border.
func (f Frame) Overlaps(g Frame) bool {
	return f.X0 < g.X1 && g.X0 < f.X1 && f.Y0 < g.Y1 && g.Y0 < f.Y1
}

// Bounds is the smallest frame around everything in d, with line weights and
// the measured width of texts; false when d is empty.
func (d *Drawing) Bounds(metric Metric) (Frame, bool) {
	inf := math.Inf(1)
	f := Frame{inf, inf, -inf, -inf}
	add := func(p Pt, r float64) {
		f.X0, f.Y0 = min(f.X0, p.X-r), min(f.Y0, p.Y-r)
		f.X1, f.Y1 = max(f.X1, p.X+r), max(f.Y1, p.Y+r)
	}
	for _, i := range d.Images {
		add(i.At, 0)
		add(Pt{i.At.X + i.W, i.At.Y + i.H}, 0)
	}
	for _, a := range d.Fills {
		for _, p := range a.Pts {
			add(p, 0)
		}
	}
	for _, l := range d.Lines {
		for _, p := range l.Pts {
			add(p, l.Weight/2)
		}
	}
	for _, t := range d.Texts {
		for _, p := range t.corners(metric) {
			add(p, 0)
		}
	}
	return f, f.X0 <= f.X1
}

// Ascent and Descent are the shares of the em above and below the baseline
// that a line of text is reckoned to fill.
const (
	Ascent  = 0.80
	Descent = 0.24
)

// corners are the corners of the text's box.
func (t Text) corners(metric Metric) [4]Pt {
	if metric == nil {
		metric = Em
	}
	w := metric(t.S, t.Size, t.Bold)
	x0 := 0.0
	switch t.Align {
	case Centre:
		x0 = -w / 2
	case Right:
		x0 = -w
	}
	s, c := math.Sincos(t.Angle * math.Pi / 180)
	turn := func(x, y float64) Pt { return Pt{t.At.X + c*x + s*y, t.At.Y - s*x + c*y} }
	up, down := -Ascent*t.Size, Descent*t.Size
	return [4]Pt{turn(x0, up), turn(x0+w, up), turn(x0+w, down), turn(x0, down)}
}

// Frame is the upright box around the text.
func (t Text) Frame(metric Metric) Frame {
	d := Drawing{Texts: []Text{t}}
	f, _ := d.Bounds(metric)
	return f
}
