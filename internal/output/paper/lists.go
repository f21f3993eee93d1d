package paper

import (
	"fmt"
	"slices"
	"strings"

	"fettle"
	"fettle/internal/output/draw"
	"fettle/internal/shape/geom"

	"gonum.org/v1/gonum/spatial/r3"
)

// inspection lists the sizes to measure: before finishing, with the allowance
// still on, and after.
func (t *traveler) inspection() {
	p := t.plan
	var rows [][]string
	add := func(what string, after, before float64) {
		rows = append(rows, []string{what, exact(t.sys, before), exact(t.sys, after), "", ""})
	}
	ax := t.axes()
	for k, name := range []string{"Overall, X", "Overall, Y", "Thickness, Z"} {
		if v := p.Survey.SizeMM[ax[k]]; v > 0 && finite(v) {
			add(name, v, v+(t.leftOn(ax[k], 1)+t.leftOn(ax[k], -1))/1000)
		}
	}
	for _, o := range p.Survey.Openings {
		wall := t.wallAllowance(o.ID) / 1000
		switch {
		case o.Kind == fettle.Hole:
			add(o.ID+", "+strings.Join(draw.OpeningSays(o, t.sys), ", "), o.WidthMM, o.WidthMM-2*wall)
		default:
			add(o.ID+", "+first(o.Form, string(o.Kind))+", width", o.WidthMM, o.WidthMM-2*wall)
			add(o.ID+", length", o.LengthMM, o.LengthMM-2*wall)
		}
	}
	s := t.sheet
	s.section("Inspection", 30)
	s.flow(prose(t.allowanceSays(), s.width(), bodySize, false), nil)
	s.y += 1.5
	s.table([]string{"What", "Before finishing", "After finishing", "Measured before", "Measured after"}, rows, []float64{2.6, 1.1, 1.1, 1.1, 1.1})
}

// leftOn is the allowance, in µm, on the side of the part that looks along
// model axis k with the given sign.
func (t *traveler) leftOn(k int, sign float64) float64 {
	dir := [3]float64{}
	dir[k] = sign
	best, at := 0.5, ""
	for _, z := range t.plan.Zones {
		if c := r3.Dot(geom.Vec(dir), geom.Vec(z.Up)); c > best && z.ID != "openings" {
			best, at = c, z.ID
		}
	}
	if at == "" {
		at = "sides"
	}
	return t.allowance(at)
}

func (t *traveler) allowance(zone string) float64 {
	if e, ok := t.plan.AllowanceUM[zone]; ok && given(e) {
		return e.Value
	}
	return 0
}

// wallAllowance is the allowance, in µm, on the walls of an opening.
func (t *traveler) wallAllowance(opening string) float64 {
	if _, ok := t.plan.AllowanceUM[opening]; ok {
		return t.allowance(opening)
	}
	if _, ok := t.plan.AllowanceUM["openings"]; ok {
		return t.allowance("openings")
	}
	return t.allowance("sides")
}

// allowanceSays names what is left on each zone for the finishing.
func (t *traveler) allowanceSays() string {
	var ids, others []string
	name := map[string]string{}
	for _, z := range t.plan.Zones {
		name[z.ID] = z.Name
		ids = append(ids, z.ID)
	}
	for id := range t.plan.AllowanceUM {
		if _, ok := name[id]; !ok {
			others = append(others, id)
		}
	}
	slices.Sort(others)
	ids = append(ids, others...)
	var says []string
	for _, id := range ids {
		if e := t.plan.AllowanceUM[id]; given(e) {
			says = append(says, fmt.Sprintf("%s %s (%s)", strings.ToLower(first(name[id], id)), t.sys.Fine(e.Value), between(t.sys.Fine(e.Low), t.sys.Fine(e.High))))
		}
	}
	if len(says) == 0 {
		return "Sizes are those of the model; no allowance for finishing was worked out."
	}
	return "Finishing takes off, a side: " + strings.Join(says, "; ") + ". Sizes before finishing include it; sizes after are the model's. The drawing's tolerances win."
}

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
				height = "levelled in most cases"
			}
			found := fmt.Sprintf("%.0f in 100", 100*m.Seen.P)
			if made[[2]string{z, m.Cause}] == last[z] {
				found = "the finish"
			}
			rows = append(rows, []string{first(name[z], first(z, "all over")), capital(first(m.Says, m.Cause)), t.spacing(m.WavelengthMM), first(m.Lay, "none"), height, found})
		}
	}
	s := t.sheet
	s.section("Marks expected to be left", 16)
	if len(rows) == 0 {
		s.flow(prose("None that should be seen. A pattern that shows all the same is worth a photo and a note of its spacing.", s.width(), bodySize, false), nil)
		return
	}
	s.table([]string{"Where", "Mark", "Spacing", "Lay", "Height left", "Found"}, rows, []float64{1.1, 1.8, 0.9, 1.1, 1.5, 0.8})
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
		says := sentence(c.Says)
		if c.Defer != "" {
			says += " Read on: " + strings.TrimSuffix(strings.TrimSpace(c.Defer), ".") + "."
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
			says += " Step " + at[0] + "."
		default:
			says += " Steps " + strings.Join(at, ", ") + "."
		}
		items = append(items, bullet(says, s.width())...)
	}
	s.section("Cautions", min(height(items), 25))
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
			items = append(items, bullet(sentence(w), s.width())...)
		}
		if len(items) > 0 {
			s.section(name, min(height(items), 20))
			s.flow(items, nil)
		}
	}
	list("What to watch, and what was assumed", p.Warnings)
	out := p.LeftOut
	if n := len(out); n > mostLeftOut {
		out = append(slices.Clone(out[:mostLeftOut]), fmt.Sprintf("and %d more, which the plan names", n-mostLeftOut))
	}
	list("Not to be used on this part", out)
	if p.Brief.Notes != "" {
		list("From the brief", strings.Split(p.Brief.Notes, "\n"))
	}
	box := item{34, func(d *draw.Drawing, x, y, w float64) { d.Rect(ruleBox, x, y, w, 34) }}
	s.section("Written by hand", box.h)
	s.set(box)
}

// money is the price, for paper that does not lie about.
func (t *traveler) money() {
	p := t.plan.Price
	var rows [][]string
	for _, l := range p.Lines {
		rows = append(rows, []string{l.Name, l.Cost.String(), sentence(l.Says)})
	}
	rows = append(rows, []string{"Cost of the lot", p.Cost.String(), "–"}, []string{"Price of the lot", p.Price.String(), "–"}, []string{"Price a piece", p.Each.String(), "–"})
	t.sheet.section("Price", 25)
	t.sheet.table([]string{"Line", "Amount", "How it was worked out"}, rows, []float64{1.2, 1.4, 2.6})
}
