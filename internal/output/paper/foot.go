package paper

import (
	"fettle/internal/output/draw"
)

// foot is the end of step i: blanks for what was done, its code at the right edge,
// and words that say what the code opens.
func (t *traveler) foot(i int) item {
	c := t.codes[i]
	side := c.side()
	w := t.sheet.width() - side - 1
	words := prose(t.codeSays(i), w, noteSize, false)
	blanks := grid([]cell{
		{label: t.say("Done by")}, {label: t.say("Date")}, {label: t.say("Minutes")},
		{label: t.say("Ra measured")}, {label: t.say("Pieces good")}, {label: t.say("Pieces lost")},
	}, 3, w)
	items := append(append(words, gap(0.8)), blanks...)
	h := max(side, height(items))
	return item{h, func(d *draw.Drawing, x, y, total float64) {
		at := y
		for _, it := range items {
			it.put(d, x, at, w)
			at += it.h
		}
		c.put(d, x+total-side, y+(h-side)/2)
	}}
}

// codeSays is what stands beside a step's code.
func (t *traveler) codeSays(i int) string {
	c := t.codes[i]
	if c.url {
		w := t.sheet.width() - c.side() - 1
		return t.say("Scan to open step %d: %s", i+1, clip(c.text, 1.4*w, noteSize, false))
	}
	return t.say("The code holds the names of the job, the model and step %d; there is no page to open.", i+1)
}

// setFoot sets the foot of a step, under a repeated head where the page is full, and
// clear of the creases of a folded page.
func (t *traveler) setFoot(f, again item) {
	s := t.sheet
	if s.y+s.foldGap(s.y, f.h)+f.h > s.bottom {
		s.turn()
		s.set(again)
		s.y += 1.5
	}
	g := s.foldGap(s.y, f.h)
	if g > notesLeast {
		t.notesBox(g - 1.5)
	}
	s.y += g
	s.set(f)
}

// notesLeast is the height of a gap from which it is worth writing in.
const notesLeast = 9.0

// notesBox is a box h high to write in, where a foot was moved off a crease.
func (t *traveler) notesBox(h float64) {
	s := t.sheet
	d := s.page()
	d.Rect(ruleBox, s.left, s.y, s.width(), h)
	d.Texts = append(d.Texts, draw.Text{At: draw.Pt{X: s.left + pad, Y: s.y + 0.6 + 0.95*labelSize}, S: clip(t.say("Notes"), s.width()-2*pad, labelSize, false), Size: labelSize})
}

// wholeOn is how much of a page from y down a step takes whose body is h high and that
// ends in a foot.
func (s *sheet) wholeOn(y, h float64, f item) float64 {
	return h + s.foldGap(y+h, f.h) + f.h
}
