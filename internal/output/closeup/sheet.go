package closeup

import (
	"image"
	"image/color"
	"math"

	"fettle/internal/shape/relief"
)

// sheet is a picture's paper: the surface above, and below it up to three lines
// of caption, then the scale bar with the small print.
type sheet struct {
	o       *Options
	lamp    *lamp // nil in a map of heights
	scale   *scale
	caption string
	note    string

	em    float64 // of the lettering, px; 0: what suits the width
	w, h  int     // of the whole picture
	top   int     // where the lettering begins
	hand  *hand
	small *hand
	lines []string // of the caption
}

// em is the size of lettering that suits a picture of width w, pixels.
func em(w int) float64 { return math.Round(min(26, max(13, float64(w)/52))) }

// measure finds the height that the lettering needs under a picture of width w.
func (s *sheet) measure(w int) int {
	s.w = w
	if s.o.Bare {
		return 0
	}
	e := s.em
	if e == 0 {
		e = em(w)
	}
	s.hand, s.small = newHand(e), newHand(math.Round(0.86*e))
	s.lines = s.hand.wrap(s.caption, float64(w)-2*s.margin(), true, 3)
	return int(math.Ceil(s.rows(nil)))
}

// plan divides the sheet and finds the view of the map in it.
func (s *sheet) plan(m *relief.Map) (view, error) {
	o := s.o
	foot := s.measure(o.Width)
	h := o.Height - foot
	if h < minSide/2 {
		h = minSide / 2
	}
	var v view
	var err error
	if o.Whole {
		v, err = fit(m.Grid, o.Width, h)
		if err == nil && v.w < o.Width {
			// Narrower: the lettering is set for the new width, but never so
			// narrow that it cannot be read.
			foot = s.measure(max(v.w, min(o.Width, 280)))
		}
	} else {
		v, err = look(m.Grid, o.Width, h, o.WideMM, o.Middle)
	}
	s.top = v.h
	s.h = v.h + foot
	return v, err
}

func (s *sheet) margin() float64 { return math.Round(0.6 * s.hand.em) }

// room is what the scale bar may take, pixels.
func (s *sheet) room() float64 { return math.Round(min(0.24*float64(s.w), 14*s.hand.em)) }

// letter writes everything under the surface.
func (s *sheet) letter(p *Picture) {
	if s.o.Bare {
		return
	}
	foot := image.NewGray(image.Rect(0, 0, s.w, s.h-s.top))
	for i := range foot.Pix {
		foot.Pix[i] = 255
	}
	p.BarMM = 0
	d := &desk{Gray: foot, p: p, top: s.top}
	s.rows(d)
	p.stamp(foot, image.Pt(0, s.top))
	if d.ribbon != nil {
		d.ribbon(p, s.top)
	}
}

// desk is what the rows are written on: nil while they are only measured.
type desk struct {
	*image.Gray
	p   *Picture
	top int
	// ribbon paints what is in colour, once the grey is in the picture.
	ribbon func(p *Picture, top int)
}

// rows lays out the lettering and is its height.
func (s *sheet) rows(d *desk) float64 {
	e := s.hand.em
	x0, x1 := s.margin(), float64(s.w)-s.margin()
	y := 0.35 * e
	for _, line := range s.lines {
		if d != nil {
			s.hand.write(d.Gray, x0, y+0.95*e, line, true, 0)
		}
		y += 1.3 * e
	}
	if s.scale != nil {
		y = s.scale.row(s, d, x0, x1, y)
	}
	// The bar, then the small print behind it or on lines of its own.
	x := x0
	base := y + 1.0*e
	if d != nil {
		mm, label := barLength(s.room()/d.p.PxPerMM, s.o.Display)
		long := mm * d.p.PxPerMM
		thick := math.Round(0.34 * e)
		yb := math.Round(base - 0.36*e - thick/2)
		fill(d.Gray, 0, x, yb, x+long, yb, x+long, yb+thick, x, yb+thick)
		d.p.BarMM, d.p.BarAt = mm, image.Pt(int(x), int(yb)+d.top)
		s.hand.write(d.Gray, x+long+0.5*e, base, label, false, 0)
	}
	// The widest bar and label that may stand there.
	x += s.room() + 0.5*e + s.hand.wide("0.002 mm", false) + 1.2*e
	dial := 0.0
	if s.lamp != nil {
		dial = 1.5 * e
	}
	if x+dial+s.small.wide(s.note, false) <= x1 {
		x = x1 - s.small.wide(s.note, false)
		if d != nil {
			s.small.write(d.Gray, x, base, s.note, false, 70)
			s.dial(d, x-dial+0.5*e, base-0.34*e, 0.55*e)
		}
		return base + 0.55*e
	}
	y = base + 0.4*e
	for k, line := range s.small.wrap(s.note, x1-x0-dial, false, 2) {
		if d != nil {
			if k == 0 {
				s.dial(d, x0+0.55*e, y+0.66*e, 0.55*e)
			}
			s.small.write(d.Gray, x0+dial, y+e, line, false, 70)
		}
		y += 1.2 * e
	}
	return y + 0.45*e
}

// dial is a small disc with an arrow the way the light goes.
func (s *sheet) dial(d *desk, x, y, r float64) {
	if s.lamp == nil {
		return
	}
	var rim []float64
	for i := range 48 {
		sn, co := math.Sincos(2 * math.Pi * float64(i) / 48)
		rim = append(rim, x+r*co, y+r*sn)
	}
	fill(d.Gray, 70, rim...)
	sn, co := math.Sincos(s.lamp.fromDeg * math.Pi / 180)
	// From the lamp to the other side; the picture's y runs down.
	at := func(f, side float64) (float64, float64) {
		return x - r*(f*co-side*sn), y + r*(f*sn+side*co)
	}
	var arrow []float64
	for _, q := range [][2]float64{{-0.75, -0.11}, {0.05, -0.11}, {0.05, -0.45}, {0.78, 0}, {0.05, 0.45}, {0.05, 0.11}, {-0.75, 0.11}} {
		px, py := at(q[0], q[1])
		arrow = append(arrow, px, py)
	}
	fill(d.Gray, 255, arrow...)
}

// newPicture is a white picture.
func newPicture(w, h int, pal color.Palette) *Picture {
	p := &Picture{Paletted: image.NewPaletted(image.Rect(0, 0, w, h), pal)}
	for i := range p.Pix {
		p.Pix[i] = white
	}
	return p
}

// place records where a view lies.
func (p *Picture) place(v view, area image.Rectangle) {
	p.Area, p.PxPerMM, p.X0, p.Y1 = area, 1/v.px, v.x0, v.y1
}

// paint fills an area with the colours of its values; where there are none it
// is hatched.
func (p *Picture) paint(area image.Rectangle, val []float32, of func(float32) int) {
	w := area.Dx()
	pitch := max(8, em(p.Bounds().Dx())/2)
	bands(area.Dy(), func(j0, j1 int) {
		for j := j0; j < j1; j++ {
			row := p.Pix[p.PixOffset(area.Min.X, area.Min.Y+j):][:w]
			for i, v := range val[j*w : (j+1)*w] {
				if v == v {
					row[i] = uint8(of(v))
					continue
				}
				row[i] = hatch(i, j, pitch)
			}
		}
	})
}

// hatch is the pattern of what is not there: thin grey lines on white, rising
// to the right.
func hatch(i, j int, pitch float64) uint8 {
	away := math.Mod(float64(i+j), pitch)
	away = min(away, pitch-away)
	return ink(uint8(255 - 120*max(0, min(1, 1.5-away))))
}

// stamp copies lettering into the picture.
func (p *Picture) stamp(g *image.Gray, at image.Point) {
	w := g.Bounds().Dx()
	for j := range g.Bounds().Dy() {
		row := p.Pix[p.PixOffset(at.X, at.Y+j):]
		for i, v := range g.Pix[j*g.Stride : j*g.Stride+w] {
			row[i] = ink(v)
		}
	}
}
