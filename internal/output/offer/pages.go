package offer

import (
	"fettle"
	"fettle/internal/output/draw"
	"fettle/internal/output/paper"
)

// mostPages is how long an offer on paper may be.
const mostPages = 3

// mostPaper is how many bytes of pictures go on paper.
const mostPaper = 2_400_000

// pages are the offer on paper. Type and pictures are made smaller where it would
// otherwise take more than three pages.
func (v *view) pages(size paper.Size) ([]*draw.Drawing, error) {
	if !(size.W >= 140 && size.H >= 200 && size.W <= 1200 && size.H <= 1200) {
		return nil, fettle.Errorf(fettle.Invalid, "an offer does not go on paper of %.0f × %.0f mm; choose A4 or Letter", size.W, size.H)
	}
	if err := v.fit(mostPaper); err != nil {
		return nil, err
	}
	for _, scale := range []float64{1, 0.92, 0.85, 0.78} {
		l := &layout{v: v, f: newFlow(size), k: scale}
		if l.all() && len(l.f.pages) <= mostPages {
			l.running()
			return l.f.pages, nil
		}
	}
	return nil, errTooLong()
}

// layout is one try at one size of type.
type layout struct {
	v *view
	f *flow
	k float64
}

// Styles of type; quiet ones are for what explains.
func (l *layout) body() style  { return style{size: 9.2 * pt * l.k} }
func (l *layout) bold() style  { return style{size: 9.2 * pt * l.k, bold: true} }
func (l *layout) quiet() style { return style{size: 7.6 * pt * l.k, shade: 0.3} }
func (l *layout) head() style  { return style{size: 12 * pt * l.k, bold: true} }
func (l *layout) price() style { return style{size: 15.5 * pt * l.k, bold: true} }
func (l *layout) title() style { return style{size: 23 * pt * l.k, bold: true} }

func (l *layout) gap() float64 { return 6.5 * l.k }

// all lays out the whole; false where something is higher than a page.
func (l *layout) all() bool {
	v, w := l.v, l.f.width()
	ok := l.f.add(0, l.letterhead(), stack(space(5*l.k), text(v.Title, w, l.title()), space(0.8), text(v.Lead, w, style{size: 10.5 * pt * l.k, shade: 0.3})))
	per := min(3, len(v.Choices))
	if len(v.Choices) == 4 {
		per = 2
	}
	head := stack(text(v.ChoiceHead, w, l.head()), space(1.6))
	first := stack(head, l.row(v.Choices[:min(per, len(v.Choices))], per))
	part := l.partAbove(first.h)
	ok = ok && l.f.add(4.5*l.k, part)
	for i := 0; i < len(v.Choices); i += per {
		row := v.Choices[i:min(i+per, len(v.Choices))]
		b := first
		if i > 0 {
			b = l.row(row, per)
		}
		ok = ok && l.f.add(l.gap(), b)
		if words := l.words(row, per); words.h > 0 {
			ok = ok && l.f.add(3*l.k, words)
		}
	}
	if len(v.Notes) > 0 {
		var notes []block
		for _, n := range v.Notes {
			notes = append(notes, text(n, w, l.quiet()))
		}
		ok = ok && l.f.add(2.5*l.k, stack(notes...))
	}
	if c := v.Common; c != nil {
		half := (w - 8) / 2
		ok = ok && l.f.add(l.gap(), stack(text(c.Title, w, l.head()), space(1.6),
			beside([]float64{0, half + 8}, l.word(c.PromisedHead, "✓", c.Promised, half), l.word(c.NotHead, "–", c.Not, half))))
	}
	if v.Prices != nil {
		ok = ok && l.f.add(l.gap(), l.table()...)
	}
	if v.Fixed != "" {
		ok = ok && l.f.add(2.5*l.k, text(v.Fixed, w, l.bold()))
	}
	if len(v.Terms) > 0 {
		items := bullets("–", v.Terms, w, l.body())
		items[0] = stack(text(v.TermsHead, w, l.head()), space(1.6), items[0])
		ok = ok && l.f.add(l.gap(), items...)
	}
	return ok && l.f.add(l.gap(), l.answer())
}

// letterhead is who offers, what and when, over a rule with ticks every 2 mm.
func (l *layout) letterhead() block {
	v, w := l.v, l.f.width()
	var from, about []block
	if v.Shop != "" {
		from = append(from, text(v.Shop, w*0.55, style{size: 12.5 * pt * l.k, bold: true}))
	}
	for _, c := range v.Contact {
		from = append(from, text(c, w*0.55, l.body()))
	}
	nameW := 0.0
	for _, f := range v.Facts {
		nameW = max(nameW, paper.Metric(f.Label, l.quiet().size, false))
	}
	side := w * 0.4
	nameW = min(nameW+3, side/2)
	for _, f := range v.Facts {
		about = append(about, beside([]float64{0, nameW}, stack(space(l.body().size-l.quiet().size), text(f.Label, nameW, l.quiet())), text(f.Value, side-nameW, l.bold())))
	}
	return stack(beside([]float64{0, w - side}, stack(from...), stack(about...)), space(2.5), ticks(w))
}

// ticks is a steel rule in true millimetres.
func ticks(w float64) block {
	return block{4, func(d *draw.Drawing, x, y float64) {
		d.Stroke(0.5, draw.Pt{X: x, Y: y}, draw.Pt{X: x + w, Y: y})
		for i := 0; float64(i) <= w; i += 2 {
			h, shade := 1.6, 0.5
			switch {
			case i%20 == 0:
				h, shade = 3.6, 0
			case i%10 == 0:
				h, shade = 2.6, 0
			}
			at := x + float64(i)
			d.Lines = append(d.Lines, draw.Line{Pts: []draw.Pt{{X: at, Y: y}, {X: at, Y: y + h}}, Weight: 0.2, Shade: shade})
		}
	}}
}

// partAbove is the part with its picture as large as leaves room on the page for what
// is h high below it; where none does, as large as it goes.
func (l *layout) partAbove(h float64) block {
	for most := 70.0; most >= 38; most -= 4 {
		if b := l.part(most); l.f.y+4.5*l.k+b.h+l.gap()+h <= l.f.foot() {
			return b
		}
	}
	return l.part(70)
}

// part is the part's picture, at most that high in mm, beside what is known of it.
func (l *layout) part(most float64) block {
	v, w := l.v, l.f.width()
	side := w
	if len(v.Part) > 0 {
		side = w*0.47 - 7
	}
	var told []block
	told = append(told, text(v.PartHead, side, l.head()), space(1.6), l.facts(v.PartFacts, side))
	if len(v.Words) > 0 {
		told = append(told, space(2.5))
	}
	for _, p := range v.Words {
		told = append(told, text(p, side, l.body()), space(1.2))
	}
	if len(v.Part) == 0 {
		return stack(told...)
	}
	return beside([]float64{0, w - side}, l.views(v.Part, w*0.53, most*l.k), stack(told...))
}

// views are pictures with their captions: the first large, the others two in a row.
func (l *layout) views(pictures []shown, w, most float64) block {
	one := func(p *shown, w, most float64) block {
		return stack(picture(p, w, most), space(1), text(p.Says+" "+p.Kind, w, l.quiet()), space(1.5))
	}
	out := []block{one(&pictures[0], w, most)}
	half := (w - 4) / 2
	for i := 1; i < len(pictures); i += 2 {
		if i+1 == len(pictures) {
			out = append(out, one(&pictures[i], w, most*0.6))
			break
		}
		out = append(out, beside([]float64{0, half + 4}, one(&pictures[i], half, most*0.6), one(&pictures[i+1], half, most*0.6)))
	}
	return stack(out...)
}

// facts are names with their values below.
func (l *layout) facts(facts []fact, w float64) block {
	var out []block
	for _, f := range facts {
		out = append(out, text(f.Label, w, l.quiet()), text(f.Value, w, l.bold()), space(0.9*l.k))
	}
	return stack(out...)
}

// running puts the foot on every page.
func (l *layout) running() {
	s, n := l.quiet(), len(l.f.pages)
	y := l.f.size.H - 10.5
	edge := l.f.size.W - marginRight
	for i, d := range l.f.pages {
		of := l.v.Page(i+1, n)
		d.Lines = append(d.Lines, draw.Line{Pts: []draw.Pt{{X: marginLeft, Y: y - 4}, {X: edge, Y: y - 4}}, Weight: 0.2, Shade: 0.5})
		head := l.v.Head
		if l.v.Shop != "" {
			head = l.v.Shop + "  ·  " + head
		}
		room := l.f.width() - paper.Metric(of, s.size, false) - 6
		d.Texts = append(d.Texts,
			draw.Text{At: draw.Pt{X: marginLeft, Y: y}, S: clip(head, room, s), Size: s.size, Shade: s.shade},
			draw.Text{At: draw.Pt{X: edge, Y: y}, S: of, Size: s.size, Shade: s.shade, Align: draw.Right})
	}
}
