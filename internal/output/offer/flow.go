package offer

import (
	"strings"

	"fettle"
	"fettle/internal/output/draw"
	"fettle/internal/output/paper"
)

// pt is a typographic point in mm.
const pt = 25.4 / 72

// block is something with a height that is not parted by the end of a page.
type block struct {
	h   float64
	put func(d *draw.Drawing, x, y float64)
}

// stack is blocks below each other as one.
func stack(blocks ...block) block {
	h := 0.0
	for _, b := range blocks {
		h += b.h
	}
	return block{h, func(d *draw.Drawing, x, y float64) {
		for _, b := range blocks {
			b.put(d, x, y)
			y += b.h
		}
	}}
}

// beside is blocks next to each other, each at its distance from the left.
func beside(at []float64, blocks ...block) block {
	h := 0.0
	for _, b := range blocks {
		h = max(h, b.h)
	}
	return block{h, func(d *draw.Drawing, x, y float64) {
		for i, b := range blocks {
			b.put(d, x+at[i], y)
		}
	}}
}

func space(h float64) block { return block{h, func(*draw.Drawing, float64, float64) {}} }

// style is how text is set: em in mm, and how dark.
type style struct {
	size  float64
	bold  bool
	shade float64
}

func (s style) leading() float64 { return 1.34 * s.size }

// text is a paragraph in lines no wider than w.
func text(says string, w float64, s style) block {
	lines := wrap(says, w, s)
	return block{float64(len(lines)) * s.leading(), func(d *draw.Drawing, x, y float64) {
		for i, l := range lines {
			d.Texts = append(d.Texts, draw.Text{At: draw.Pt{X: x, Y: y + float64(i)*s.leading() + s.size}, S: l, Size: s.size, Bold: s.bold, Shade: s.shade})
		}
	}}
}

// right is one line that ends at the distance w.
func right(says string, w float64, s style) block {
	return block{s.leading(), func(d *draw.Drawing, x, y float64) {
		d.Texts = append(d.Texts, draw.Text{At: draw.Pt{X: x + w, Y: y + s.size}, S: says, Size: s.size, Bold: s.bold, Shade: s.shade, Align: draw.Right})
	}}
}

// bullets are sentences with a sign before each.
func bullets(sign string, says []string, w float64, s style) []block {
	indent := 1.5 * s.size
	var out []block
	for _, line := range says {
		body := text(line, w-indent, s)
		out = append(out, beside([]float64{0, indent}, text(sign, indent, s), body), space(0.3*s.size))
	}
	return out
}

// line is a rule w long.
func line(w, weight, shade float64) block {
	return block{weight, func(d *draw.Drawing, x, y float64) {
		d.Lines = append(d.Lines, draw.Line{Pts: []draw.Pt{{X: x, Y: y + weight/2}, {X: x + w, Y: y + weight/2}}, Weight: weight, Shade: shade})
	}}
}

// picture is w wide, or narrower and in the middle where it would be higher than most.
func picture(p *shown, w, most float64) block {
	e := p.Encoded
	pw, ph := w, w*float64(e.H)/float64(e.W)
	if ph > most {
		pw, ph = pw*most/ph, most
	}
	return block{ph, func(d *draw.Drawing, x, y float64) {
		d.Images = append(d.Images, draw.Image{At: draw.Pt{X: x + (w-pw)/2, Y: y}, W: pw, H: ph, Data: e.Data, Type: e.Type, Says: p.Says})
	}}
}

// wrap breaks text into lines no wider than w; a word wider than a line is broken too.
func wrap(says string, w float64, s style) []string {
	var lines []string
	now := ""
	for _, word := range strings.Fields(paper.Clean(says)) {
		if now != "" && paper.Metric(now+" "+word, s.size, s.bold) <= w {
			now += " " + word
			continue
		}
		if now != "" {
			lines = append(lines, now)
		}
		now = ""
		for _, r := range word {
			if now != "" && paper.Metric(now+string(r), s.size, s.bold) > w {
				lines, now = append(lines, now), ""
			}
			now += string(r)
		}
	}
	if now != "" {
		lines = append(lines, now)
	}
	return lines
}

// clip shortens text to one line.
func clip(says string, w float64, s style) string {
	lines := wrap(says, w, s)
	if len(lines) < 2 {
		return strings.Join(lines, "")
	}
	runes := []rune(lines[0])
	for len(runes) > 0 && paper.Metric(string(runes)+"…", s.size, s.bold) > w {
		runes = runes[:len(runes)-1]
	}
	return strings.TrimRight(string(runes), " ") + "…"
}

// Margins of the paper in mm; the left one is wider, for a folder.
const (
	marginLeft, marginRight = 18.0, 15.0
	marginTop, marginFoot   = 14.0, 18.0
)

// flow lays blocks down the pages.
type flow struct {
	size  paper.Size
	pages []*draw.Drawing
	y     float64
}

func newFlow(size paper.Size) *flow { return &flow{size: size} }

func (f *flow) width() float64 { return f.size.W - marginLeft - marginRight }

func (f *flow) foot() float64 { return f.size.H - marginFoot }

// add puts blocks down, each on the page where it fits, and a gap above the first if
// it does not begin a page. It reports whether all did fit a page.
func (f *flow) add(gap float64, blocks ...block) bool {
	for _, b := range blocks {
		switch {
		case len(f.pages) == 0 || f.y > marginTop && f.y+gap+b.h > f.foot()+0.01:
			f.pages = append(f.pages, &draw.Drawing{})
			f.y = marginTop
		case f.y > marginTop:
			f.y += gap
		}
		if f.y+b.h > f.foot()+0.01 {
			return false
		}
		b.put(f.pages[len(f.pages)-1], marginLeft, f.y)
		f.y += b.h
		gap = 0
	}
	return true
}

// errTooLong says that an offer cannot be put on three pages.
func errTooLong() error {
	return fettle.Errorf(fettle.Invalid, "the offer does not go on %d pages even in small type; shorten its words, terms or promises, or leave pictures out", mostPages)
}
