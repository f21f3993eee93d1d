// Package paper makes what goes to the shop floor on paper: the traveler of a
// job ([Traveler]), a PDF that goes with the parts from the saw to the box.
//
// It is made to be read in black and white, folded and oily, at arm's length,
// and to be written on. Layout and painting are apart: sections are laid out
// into [draw.Drawing] pages first, so that page numbers are known, and [PDF]
// paints them. The bytes depend only on the plan, the mesh and the options.
package paper

import (
	"math"
	"strings"

	"fettle"
	"fettle/internal/output/draw"
	"fettle/internal/output/tongue"
	"fettle/internal/shape/geom"
	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r3"
)

// Size is a size of paper in mm, upright.
type Size struct {
	Name string
	W, H float64
}

// The sizes: ISO 216 A4 and ANSI/ASME Y14.1 A ("Letter").
var (
	A4     = Size{"A4", 210, 297}
	Letter = Size{"Letter", 215.9, 279.4}
)

// ParseSize reads a paper's name without regard to case; empty means A4.
func ParseSize(s string) (Size, error) {
	switch strings.ToLower(strings.TrimSpace(s)) {
	case "", "a4":
		return A4, nil
	case "letter":
		return Letter, nil
	}
	return Size{}, fettle.Errorf(fettle.Invalid, "paper %q is not known; choose A4 or Letter", s)
}

// Options say how the traveler is to look, and what it knows besides the plan.
type Options struct {
	Size    Size          // zero: A4
	Display fettle.System // empty: the brief's, else metric
	// Tongue is the language; nil is that of the brief, and English where the brief
	// names none that there is.
	Tongue *tongue.Tongue
	// Money puts the price on it. A traveler lies about on the shop floor, so
	// the default is no prices.
	Money bool
	// Link is the address of the page that opens for a step, by its index in the
	// route. With nil, and where it is empty, the step's code holds words that name
	// the step.
	Link func(step int) string
	// Job is the job's number.
	Job string
	// Promise is when the steps are due; nil leaves times out.
	Promise *fettle.Promise
	// Acceptance is what the signed-off sample asks of a piece; nil for none.
	Acceptance *fettle.Acceptance
	// Setups are how the part lies on the mill, in their order. Without any, two are
	// assumed, the show face up and then the part turned over, and the paper says so.
	Setups []fettle.Setup
	// Cutters are those of the shelf, for their flutes; without them there are blanks.
	Cutters []fettle.Cutter
}

// Traveler is the traveler of a planned job as a PDF. m is the part's mesh;
// with nil, drawings are left out and the paper says so. The error is Invalid for a
// plan without steps, for a mesh or a size that cannot be drawn, and for an address
// too long for a code.
func Traveler(plan *fettle.Plan, m *mesh.Mesh, opt Options) ([]byte, error) {
	pages, err := Pages(plan, m, opt)
	if err != nil {
		return nil, err
	}
	size := opt.size()
	t := opt.tongueFor(plan)
	return PDFIn(pages, size.W, size.H, first(plan.Title, t.Say("Traveler")), t.Tag())
}

func (o Options) size() Size {
	if o.Size.W == 0 {
		return A4
	}
	return o.Size
}

// tongueFor is the language of the paper.
func (o Options) tongueFor(plan *fettle.Plan) *tongue.Tongue {
	if o.Tongue != nil {
		return o.Tongue
	}
	if t, err := tongue.Of(plan.Brief.Language); err == nil {
		return t
	}
	return tongue.English()
}

// Pages is the traveler as drawings of the paper's size, for a preview on
// screen.
func Pages(plan *fettle.Plan, m *mesh.Mesh, opt Options) ([]*draw.Drawing, error) {
	t, err := travelerOf(plan, m, opt)
	if err != nil {
		return nil, err
	}
	return t.sheet.pages, nil
}

// travelerOf makes a traveler.
func travelerOf(plan *fettle.Plan, m *mesh.Mesh, opt Options) (*traveler, error) {
	if plan == nil || len(plan.Route) == 0 {
		return nil, fettle.Errorf(fettle.Invalid, "the plan holds no steps, so there is nothing to put on paper; plan the part first")
	}
	size := opt.size()
	if !(size.W >= 140 && size.H >= 180 && size.W <= 1200 && size.H <= 1200) {
		return nil, fettle.Errorf(fettle.Invalid, "paper of %.0f × %.0f mm is not possible; choose A4 or Letter", size.W, size.H)
	}
	for i, v := range plan.Stock.SizeMM {
		if !finite(v) || v < 0 {
			return nil, fettle.Errorf(fettle.Invalid, "size %d of the stock is %g mm, which cannot be sawn; plan the part again", i+1, v)
		}
	}
	if opt.Display == "" {
		opt.Display = plan.Brief.Display
	}
	for _, s := range opt.Setups {
		if err := s.Validate(); err != nil {
			return nil, err
		}
	}
	t := &traveler{plan: plan, mesh: m, opt: opt, sys: opt.Display, tongue: opt.tongueFor(plan), sheet: newSheet(size), up: upOf(plan)}
	t.sheet.again = t.say("continued")
	if err := t.encode(); err != nil {
		return nil, err
	}
	t.head()
	if err := t.drawing(); err != nil {
		return nil, err
	}
	t.stock()
	t.makes()
	if err := t.setups(); err != nil {
		return nil, err
	}
	t.tools()
	t.steps()
	t.inspection()
	t.accepted()
	t.marks()
	t.cautions()
	t.notes()
	if opt.Money {
		t.money()
	}
	t.running()
	return t, nil
}

// traveler is one traveler in the making.
type traveler struct {
	plan   *fettle.Plan
	mesh   *mesh.Mesh
	opt    Options
	sys    fettle.System
	tongue *tongue.Tongue
	sheet  *sheet
	up     r3.Vec
	codes  []code // of the steps
	seen   []seen // views of the part
}

// upOf is the direction the show face looks in: the brief's, else that of the
// show zone, taken as an axis of the model when it is within 8° of one, else Z.
func upOf(p *fettle.Plan) r3.Vec {
	up := geom.Vec(p.Brief.Up)
	if !(r3.Norm(up) > 0) {
		for _, z := range p.Zones {
			if z.Class == fettle.Show && r3.Norm(geom.Vec(z.Up)) > 0 {
				up = geom.Vec(z.Up)
				break
			}
		}
	}
	l := r3.Norm(up)
	if !(l > 0) || math.IsInf(l, 0) {
		return r3.Vec{Z: 1}
	}
	up = r3.Scale(1/l, up)
	for _, a := range []r3.Vec{{X: 1}, {X: -1}, {Y: 1}, {Y: -1}, {Z: 1}, {Z: -1}} {
		if r3.Dot(a, up) > math.Cos(8*math.Pi/180) {
			return a
		}
	}
	return up
}

// axes are the model's axes as the part lies on the mill: those of X, Y and Z.
func (t *traveler) axes() [3]int {
	switch {
	case math.Abs(t.up.X) > 0.9:
		return [3]int{1, 2, 0}
	case math.Abs(t.up.Y) > 0.9:
		return [3]int{0, 2, 1}
	}
	return [3]int{0, 1, 2}
}

// running puts the running head on every page but the first, and the foot on
// all.
func (t *traveler) running() {
	s := t.sheet
	n := len(s.pages)
	for i, d := range s.pages {
		of := t.say("Page %d of %d", i+1, n)
		y := s.h - 10
		d.Stroke(ruleBox, draw.Pt{X: s.left, Y: y - 4}, draw.Pt{X: s.right, Y: y - 4})
		d.Texts = append(d.Texts,
			draw.Text{At: draw.Pt{X: s.left, Y: y}, Size: labelSize,
				S: clip(brackets(t.tongue), s.width()-Metric(of, bodySize, true)-6, labelSize, false)},
			draw.Text{At: draw.Pt{X: s.right, Y: y}, S: of, Size: bodySize, Bold: true, Align: draw.Right})
		if i == 0 {
			continue
		}
		id := clip(t.identity(), 0.6*s.width(), labelSize, false)
		idW := Metric(id, labelSize, false)
		d.Texts = append(d.Texts,
			draw.Text{At: draw.Pt{X: s.left, Y: s.top + 3.5}, S: clip(t.title(), s.width()-idW-6, bodySize, true), Size: bodySize, Bold: true},
			draw.Text{At: draw.Pt{X: s.right, Y: s.top + 3.5}, S: id, Size: labelSize, Align: draw.Right})
		d.Stroke(ruleBox, draw.Pt{X: s.left, Y: s.top + 5.5}, draw.Pt{X: s.right, Y: s.top + 5.5})
	}
}

// brackets says how the numbers are to be read.
func brackets(t *tongue.Tongue) string {
	return t.Say("Brackets hold what eight in ten should fall in. What is seen and measured wins.")
}

func (t *traveler) title() string {
	return first(t.plan.Title, first(t.plan.Survey.File, t.say("Job")))
}

// identity names the job, the model file and the first twelve digits of its
// SHA-256.
func (t *traveler) identity() string {
	id := clip(first(t.plan.Survey.File, t.say("no model file")), 60, labelSize, false)
	if sum := t.sum(); sum != "" {
		id += "  ·  " + sum
	}
	if t.opt.Job != "" {
		id = t.say("Job %s", clip(t.opt.Job, 25, labelSize, false)) + "  ·  " + id
	}
	return id
}

func (t *traveler) sum() string {
	sum := t.plan.Survey.SHA256
	return sum[:min(12, len(sum))]
}
