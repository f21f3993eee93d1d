package paper

import (
	"fmt"
	"slices"
	"strings"

	"fettle"
	"fettle/internal/output/draw"
)

// marks lists what is expected to be seen when all is done.
func (t *traveler) marks() {
	last := map[string]int{}
	made := map[[2]string]int{} // the step that made a mark
	var zones []string
	for i, st := range t.plan.Route {
		for _, m := range st.Marks {
			if _, ok := made[[2]string{st.Zone, m.Cause}]; !ok {
				made[[2]string{st.Zone, m.Cause}] = i
			}
		}
		if st.Marks == nil || st.Kind == fettle.StepWash || st.Kind == fettle.StepInspect {
			continue
		}
		if _, ok := last[st.Zone]; !ok {
			zones = append(zones, st.Zone)
		}
		last[st.Zone] = i
	}
	name := map[string]string{}
	for _, z := range t.plan.Zones {
		name[z.ID] = z.Name
	}
	var rows [][]string
	for _, z := range zones {
		for _, m := range t.plan.Route[last[z]].Marks {
			if m.Left < 0.05 && m.Seen.P < 0.05 || !given(m.HeightUM) {
				continue
			}
			height := t.sys.Range(m.HeightUM.Scale(m.Left))
			if m.Left == 0 {
				height = t.say("levelled in most cases")
			}
			found := t.say("%.0f in 100", 100*m.Seen.P)
			if made[[2]string{z, m.Cause}] == last[z] {
				found = t.say("the finish")
			}
			rows = append(rows, []string{first(name[z], first(z, t.say("all over"))), t.tongue.Start(first(t.reword(m.Says), t.word(m.Cause))), t.spacing(m.WavelengthMM), t.word(first(m.Lay, "none")), height, found})
		}
	}
	s := t.sheet
	s.section(t.say("Marks expected to be left"), 16)
	if len(rows) == 0 {
		s.flow(prose(t.say("None that should be seen. A pattern that shows all the same is worth a photo and a note of its spacing."), s.width(), bodySize, false), nil)
		return
	}
	s.table([]string{t.say("Where"), t.say("Mark"), t.say("Spacing"), t.say("Lay"), t.say("Height left"), t.say("Found")}, rows, []float64{1.1, 1.8, 0.9, 1.1, 1.5, 0.8})
}

// spacing is the distance between marks: a length, or finer where it is short.
func (t *traveler) spacing(mm float64) string {
	if mm < 0.1 {
		return t.sys.Fine(1000 * mm)
	}
	return t.sys.Length(mm)
}

// cautions lists every hazard with where to read on.
func (t *traveler) cautions() {
	if len(t.plan.Cautions) == 0 {
		return
	}
	s := t.sheet
	var items []item
	for _, c := range t.plan.Cautions {
		says := t.told(c.Says)
		if c.Defer != "" {
			says += " " + t.say("Read on: %s.", strings.TrimSuffix(strings.TrimSpace(c.Defer), "."))
		}
		var at []string
		for i, st := range t.plan.Route {
			if slices.Contains(c.Steps, st.Name) {
				at = append(at, fmt.Sprint(i+1))
			}
		}
		switch len(at) {
		case 0:
		case 1:
			says += " " + t.say("Step %s.", at[0])
		default:
			says += " " + t.say("Steps %s.", strings.Join(at, ", "))
		}
		items = append(items, bullet(says, s.width())...)
	}
	s.section(t.say("Cautions"), min(height(items), 25))
	s.flow(items, nil)
}

// mostLeftOut keeps the list of what may not be used short.
const mostLeftOut = 8

// notes are what may go wrong, what was assumed, what may not be used, and
// what the customer said.
func (t *traveler) notes() {
	p, s := t.plan, t.sheet
	list := func(name string, says []string) {
		var items []item
		for _, w := range says {
			items = append(items, bullet(t.told(w), s.width())...)
		}
		if len(items) > 0 {
			s.section(name, min(height(items), 20))
			s.flow(items, nil)
		}
	}
	list(t.say("What to watch, and what was assumed"), p.Warnings)
	out := p.LeftOut
	if n := len(out); n > mostLeftOut {
		out = append(slices.Clone(out[:mostLeftOut]), t.count(n-mostLeftOut, "and %d more, which the plan names", "and %d more, which the plan names"))
	}
	list(t.say("Not to be used on this part"), out)
	if p.Brief.Notes != "" {
		list(t.say("From the brief"), strings.Split(p.Brief.Notes, "\n"))
	}
	box := item{34, func(d *draw.Drawing, x, y, w float64) { d.Rect(ruleBox, x, y, w, 34) }}
	s.section(t.say("Written by hand"), box.h)
	s.set(box)
}

// money is the price, for paper that does not lie about.
func (t *traveler) money() {
	p := t.plan.Price
	var rows [][]string
	for _, l := range p.Lines {
		rows = append(rows, []string{l.Name, l.Cost.String(), t.told(l.Says)})
	}
	rows = append(rows, []string{t.say("Cost of the lot"), p.Cost.String(), "–"}, []string{t.say("Price of the lot"), p.Price.String(), "–"}, []string{t.say("Price a piece"), p.Each.String(), "–"})
	t.sheet.section(t.say("Price"), 25)
	t.sheet.table([]string{t.say("Line"), t.say("Amount"), t.say("How it was worked out")}, rows, []float64{1.2, 1.4, 2.6})
}
