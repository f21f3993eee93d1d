package paper

import (
	"fmt"
	"math"
	"strings"

	"fettle"
	"fettle/internal/output/draw"
	"fettle/internal/output/tongue"
)

// JawSheet is the sheet of a pocket in soft jaws as a PDF of one page: what the
// jaws look like before and after, every depth, whether the part will hold, and
// room to sign. Errors are those of [draw.JawPlan], and fettle.Invalid for a size
// of paper that cannot be used. Money says nothing here.
func JawSheet(p fettle.JawPocket, pair fettle.Jaws, o Options) ([]byte, error) {
	page, err := JawPage(p, pair, o)
	if err != nil {
		return nil, err
	}
	size := o.size()
	return PDFIn([]*draw.Drawing{page}, size.W, size.H, first(p.Name, o.Tongue.Say("Soft jaws")), o.Tongue.Tag())
}

// JawPage is the sheet as a drawing of the paper's size, for a preview on screen.
func JawPage(p fettle.JawPocket, pair fettle.Jaws, o Options) (*draw.Drawing, error) {
	size := o.size()
	if !(size.W >= 180 && size.H >= 250 && size.W <= 1200 && size.H <= 1200) {
		return nil, fettle.Errorf(fettle.Invalid, "paper of %.0f × %.0f mm cannot hold a sheet for jaws; choose A4 or Letter", size.W, size.H)
	}
	j := &jawSheet{p: p, pair: pair, sys: o.Display, say: o.Tongue, sheet: newSheet(size)}
	j.head()
	foot := j.foot()
	end := j.sheet.bottom + 8 // the sheet has no running foot
	plan := func(h float64) (*draw.Drawing, error) {
		return draw.JawPlan(p, pair, pair.Cuts, draw.PanelOptions{Width: j.sheet.width(), Height: h, Display: o.Display, Metric: Metric, Tongue: o.Tongue})
	}
	// As large as the paper is wide; with less said where that leaves no room.
	large, err := plan(1000)
	if err != nil {
		return nil, err
	}
	f, _ := large.Bounds(Metric)
	room := end - j.sheet.y - height(foot) - 6
	var text jawText
	for more := len(j.more()); more >= 0; more-- {
		const least = 125 // of the drawing
		text = j.text(more, room-least)
		if room-text.h >= f.Y1 {
			break
		}
	}
	d, err := plan(room - text.h)
	if err != nil {
		return nil, err
	}
	s := j.sheet
	if f, ok := d.Bounds(Metric); ok {
		s.page().Add(d, s.left, s.y+2-f.Y0)
	}
	text.put(end - height(foot) - 2 - text.h)
	s.y = end - height(foot)
	for _, it := range foot {
		s.set(it)
	}
	return s.page(), nil
}

// jawText is the text under the drawing, set out.
type jawText struct {
	h   float64
	put func(y float64)
}

// text is whether it holds and the caution, beside each other or one over the
// other, whichever is lower, and no higher than most.
func (j *jawSheet) text(more int, most float64) jawText {
	s := j.sheet
	set := func(items []item, y, w float64) float64 {
		for _, it := range items {
			it.put(s.page(), s.left, y, w)
			y += it.h
		}
		return y
	}
	w := s.width() - cautionW - asideGap
	left := j.holding(more, w)
	caution := wrap(j.caution(), cautionW-2*cautionPad, bodySize, false)
	if n := fitsCaution(caution, most); n < len(caution) && n > 0 {
		caution = append(caution[:n-1:n-1], clip(j.say.Say("… and more: read the pocket's page."), cautionW-2*cautionPad, bodySize, false))
	}
	left = left[:fits(left, most)]
	beside := jawText{max(height(left), cautionHeight(caution)), func(y float64) {
		set(left, y, w)
		cautionBox(s, j.say.Say("CAUTION"), caution, y)
	}}
	wide := wrap(j.caution(), s.width()-cautionIn-cautionPad, bodySize, false)
	over := j.holding(more, s.width())
	bar := float64(max(2, len(wide)))*leading(bodySize) + 2*cautionPad
	if h := height(over) + 2 + bar; h < min(beside.h, most) {
		return jawText{h, func(y float64) { cautionBar(s, j.say.Say("CAUTION"), wide, set(over, y, s.width())+2, bar) }}
	}
	return beside
}

// cautionIn is where the text of a caution begins beside its sign.
const cautionIn = 42.0

// cautionBar sets a caution over the whole width.
func cautionBar(s *sheet, word string, lines []string, y, h float64) {
	d := s.page()
	const rule = 0.9
	d.Rect(rule, s.left+rule/2, y+rule/2, s.width()-rule, h-rule)
	d.Add(draw.Warning(7.6), s.left+cautionPad, y+(h-7.6)/2)
	d.Texts = append(d.Texts, draw.Text{At: draw.Pt{X: s.left + cautionPad + 10.5, Y: y + h/2 + 0.36*headSize}, S: clip(word, cautionIn-cautionPad-11.5, headSize, true), Size: headSize, Bold: true})
	at := y + (h-float64(len(lines))*leading(bodySize))/2
	for _, l := range lines {
		d.Texts = append(d.Texts, draw.Text{At: draw.Pt{X: s.left + cautionIn, Y: at + 0.95*bodySize}, S: l, Size: bodySize})
		at += leading(bodySize)
	}
}

// jawSheet is one sheet in the making.
type jawSheet struct {
	p     fettle.JawPocket
	pair  fettle.Jaws
	sys   fettle.System
	say   *tongue.Tongue
	sheet *sheet
}

// head names the pocket, the pair and how it is cut.
func (j *jawSheet) head() {
	s, p := j.sheet, j.p
	say := j.say
	tag := clip(say.Say("SOFT JAWS"), s.width()/2, headSize, true)
	unsaid := say.Say("not said")
	w := s.width() - Metric(tag, headSize, true) - 6
	title := clip(capital(first(p.Name, say.Say("pocket"))), w, titleSize, true)
	s.page().Texts = append(s.page().Texts, draw.Text{At: draw.Pt{X: s.right, Y: s.y + 0.95*titleSize}, S: tag, Size: headSize, Bold: true, Align: draw.Right})
	s.set(textItem(title, titleSize, true))
	s.y += 1
	one := func(v string, columns float64) string { return clip(v, s.width()*columns/6-2*pad-0.1, valueSize, true) }
	sum := say.Say("SHA-256 begins %s", first(p.SHA256[:min(12, len(p.SHA256))], say.Say("not known")))
	cells := []cell{
		{label: say.Say("Part"), value: one(first(p.Part, unsaid), 2), note: clip(sum, s.width()/3-2*pad, labelSize, false), span: 2},
		{label: say.Say("Pair of jaws"), value: one(first(j.pair.Title, j.pair.Name), 2), note: clip(j.pair.Name, s.width()/3-2*pad, labelSize, false), span: 2},
		{label: say.Say("Jaws are of"), value: one(first(j.pair.Metal, unsaid), 1)},
		{label: say.Say("Date")},
		{label: say.Say("Cutter"), value: one(first(p.Cutter, unsaid), 1), note: "Ø " + j.sys.Length(p.CutterMM)},
		{label: say.Say("Room all round"), value: one(j.sys.Length(p.ClearanceMM), 1)},
		{label: say.Say("Grip, below the top"), value: one(j.sys.Length(p.Pose.GripMM), 1)},
		{label: say.Say("Spacer in the gap"), value: one(j.sys.Length(p.Pose.GapMM), 1)},
		{label: say.Say("Zero"), value: say.Say("X, Y in the middle, Z on top"), span: 2},
	}
	for _, it := range grid(cells, 6, s.width()) {
		s.set(it)
	}
}

// foot is what is filled in by hand.
func (j *jawSheet) foot() []item {
	items := grid([]cell{
		{label: j.say.Say("Cut on")}, {label: j.say.Say("by")}, {label: j.say.Say("Deepest, should be %s", j.sys.Length(j.p.DepthMM))}, {label: j.say.Say("Written on both jaws")},
	}, 4, j.sheet.width())
	return append(items, gap(1), item{leading(labelSize), func(d *draw.Drawing, x, y, w float64) {
		d.Texts = append(d.Texts, draw.Text{At: draw.Pt{X: x, Y: y + 0.95*labelSize}, Size: labelSize,
			S: clip(brackets(j.say), w, labelSize, false)})
	}})
}

// caution is the text of the caution's box: first what speaks against cutting it.
func (j *jawSheet) caution() string {
	var all []string
	for _, r := range j.p.Room {
		switch {
		case r.OK:
		case r.MM < 0:
			all = append(all, j.say.Say("It cuts %s into %s.", j.sys.Length(-r.MM), r.To))
		default:
			all = append(all, j.say.Say("Only %s is left to %s, %s is wanted.", j.sys.Length(r.MM), r.To, j.sys.Length(r.WantsMM)))
		}
	}
	if !j.p.LoadsClear {
		all = append(all, j.say.Say("It does not go in freely: %s", sentence(j.sys.Reword(j.p.Loads))))
	}
	if h := j.p.Holding; h != nil && !h.OK {
		all = append(all, j.say.Say("The numbers say it does not hold well enough."))
	}
	for _, c := range j.p.Cautions {
		all = append(all, sentence(j.sys.Reword(c.Says)))
	}
	says := strings.Join(all, " ")
	if !strings.Contains(says, "never permission") {
		says += " " + j.say.Say("The holding force is advice, never permission: pull at the part by hand first.")
	}
	return strings.TrimSpace(says)
}

// holding says whether it will hold and how the part lies, and of what else there
// is to say the first few.
func (j *jawSheet) holding(more int, w float64) []item {
	items := append([]item{textItem(j.say.Say("Will it hold?"), headSize, true), gap(0.8)}, prose(j.verdict(), w, bodySize, false)...)
	lies := j.lies()
	if s := j.p.Stop; s.Says != "" {
		lies += " " + sentence(j.sys.Reword(s.Says))
	}
	items = append(append(items, gap(0.8)), lead(j.say.Say("The part:"), lies, w, bodySize)...)
	all := j.more()
	for _, m := range all[:more] {
		items = append(append(items, gap(0.6)), lead(m[0], m[1], w, noteSize)...)
	}
	if more < len(all) {
		items = append(append(items, gap(0.6)), prose(j.say.Say("There is more to know: read the pocket's page."), w, noteSize, false)...)
	}
	return items
}

// verdict is the answer in a sentence or two.
func (j *jawSheet) verdict() string {
	h, say := j.p.Holding, j.say
	if h == nil {
		return say.Say("Not worked out: no cut was given.")
	}
	verdict := say.Say("Yes, by the numbers.")
	switch {
	case !h.OK:
		verdict = say.Say("Not well enough, by the numbers.")
	case h.Factor.Low < h.Wanted:
		verdict = say.Say("Likely, by the numbers, but not surely.")
	}
	least := say.Say("What holds is at the least %s times what pulls, where %s is wanted.", times(h.Factor), figures(h.Wanted))
	if len(h.Ways) > 0 {
		least = say.Say("What holds is at the least %s times what pulls before it %s, where %s is wanted.", times(h.Factor), h.Ways[0].Name, figures(h.Wanted))
	}
	c := h.Cut
	cut := j.sys.Reword(c.Says)
	if !strings.Contains(c.Says, c.Cutter) || c.Says == "" { // else it says its sizes itself
		cut = say.Say("%s (%s, %s deep, %s wide, %s a tooth)", first(cut, say.Say("the cut")), c.Cutter, j.sys.Length(c.DepthMM), j.sys.Length(c.WideMM), j.sys.Small(c.FeedMM))
	}
	return verdict + " " + least + " " + say.Say("The cut: %s.", strings.TrimSuffix(cut, "."))
}

// more is what else there is to say, the weightiest first: a word in bold and a
// sentence each.
func (j *jawSheet) more() [][2]string {
	var out [][2]string
	say := j.say
	if h := j.p.Holding; h != nil && len(h.Assumes) > 0 {
		out = append(out, [2]string{say.Say("Taken for granted:"), sentence(j.sys.Reword(strings.Join(h.Assumes, "; ")))})
	}
	for _, w := range j.p.Warnings {
		out = append(out, [2]string{say.Say("Watch:"), sentence(j.sys.Reword(w))})
	}
	if h := j.p.Holding; h != nil && len(h.Ways) > 1 {
		var ways []string
		for _, w := range h.Ways[1:] {
			ways = append(ways, w.Name+" "+times(w.Factor))
		}
		out = append(out, [2]string{say.Say("Other ways to come loose:"), sentence(strings.Join(ways, "; "))})
	}
	return out
}

// lies says how the part lies in the jaws.
func (j *jawSheet) lies() string {
	d, say := j.p.Pose.Down, j.say
	way := say.Say("the model's direction (%.3f, %.3f, %.3f)", d[0], d[1], d[2])
	for k, name := range []string{"X", "Y", "Z"} {
		if math.Abs(d[k]) > 0.9999 {
			if d[k] > 0 {
				name = "+" + name
			} else {
				name = "−" + name
			}
			way = say.Say("its %s side", name)
		}
	}
	if t := j.p.Pose.TurnDeg; math.Abs(t) >= 0.05 {
		return say.Say("%s down, turned %s° anticlockwise from above.", way, figures(t))
	}
	return say.Say("%s down.", way)
}

// times is a ratio with its interval.
func times(e fettle.Estimate) string {
	if e.Low == e.High {
		return figures(e.Value)
	}
	return fmt.Sprintf("%s (%s–%s)", figures(e.Value), figures(e.Low), figures(e.High))
}

// figures writes a number with two figures.
func figures(v float64) string {
	if v >= 99.5 {
		return fmt.Sprintf("%.0f", v)
	}
	return fmt.Sprintf("%.2g", v)
}
