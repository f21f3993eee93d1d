package paper

import (
	"fmt"
	"math"
	"path"
	"slices"
	"strings"

	"fettle"
	"fettle/internal/output/draw"
	"fettle/internal/shape/geom"
	"fettle/internal/shape/relief"

	"gonum.org/v1/gonum/spatial/r3"
)

// side is one set-up on the mill. Boxes are in program coordinates: what the readout
// shows in the set-up's offset.
type side struct {
	setup fettle.Setup
	given bool // else assumed
	name  string
	frame relief.Frame // of the program on the model
	stock *box         // nil where it is not known
	part  *box
	steps []int
	// over is what the blank has over the part: x-, x+, y-, y+, z-, z+.
	over *[6]float64
	jaws cell
}

// box is an upright box.
type box struct{ lo, hi [3]float64 }

// sides are the set-ups that were given, or the two that are assumed.
func (t *traveler) sides() []side {
	var out []side
	for _, s := range t.opt.Setups {
		out = append(out, t.givenSide(s))
	}
	if len(out) == 0 {
		out = []side{t.assumedSide(false), t.assumedSide(true)}
	}
	for i, st := range t.plan.Route {
		if st.Pass != nil {
			k := t.sideOf(out, st.Zone)
			out[k].steps = append(out[k].steps, i+1)
		}
	}
	return out
}

// sideOf is the set-up in which a zone is cut: the one whose spindle it looks at most,
// and the first for walls.
func (t *traveler) sideOf(sides []side, zone string) int {
	best, at := 0.5, 0
	for _, z := range t.plan.Zones {
		if z.ID != zone || z.ID == "sides" {
			continue
		}
		for k, s := range sides {
			if c := r3.Dot(geom.Vec(z.Up), s.frame.Z); c > best+1e-9 {
				best, at = c, k
			}
		}
	}
	return at
}

// alongFrame are the sizes of a box of the model, given along the model's axes, along
// those of a frame; false where the frame stands aslant.
func alongFrame(f relief.Frame, size [3]float64) (out [3]float64, ok bool) {
	for k, axis := range []r3.Vec{f.X, f.Y, f.Z} {
		found := false
		for i, c := range [3]float64{axis.X, axis.Y, axis.Z} {
			if math.Abs(c) > math.Cos(8*math.Pi/180) {
				out[k], found = size[i], true
			}
		}
		if !found {
			return out, false
		}
	}
	return out, true
}

// assumedSide is a set-up as a shop would make it unless something speaks against it:
// zero in the middle of the blank's top, first the show face up, then turned over
// about Y.
func (t *traveler) assumedSide(over bool) side {
	f := relief.Facing(t.up)
	s := side{name: t.say("show face up"), setup: fettle.Setup{Offset: "G54"}, frame: f}
	if over {
		s.frame = relief.Frame{Origin: f.Origin, X: r3.Scale(-1, f.X), Y: f.Y, Z: r3.Scale(-1, f.Z)}
		s.name, s.setup.Offset = t.say("turned over, show face down"), "G55"
	}
	for _, sol := range t.plan.Solids {
		if over && sol.Kind == "jaw" {
			s.jaws = cell{value: sol.For, note: t.say("pocket on its own sheet, %s", path.Base(sol.File))}
		}
	}
	blank, ok := alongFrame(s.frame, t.plan.Stock.SizeMM)
	part, ok2 := alongFrame(s.frame, t.plan.Survey.SizeMM)
	if !ok || !ok2 || t.plan.Stock.SizeMM == [3]float64{} {
		return s
	}
	var left [3]float64 // over the part, a side
	for k := range left {
		if left[k] = (blank[k] - part[k]) / 2; part[k] == 0 {
			left[k] = 0
		}
	}
	top := left[2]
	s.stock = &box{[3]float64{-blank[0] / 2, -blank[1] / 2, -blank[2]}, [3]float64{blank[0] / 2, blank[1] / 2, 0}}
	s.over = &[6]float64{left[0], left[0], left[1], left[1], left[2], left[2]}
	if over { // the show face is made, and lies below
		s.stock.lo[2] = -(part[2] + top)
		s.over[4] = 0
	}
	s.part = &box{[3]float64{-part[0] / 2, -part[1] / 2, -top - part[2]}, [3]float64{part[0] / 2, part[1] / 2, -top}}
	if t.mesh != nil { // where the middle of the part is zero in plan
		c := r3.Scale(0.5, r3.Add(boundsOf(t)[0], boundsOf(t)[1]))
		s.frame.Origin = c
	}
	return s
}

// boundsOf are the corners of the part's box in the model.
func boundsOf(t *traveler) [2]r3.Vec {
	inf := math.Inf(1)
	lo, hi := r3.Vec{X: inf, Y: inf, Z: inf}, r3.Vec{X: -inf, Y: -inf, Z: -inf}
	for _, p := range t.mesh.Pos {
		lo = r3.Vec{X: min(lo.X, p.X), Y: min(lo.Y, p.Y), Z: min(lo.Z, p.Z)}
		hi = r3.Vec{X: max(hi.X, p.X), Y: max(hi.Y, p.Y), Z: max(hi.Z, p.Z)}
	}
	return [2]r3.Vec{lo, hi}
}

// givenSide is a set-up as a set-up file holds it.
func (t *traveler) givenSide(setup fettle.Setup) side {
	up := geom.Vec(setup.Up)
	if n := r3.Norm(up); n > 0 {
		up = r3.Scale(1/n, up)
	} else {
		up = r3.Vec{Z: 1}
	}
	f := relief.Facing(up)
	f.Origin = geom.Vec(setup.Zero)
	s := side{setup: setup, given: true, name: setup.Title, frame: f.Turned(-setup.TurnDeg * math.Pi / 180)}
	if s.name == "" {
		switch c := r3.Dot(up, t.up); {
		case c > 0.9:
			s.name = t.say("show face up")
		case c < -0.9:
			s.name = t.say("show face down")
		default:
			s.name = t.say("on its side")
		}
	}
	if t.mesh != nil && len(t.mesh.Pos) > 0 {
		inf := math.Inf(1)
		b := box{[3]float64{inf, inf, inf}, [3]float64{-inf, -inf, -inf}}
		for _, p := range t.mesh.Pos {
			for k, v := range geom.Array(s.frame.Into(p)) {
				b.lo[k], b.hi[k] = min(b.lo[k], v), max(b.hi[k], v)
			}
		}
		s.part = &b
	}
	if st := setup.Stock; st != nil {
		switch {
		case st.Lo != nil && st.Hi != nil:
			s.stock = &box{*st.Lo, *st.Hi}
		case st.Over != nil && s.part != nil:
			b := *s.part
			for k := range 3 {
				b.lo[k] -= st.Over[2*k]
				b.hi[k] += st.Over[2*k+1]
			}
			s.stock = &b
		}
	}
	if s.part != nil && s.stock != nil {
		s.over = &[6]float64{}
		for k := range 3 {
			s.over[2*k], s.over[2*k+1] = s.part.lo[k]-s.stock.lo[k], s.stock.hi[k]-s.part.hi[k]
		}
	}
	if j := setup.Jaws; j != nil {
		s.jaws = cell{value: j.Name, note: t.say("open %s", t.sys.Length(j.OpeningMM))}
		for _, sol := range t.plan.Solids {
			if sol.Kind == "jaw" && sol.For == j.Name {
				s.jaws.note = t.say("open %s; pocket on its own sheet, %s", t.sys.Length(j.OpeningMM), path.Base(sol.File))
			}
		}
	}
	return s
}

// setups is what must be true before the first chip, set-up by set-up.
func (t *traveler) setups() error {
	s := t.sheet
	sides := t.sides()
	for i, d := range sides {
		block, err := t.sideBlock(i, d)
		if err != nil {
			return err
		}
		if i == 0 {
			say := prose(t.say("Touch each edge of the stock and write what the readout shows in the offset of the set-up. Where it is off by more than the saw cut explains, stop and find out why before the spindle turns."), s.width(), bodySize, false)
			s.section(t.say("Set-ups, before the first chip"), min(height(block)+height(say), s.bottom-s.top-25))
			s.flow(append(say, gap(1.5)), nil)
		} else {
			s.y += 3
			s.keep(min(height(block), s.bottom-s.top-9))
		}
		s.flow(block, nil)
	}
	return nil
}

// sideBlock is one set-up as items.
func (t *traveler) sideBlock(i int, d side) ([]item, error) {
	w := t.sheet.width()
	p := t.plan
	items := []item{textItem(clip(t.say("Set-up %d: %s", i+1, d.name), w, headSize, true), headSize, true), gap(0.8)}
	offset := cell{label: t.say("Work offset"), value: d.setup.Offset}
	if !d.given {
		offset.note = t.say("assumed")
	}
	jaws := d.jaws
	jaws.label = t.say("Jaws")
	steps := make([]string, len(d.steps))
	for k, n := range d.steps {
		steps[k] = fmt.Sprint(n)
	}
	mill := first(d.setup.Mill, first(p.Mill.Title, p.Mill.Name))
	items = append(items, grid([]cell{
		{label: t.say("Mill"), value: clip(mill, 2*w/7-2*pad-0.1, valueSize, true), span: 2},
		{label: t.say("Program"), span: 2}, offset, jaws, {label: t.say("Last passes, steps"), value: first(strings.Join(steps, ", "), "–")},
	}, 7, w)...)
	items = append(items, gap(1.5))
	sketch, err := t.sketch(d)
	if err != nil {
		return nil, err
	}
	items = append(items, t.readings(d, sketch)...)
	items = append(items, gap(1))
	return append(items, prose(t.sideSays(d), w, bodySize, false)...), nil
}

// readings is the table of what the readout must show, with the sketch on its left.
func (t *traveler) readings(d side, sketch *draw.Drawing) []item {
	const sketchW, between = 64.0, 3.0
	w := t.sheet.width()
	x := 0.0
	if sketch != nil {
		x = sketchW + between
	}
	should := t.say("Should read, mm")
	if t.sys == fettle.Inch {
		should = t.say("Should read, in")
	}
	var rows [][]string
	for k, name := range []string{t.say("X−"), t.say("X+"), t.say("Y−"), t.say("Y+"), t.say("Z top"), t.say("Z under")} {
		axis, high := k/2, k%2 == 1
		if axis == 2 {
			high = k == 4 // the top comes first
		}
		row := []string{name, "", "", ""}
		if d.over != nil {
			v := d.over[2*axis]
			if high {
				v = d.over[2*axis+1]
			}
			row[1] = t.sys.Length(v)
		}
		if d.stock != nil {
			v := d.stock.lo[axis]
			if high {
				v = d.stock.hi[axis]
			}
			row[2] = readout(t.sys, v)
		}
		rows = append(rows, row)
	}
	top, body := table([]string{t.say("Stock edge"), t.say("Over the part"), should, t.say("Reads")}, rows, []float64{1.1, 1.1, 1.2, 1.4}, w-x)
	body = append([]item{top}, body...)
	h := height(body)
	if sketch == nil {
		return body
	}
	f, _ := sketch.Bounds(Metric)
	h = max(h, f.H())
	return []item{{h, func(page *draw.Drawing, x0, y, _ float64) {
		page.Add(sketch, x0+(sketchW-f.W())/2-f.X0, y+(h-f.H())/2-f.Y0)
		at := y
		for _, it := range body {
			it.put(page, x0+x, at, w-x)
			at += it.h
		}
	}}}
}

// sideSays says what is assumed of a set-up, and what to do with the readings.
func (t *traveler) sideSays(d side) string {
	switch {
	case d.given && d.stock == nil:
		return t.say("The set-up does not say how the blank lies: write what each edge should read.")
	case d.given:
		if saw := d.setup.Stock.SawCutMM; saw > 0 {
			return t.say("Sides as the saw left them may read up to %s more: %s.", t.sys.Length(saw), t.tongue.List(sawnSides(d)))
		}
		return ""
	case d.stock == nil:
		return t.say("How the blank lies is not known: write what each edge should read.")
	case d.frame.Z == t.up:
		return t.say("Assumed: the offset; zero in the middle of the blank's top, the same over the part on opposite sides. Zero elsewhere: write what each edge should read.")
	}
	return t.say("Assumed: the offset; turned over about Y, so that X runs the other way; zero in the middle of what is left of the blank, on its top; its edges are those of the foot that the vise held. Zero elsewhere: write what each edge should read.")
}

// sawnSides are the sides that the saw cut.
func sawnSides(d side) []string {
	sawn := slices.Clone(d.setup.Stock.Sawn)
	if len(sawn) == 0 {
		sawn = []string{"y-", "y+"}
		if d.stock.hi[0]-d.stock.lo[0] >= d.stock.hi[1]-d.stock.lo[1] {
			sawn = []string{"x-", "x+"}
		}
	}
	for i, s := range sawn {
		sawn[i] = strings.ToUpper(strings.ReplaceAll(s, "-", "−"))
	}
	return sawn
}
