package paper

import (
	"fmt"
	"strings"
	"time"

	"fettle/internal/output/draw"
)

// head is the top of the first page: whose paper it is and for what.
func (t *traveler) head() {
	s, p := t.sheet, t.plan
	d := s.page()
	shop := first(p.Shop, p.Brief.Shop)
	tag := clip(t.say("TRAVELER"), s.width()/2, headSize, true)
	tagW := Metric(tag, headSize, true)
	d.Texts = append(d.Texts, draw.Text{At: draw.Pt{X: s.right, Y: s.y + 4}, S: tag, Size: headSize, Bold: true, Align: draw.Right})
	if shop != "" {
		d.Texts = append(d.Texts, draw.Text{At: draw.Pt{X: s.left, Y: s.y + 4}, S: clip(shop, s.width()-tagW-6, headSize, false), Size: headSize})
	}
	s.y += 6.5
	lines := wrap(t.title(), s.width(), titleSize, true)
	if len(lines) > 2 {
		lines = []string{lines[0], clip(strings.Join(lines[1:], " "), s.width(), titleSize, true)}
	}
	for _, l := range lines {
		s.set(textItem(l, titleSize, true))
	}
	s.y += 1
	unsaid := t.say("not said")
	lot := max(p.Brief.Lot, 1)
	cells := []cell{
		{label: t.say("Material"), value: first(first(p.Material.Title, p.Brief.Material), unsaid), span: 2},
		{label: t.say("Finish"), value: first(first(p.Look.Title, p.Brief.Finish), unsaid), note: t.wanted(), span: 2},
		{label: t.say("Lot"), value: t.count(lot, "%d piece", "%d pieces")},
		{label: t.say("Date")},
	}
	file := cell{label: t.say("Model file"), value: clip(first(p.Survey.File, t.say("none")), s.width()/2-4, valueSize, true), span: 3}
	sum := cell{label: t.say("SHA-256 begins"), value: first(t.sum(), t.say("none")), span: 2}
	job := cell{label: t.say("Job no."), value: clip(t.opt.Job, s.width()/6-2*pad-0.1, valueSize, true)}
	if pr := t.opt.Promise; pr != nil && pr.Day != "" {
		due := cell{label: t.say("Promised for"), value: pr.Day, note: t.dayOf(pr.Day)}
		file.span, file.value = 2, clip(first(p.Survey.File, t.say("none")), s.width()/3-4, valueSize, true)
		cells = append(cells, file, sum, due, job)
	} else {
		cells = append(cells, file, sum, job)
	}
	s.flow(grid(cells, 6, s.width()), nil)
}

// dayOf is the day of the week of a full-date; empty where it is none.
func (t *traveler) dayOf(date string) string {
	day, err := time.Parse(time.DateOnly, date)
	if err != nil {
		return ""
	}
	return weekdays[day.Weekday()].In(t.tongue)
}

// wanted is the texture that the finish or the drawing asks for.
func (t *traveler) wanted() string {
	p := t.plan
	ra, rz := p.Brief.RaMaxUM, p.Brief.RzMaxUM
	switch {
	case ra > 0 && rz > 0:
		return t.say("Ra at most %s and Rz at most %s, from the drawing", t.sys.Height(ra), t.sys.Height(rz))
	case ra > 0:
		return t.say("Ra at most %s, from the drawing", t.sys.Height(ra))
	case rz > 0:
		return t.say("Rz at most %s, from the drawing", t.sys.Height(rz))
	case given(p.Look.RaUM):
		return "Ra " + t.sys.Range(p.Look.RaUM)
	}
	return ""
}

// drawing is the panel of views.
func (t *traveler) drawing() error {
	s, p := t.sheet, t.plan
	if t.mesh == nil {
		s.y += 2
		s.flow(prose(t.say("There is no picture: the traveler was made without the model."), s.width(), bodySize, false), nil)
		return nil
	}
	panel, err := draw.Panel(
		draw.PartView{Mesh: t.mesh, Up: t.up, Openings: p.Survey.Openings, Symbol: t.finalSymbol()},
		draw.PanelOptions{Width: s.width(), Height: min(118, 0.42*s.h), Display: t.sys, Metric: Metric, Tongue: t.tongue})
	if err != nil {
		return err
	}
	s.y += 3
	if f, ok := panel.Bounds(Metric); ok {
		s.page().Add(panel, s.left, s.y-f.Y0)
		s.y += f.H() + 1
	}
	return nil
}

// triple are three lengths along the axes of the part as it lies, the unit once.
func (t *traveler) triple(v [3]float64) string {
	ax := t.axes()
	bare := func(l string) string { return l[:max(0, strings.LastIndexByte(l, ' '))] }
	return fmt.Sprintf("%s × %s × %s", bare(t.sys.Length(v[ax[0]])), bare(t.sys.Length(v[ax[1]])), t.sys.Length(v[ax[2]]))
}

// stock is the blank, what it has over the part, and what the part weighs.
func (t *traveler) stock() {
	s, p := t.sheet, t.plan
	blank := cell{label: t.say("Stock, X × Y × Z"), span: 2}
	if p.Stock.SizeMM != [3]float64{} {
		blank.value = t.triple(p.Stock.SizeMM)
		if p.Survey.SizeMM != [3]float64{} {
			over := [3]float64{}
			for k := range over {
				over[k] = max(0, (p.Stock.SizeMM[k]-p.Survey.SizeMM[k])/2)
			}
			blank.note = t.say("over the part %s a side", t.triple(over))
		}
	}
	cells := []cell{blank}
	if p.Stock.Kg > 0 {
		cells = append(cells, cell{label: t.say("A blank weighs"), value: t.sys.Mass(1000 * p.Stock.Kg)})
	}
	cells = append(cells, cell{label: t.say("Part, X × Y × Z"), value: t.triple(p.Survey.SizeMM), span: 2})
	if m := p.Survey.VolumeMM3 / 1000 * p.Material.Density; m > 0 && finite(m) {
		cells = append(cells, cell{label: t.say("A part weighs"), value: t.sys.Mass(m)})
	}
	rows := grid(cells, 6, s.width())
	s.section(t.say("Stock"), height(rows)+10)
	s.flow(rows, nil)
	if says := t.told(p.Stock.Says); says != "" {
		s.y += 1
		s.flow(prose(says, s.width(), bodySize, false), nil)
	}
}

// makes lists what is to be printed or cut before the parts can be run.
func (t *traveler) makes() {
	var rows [][]string
	for _, sol := range t.plan.Solids {
		kind := capital(sol.Kind)
		switch sol.Kind {
		case "block":
			kind = t.say("Sanding block")
		case "jaw":
			kind = t.say("Soft jaws")
		case "plug":
			kind = t.say("Plug")
		}
		says := t.told(sol.Says)
		if !sol.Closed && sol.VolumeMM3 > 0 {
			says = t.say("NOT CLOSED: mend it before it is printed. %s", says)
		}
		rows = append(rows, []string{kind, first(sol.For, "–"), first(sol.File, "–"), first(says, "–"), ""})
	}
	if len(rows) == 0 {
		return
	}
	t.sheet.section(t.say("Things to make first"), 24)
	t.sheet.table([]string{t.say("What"), t.say("For"), t.say("File"), t.say("How"), t.say("Made, by")}, rows, []float64{0.9, 0.75, 1.75, 3.05, 0.75})
}
