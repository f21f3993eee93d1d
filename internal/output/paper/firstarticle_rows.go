package paper

import (
	"fmt"

	"fettle"
	"fettle/internal/output/draw"
	"fettle/internal/output/tongue"
	"fettle/internal/trade/sampling"
)

// mostRows is how many pieces get a row of their own; it fills two pages.
const mostRows = 60

// articleLines are what is measured on the first article, by their English.
var articleLines = map[string]tongue.Key{
	"Overall size along X":             "Overall size along X",
	"Overall size along Y":             "Overall size along Y",
	"Overall size along Z":             "Overall size along Z",
	"Diameter":                         "Diameter",
	"Largest diameter at the mouth":    "Largest diameter at the mouth",
	"Width":                            "Width",
	"Largest width at the mouth":       "Largest width at the mouth",
	"Length":                           "Length",
	"Depth":                            "Depth",
	"Roughness Ra":                     "Roughness Ra",
	"Roughness Rz":                     "Roughness Rz",
	"Roughness Sq":                     "Roughness Sq",
	"Gloss at 60°":                     "Gloss at 60°",
	"Grade on the comparison plate, N": "Grade on the comparison plate, N",
	"Edge radius":                      "Edge radius",
	"Older marks: write 1 where they are gone, 0 where one shows": "Older marks: write 1 where they are gone, 0 where one shows",
	"Older marks beside the sample":                               "Older marks beside the sample",
	"Openings that hold media":                                    "Openings that hold media",
	"no worse":                                                    "no worse",
}

// first is the record of the first article.
func (a *article) first() {
	if len(a.acc.First) == 0 {
		return
	}
	s, say := a.sheet, a.say
	shares := []float64{0.5, 2.7, 1.2, 1.9, 1.6, 0.7, 0.7}
	head := boxRow([]field{{text: say.Say("No."), bold: true}, {text: say.Say("What"), bold: true}, {text: say.Say("Where"), bold: true}, {text: say.Say("Wanted"), bold: true},
		{text: say.Say("Measured"), bold: true}, {text: say.Say("Right"), bold: true}, {text: say.Say("Wrong"), bold: true}}, shares, s.width(), 0)
	head = shaded(head)
	var rows []item
	for _, l := range a.acc.First {
		known := func(s string) string {
			if k, ok := articleLines[s]; ok {
				return k.In(say)
			}
			return s
		}
		measured := ""
		if l.Measured != nil {
			measured = asRead(*l.Measured)
			if l.Unit != "" {
				measured += " " + l.Unit
			}
		}
		rows = append(rows, boxRow([]field{{text: fmt.Sprint(l.Number)}, {text: known(l.What)}, {text: first(l.Name, l.Place)}, {text: known(l.Wanted)}, {text: measured, bold: true},
			{tick: true, cross: l.Right != nil && *l.Right}, {tick: true, cross: l.Right != nil && !*l.Right}}, shares, s.width(), 8))
	}
	s.section(say.Say("First article"), head.h+24)
	s.flow(prose(say.Say("The first finished piece of the lot, measured before the next one is begun. Nothing goes on while a line is wrong."), s.width(), bodySize, false), nil)
	s.y += 1.2
	s.keep(head.h + 16)
	s.flow(append([]item{head}, rows...), []item{head})
}

// lot is how many pieces are looked at, with a row to tick for each, or a tally where
// they are many.
func (a *article) lot() {
	s, say, p := a.sheet, a.say, a.acc.Sampling
	s.section(say.Say("Looking at the lot"), 50)
	for _, t := range a.samplingSays() {
		s.flow(bullet(t, s.width()), nil)
	}
	s.y += 1.2
	if p.Size > mostRows {
		a.tally()
		return
	}
	cells := []field{{text: say.Say("Piece"), bold: true}}
	shares := []float64{0.8}
	blank := []field{{}}
	for _, l := range a.acc.Limits {
		c := field{}
		switch l.Kind {
		case fettle.ReadMarkGone:
			cells, c.tick = append(cells, field{text: say.Say("No older mark"), bold: true}), true
		case fettle.ReadJammed:
			cells, c.tick = append(cells, field{text: say.Say("No media"), bold: true}), true
		case fettle.ReadRa, fettle.ReadRz, fettle.ReadSq, fettle.ReadGloss, fettle.ReadGrade:
			cells = append(cells, field{text: say.Say("%s: %s", readingSigns[l.Kind], a.held(l)), bold: true})
		default:
			continue
		}
		blank = append(blank, c)
		shares = append(shares, 1.3)
	}
	cells = append(cells, field{text: say.Say("Right"), bold: true}, field{text: say.Say("Wrong"), bold: true}, field{text: say.Say("What is wrong"), bold: true})
	blank = append(blank, field{tick: true}, field{tick: true}, field{})
	shares = append(shares, 0.9, 0.9, 2.6)
	head := shaded(boxRow(cells, shares, s.width(), 0))
	var rows []item
	for i := range p.Size {
		row := append([]field(nil), blank...)
		row[0] = field{text: fmt.Sprint(i + 1)}
		rows = append(rows, boxRow(row, shares, s.width(), 7.4))
	}
	s.keep(head.h + 15)
	s.flow(append([]item{head}, rows...), []item{head})
}

// readingSigns are the signs of what is read.
var readingSigns = map[fettle.ReadingKind]string{
	fettle.ReadRa: "Ra", fettle.ReadRz: "Rz", fettle.ReadSq: "Sq", fettle.ReadGloss: "60°", fettle.ReadGrade: "N",
}

// Shares of bad pieces for which the chance to pass is told.
const (
	shareFew  = 0.01
	shareMany = 0.20
)

// samplingSays is the sampling plan in words.
func (a *article) samplingSays() []string {
	say, p := a.say, a.acc.Sampling
	if p.All {
		return []string{say.Sentence(say.Count(p.Lot, "look at the one piece", "look at all %d pieces; what fails is put right or put aside, piece by piece"))}
	}
	var out []string
	out = append(out, say.Say("Of %d pieces look at %d, picked from all over the lot before anyone looks at them (code letter %s, level %s, AQL %g %%).", p.Lot, p.Size, p.Letter, p.Level, p.AQL))
	if p.Accept == 0 {
		out = append(out, say.Say("Take the lot if none fails; at the first that fails, refuse it and look at all."))
	} else {
		out = append(out, say.Count(p.Accept, "Take the lot if at most %d fails; at %d, refuse it and look at all.", "Take the lot if at most %d fail; at %d, refuse it and look at all.", p.Reject))
	}
	out = append(out, say.Say("A lot with %s bad passes %s, one with %s passes %s; with %s it still passes one time in ten.",
		shareSays(shareFew), a.inHundred(sampling.PassChance(p, shareFew)), shareSays(shareMany), a.inHundred(sampling.PassChance(p, shareMany)), shareSays(sampling.PassesAt(p, 0.10))))
	if p.Severity == sampling.Tightened {
		out = append(out, say.Say("Tightened inspection: too many of the last lots were refused. Five lots taken in a row end it."))
	}
	return out
}

// inHundred is a chance in words.
func (a *article) inHundred(p float64) string {
	switch {
	case p > 0 && p < 0.005:
		return a.say.Say("less than once in 200")
	case p < 1 && p > 0.995:
		return a.say.Say("more than 199 times in 200")
	}
	return a.say.Count(int(100*p+0.5), "%d time in 100", "%d times in 100")
}

// shareSays is a share of pieces in per cent, to two figures.
func shareSays(v float64) string {
	if v >= 0.0995 {
		return percent(v)
	}
	return sampling.Percent(v) + " %"
}

// tally is for samples too large for a row each: strokes for the right ones, a row
// for each wrong one up to where the lot is refused.
func (a *article) tally() {
	s, say, p := a.sheet, a.say, a.acc.Sampling
	strokes := item{46, func(d *draw.Drawing, x, y, w float64) {
		d.Rect(ruleBox, x, y, w, 46)
		d.Texts = append(d.Texts, draw.Text{At: draw.Pt{X: x + pad, Y: y + 0.6 + 0.95*labelSize}, Size: labelSize,
			S: clip(say.Say("Right: one stroke a piece, in fives, up to %d", p.Size), w-2*pad, labelSize, false)})
	}}
	s.keep(strokes.h)
	s.set(strokes)
	s.y += 2
	shares := []float64{0.9, 1.6, 5}
	head := shaded(boxRow([]field{{text: say.Say("Wrong"), bold: true}, {text: say.Say("Piece"), bold: true}, {text: say.Say("What is wrong"), bold: true}}, shares, s.width(), 0))
	var rows []item
	for i := range p.Reject {
		last := field{}
		if i == p.Reject-1 {
			last.text = say.Say("Stop here: the lot is refused.")
		}
		rows = append(rows, boxRow([]field{{text: fmt.Sprint(i + 1)}, {}, last}, shares, s.width(), 7.4))
	}
	s.keep(head.h + 8)
	s.flow(append([]item{head}, rows...), []item{head})
}

// field is one field of a row to fill in: a text, a blank, or a square to tick.
type field struct {
	text  string
	bold  bool
	tick  bool
	cross bool // the square is ticked already
}

// boxRow is a row of fields with widths in shares of w, at least least mm high.
func boxRow(row []field, shares []float64, w, least float64) item {
	sum := 0.0
	for _, s := range shares {
		sum += s
	}
	widths := make([]float64, len(row))
	set := make([][]string, len(row))
	h := least
	for i, b := range row {
		widths[i] = w * shares[i] / sum
		size := bodySize
		if b.bold && !b.tick {
			size = labelSize
		}
		in := widths[i] - 2*pad
		if b.tick {
			in -= tickSize + pad
		}
		set[i] = atMost(6, b.text, max(in, 4), size, b.bold)
		h = max(h, float64(len(set[i]))*leading(size)+1.8)
	}
	return item{h, func(d *draw.Drawing, x, y, _ float64) {
		for i, b := range row {
			d.Rect(ruleBox, x, y, widths[i], h)
			size, at := bodySize, x+pad
			if b.bold && !b.tick {
				size = labelSize
			}
			if b.tick {
				left := at
				if b.text == "" {
					left = x + (widths[i]-tickSize)/2
				}
				top := y + (h-tickSize)/2
				d.Rect(ruleBox, left, top, tickSize, tickSize)
				if b.cross {
					d.Stroke(0.6, draw.Pt{X: left + 0.6, Y: top + 0.6}, draw.Pt{X: left + tickSize - 0.6, Y: top + tickSize - 0.6})
					d.Stroke(0.6, draw.Pt{X: left + 0.6, Y: top + tickSize - 0.6}, draw.Pt{X: left + tickSize - 0.6, Y: top + 0.6})
				}
				at += tickSize + pad
			}
			ty := y + (h-float64(len(set[i]))*leading(size))/2
			for _, l := range set[i] {
				d.Texts = append(d.Texts, draw.Text{At: draw.Pt{X: at, Y: ty + 0.95*size}, S: l, Size: size, Bold: b.bold})
				ty += leading(size)
			}
			x += widths[i]
		}
	}}
}

// shaded puts grey behind an item.
func shaded(it item) item {
	return item{it.h, func(d *draw.Drawing, x, y, w float64) {
		d.FillRect(0.88, x, y, w, it.h)
		it.put(d, x, y, w)
	}}
}
