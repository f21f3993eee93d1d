package paper

import (
	"fettle"
)

// accepted is what the signed-off sample asks of a piece, and how many pieces of the lot
// are looked at.
func (t *traveler) accepted() {
	a := t.opt.Acceptance
	if a == nil {
		return
	}
	s := t.sheet
	look := first(a.Look, first(t.plan.Look.Title, t.plan.Look.Name))
	name := t.say("As the signed-off sample")
	var says string
	switch {
	case a.Sample == "":
		name = t.say("What is right")
		says = t.say("No sample was signed off yet; until one is, a piece of %s is right when it reads as below.", look)
	case a.Day == "":
		says = t.say("The customer signed a sample of %s off; a piece is right when it reads as below and looks like the sample under the same lamp.", look)
	default:
		says = t.say("The customer signed a sample of %s off on %s; a piece is right when it reads as below and looks like the sample under the same lamp.", look, a.Day)
	}
	s.section(name, 30)
	w := s.width()
	if a.Sample != "" {
		says += " " + t.say("Run %s made the sample.", a.Sample)
	}
	s.flow(prose(says, w, bodySize, false), nil)
	s.y += 1.5
	by := article{plan: t.plan, acc: a, sys: t.sys, say: t.tongue}
	var rows [][]string
	for _, l := range a.Limits {
		name := string(l.Kind)
		if k, ok := readingNames[l.Kind]; ok {
			name = k.In(t.tongue)
		}
		if l.Place != "" {
			name = t.say("%s, %s", name, t.place(l.Place))
		}
		read := "–"
		if l.N > 0 {
			read = by.read(l)
		}
		rows = append(rows, []string{name, read, by.held(l), "", "", ""})
	}
	s.table([]string{t.say("Reading"), t.say("On the sample"), t.say("On a piece"), t.say("First piece"), t.say("Middle"), t.say("Last")}, rows, []float64{1.9, 1.5, 1.7, 1, 1, 1})
	if p := a.Sampling; p.Size > 0 || p.All {
		s.y += 1.5
		t.sampling(p)
	}
	for _, n := range a.Notes {
		s.flow(bullet(t.told(n), w), nil)
	}
}

// sampling is the plan by which a lot is looked at.
func (t *traveler) sampling(p fettle.SamplingPlan) {
	s := t.sheet
	look := cell{label: t.say("Look at"), value: t.say("%d of %d", p.Size, p.Lot)}
	if p.All {
		look.value = t.say("all %d", p.Lot)
	}
	cells := []cell{look,
		{label: t.say("Take the lot with at most"), value: t.say("%d that fail", p.Accept)},
		{label: t.say("Refuse it with"), value: t.say("%d that fail", p.Reject)},
		{label: t.say("Looked at")}, {label: t.say("Failed")}, {label: t.say("Lot taken or refused, by")},
	}
	rows := grid(cells, 6, s.width())
	s.together(rows, nil)
	says := t.told(p.Says)
	if p.Source != "" {
		says += " " + t.say("After %s.", p.Source)
	}
	if says != "" {
		s.y += 0.8
		s.flow(prose(says, s.width(), noteSize, false), nil)
	}
}

// place names a zone, an opening or "face".
func (t *traveler) place(s string) string {
	if s == "face" {
		return t.say("show face")
	}
	for _, z := range t.plan.Zones {
		if z.ID == s && z.Name != "" {
			return z.Name
		}
	}
	return s
}
