package draw

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"fettle"
	"fettle/internal/output/tongue"
	"fettle/internal/shape/geom"
	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r3"
)

// PartView is a part and which way up it is seen.
type PartView struct {
	Mesh *mesh.Mesh
	// Up is the direction in which the show face looks; zero means Z.
	Up       r3.Vec
	Openings []fettle.Opening
	// Texture is written at the show face as a surface-texture symbol, for
	// example "Ra 0.8"; empty leaves it out. Symbol, where given, wins over it.
	Texture string
	Symbol  *Symbol
}

// PanelOptions say how large a panel may be and how it is lettered.
type PanelOptions struct {
	Width, Height float64 // mm
	Display       fettle.System
	Metric        Metric // nil: [Em]
	// Tongue is the language of what is written; nil is English.
	Tongue *tongue.Tongue
}

// scales are the scales of ISO 5455 (1, 2, 5 and their tens), largest first,
// with 1.5 and 3 between so that a small panel is not left half empty.
var scales = []float64{50, 30, 20, 15, 10, 5, 3, 2, 1.5, 1, 1 / 1.5, 1. / 2, 1. / 3, 1. / 5, 1. / 10, 1. / 15, 1. / 20, 1. / 30, 1. / 50, 1. / 100, 1. / 200, 1. / 500, 1. / 1000}

// ScaleName is the scale as drawings write it: "1:2".
func ScaleName(k float64) string {
	whole := func(v float64) string { return strconv.FormatFloat(math.Round(v*10)/10, 'f', -1, 64) }
	if k >= 1 {
		return whole(k) + ":1"
	}
	return "1:" + whole(1/k)
}

// bare is a length without its unit, which a drawing names once.
func bare(sys fettle.System, mm float64) string {
	s, _, _ := strings.Cut(sys.Length(mm), " ")
	return s
}

const (
	labelH   = 6.0  // a view's name
	labelGap = 1.2  // under the plan's, where a low part has its height beside it
	dimGap   = 9.0  // from an outline to its dimension line, with the text
	column   = 13.0 // between neighbouring views
)

// Panel draws the part from above with its overall sizes and openings, its
// edge, its back, and an oblique picture, at the largest recommended scale that
// fits. Its top left corner is (0, 0) and nothing in it lies outside Width ×
// Height.
func Panel(pv PartView, opt PanelOptions) (*Drawing, error) {
	return (&panel{pv: pv, opt: opt, out: &Drawing{}, depth: depthSize}).draw()
}

func (p *panel) draw() (*Drawing, error) {
	opt := &p.opt
	if !(opt.Width >= 100) || !(opt.Height >= 60) || opt.Width > 2000 || opt.Height > 2000 {
		return nil, fettle.Errorf(fettle.Invalid, "a drawing panel of %.0f × %.0f mm cannot be drawn; give at least 100 × 60 mm", opt.Width, opt.Height)
	}
	if opt.Metric == nil {
		opt.Metric = Em
	}
	if err := check(p.pv.Mesh); err != nil {
		return nil, err
	}
	above := FromAbove(p.pv.Up)
	if err := p.main(above); err != nil {
		return nil, err
	}
	return p.out, p.rest(above)
}

type panel struct {
	pv  PartView
	opt PanelOptions
	out *Drawing
	// depth is the resolution of the depth maps.
	depth int
	// x is where the views on the right may begin.
	x float64
}

// main draws the plan with its edge view, dimensions and callouts.
func (p *panel) main(v View) error {
	plan, err := project(p.pv.Mesh, v, p.depth)
	if err != nil {
		return err
	}
	pf := flatten(p.pv.Mesh, v).frame
	below := pf.W() > pf.H()
	edgeView := v.FromRight()
	if below {
		edgeView = v.FromBelow()
	}
	edge, err := project(p.pv.Mesh, edgeView, p.depth)
	if err != nil {
		return err
	}
	side := flatten(p.pv.Mesh, edgeView)
	ef := side.frame
	notes := openingNotes(p.pv.Openings, v, p.opt, false)
	notesW := p.columnWidth(notes)
	size := func(mm float64) string { return bare(p.opt.Display, mm) }
	thick := size(ef.W())
	if below {
		thick = size(ef.H())
	}
	thickW := max(10, p.opt.Metric(thick, TextSize, false)+8)
	left := dimGap + TextSize + 2 // the upright dimension
	// The room that does not scale, and what does.
	fixedW, fixedH := left+notesW+2, labelH+labelGap+dimGap+6
	w, h := pf.W(), pf.H()
	if below {
		fixedW, fixedH = left+max(notesW, thickW)+2, fixedH+column
		h += ef.H()
	} else {
		fixedW += column + thickW
		w += ef.W()
	}
	tick := 0.0
	symbol, marked := p.pv.symbol()
	if marked {
		tick = symbol.Height(TextSize) + symbolShelf
	}
	// The other views want nearly a quarter of the width.
	k := fit(w, h, p.opt.Width*0.77-fixedW, p.opt.Height-fixedH-tick)
	if k*pf.H() < level { // the dimension's text will lie level, to the left of it
		more := p.opt.Metric(size(pf.H()), TextSize, false)
		left += more
		k = fit(w, h, p.opt.Width*0.77-fixedW-more, p.opt.Height-fixedH-tick)
	}
	x0, y0 := left, labelH+labelGap
	if !below {
		y0 += tick // the symbol stands over the edge view
	}
	pw, ph := k*pf.W(), k*pf.H()
	p.place(plan, pf, k, x0, y0)
	above := p.opt.Tongue.Say("From above, %s, sizes in mm", ScaleName(k))
	if p.opt.Display == fettle.Inch {
		above = p.opt.Tongue.Say("From above, %s, sizes in inch", ScaleName(k))
	}
	named := p.label(x0+pw/2, y0-labelGap-2, above)
	p.out.Along(y0, y0+ph, x0-dimGap, x0, x0, size(pf.H()), p.opt.Metric)
	p.out.Across(x0, x0+pw, y0+ph+dimGap, y0+ph, y0+ph, size(pf.W()), p.opt.Metric)
	p.callouts(notes, pf, k, x0, y0, y0+0.5, y0+max(ph+dimGap-5, 24))
	if below {
		ey := y0 + ph + dimGap + column - 6 + tick
		p.place(edge, ef, k, x0, ey)
		if marked {
			p.symbolOnTop(symbol, side, k, x0, ey)
		}
		p.out.Along(ey, ey+k*ef.H(), x0+pw+7, x0+pw, x0+pw, thick, p.opt.Metric)
		p.x = x0 + pw + max(notesW, thickW)
		return nil
	}
	ex := max(x0+pw+notesW+column-6, named+4)
	p.place(edge, ef, k, ex, y0)
	name := p.opt.Tongue.Say("Edge")
	named = p.label(max(ex+k*ef.W()/2, named+2+p.opt.Metric(name, TextSize, true)/2), labelH-2, name)
	p.out.Across(ex, ex+k*ef.W(), y0+ph+dimGap, y0+ph, y0+ph, thick, p.opt.Metric)
	p.x = max(ex+k*ef.W()+thickW, named)
	if marked {
		p.x = max(p.x, p.symbolBeside(symbol, side, k, ex, y0))
	}
	return nil
}

// rest draws the back and the oblique view in the column that is left on the
// right.
func (p *panel) rest(v View) error {
	w := p.opt.Width - p.x - 3
	if w < 25 {
		return nil
	}
	x := p.x + 3
	half := p.opt.Height * 0.48
	ob, err := project(p.pv.Mesh, v.Oblique(), p.depth)
	if err != nil {
		return err
	}
	of := flatten(p.pv.Mesh, v.Oblique()).frame
	k := min((w-1)/of.W(), (half-labelH-1)/of.H())
	p.place(ob, of, k, x+(w-k*of.W())/2, labelH+(half-labelH-k*of.H())/2)

	back, err := project(p.pv.Mesh, v.Behind(), p.depth)
	if err != nil {
		return err
	}
	bf := flatten(p.pv.Mesh, v.Behind()).frame
	notes := openingNotes(p.pv.Openings, v.Behind(), p.opt, true)
	notesW := p.columnWidth(notes)
	var under []string // where there is no room for a column: below, without leaders
	if w-notesW < 25 {
		for _, n := range notes {
			for _, s := range n.Says {
				if len(under) < 4 && p.opt.Metric(s, TextSize, false) <= w {
					under = append(under, s)
				}
			}
		}
		notes, notesW = nil, 0
	}
	const lead = 1.25 * TextSize
	kb := fit(bf.W(), bf.H(), w-notesW-1, p.opt.Height-half-labelH-3.2-lead*float64(len(under)))
	bw, bh := kb*bf.W(), kb*bf.H()
	bx, by := x+(w-notesW-bw)/2, half+labelH+1.5
	name := p.opt.Tongue.Say("From the back, %s", ScaleName(kb))
	if p.opt.Metric(name, TextSize, true) > w { // it would run into the edge view
		name = p.opt.Tongue.Say("Back, %s", ScaleName(kb))
	}
	p.label(x+w/2, half+labelH-1, name)
	p.place(back, bf, kb, bx, by)
	p.callouts(notes, bf, kb, bx, by, by, max(by+bh, min(by+24, p.opt.Height)))
	for i, s := range under {
		p.out.Texts = append(p.out.Texts, Text{At: Pt{x + w/2, by + bh + 1 + lead*float64(i+1) - 0.25*TextSize}, S: s, Size: TextSize, Align: Centre})
	}
	return nil
}

// columnWidth is how much room callouts need beside a view, 0 for none.
func (p *panel) columnWidth(notes []Callout) float64 {
	w := 0.0
	for _, n := range notes {
		for _, s := range n.Says {
			w = max(w, p.opt.Metric(s, TextSize, false)+6)
		}
	}
	return w
}

// callouts sets notes, whose features are at full size, to the right of a view
// placed like in place, between heights top and bottom.
func (p *panel) callouts(notes []Callout, f Frame, k, x, y, top, bottom float64) {
	for i := range notes {
		c := &notes[i]
		c.At = Pt{x + k*(c.At.X-f.X0), y + k*(c.At.Y-f.Y0)}
		c.Rim *= k
	}
	p.out.Callouts(notes, x+k*f.W()+6, top, bottom, p.opt.Metric)
}

// place puts a view drawn at full size with its frame's corner at (x, y) at
// scale k.
func (p *panel) place(d *Drawing, f Frame, k, x, y float64) {
	for _, l := range d.Lines {
		pts := make([]Pt, len(l.Pts))
		for i, q := range l.Pts {
			pts[i] = Pt{x + k*(q.X-f.X0), y + k*(q.Y-f.Y0)}
		}
		l.Pts = simplify(pts, l.Closed, 0.02)
		if len(l.Pts) > 1 {
			p.out.Lines = append(p.out.Lines, l)
		}
	}
}

// label names a view, its middle at x where the panel's borders allow, and
// returns where the text ends.
func (p *panel) label(x, y float64, s string) float64 {
	half := p.opt.Metric(s, TextSize, true) / 2
	x = min(max(x, half), p.opt.Width-half)
	p.out.Texts = append(p.out.Texts, Text{At: Pt{x, y}, S: s, Size: TextSize, Align: Centre, Bold: true})
	return x + half
}

// fit is the largest recommended scale at which w × h goes into the room, and
// when none does whatever goes.
func fit(w, h, roomW, roomH float64) float64 {
	most := min(max(roomW, 5)/max(w, 1e-9), max(roomH, 5)/max(h, 1e-9))
	for _, k := range scales {
		if k <= most {
			return k
		}
	}
	return most
}

// openingNotes are the callouts of openings that v sees, equal ones named once
// at the first of them. Through openings are called out from above only: they
// are left out with behind set.
func openingNotes(openings []fettle.Opening, v View, opt PanelOptions, behind bool) []Callout {
	var out []Callout
	count := map[string]int{}
	index := map[string]int{}
	for _, o := range openings {
		facing := r3.Dot(geom.Vec(o.Axis), v.Toward)
		if !(facing > 0.7 || o.Through && math.Abs(facing) > 0.7) || o.Through && behind {
			continue
		}
		says := OpeningIn(o, opt.Display, opt.Tongue)
		key := strings.Join(says, "\n")
		count[key]++
		if _, ok := index[key]; ok {
			continue
		}
		index[key] = len(out)
		rim := o.WidthMM / 2
		if o.Kind != fettle.Hole {
			rim = 0
		}
		out = append(out, Callout{At: v.Spot(geom.Vec(o.At)), Rim: rim, Says: says})
	}
	for key, i := range index {
		if n := count[key]; n > 1 {
			out[i].Says = append([]string{fmt.Sprintf("%d × %s", n, out[i].Says[0])}, out[i].Says[1:]...)
		}
	}
	return out
}
