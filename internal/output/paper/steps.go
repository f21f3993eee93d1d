package paper

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"fettle"
	"fettle/internal/output/draw"
)

// steps is the route, one block a step.
func (t *traveler) steps() {
	s, p := t.sheet, t.plan
	s.section(t.say("Route"), 45)
	if p.Verdict != "" {
		s.flow(prose(t.told(strings.TrimSuffix(p.Verdict, "; "+strings.Join(p.Missing, "; "))), s.width(), bodySize, false), nil)
		for _, m := range p.Missing {
			s.flow(bullet(t.told(m), s.width()), nil)
		}
		s.y += 1.5
	}
	for i := range p.Route {
		t.step(i)
	}
}

// cautionW is the width of the caution beside a step, asideGap the space
// between.
const (
	cautionW = 56.0
	asideGap = 3.0
)

// step sets one step: head, then what to do and its numbers on the left with the
// caution on the right, then its charge, then the blanks. A step that fits on a page is not cut;
// one that does not is continued under a repeated head.
func (t *traveler) step(i int) {
	s, st := t.sheet, t.plan.Route[i]
	caution := t.caution(i)
	w := s.width()
	if len(caution) > 0 {
		w -= cautionW + asideGap
	}
	left := t.stepText(i, w)
	wide := append(t.chargeText(i), gap(1.5))
	foot := t.foot(i)
	head := s.stepHead(i+1, st.Name, false)
	again := s.stepHead(i+1, st.Name, true)
	body := head.h + max(height(left), cautionHeight(caution)) + height(wide)
	if top := s.top + 9; s.wholeOn(top, body, foot) > s.bottom-top {
		s.keep(60) // no page can hold it
	} else if s.wholeOn(s.y, body, foot) > s.room() && !s.fresh() {
		s.turn()
	}
	s.set(head)
	for {
		l, c := fits(left, s.room()), fitsCaution(caution, s.room())
		if l == 0 && c == 0 && (len(left) > 0 || len(caution) > 0) {
			if s.y <= s.top+9+again.h+0.01 { // even an empty page is too small
				l, c = min(1, len(left)), min(1, len(caution))
			}
		}
		y := s.y
		for _, it := range left[:l] {
			it.put(s.page(), s.left, y, w)
			y += it.h
		}
		if c > 0 {
			y = max(y, cautionBox(s, t.say("CAUTION"), caution[:c], s.y))
		}
		left, caution = left[l:], caution[c:]
		s.y = y
		if len(left) == 0 && len(caution) == 0 {
			break
		}
		s.turn()
		s.set(again)
	}
	s.flow(wide, []item{again})
	t.setFoot(foot, again)
	s.y += 4
}

// fits is how many items go into h.
func fits(items []item, h float64) int {
	for i, it := range items {
		if h -= it.h; h < 0 {
			return i
		}
	}
	return len(items)
}

// stepHead is the black number and the name of a step.
func (s *sheet) stepHead(n int, name string, again bool) item {
	const boxW, in = 11.0, 13.5
	w := s.width()
	lines := wrap(name, w-in, headSize, true)
	if again {
		more := " (" + s.again + ")"
		lines = []string{clip(name, w-in-Metric(more, headSize, true)-1, headSize, true) + more}
	}
	if len(lines) > 3 {
		lines = append(lines[:2:2], clip(strings.Join(lines[2:], " "), w-in, headSize, true))
	}
	h := 1.2 + leading(headSize)*float64(max(1, len(lines)))
	return item{h + 1.8, func(d *draw.Drawing, x, y, w float64) {
		d.FillRect(0, x, y, boxW, h)
		d.Texts = append(d.Texts, draw.Text{At: draw.Pt{X: x + boxW/2, Y: y + 5.3}, S: fmt.Sprint(n), Size: headSize, Bold: true, Align: draw.Centre, Shade: 1})
		for i, l := range lines {
			d.Texts = append(d.Texts, draw.Text{At: draw.Pt{X: x + in, Y: y + 5.3 + leading(headSize)*float64(i)}, S: l, Size: headSize, Bold: true})
		}
		d.Stroke(ruleStrong, draw.Pt{X: x, Y: y + h}, draw.Pt{X: x + w, Y: y + h})
	}}
}

// stepText is the left side of a step.
func (t *traveler) stepText(i int, w float64) []item {
	st := t.plan.Route[i]
	items := prose(t.told(st.Do), w, bodySize, false)
	cols := 3
	if w > 150 {
		cols = 5
	}
	if cells := t.numbers(i); len(cells) > 0 {
		n := cols
		if len(cells)%4 == 0 && cols == 3 && len(cells)%3 != 0 {
			n = 4
		}
		items = append(items, gap(1))
		items = append(items, grid(cells, n, w)...)
	}
	add := func(size float64, lines ...string) {
		for _, l := range lines {
			if l != "" {
				items = append(append(items, gap(1)), prose(l, w, size, false)...)
			}
		}
	}
	if st.Pass != nil {
		add(bodySize, t.passSays(*st.Pass))
	}
	if st.Rub != nil {
		add(bodySize, t.rubSays(*st.Rub))
	}
	if b := st.Buff; b != nil && b.OpenShare > 0 && b.OpenShare < 0.995 {
		add(bodySize, t.say("The wheel gets to %s of the face; the rest stays as it is, or is polished by hand.", percent(b.OpenShare)))
	}
	if st.Look != "" {
		items = append(append(items, gap(1)), lead(t.say("Look for:"), t.told(st.Look), w, bodySize)...)
	}
	items = append(items, t.marksHere(i, w)...)
	if len(st.Why) > 0 {
		var why []string
		for _, y := range st.Why[:min(mostWhys, len(st.Why))] {
			why = append(why, t.told(y))
		}
		items = append(append(items, gap(0.8)), lead(t.say("Why:"), strings.Join(why, " "), w, noteSize)...)
	}
	return items
}

// mostWhys is how many reasons stand at a step: paper is for doing it.
const mostWhys = 3

// mostMarks is how many marks stand at a step, the strongest first.
const mostMarks = 4

// marksHere are the marks that are to be seen after step i, by name, with a box to tick
// each when it was looked at.
func (t *traveler) marksHere(i int, w float64) []item {
	st := t.plan.Route[i]
	if st.Kind == fettle.StepWash {
		return nil
	}
	const in = tickSize + 2
	var marks []fettle.Mark
	for _, m := range st.Marks {
		if (m.Left >= 0.05 || m.Seen.P >= 0.05) && given(m.HeightUM) {
			marks = append(marks, m)
		}
	}
	slices.SortStableFunc(marks, func(a, b fettle.Mark) int {
		return cmp.Compare(b.Left*b.HeightUM.Value, a.Left*a.HeightUM.Value)
	})
	marks = marks[:min(mostMarks, len(marks))]
	if len(marks) == 0 {
		return nil
	}
	items := append([]item{gap(1)}, prose(t.say("Marks that may be seen then; tick what was found:"), w, noteSize, false)...)
	for _, m := range marks {
		says := t.say("%s, every %s, lay %s, %s high", t.tongue.Start(t.word(m.Cause)), t.spacing(m.WavelengthMM), t.word(first(m.Lay, "none")), ranged(m.HeightUM.Scale(m.Left), t.sys.Height))
		if m.Left < 0.05 {
			says = t.say("%s, every %s, lay %s, levelled in most cases", t.tongue.Start(t.word(m.Cause)), t.spacing(m.WavelengthMM), t.word(first(m.Lay, "none")))
		}
		for k, line := range wrap(says, w-in, bodySize, false) {
			items = append(items, item{leading(bodySize), func(d *draw.Drawing, x, y, _ float64) {
				if k == 0 {
					d.Rect(ruleBox, x+0.2, y+0.5, tickSize, tickSize)
				}
				d.Texts = append(d.Texts, draw.Text{At: draw.Pt{X: x + in, Y: y + 0.95*bodySize}, S: line, Size: bodySize})
			}})
		}
	}
	return items
}

// numbers are the predictions of a step, and when it is due.
func (t *traveler) numbers(i int) []cell {
	st := t.plan.Route[i]
	cells := t.dueCells(i)
	add := func(label string, e fettle.Estimate, show func(float64) string) {
		if c, ok := estimate(label, e, show); ok {
			cells = append(cells, c)
		}
	}
	add(t.say("At it, the lot"), st.MinutesAttended, fettle.Minutes)
	add(t.say("On its own, the lot"), st.MinutesAlone, fettle.Minutes)
	if st.Kind != fettle.StepWash && st.Kind != fettle.StepInspect {
		if c, ok := estimate(t.say("Leaves"), st.RaUM, t.sys.Height); ok {
			c.value, c.picture = "Ra "+c.value, t.stepSymbol(i).Draw(bodySize, Metric)
			cells = append(cells, c)
		}
		add(t.say("Takes off"), st.RemovedUM, t.sys.Fine)
		add(t.say("Edge radius after"), st.EdgeRadiusUM, t.sys.Fine)
	}
	return cells
}

// passSays is how a pass is run and what it leaves.
func (t *traveler) passSays(p fettle.Pass) string {
	rpm, feed := fmt.Sprintf("%.0f rpm", p.SpindleRPM), t.sys.Feed(p.FeedMMMin)
	var says []string
	switch {
	case p.StepoverMM == 0:
		says = append(says, t.say("Cutter %s, one pass, %s, %s.", p.Cutter, rpm, feed))
	case p.Crossed:
		says = append(says, t.say("Cutter %s, passes %s apart, crossed, %s, %s.", p.Cutter, t.sys.Small(p.StepoverMM), rpm, feed))
	default:
		says = append(says, t.say("Cutter %s, passes %s apart, one way, %s, %s.", p.Cutter, t.sys.Small(p.StepoverMM), rpm, feed))
	}
	if p.ToleranceUM > 0 {
		says = append(says, t.say("Program tolerance %s.", t.sys.Fine(p.ToleranceUM)))
	}
	var leaves []string
	if p.CuspUM > 0 {
		leaves = append(leaves, t.say("cusps of %s", t.sys.Height(p.CuspUM)))
	}
	if p.FeedMarkUM > 0 {
		leaves = append(leaves, t.say("feed marks of %s", t.sys.Height(p.FeedMarkUM)))
	}
	if p.FacetMM > 0 {
		leaves = append(leaves, t.say("facets every %s", t.sys.Small(p.FacetMM)))
	}
	if len(leaves) > 0 {
		says = append(says, t.say("By geometry it leaves %s.", t.tongue.List(leaves)))
	}
	if p.Reach > 0 && p.Reach < 0.995 {
		says = append(says, t.say("It reaches %s of the face.", percent(p.Reach)))
	}
	return strings.Join(says, " ")
}

// rubSays is how a grit is used.
func (t *traveler) rubSays(r fettle.Rub) string {
	block := t.word(first(r.Block, "stiff block"))
	says := []string{t.say("%s on %s, dry.", r.Grit, block)}
	if r.Wet {
		says[0] = t.say("%s on %s, wet.", r.Grit, block)
	}
	if given(r.TakeOffUM) {
		says = append(says, t.say("It has to take off %s.", ranged(r.TakeOffUM, t.sys.Fine)))
	}
	says = append(says, t.say("Stroke at %.0f° on the face.", r.StrokeDeg))
	if given(r.PaperCM2) {
		says = append(says, t.say("Paper: %s a piece.", t.sys.Area(100*r.PaperCM2.Value)))
	}
	return strings.Join(says, " ")
}

// caution is the text of the caution beside step i, wrapped for its box.
func (t *traveler) caution(i int) []string {
	st := t.plan.Route[i]
	says := st.Caution
	if strings.TrimSpace(says) == "" {
		var all []string
		for _, c := range t.plan.Cautions {
			if slices.Contains(c.Steps, st.Name) {
				all = append(all, t.told(c.Says))
			}
		}
		says = strings.Join(all, " ")
	}
	return wrap(t.told(says), cautionW-2*cautionPad, bodySize, false)
}

const (
	cautionPad  = 2.4
	cautionHead = 11.5
)

func cautionHeight(lines []string) float64 {
	if len(lines) == 0 {
		return 0
	}
	return cautionHead + float64(len(lines))*leading(bodySize) + cautionPad
}

func fitsCaution(lines []string, h float64) int {
	for n := len(lines); n > 0; n-- {
		if cautionHeight(lines[:n]) <= h {
			return n
		}
	}
	return 0
}

// cautionBox sets the caution at the right edge from y down and returns where it
// ends.
func cautionBox(s *sheet, word string, lines []string, y float64) float64 {
	d := s.page()
	x, h := s.right-cautionW, cautionHeight(lines)
	const rule = 0.9
	d.Rect(rule, x+rule/2, y+rule/2, cautionW-rule, h-rule)
	d.Add(draw.Warning(7.6), x+cautionPad, y+1.9)
	d.Texts = append(d.Texts, draw.Text{At: draw.Pt{X: x + cautionPad + 11, Y: y + 7.8}, S: clip(word, cautionW-cautionPad-12, headSize, true), Size: headSize, Bold: true})
	at := y + cautionHead
	for _, l := range lines {
		d.Texts = append(d.Texts, draw.Text{At: draw.Pt{X: x + cautionPad, Y: at + 0.95*bodySize}, S: l, Size: bodySize})
		at += leading(bodySize)
	}
	return y + h
}
