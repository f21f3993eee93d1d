package paper

import (
	"strings"

	"fettle/internal/output/draw"
)

// Sizes of type as ems in mm.
const (
	bodySize  = 9.8 * pointMM
	noteSize  = 8.6 * pointMM
	labelSize = 8.2 * pointMM
	headSize  = 13 * pointMM
	titleSize = 19 * pointMM
)

// Weights of rules in mm: strong ones part steps, thin ones boxes.
const (
	ruleStrong = 0.8
	ruleBox    = 0.35
)

// leading is the distance of baselines for an em.
func leading(size float64) float64 { return 1.30 * size }

// sheet lays blocks down the pages of one document, top to bottom.
type sheet struct {
	w, h                     float64
	left, right, top, bottom float64 // edges of the type area
	pages                    []*draw.Drawing
	y                        float64
	again                    string // said in the head of what goes on from the page before
}

func newSheet(size Size) *sheet {
	s := &sheet{w: size.W, h: size.H, left: 17, right: size.W - 13, top: 12, bottom: size.H - 17}
	s.turn()
	return s
}

// turn begins a new page. All but the first leave room for the running head.
func (s *sheet) turn() {
	s.pages = append(s.pages, &draw.Drawing{})
	s.y = s.top
	if len(s.pages) > 1 {
		s.y += 9
	}
}

func (s *sheet) page() *draw.Drawing { return s.pages[len(s.pages)-1] }
func (s *sheet) width() float64      { return s.right - s.left }
func (s *sheet) room() float64       { return s.bottom - s.y }

// fresh reports whether nothing stands on this page yet.
func (s *sheet) fresh() bool {
	d := s.page()
	return len(d.Texts) == 0 && len(d.Lines) == 0 && len(d.Fills) == 0
}

// item is something of a known height that is not cut in two.
type item struct {
	h   float64
	put func(d *draw.Drawing, x, y, w float64)
}

func gap(h float64) item { return item{h, func(*draw.Drawing, float64, float64, float64) {}} }

// textItem is one line of text.
func textItem(line string, size float64, bold bool) item {
	return item{leading(size), func(d *draw.Drawing, x, y, _ float64) {
		d.Texts = append(d.Texts, draw.Text{At: draw.Pt{X: x, Y: y + 0.95*size}, S: line, Size: size, Bold: bold})
	}}
}

// prose is a paragraph as items, one a line, w wide.
func prose(s string, w, size float64, bold bool) []item {
	var out []item
	for _, line := range wrap(s, w, size, bold) {
		out = append(out, textItem(line, size, bold))
	}
	return out
}

// lead is a paragraph that begins with a bold word or two.
func lead(word, s string, w, size float64) []item {
	indent := Metric(word+" ", size, true)
	// The first line is shorter than the others.
	lines := wrap(s, w-indent, size, false)
	if len(lines) == 0 {
		return nil
	}
	first := lines[0]
	rest := []item{}
	if len(lines) > 1 {
		rest = prose(strings.Join(lines[1:], " "), w, size, false)
	}
	head := item{leading(size), func(d *draw.Drawing, x, y, _ float64) {
		d.Texts = append(d.Texts,
			draw.Text{At: draw.Pt{X: x, Y: y + 0.95*size}, S: word, Size: size, Bold: true},
			draw.Text{At: draw.Pt{X: x + indent, Y: y + 0.95*size}, S: first, Size: size})
	}}
	return append([]item{head}, rest...)
}

// bullet is a paragraph with a dash before it.
func bullet(s string, w float64) []item {
	const in = 4.0
	var out []item
	for i, line := range wrap(s, w-in, bodySize, false) {
		out = append(out, item{leading(bodySize), func(d *draw.Drawing, x, y, _ float64) {
			if i == 0 {
				d.Texts = append(d.Texts, draw.Text{At: draw.Pt{X: x, Y: y + 0.95*bodySize}, S: "–", Size: bodySize})
			}
			d.Texts = append(d.Texts, draw.Text{At: draw.Pt{X: x + in, Y: y + 0.95*bodySize}, S: line, Size: bodySize})
		}})
	}
	if len(out) > 0 {
		out = append(out, gap(0.8))
	}
	return out
}

func height(items []item) float64 {
	h := 0.0
	for _, it := range items {
		h += it.h
	}
	return h
}

// flow sets items one under another over as many pages as they need. repeat is
// set again at the top of each further page; it may be nil.
func (s *sheet) flow(items []item, repeat []item) {
	for _, it := range items {
		if it.h > s.room() && !s.fresh() {
			s.turn()
			for _, r := range repeat {
				s.set(r)
			}
		}
		s.set(it)
	}
}

func (s *sheet) set(it item) {
	it.put(s.page(), s.left, s.y, s.width())
	s.y += it.h
}

// keep turns the page unless h mm are left on it.
func (s *sheet) keep(h float64) {
	if h > s.room() && !s.fresh() {
		s.turn()
	}
}

// section begins a named part of the document, together with at least need mm
// of what follows.
func (s *sheet) section(name string, need float64) {
	if !s.fresh() {
		s.y += 4
	}
	s.keep(headItem(name).h + need)
	s.set(headItem(name))
}

// headItem is the head of a section.
func headItem(name string) item {
	return item{leading(headSize) + 2.5, func(d *draw.Drawing, x, y, w float64) {
		d.Texts = append(d.Texts, draw.Text{At: draw.Pt{X: x, Y: y + 0.95*headSize}, S: clip(name, w, headSize, true), Size: headSize, Bold: true})
		d.Stroke(ruleStrong, draw.Pt{X: x, Y: y + leading(headSize) + 0.4}, draw.Pt{X: x + w, Y: y + leading(headSize) + 0.4})
	}}
}

// together sets items on one page when a page can hold them, and lets them flow
// when it cannot.
func (s *sheet) together(items []item, repeat []item) {
	s.keep(min(height(items), s.bottom-s.top-9))
	s.flow(items, repeat)
}
