package paper

import (
	"fmt"
	"strings"

	"fettle"
	"fettle/internal/output/draw"
)

// head is the top of the first page: whose paper it is and for what.
func (t *traveler) head() {
	s, p := t.sheet, t.plan
	d := s.page()
	shop := first(p.Shop, p.Brief.Shop)
	tag := "TRAVELER"
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
	lot := max(p.Brief.Lot, 1)
	finish := first(p.Look.Title, p.Brief.Finish)
	note := ""
	if given(p.Look.RaUM) {
		note = "Ra " + t.sys.Range(p.Look.RaUM)
	}
	if v := p.Brief.RaMaxUM; v > 0 {
		note = "Ra at most " + t.sys.Height(v) + ", from the drawing"
	}
	s.flow(grid([]cell{
		{label: "Material", value: first(first(p.Material.Title, p.Brief.Material), "not said"), span: 2},
		{label: "Finish", value: first(finish, "not said"), note: note, span: 2},
		{label: "Lot", value: count(lot, "piece", "pieces")},
		{label: "Date"},
		{label: "Model file", value: clip(first(p.Survey.File, "none"), s.width()/2-4, valueSize, true), span: 3},
		{label: "SHA-256 begins", value: first(t.sum(), "none"), span: 2},
		{label: "Job no."},
	}, 6, s.width()), nil)
}

// drawing is the panel of views.
func (t *traveler) drawing() error {
	s, p := t.sheet, t.plan
	if t.mesh == nil {
		s.y += 2
		s.flow(prose("There is no picture: the traveler was made without the model.", s.width(), bodySize, false), nil)
		return nil
	}
	texture := ""
	if last, ok := t.lastRa(); ok {
		texture = "Ra " + t.sys.Height(last)
	}
	if v := p.Brief.RaMaxUM; v > 0 {
		texture = "Ra " + t.sys.Height(v)
	}
	panel, err := draw.Panel(
		draw.PartView{Mesh: t.mesh, Up: t.up, Openings: p.Survey.Openings, Texture: texture},
		draw.PanelOptions{Width: s.width(), Height: min(118, 0.42*s.h), Display: t.sys, Metric: Metric})
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

// lastRa is the aim of the finish, in µm.
func (t *traveler) lastRa() (float64, bool) {
	if e := t.plan.Look.RaUM; given(e) {
		return e.Value, true
	}
	return 0, false
}

// stock is the blank and what the part weighs.
func (t *traveler) stock() {
	s, p := t.sheet, t.plan
	ax := t.axes()
	triple := func(v [3]float64) string {
		x, y := t.sys.Length(v[ax[0]]), t.sys.Length(v[ax[1]])
		bare := func(l string) string { return l[:max(0, strings.LastIndexByte(l, ' '))] }
		return fmt.Sprintf("%s × %s × %s", bare(x), bare(y), t.sys.Length(v[ax[2]]))
	}
	cells := []cell{}
	if p.Stock.SizeMM != [3]float64{} {
		cells = append(cells, cell{label: "Stock, X × Y × Z", value: triple(p.Stock.SizeMM), span: 2})
	} else {
		cells = append(cells, cell{label: "Stock, X × Y × Z", span: 2})
	}
	if p.Stock.Kg > 0 {
		cells = append(cells, cell{label: "A blank weighs", value: t.sys.Mass(1000 * p.Stock.Kg)})
	}
	cells = append(cells, cell{label: "Part, X × Y × Z", value: triple(p.Survey.SizeMM), span: 2})
	if m := p.Survey.VolumeMM3 / 1000 * p.Material.Density; m > 0 && finite(m) {
		cells = append(cells, cell{label: "A part weighs", value: t.sys.Mass(m)})
	}
	rows := grid(cells, 6, s.width())
	s.section("Stock", height(rows))
	s.flow(rows, nil)
	if says := sentence(p.Stock.Says); says != "" {
		s.y += 1
		s.flow(prose(says, s.width(), bodySize, false), nil)
	}
}

// makes lists what is to be printed or cut before the parts can be run.
func (t *traveler) makes() {
	var rows [][]string
	for _, sol := range t.plan.Solids {
		kind := sol.Kind
		switch sol.Kind {
		case "block":
			kind = "Sanding block"
		case "jaw":
			kind = "Soft jaws"
		case "plug":
			kind = "Plug"
		}
		says := sentence(t.sys.Reword(sol.Says))
		if !sol.Closed && sol.VolumeMM3 > 0 {
			says = "NOT CLOSED: mend it before it is printed. " + says
		}
		rows = append(rows, []string{capital(kind), first(sol.For, "–"), sol.File, first(says, "–"), ""})
	}
	if len(rows) == 0 {
		return
	}
	t.sheet.section("Things to make first", 24)
	t.sheet.table([]string{"What", "For", "File", "How", "Made, by"}, rows, []float64{1, 0.8, 2.2, 2.6, 0.8})
}

// setup is what must be true before the first chip.
func (t *traveler) setup() {
	s, p := t.sheet, t.plan
	w := s.width()
	items := grid([]cell{
		{label: "Mill", value: first(p.Mill.Title, p.Mill.Name)},
		{label: "Program"}, {label: "Work offset"}, {label: "Jaws"},
	}, 4, w)
	items = append(items, gap(1.5))
	if p.Stock.SizeMM != [3]float64{} {
		ax := t.axes()
		x, y, z := p.Stock.SizeMM[ax[0]], p.Stock.SizeMM[ax[1]], p.Stock.SizeMM[ax[2]]
		unit := "mm"
		if t.sys == fettle.Inch {
			unit = "in"
		}
		read := func(v float64) string { return readout(t.sys, v) }
		top, body := table(
			[]string{"Stock edge", "X−", "X+", "Y−", "Y+", "Z top", "Z under"},
			[][]string{
				{"Should read, " + unit, read(-x / 2), read(x / 2), read(-y / 2), read(y / 2), read(0), read(-z)},
				{"Reads", "", "", "", "", "", ""},
			}, []float64{1.6, 1, 1, 1, 1, 1, 1}, w)
		items = append(items, top)
		items = append(items, body...)
		items = append(items, gap(1))
		items = append(items, prose("Touch each edge of the stock with the readout in the offset above, part zero in the middle of the stock's top face. "+
			"Where a reading is off by more than the saw cut explains, stop and find out why before the spindle turns. "+
			"Zero elsewhere: write what each edge should read.", w, bodySize, false)...)
	}
	s.section("Set-up, before the first chip", min(height(items), 60))
	s.together(items, nil)
}

// tools lists the cutters of the passes.
func (t *traveler) tools() {
	var rows [][]string
	for i, st := range t.plan.Route {
		c := st.Pass
		if c == nil {
			continue
		}
		way := "one way"
		if c.Crossed {
			way = "crossed"
		}
		rows = append(rows, []string{"", c.Cutter, fmt.Sprint(i + 1), stepover(c, t.sys), way,
			fmt.Sprintf("%.0f", c.SpindleRPM), t.sys.Feed(c.FeedMMMin), ""})
	}
	if len(rows) == 0 {
		return
	}
	t.sheet.section("Tools of the last passes", 20)
	t.sheet.table([]string{"T no.", "Cutter", "Step", "Stepover", "Way", "rpm", "Feed", "Length, wear"}, rows,
		[]float64{0.8, 1.7, 0.6, 1.1, 1, 0.9, 1.4, 1.6})
}

// stepover shows the distance of passes, where there is one.
func stepover(p *fettle.Pass, sys fettle.System) string {
	if p.StepoverMM == 0 {
		return "one pass"
	}
	return sys.Small(p.StepoverMM)
}
