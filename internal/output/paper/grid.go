package paper

import (
	"slices"

	"fettle/internal/output/draw"
)

// cell is a small named value: a label, the value, and a note under it. A cell
// without a value is a blank to write in. Texts too long for a cell are cut off
// with an ellipsis.
type cell struct {
	label, value, note string
	span               int  // columns, 0 counts as 1
	tick               bool // with a box to tick
	// picture stands in the place of the value where the cell is wide enough for it;
	// it is not scaled.
	picture *draw.Drawing
}

// tickSize is the side of a box to tick.
const tickSize = 3.6

func (c cell) columns() int { return max(1, c.span) }

// valueSize is the em of values in cells.
const valueSize = 10.5 * pointMM

// blankH is the height of a box to write in with a blunt pencil and gloves.
const blankH = 12.0

// grid lays cells in rows of n columns over the width w, one item a row. Values
// and notes wrap inside their cell.
func grid(cells []cell, n int, w float64) []item {
	var out []item
	unit := w / float64(n)
	for len(cells) > 0 {
		used, k := 0, 0
		for k < len(cells) && used+min(n, cells[k].columns()) <= n {
			used += min(n, cells[k].columns())
			k++
		}
		row := cells[:k]
		cells = cells[k:]
		widths := make([]float64, k)
		for i, c := range row {
			widths[i] = unit * float64(min(n, c.columns()))
		}
		out = append(out, gridRow(row, widths))
	}
	return out
}

const pad = 1.4

func gridRow(row []cell, widths []float64) item {
	type lines struct{ label, value, note []string }
	set := make([]lines, len(row))
	h := 0.0
	row = slices.Clone(row)
	for i, c := range row {
		in := widths[i] - 2*pad
		if c.picture != nil {
			if f, _ := c.picture.Bounds(Metric); f.W() <= in {
				c.value = ""
			} else {
				c.picture = nil
			}
			row[i] = c
		}
		set[i] = lines{atMost(3, c.label, in, labelSize, false), atMost(5, c.value, in, valueSize, true), atMost(4, c.note, in, labelSize, false)}
		ch := float64(len(set[i].label))*leading(labelSize) + float64(len(set[i].value))*leading(valueSize) +
			float64(len(set[i].note))*leading(labelSize) + 1.6
		if c.picture != nil {
			f, _ := c.picture.Bounds(Metric)
			ch += f.H() + 1.6
		} else if c.value == "" {
			ch = max(ch, blankH)
		}
		h = max(h, ch)
	}
	return item{h, func(d *draw.Drawing, x, y, _ float64) {
		for i, c := range set {
			d.Rect(ruleBox, x, y, widths[i], h)
			if row[i].tick {
				d.Rect(ruleBox, x+widths[i]-tickSize-pad, y+pad, tickSize, tickSize)
			}
			at := y + 0.6
			put := func(ls []string, size float64, bold bool) {
				for _, l := range ls {
					d.Texts = append(d.Texts, draw.Text{At: draw.Pt{X: x + pad, Y: at + 0.95*size}, S: l, Size: size, Bold: bold})
					at += leading(size)
				}
			}
			put(c.label, labelSize, false)
			if p := row[i].picture; p != nil {
				f, _ := p.Bounds(Metric)
				d.Add(p, x+pad-f.X0, at+0.8-f.Y0)
				at += f.H() + 1.6
			}
			put(c.value, valueSize, true)
			put(c.note, labelSize, false)
			x += widths[i]
		}
	}}
}

// table lays rows under a head with columns of the given shares of the width.
// Empty entries are blanks to write in. The head is returned apart so that it
// can be repeated.
func table(head []string, rows [][]string, shares []float64, w float64) (top item, body []item) {
	sum := 0.0
	for _, s := range shares {
		sum += s
	}
	widths := make([]float64, len(shares))
	for i, s := range shares {
		widths[i] = w * s / sum
	}
	top = tableRow(head, widths, labelSize, true, 0)
	for _, r := range rows {
		blank := false
		for _, e := range r {
			blank = blank || e == ""
		}
		least := 0.0
		if blank {
			least = 8.5
		}
		body = append(body, tableRow(r, widths, bodySize, false, least))
	}
	return top, body
}

func tableRow(row []string, widths []float64, size float64, head bool, least float64) item {
	set := make([][]string, len(widths))
	h := least
	for i := range widths {
		if i < len(row) {
			set[i] = atMost(12, row[i], widths[i]-2*pad, size, head)
		}
		h = max(h, float64(len(set[i]))*leading(size)+1.8)
	}
	return item{h, func(d *draw.Drawing, x, y, _ float64) {
		for i, ls := range set {
			if head {
				d.FillRect(0.88, x, y, widths[i], h)
			}
			d.Rect(ruleBox, x, y, widths[i], h)
			at := y + (h-float64(len(ls))*leading(size))/2
			for _, l := range ls {
				d.Texts = append(d.Texts, draw.Text{At: draw.Pt{X: x + pad, Y: at + 0.95*size}, S: l, Size: size, Bold: head})
				at += leading(size)
			}
			x += widths[i]
		}
	}}
}

// table sets a table that repeats its head on every page.
func (s *sheet) table(head []string, rows [][]string, shares []float64) {
	top, body := table(head, rows, shares, s.width())
	if len(body) == 0 {
		return
	}
	s.keep(top.h + body[0].h)
	s.flow(append([]item{top}, body...), []item{top})
}
