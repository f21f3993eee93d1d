package offer

import (
	"fettle/internal/output/draw"
	"fettle/internal/output/paper"
)

// gutter is the room between two finishes.
const gutter = 6.0

// columns are the places of n columns and their width.
func (l *layout) columns(n int) (at []float64, w float64) {
	w = (l.f.width() - gutter*float64(n-1)) / float64(n)
	for i := range n {
		at = append(at, float64(i)*(w+gutter))
	}
	return at, w
}

// row is up to per finishes side by side, their like parts at like heights. One alone
// has its picture at the left.
func (l *layout) row(cards []card, per int) block {
	if per == 1 {
		w := l.f.width()
		side := w*0.47 - gutter
		if len(cards[0].Pictures) == 0 {
			return stack(l.parts(&cards[0], w)...)
		}
		return beside([]float64{0, w - side}, l.views(cards[0].Pictures, w*0.53, 95*l.k), stack(l.parts(&cards[0], side)...))
	}
	at, w := l.columns(per)
	at = at[:len(cards)]
	var views []block
	var parts [][]block
	for i := range cards {
		v := space(0)
		if len(cards[i].Pictures) > 0 {
			v = l.views(cards[i].Pictures, w, 62*l.k)
		}
		views = append(views, v)
		parts = append(parts, l.parts(&cards[i], w))
	}
	out := []block{beside(at, views...)}
	for k := range parts[0] {
		var level []block
		for i := range cards {
			level = append(level, parts[i][k])
		}
		out = append(out, beside(at, level...))
	}
	return stack(out...)
}

// parts are a finish's words, in the same number for every finish.
func (l *layout) parts(c *card, w float64) []block {
	tag := space(0)
	if c.Tag != "" {
		tag = text(c.Tag, w, style{size: l.quiet().size, bold: true})
	}
	price := []block{space(1.6 * l.k), line(w, 0.5, 0), space(1.4 * l.k)}
	each := text(c.Each, w, l.price())
	if c.Unit != "" {
		each = stack(each, text(c.Unit, w, l.body()))
		if room := paper.Metric(c.Each, l.price().size, true) + 1.5; room+paper.Metric(c.Unit, l.body().size, false) <= w {
			each = beside([]float64{0, room}, text(c.Each, w, l.price()), stack(space(l.price().size-l.body().size), text(c.Unit, w-room, l.body())))
		}
	}
	price = append(price, each, text(c.Lot, w, l.body()), space(1.6*l.k))
	when := []block{text(c.DayLabel, w, l.quiet()), text(c.Day, w, l.bold()), text(c.Likely, w, l.quiet()), space(1.6 * l.k)}
	return []block{
		tag, l.name(fact{c.Letter, c.Title}, w, l.head()), text(c.Says, w, l.body()),
		stack(price...), stack(when...), l.facts(c.Facts, w),
	}
}

// name is a finish's letter in its box and its title.
func (l *layout) name(f fact, w float64, s style) block {
	side := 1.45 * s.size
	title := text(f.Value, w-side-1.5, s)
	return block{max(title.h, side) + 0.35*s.size, func(d *draw.Drawing, x, y float64) {
		d.Rect(0.4, x+0.2, y+0.2, side-0.4, side-0.4)
		d.Texts = append(d.Texts, draw.Text{At: draw.Pt{X: x + side/2, Y: y + side/2 + 0.36*s.size}, S: f.Label, Size: s.size, Bold: true, Align: draw.Centre})
		title.put(d, x+side+1.5, y+side/2+0.36*s.size-s.size)
	}}
}

// words are what each finish of a row promises and does not.
func (l *layout) words(cards []card, per int) block {
	at, w := l.columns(per)
	var out []block
	if per == 1 {
		half := (w - 8) / 2
		c := &cards[0]
		return beside([]float64{0, half + 8}, l.word(c.PromisedHead, "✓", c.Promised, half), l.word(c.NotHead, "–", c.Not, half))
	}
	for i := range cards {
		c := &cards[i]
		if len(c.Promised)+len(c.Not) == 0 {
			out = append(out, space(0))
			continue
		}
		// It may stand on the page after the finish, so it says again whose it is.
		name := text(c.Letter+"  "+c.Title, w, l.bold())
		out = append(out, stack(name, space(1), l.word(c.PromisedHead, "✓", c.Promised, w), l.word(c.NotHead, "–", c.Not, w)))
	}
	return beside(at[:len(cards)], out...)
}

// word is one list of sentences under its head; nothing where there are none.
func (l *layout) word(head, sign string, says []string, w float64) block {
	if len(says) == 0 {
		return space(0)
	}
	return stack(append([]block{text(head, w, l.bold()), space(0.6)}, append(bullets(sign, says, w, l.body()), space(1.2*l.k))...)...)
}

// table is the prices by lot, line by line; its head stays with the first.
func (l *layout) table() []block {
	p, w := l.v.Prices, l.f.width()
	first := min(34, 0.22*w)
	each := min(50, (w-first)/float64(len(p.Choices)))
	w = first + each*float64(len(p.Choices))
	at := []float64{0}
	head := []block{text(p.LotHead, first, l.bold())}
	for i, c := range p.Choices {
		at = append(at, first+float64(i)*each)
		head = append(head, right(clip(c.Label+"  "+c.Value, each-3, l.bold()), each, l.bold()))
	}
	rows := []block{stack(text(p.Head, l.f.width(), l.head()), space(1), text(p.Caption, l.f.width(), l.quiet()), space(1.6), beside(at, head...), space(0.6))}
	for _, r := range p.Rows {
		s := l.body()
		if r.Asked {
			s.bold = true
		}
		cells := []block{stack(text(r.Lot, first, s), text(r.Note, first, l.quiet()))}
		for _, c := range r.Cells {
			cell := []block{right(c.Label, each, s)}
			if c.Value != "" {
				cell = append(cell, right(c.Value, each, l.quiet()))
			}
			cells = append(cells, stack(cell...))
		}
		rows = append(rows, stack(line(w, 0.2, 0.4), space(0.8), beside(at, cells...), space(0.8)))
	}
	rows[0], rows = stack(rows[0], rows[1]), append(rows[:1], rows[2:]...)
	return rows
}

// answer is the slip to tick and sign.
func (l *layout) answer() block {
	a, w := &l.v.Answer, l.f.width()
	inner := w - 8
	out := []block{text(a.Head, inner, l.head()), space(1), text(a.OnPaper, inner, l.body()), space(3)}
	per := min(3, len(a.Boxes))
	cell := inner / float64(per)
	box := 4.6 * l.k
	for i := 0; i < len(a.Boxes); i += per {
		var at []float64
		var row []block
		for k, b := range a.Boxes[i:min(i+per, len(a.Boxes))] {
			at = append(at, float64(k)*cell)
			says := text(b.Label+"  "+b.Value, cell-box-4, l.bold())
			row = append(row, block{max(box, says.h) + 1.5, func(d *draw.Drawing, x, y float64) {
				d.Rect(0.45, x+0.25, y+0.25, box-0.5, box-0.5)
				says.put(d, x+box+2, y+box/2-0.64*l.body().size)
			}})
		}
		out = append(out, beside(at, row...))
	}
	// Room to write on: a quarter more for a name and a signature.
	shares := []float64{0.14, 0.3, 0.2, 0.36}
	var at []float64
	var row []block
	x := 0.0
	for i, b := range a.Blanks {
		share := 1 / float64(len(a.Blanks))
		if len(a.Blanks) == len(shares) {
			share = shares[i]
		}
		bw := share*inner - 4
		at = append(at, x)
		row = append(row, stack(space(11), line(bw, 0.3, 0), space(0.8), text(b, bw, l.quiet())))
		x += share * inner
	}
	out = append(out, beside(at, row...))
	body := stack(out...)
	return block{body.h + 8, func(d *draw.Drawing, x, y float64) {
		d.Rect(0.4, x+0.2, y+0.2, w-0.4, body.h+7.6)
		body.put(d, x+4, y+4)
	}}
}
