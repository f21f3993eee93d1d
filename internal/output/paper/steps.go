package paper

import (
	"fmt"
	"slices"
	"strings"

	"fettle"
	"fettle/internal/output/draw"
)

// steps is the route, one block a step.
func (t *traveler) steps() {
	if t.plan.Verdict != "" {
		t.sheet.section("Route", 45)
		t.sheet.flow(prose(sentence(strings.TrimSuffix(t.plan.Verdict, "; "+strings.Join(t.plan.Missing, "; "))), t.sheet.width(), bodySize, false), nil)
		for _, m := range t.plan.Missing {
			t.sheet.flow(bullet(sentence(m), t.sheet.width()), nil)
		}
		t.sheet.y += 1.5
	} else {
		t.sheet.section("Route", 40)
	}
	for i := range t.plan.Route {
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
	wide := t.chargeText(i)
	blanks := grid([]cell{{label: "Done by"}, {label: "Date"}, {label: "Minutes"}, {label: "Ra measured"}, {label: "Pieces good / lost"}}, 5, s.width())
	wide = append(append(wide, gap(1.5)), blanks...)
	head := stepHead(i+1, st.Name, s.width(), false)
	again := stepHead(i+1, st.Name, s.width(), true)
	whole := head.h + max(height(left), cautionHeight(caution)) + height(wide)
	if whole <= s.bottom-s.top-9 {
		s.keep(whole)
	} else {
		s.keep(60)
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
			y = max(y, cautionBox(s, caution[:c], s.y))
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
func stepHead(n int, name string, w float64, again bool) item {
	const boxW, in = 11.0, 13.5
	lines := wrap(name, w-in, headSize, true)
	if again {
		lines = []string{clip(name, w-in-30, headSize, true) + " (continued)"}
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
	items := prose(sentence(st.Do), w, bodySize, false)
	cols := 3
	if w > 150 {
		cols = 5
	}
	if cells := t.numbers(st); len(cells) > 0 {
		n := cols
		if len(cells) == 4 {
			n = 4
		}
		items = append(items, gap(1))
		items = append(items, grid(cells, n, w)...)
	}
	if st.Pass != nil {
		items = append(append(items, gap(1)), prose(passSays(*st.Pass, t.sys), w, bodySize, false)...)
	}
	if st.Rub != nil {
		items = append(append(items, gap(1)), prose(rubSays(*st.Rub, t.sys), w, bodySize, false)...)
	}
	if b := st.Buff; b != nil && b.OpenShare > 0 && b.OpenShare < 0.995 {
		items = append(append(items, gap(1)), prose("The wheel gets to "+percent(b.OpenShare)+" of the face; the rest stays as it is, or is polished by hand.", w, bodySize, false)...)
	}
	if st.Look != "" {
		items = append(append(items, gap(1)), lead("Look for:", sentence(st.Look), w, bodySize)...)
	}
	if len(st.Why) > 0 {
		var why []string
		for _, y := range st.Why {
			why = append(why, sentence(y))
		}
		items = append(append(items, gap(0.8)), lead("Why:", strings.Join(why, " "), w, noteSize)...)
	}
	return items
}

// numbers are the predictions of a step.
func (t *traveler) numbers(st fettle.Step) []cell {
	var cells []cell
	add := func(label string, e fettle.Estimate, show func(float64) string) {
		if c, ok := estimate(label, e, show); ok {
			cells = append(cells, c)
		}
	}
	add("At it, the lot", st.MinutesAttended, fettle.Minutes)
	add("On its own, the lot", st.MinutesAlone, fettle.Minutes)
	if st.Kind != fettle.StepWash && st.Kind != fettle.StepInspect {
		add("Leaves Ra", st.RaUM, t.sys.Height)
		add("Takes off", st.RemovedUM, t.sys.Fine)
		add("Edge radius after", st.EdgeRadiusUM, t.sys.Fine)
	}
	return cells
}

func passSays(p fettle.Pass, sys fettle.System) string {
	way := "one way"
	if p.Crossed {
		way = "crossed"
	}
	apart := sys.Small(p.StepoverMM) + " apart, "
	if p.StepoverMM == 0 {
		apart = ""
	}
	s := fmt.Sprintf("Cutter %s, %s%s, %.0f rpm, %s", p.Cutter, apart, way, p.SpindleRPM, sys.Feed(p.FeedMMMin))
	var leaves []string
	if p.CuspUM > 0 {
		leaves = append(leaves, "cusps "+sys.Height(p.CuspUM))
	}
	if p.FeedMarkUM > 0 {
		leaves = append(leaves, "feed marks "+sys.Height(p.FeedMarkUM))
	}
	if p.FacetMM > 0 {
		leaves = append(leaves, "facets every "+sys.Small(p.FacetMM))
	}
	if len(leaves) > 0 {
		s += "; by geometry it leaves " + strings.Join(leaves, ", ")
	}
	if p.Reach > 0 && p.Reach < 0.995 {
		s += "; it reaches " + percent(p.Reach) + " of the face"
	}
	return s + "."
}

func rubSays(r fettle.Rub, sys fettle.System) string {
	how := "dry"
	if r.Wet {
		how = "wet"
	}
	s := r.Grit + " on a " + first(r.Block, "block") + ", " + how
	if given(r.TakeOffUM) {
		s += ", to take off " + sys.Fine(r.TakeOffUM.Value) + " (" + between(sys.Fine(r.TakeOffUM.Low), sys.Fine(r.TakeOffUM.High)) + ")"
	}
	s += fmt.Sprintf("; stroke at %.0f° on the face", r.StrokeDeg)
	if given(r.PaperCM2) {
		s += "; paper " + sys.Area(100*r.PaperCM2.Value) + " a piece"
	}
	return s + "."
}

// caution is the text of the caution beside step i, wrapped for its box.
func (t *traveler) caution(i int) []string {
	st := t.plan.Route[i]
	says := st.Caution
	if strings.TrimSpace(says) == "" {
		var all []string
		for _, c := range t.plan.Cautions {
			if slices.Contains(c.Steps, st.Name) {
				all = append(all, sentence(c.Says))
			}
		}
		says = strings.Join(all, " ")
	}
	return wrap(sentence(says), cautionW-2*cautionPad, bodySize, false)
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
func cautionBox(s *sheet, lines []string, y float64) float64 {
	d := s.page()
	x, h := s.right-cautionW, cautionHeight(lines)
	const rule = 0.9
	d.Rect(rule, x+rule/2, y+rule/2, cautionW-rule, h-rule)
	d.Add(draw.Warning(7.6), x+cautionPad, y+1.9)
	d.Texts = append(d.Texts, draw.Text{At: draw.Pt{X: x + cautionPad + 11, Y: y + 7.8}, S: "CAUTION", Size: headSize, Bold: true})
	at := y + cautionHead
	for _, l := range lines {
		d.Texts = append(d.Texts, draw.Text{At: draw.Pt{X: x + cautionPad, Y: at + 0.95*bodySize}, S: l, Size: bodySize})
		at += leading(bodySize)
	}
	return y + h
}
