package paper

import (
	"strconv"
	"strings"

	"fettle"
	"fettle/internal/output/draw"
	"fettle/internal/output/tongue"
	"fettle/internal/trade/sampling"
)

// FirstArticle is the paper that a lot is judged by, as a PDF: what the signed-off
// sample set as right, how many pieces are looked at with a row for each, and the
// record of the first article with what was measured so far. Of the options it heeds
// size, language and job; lengths are in the units of the acceptance. The error is
// Invalid for an acceptance without limits and for a size that cannot be drawn.
func FirstArticle(plan *fettle.Plan, acc *fettle.Acceptance, opt Options) ([]byte, error) {
	pages, err := FirstArticlePages(plan, acc, opt)
	if err != nil {
		return nil, err
	}
	size := opt.size()
	return PDF(pages, size.W, size.H, first(plan.Title, opt.tongueFor(plan).Say("First article")))
}

// FirstArticlePages is the same paper as drawings, for a preview on screen.
func FirstArticlePages(plan *fettle.Plan, acc *fettle.Acceptance, opt Options) ([]*draw.Drawing, error) {
	size := opt.size()
	switch {
	case plan == nil:
		return nil, fettle.Errorf(fettle.Invalid, "a first article needs a plan; plan the part first")
	case acc == nil || len(acc.Limits) == 0 && len(acc.First) == 0:
		return nil, fettle.Errorf(fettle.Invalid, "nothing was agreed on yet, so there is nothing to put on paper; make the acceptance first")
	case acc.Sampling.Size < 1 || acc.Sampling.Size > acc.Sampling.Lot:
		return nil, fettle.Errorf(fettle.Invalid, "%d pieces of a lot of %d cannot be looked at; make the acceptance again", acc.Sampling.Size, acc.Sampling.Lot)
	case !(size.W >= 140 && size.H >= 180 && size.W <= 1200 && size.H <= 1200):
		return nil, fettle.Errorf(fettle.Invalid, "paper of %.0f × %.0f mm is not possible; choose A4 or Letter", size.W, size.H)
	}
	a := &article{plan: plan, acc: acc, sys: acc.Display, say: opt.tongueFor(plan), job: opt.Job, sheet: newSheet(size)}
	a.head()
	a.limits()
	a.first()
	a.lot()
	a.signatures()
	a.running()
	return a.sheet.pages, nil
}

// article is one such paper in the making.
type article struct {
	plan  *fettle.Plan
	acc   *fettle.Acceptance
	sys   fettle.System
	say   *tongue.Tongue
	job   string
	sheet *sheet
}

// title is the job's name.
func (a *article) title() string {
	return first(a.plan.Title, first(a.plan.Survey.File, a.say.Say("First article")))
}

// sum is what the model's SHA-256 begins with.
func (a *article) sum() string {
	s := a.plan.Survey.SHA256
	return s[:min(12, len(s))]
}

// head is the top of the first page: whose part it is, from which model, and what was
// signed off.
func (a *article) head() {
	s, p, say := a.sheet, a.plan, a.say
	d := s.page()
	tag := say.Say("FIRST ARTICLE")
	d.Texts = append(d.Texts, draw.Text{At: draw.Pt{X: s.right, Y: s.y + 4}, S: tag, Size: headSize, Bold: true, Align: draw.Right})
	if shop := first(p.Shop, p.Brief.Shop); shop != "" {
		d.Texts = append(d.Texts, draw.Text{At: draw.Pt{X: s.left, Y: s.y + 4}, S: clip(shop, s.width()-Metric(tag, headSize, true)-6, headSize, false), Size: headSize})
	}
	s.y += 6.5
	lines := wrap(a.title(), s.width(), titleSize, true)
	if len(lines) > 2 {
		lines = []string{lines[0], clip(strings.Join(lines[1:], " "), s.width(), titleSize, true)}
	}
	for _, l := range lines {
		s.set(textItem(l, titleSize, true))
	}
	s.y += 1
	sample, day := say.Say("none yet"), say.Say("not signed off")
	if a.acc.Sample != "" {
		sample = clip(a.acc.Sample, s.width()/3, valueSize, true)
	}
	if a.acc.Day != "" {
		day = a.acc.Day
	}
	s.flow(grid([]cell{
		{label: say.Say("Material"), value: first(first(p.Material.Title, p.Brief.Material), say.Say("not said")), span: 2},
		{label: say.Say("Finish"), value: first(p.Look.Title, first(a.acc.Look, say.Say("not said"))), span: 2},
		{label: say.Say("Lot"), value: say.Count(a.acc.Sampling.Lot, "%d piece", "%d pieces")},
		{label: say.Say("Date")},
		{label: say.Say("Model file"), value: clip(first(p.Survey.File, say.Say("none")), s.width()/2-4, valueSize, true), span: 3},
		{label: say.Say("SHA-256 begins"), value: first(a.sum(), say.Say("none")), span: 2},
		{label: say.Say("Job no."), value: clip(a.job, s.width()/6-3, valueSize, true)},
		{label: say.Say("Sample"), value: sample, span: 3},
		{label: say.Say("Signed off on"), value: day, span: 2},
		{label: say.Say("Kept at")},
	}, 6, s.width()), nil)
}

// readingNames are the names of what is read.
var readingNames = map[fettle.ReadingKind]tongue.Key{
	fettle.ReadRa:       "Roughness Ra",
	fettle.ReadRz:       "Roughness Rz",
	fettle.ReadSq:       "Roughness Sq",
	fettle.ReadGloss:    "Gloss at 60°",
	fettle.ReadGrade:    "Grade on the comparison plate",
	fettle.ReadMarkGone: "Older marks",
	fettle.ReadJammed:   "Media left in openings",
	fettle.ReadGrams:    "Loss of weight",
	fettle.ReadMicron:   "Loss across two faces",
}

// limits are what a piece is held to.
func (a *article) limits() {
	s, say := a.sheet, a.say
	var rows [][]string
	for _, l := range a.acc.Limits {
		name := string(l.Kind)
		if k, ok := readingNames[l.Kind]; ok {
			name = k.In(say)
		}
		read := "–"
		if l.N > 0 {
			read = a.read(l)
		}
		rows = append(rows, []string{name, read, a.held(l)})
	}
	s.section(say.Say("What a piece is held to"), 24)
	if len(rows) > 0 {
		s.table([]string{say.Say("What"), say.Say("On the sample"), say.Say("On a piece")}, rows, []float64{1.5, 1.6, 2.4})
		s.y += 1.5
	}
	var notes []item
	if a.acc.Sample != "" {
		notes = append(notes, prose(say.Say("The signed sample wins over every number: lay the piece beside it under the same lamp."), s.width(), bodySize, true)...)
	}
	for _, n := range a.acc.Notes {
		notes = append(notes, bullet(say.Sentence(n), s.width())...)
	}
	s.flow(notes, nil)
}

// read is what the sample read.
func (a *article) read(l fettle.AcceptLimit) string {
	switch l.Kind {
	case fettle.ReadMarkGone:
		if l.Sample < 1 {
			return a.say.Say("one was there")
		}
		return a.say.Say("gone")
	case fettle.ReadJammed:
		return a.say.Count(int(l.Sample+0.5), "%d piece held media", "%d pieces held media")
	}
	v := sampling.Value(l.Kind, l.Sample, a.sys)
	if l.N == 1 {
		return a.say.Say("%s, read once", v)
	}
	return a.say.Say("%s, mean of %d", v, l.N)
}

// held is the limit in words.
func (a *article) held(l fettle.AcceptLimit) string {
	show := func(v float64) string { return sampling.Limit(l.Kind, v, a.sys) }
	switch {
	case l.Kind == fettle.ReadMarkGone && l.Low == nil:
		return a.say.Say("no worse than on the sample")
	case l.Kind == fettle.ReadMarkGone:
		return a.say.Say("must be gone")
	case l.Kind == fettle.ReadJammed:
		return a.say.Say("none")
	case l.Low != nil && l.High != nil:
		return a.say.Say("%s to %s", show(*l.Low), show(*l.High))
	case l.High != nil:
		return a.say.Say("at most %s", show(*l.High))
	case l.Low != nil:
		return a.say.Say("at least %s", show(*l.Low))
	}
	return a.say.Say("no limit; the size is held")
}

// signatures close the paper.
func (a *article) signatures() {
	s, say := a.sheet, a.say
	rows := grid([]cell{
		{label: say.Say("First article measured by")}, {label: say.Say("Date")}, {label: say.Say("Signature"), span: 2},
		{label: say.Say("Lot looked at by")}, {label: say.Say("Date")}, {label: say.Say("Signature"), span: 2},
		{label: say.Say("Agreed with the customer")}, {label: say.Say("Date")}, {label: say.Say("Signature"), span: 2},
	}, 4, s.width())
	verdict := boxRow([]field{
		{text: say.Say("The lot is taken"), tick: true, bold: true}, {text: say.Say("The lot is refused"), tick: true, bold: true},
		{text: say.Say("All pieces were looked at and sorted"), tick: true, bold: true},
	}, []float64{1, 1, 1.5}, s.width(), 9)
	s.section(say.Say("Verdict"), verdict.h+height(rows)+2)
	s.set(verdict)
	s.y += 1.5
	s.flow(rows, nil)
}

// running puts the running head on every page but the first, and the foot on all.
func (a *article) running() {
	s := a.sheet
	id := clip(first(a.plan.Survey.File, a.say.Say("no model file")), 70, labelSize, false)
	if sum := a.sum(); sum != "" {
		id += "  ·  " + sum
	}
	for i, d := range s.pages {
		y := s.h - 10
		d.Stroke(ruleBox, draw.Pt{X: s.left, Y: y - 4}, draw.Pt{X: s.right, Y: y - 4})
		d.Texts = append(d.Texts,
			draw.Text{At: draw.Pt{X: s.left, Y: y}, Size: labelSize,
				S: clip(a.say.Say("One reading in twenty of a good piece may fall outside: read again elsewhere on the face before it is refused."), s.width()-28, labelSize, false)},
			draw.Text{At: draw.Pt{X: s.right, Y: y}, S: a.say.Say("Page %d of %d", i+1, len(s.pages)), Size: bodySize, Bold: true, Align: draw.Right})
		if i == 0 {
			continue
		}
		title := a.say.Say("First article: %s", a.title())
		d.Texts = append(d.Texts,
			draw.Text{At: draw.Pt{X: s.left, Y: s.top + 3.5}, S: clip(title, s.width()-Metric(id, labelSize, false)-6, bodySize, true), Size: bodySize, Bold: true},
			draw.Text{At: draw.Pt{X: s.right, Y: s.top + 3.5}, S: id, Size: labelSize, Align: draw.Right})
		d.Stroke(ruleBox, draw.Pt{X: s.left, Y: s.top + 5.5}, draw.Pt{X: s.right, Y: s.top + 5.5})
	}
}

// asRead shows a number as it was read.
func asRead(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
