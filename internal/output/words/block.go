package words

import (
	"math"

	"fettle"
)

// Block says which patches of a zone a stiff sanding block can follow: the stroke
// and how far it may go, how the block lies, the paper to cut. A patch that none
// can follow is refused with the reason.
func (l Voice) Block(docs []fettle.Block, sys fettle.System) string {
	v := l.in(sys)
	p := v.page()
	if len(docs) == 0 {
		p.say("", "No patch was looked at, so there is no block to make.")
		return p.String()
	}
	stiff, area, all := 0, 0.0, 0.0
	for _, b := range docs {
		all += b.AreaMM2
		if b.Stiff {
			stiff++
			area += b.AreaMM2
		}
	}
	first := docs[0]
	p.say("", "%s, %s: %s.", first.Part, first.Zone, v.Count(len(docs), "1 patch", "%d patches"))
	p.head("In short")
	switch {
	case stiff == 0:
		p.item("No stiff block can follow any of it. Rub it with a soft backing or by hand, and check the shape as you go: soft backings round edges and dig hollows.")
	case stiff == len(docs):
		p.item("%s", v.Count(stiff, "A stiff block can follow all of it: 1 block to make.", "A stiff block can follow all of it: %d blocks to make."))
	default:
		p.item("%s", v.Count(stiff, "Stiff blocks can follow 1 patch of %[2]d, %[3]s of the area: 1 block to make. The rest wants a soft backing or a hand.",
			"Stiff blocks can follow %[1]d patches of %[2]d, %[3]s of the area: %[1]d blocks to make. The rest wants a soft backing or a hand.", len(docs), v.share(area/all)))
	}
	p.item("CAUTION: rub with the spindle stopped and the part off the mill; wet, or with the dust drawn off; keep the hand that holds the part out of the line of the stroke.")
	for _, b := range docs {
		p.block(b)
	}
	return p.String()
}

func (p *page) block(b fettle.Block) {
	v := p.v
	p.head("%s, %s, %s", b.Patch, v.surfaceName(b.Surface), v.Area(b.AreaMM2))
	if !b.Stiff {
		p.item("NO BLOCK: %s", v.reworded(b.Says))
		for _, w := range b.Warnings {
			p.item("%s", v.reworded(w))
		}
		return
	}
	if b.Says != "" {
		p.item("%s", v.reworded(b.Says))
	}
	for i, s := range b.Strokes {
		p.item("%s", v.stroke(i, s))
	}
	mirror := ""
	if b.Mirrored {
		mirror = v.Say("It is made for the part's mirror image: do not use it on the part as modelled.")
	}
	p.item("%s", sentences(v.Say("Print the block: %s, %s; its face is %s long by %s wide.", v.box(b.SizeMM), v.Volume(b.VolumeMM3), v.Length(b.FaceMM[0]), v.Length(b.FaceMM[1])), mirror))
	if !b.Closed {
		p.item("%s", v.notClosed())
	}
	p.item("%s", v.paperCut(b))
	p.item("%s", v.blockFit(b))
	if b.Covered >= 0.9995 {
		p.item("Stroked, it goes over all of the patch.")
	} else {
		p.item("Stroked, it goes over %s of the patch; the rest is finished by hand with the same grit, in the same direction.", v.share(b.Covered))
	}
	for _, w := range b.Warnings {
		p.item("%s", v.reworded(w))
	}
}

func (v voice) notClosed() string {
	return v.Say("Its solid is not closed: do not print it before it is mended.")
}

// surfaceName is a kind of surface with its article.
func (v voice) surfaceName(s string) string {
	switch s {
	case "plane":
		return v.Say("a plane")
	case "sphere":
		return v.Say("a sphere")
	case "cylinder":
		return v.Say("a cylinder")
	case "helix":
		return v.Say("a helix")
	case "extruded":
		return v.Say("a straight profile")
	case "revolved":
		return v.Say("a turned shape")
	case "free-form":
		return v.Say("free-form")
	}
	return s
}

// stroke says one motion; the block is made for the first.
func (v voice) stroke(i int, s fettle.Stroke) string {
	how := v.motionOf(s)
	reach, off := v.Length(s.ReachMM), v.standsOff(s.ErrorUM)
	t := v.Say("Stroke it %s, at most %s to either side of the middle: its face then stands off by %s", how, reach, off)
	if i > 0 {
		t = v.Say("It may also be stroked %s, at most %s to either side of the middle: its face then stands off by %s", how, reach, off)
	}
	// The first place past the reach says why it ends there.
	for _, e := range s.Errors {
		if math.Abs(e.AtMM) > s.ReachMM*(1+1e-9) {
			t = v.Say("%s; %s out by %s, with %s of the face over the patch", t, v.Length(math.Abs(e.AtMM)), v.standsOff(e.MaxUM), v.share(e.Share))
			break
		}
	}
	return v.Stop(t)
}

// motionOf says the way of a stroke.
func (v voice) motionOf(s fettle.Stroke) string {
	switch s.Kind {
	case "straight":
		return v.Say("straight along %s", v.along(s.Axis))
	case "round an axis":
		if s.RadiusMM < 0.5 {
			return v.Say("round and round on the spot, about %s through %s", v.along(s.Axis), v.place(s.At))
		}
		return v.Say("round an axis along %s through %s, on a radius of %s", v.along(s.Axis), v.place(s.At), v.Length(s.RadiusMM))
	case "screw":
		return v.Say("like a screw about an axis along %s through %s, %s forward a turn, on a radius of %s", v.along(s.Axis), v.place(s.At), v.Length(s.PitchMM), v.Length(s.RadiusMM))
	}
	return s.Kind
}

// standsOff is how far a face is off at most; what no instrument shows is nothing.
func (v voice) standsOff(um float64) string {
	if um < 0.05 {
		return v.Say("nothing that could be measured")
	}
	return v.Say("at most %s", v.Fine(um))
}

// along names the direction of an axis, whichever way along it.
func (v voice) along(d [3]float64) string {
	for k, name := range []string{"X", "Y", "Z"} {
		if math.Abs(d[k]) > 0.9999 {
			return v.Say("the model's %s", name)
		}
	}
	return v.Say("the direction (%.3f, %.3f, %.3f)", d[0], d[1], d[2])
}

// paperCut says the paper to cut.
func (v voice) paperCut(b fettle.Block) string {
	s := b.Sheet
	if s.LongMM <= 0 {
		return v.Say("No paper was worked out for it.")
	}
	paper, long, wide := v.Say("the paper"), v.Length(s.LongMM), v.Length(s.WideMM)
	if b.Grit != "" {
		paper = v.Say("the paper (%s)", b.Grit)
	}
	t := v.Say("Cut %s %s long by %s wide", paper, long, wide)
	if s.TuckMM > 0 {
		t = v.Say("Cut %s %s long by %s wide and tuck %s of each end into its slot", paper, long, wide, v.Length(s.TuckMM))
	}
	if s.StripMM > 0 {
		n := max(2, int(math.Ceil(s.WideMM/s.StripMM-1e-9)))
		t = v.Say("%s; one sheet would wrinkle here, so slit it into %d strips no wider than %s", t, n, v.Length(s.StripMM))
	}
	says, room := "", ""
	if s.Says != "" {
		says = v.reworded(s.Says)
	}
	if e := b.PaperMM; e.Value > 0 {
		room = v.Say("The block leaves room for paper %s thick; measure yours, and print again for another.", v.Small(e.Value))
		if e.Low != e.High {
			room = v.Say("The block leaves room for paper %s thick (%s); measure yours, and print again for another.", v.Small(e.Value), ends(v.Small(e.Low), v.Small(e.High)))
		}
	}
	return sentences(v.Stop(t), says, room)
}

// blockFit says how the face lies at rest.
func (v voice) blockFit(b fettle.Block) string {
	f := b.Fit
	t := v.Say("At rest 99 %% of its face lies within %s of where it should, %s at the worst and %s on the whole (root mean square)", v.Fine(f.WorstUM), v.Fine(f.MaxUM), v.Fine(f.RMSUM))
	if f.MaxUM < 0.05 {
		t = v.Say("At rest its face lies where it should, as far as can be measured")
	}
	if b.LimitUM > 0 {
		t = v.Say("%s; %s is allowed while it is stroked", t, v.Fine(b.LimitUM))
	}
	facets, bridged, clear := "", "", ""
	if f.FacetUM > 0 {
		facets = v.Say("The model's own facets may be answerable for %s of it.", v.Fine(f.FacetUM))
	}
	if f.BridgedShare > 0.0005 {
		bridged = v.Say("It lies over openings with %s of its face: go easy at their edges, which wear first.", v.share(f.BridgedShare))
	}
	switch {
	case f.ClearMM < 0:
		clear = v.Say("Its body runs into the part by %s while it is stroked: cut it back before use.", v.Length(-f.ClearMM))
	case f.ClearMM > 0 && !math.IsInf(f.ClearMM, 0):
		clear = v.Say("The rest of it stays %s clear of the part.", v.Length(f.ClearMM))
	}
	return sentences(v.Stop(t), facets, bridged, clear)
}

// Plug says a plug for an opening: what it is, how it goes in and comes out, and
// its lengths from the head down.
func (l Voice) Plug(g fettle.PlugFit, sys fettle.System) string {
	v := l.in(sys)
	p := v.page()
	if g.Through {
		p.say("", "%s: a plug for %s (%s, through), of %s.", g.Part, g.Opening, g.Form, g.Soft)
	} else {
		p.say("", "%s: a plug for %s (%s, blind), of %s.", g.Part, g.Opening, g.Form, g.Soft)
	}
	p.head("In short")
	p.item("%s", v.reworded(g.Says))
	p.item("At the mouth it is %s wider than the opening and holds by that; at its tip %s narrower, so that it finds the way in.", v.Length(g.MouthSqueezeMM), v.Length(g.TipPlayMM))
	section(p, "What to watch", g.Warnings, v.reworded)
	p.head("What to do")
	if !g.Closed {
		p.item("%s", v.notClosed())
	}
	p.item("%s", v.reworded(g.Do))
	p.item("Try it in one part before the lot. Count the plugs before the charge and after it: one that comes out stays in the media.")
	p.head("From the head down")
	rows := [][]string{{"", v.Say("long"), v.Say("wide, above to below"), v.Say("across, above to below")}}
	for _, s := range g.Steps {
		rows = append(rows, []string{s.Name, v.Length(s.LongMM), v.taper(s.WideMM), v.taper(s.AcrossMM)})
	}
	p.columns(rows)
	if g.TaperDeg > 0.005 {
		p.item("%s over all, %s, with a taper of %s°.", v.box(g.SizeMM), v.Volume(g.VolumeMM3), two(g.TaperDeg))
	} else {
		p.item("%s over all, %s, with upright walls.", v.box(g.SizeMM), v.Volume(g.VolumeMM3))
	}
	return p.String()
}

// taper is a width that may change along a step.
func (v voice) taper(w [2]float64) string {
	if a, b := v.number(w[0]), v.Length(w[1]); a != v.number(w[1]) {
		return v.Say("%s to %s", a, b)
	}
	return v.Length(w[0])
}
