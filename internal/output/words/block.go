package words

import (
	"fmt"
	"math"
	"strings"

	"fettle"
)

// Block says which patches of a zone a stiff sanding block can follow: the stroke
// and how far it may go, how the block lies, the paper to cut. A patch that none
// can follow is refused with the reason.
func Block(docs []fettle.Block, sys fettle.System) string {
	var p page
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
	p.say("", "%s, %s: %s.", first.Part, first.Zone, count(len(docs), "patch"))
	p.head("In short")
	switch {
	case stiff == 0:
		p.item("No stiff block can follow any of it. Rub it with a soft backing or by hand, and check the shape as you go: soft backings round edges and dig hollows.")
	case stiff == len(docs):
		p.item("A stiff block can follow all of it: %s to make.", count(stiff, "block"))
	default:
		p.item("Stiff blocks can follow %s of %s, %s of the area: %s to make. The rest wants a soft backing or a hand.", count(stiff, "patch"), fmt.Sprint(len(docs)), share(area/all), count(stiff, "block"))
	}
	p.item("CAUTION: rub with the spindle stopped and the part off the mill; wet, or with the dust drawn off; keep the hand that holds the part out of the line of the stroke.")
	for _, b := range docs {
		blockPage(&p, b, sys)
	}
	return p.String()
}

func blockPage(p *page, b fettle.Block, sys fettle.System) {
	p.head(fmt.Sprintf("%s, %s, %s", b.Patch, surfaceName(b.Surface), sys.Area(b.AreaMM2)))
	if !b.Stiff {
		p.item("NO BLOCK: %s", sentence(sys.Reword(b.Says)))
		for _, w := range b.Warnings {
			p.item("%s", sentence(sys.Reword(w)))
		}
		return
	}
	if b.Says != "" {
		p.item("%s", sentence(sys.Reword(b.Says)))
	}
	for i, s := range b.Strokes {
		p.item("%s", stroke(i, s, sys))
	}
	mirror := ""
	if b.Mirrored {
		mirror = " It is made for the part's mirror image: do not use it on the part as modelled."
	}
	p.item("Print the block: %s × %s × %s, %s; its face is %s long by %s wide.%s", number(b.SizeMM[0], sys), number(b.SizeMM[1], sys), sys.Length(b.SizeMM[2]),
		sys.Volume(b.VolumeMM3), sys.Length(b.FaceMM[0]), sys.Length(b.FaceMM[1]), mirror)
	if !b.Closed {
		p.item("Its solid is not closed: do not print it before it is mended.")
	}
	p.item("%s", paperCut(b, sys))
	p.item("%s", blockFit(b, sys))
	p.item("Stroked, it goes over %s of the patch%s.", share(b.Covered), rest(b.Covered))
	for _, w := range b.Warnings {
		p.item("%s", sentence(sys.Reword(w)))
	}
}

// rest says what to do with what a block does not go over.
func rest(covered float64) string {
	if covered >= 0.9995 {
		return ""
	}
	return "; the rest is finished by hand with the same grit, in the same direction"
}

// surfaceName is a kind of surface with its article.
func surfaceName(s string) string {
	switch s {
	case "plane", "sphere", "cylinder", "helix":
		return "a " + s
	case "extruded":
		return "a straight profile"
	case "revolved":
		return "a turned shape"
	case "free-form":
		return "free-form"
	}
	return s
}

// stroke says one motion; the block is made for the first.
func stroke(i int, s fettle.Stroke, sys fettle.System) string {
	lead := "Stroke it"
	if i > 0 {
		lead = "It may also be stroked"
	}
	how := ""
	switch s.Kind {
	case "straight":
		how = "straight along " + along(s.Axis)
	case "round an axis":
		how = fmt.Sprintf("round an axis along %s through %s, on a radius of %s", along(s.Axis), at(s.At, sys), sys.Length(s.RadiusMM))
		if s.RadiusMM < 0.5 {
			how = fmt.Sprintf("round and round on the spot, about %s through %s", along(s.Axis), at(s.At, sys))
		}
	case "screw":
		how = fmt.Sprintf("like a screw about an axis along %s through %s, %s forward a turn, on a radius of %s", along(s.Axis), at(s.At, sys), sys.Length(s.PitchMM), sys.Length(s.RadiusMM))
	default:
		how = s.Kind
	}
	t := fmt.Sprintf("%s %s, at most %s to either side of the middle: its face then stands off by %s", lead, how, sys.Length(s.ReachMM), standsOff(s.ErrorUM, sys))
	// The first place past the reach says why it ends there.
	for _, e := range s.Errors {
		if math.Abs(e.AtMM) > s.ReachMM*(1+1e-9) {
			t += fmt.Sprintf("; %s out by %s, with %s of the face over the patch", sys.Length(math.Abs(e.AtMM)), standsOff(e.MaxUM, sys), share(e.Share))
			break
		}
	}
	return t + "."
}

// standsOff is how far a face is off at most; what no instrument shows is nothing.
func standsOff(um float64, sys fettle.System) string {
	if um < 0.05 {
		return "nothing that could be measured"
	}
	return "at most " + sys.Fine(um)
}

// along names the direction of an axis, whichever way along it.
func along(d [3]float64) string {
	for k, name := range []string{"X", "Y", "Z"} {
		if math.Abs(d[k]) > 0.9999 {
			return "the model's " + name
		}
	}
	return fmt.Sprintf("the direction (%.3f, %.3f, %.3f)", d[0], d[1], d[2])
}

// paperCut says the paper to cut.
func paperCut(b fettle.Block, sys fettle.System) string {
	s := b.Sheet
	if s.LongMM <= 0 {
		return "No paper was worked out for it."
	}
	t := fmt.Sprintf("Cut the paper%s %s long by %s wide", grit(b.Grit), sys.Length(s.LongMM), sys.Length(s.WideMM))
	if s.TuckMM > 0 {
		t += fmt.Sprintf(" and tuck %s of each end into its slot", sys.Length(s.TuckMM))
	}
	if s.StripMM > 0 {
		n := int(math.Ceil(s.WideMM/s.StripMM - 1e-9))
		t += fmt.Sprintf("; one sheet would wrinkle here, so slit it into %s no wider than %s", count(max(n, 2), "strip"), sys.Length(s.StripMM))
	}
	t += "."
	if s.Says != "" {
		t += " " + sentence(sys.Reword(s.Says))
	}
	e := b.PaperMM
	if e.Value > 0 {
		t += fmt.Sprintf(" The block leaves room for paper %s thick", sys.Small(e.Value))
		if e.Low != e.High {
			t += fmt.Sprintf(" (%s)", ends(sys.Small(e.Low), sys.Small(e.High)))
		}
		t += "; measure yours, and print again for another."
	}
	return t
}

func grit(g string) string {
	if g == "" {
		return ""
	}
	return " (" + g + ")"
}

// blockFit says how the face lies at rest.
func blockFit(b fettle.Block, sys fettle.System) string {
	f := b.Fit
	t := fmt.Sprintf("At rest 99 %% of its face lies within %s of where it should, %s at the worst and %s on the whole (root mean square)", sys.Fine(f.WorstUM), sys.Fine(f.MaxUM), sys.Fine(f.RMSUM))
	if f.MaxUM < 0.05 {
		t = "At rest its face lies where it should, as far as can be measured"
	}
	if b.LimitUM > 0 {
		t += fmt.Sprintf("; %s is allowed while it is stroked", sys.Fine(b.LimitUM))
	}
	if f.FacetUM > 0 {
		t += fmt.Sprintf(". The model's own facets may be answerable for %s of it", sys.Fine(f.FacetUM))
	}
	t += "."
	if f.BridgedShare > 0.0005 {
		t += fmt.Sprintf(" It lies over openings with %s of its face: go easy at their edges, which wear first.", share(f.BridgedShare))
	}
	switch {
	case f.ClearMM < 0:
		t += fmt.Sprintf(" Its body runs into the part by %s while it is stroked: cut it back before use.", sys.Length(-f.ClearMM))
	case f.ClearMM > 0 && !math.IsInf(f.ClearMM, 0):
		t += fmt.Sprintf(" The rest of it stays %s clear of the part.", sys.Length(f.ClearMM))
	}
	return t
}

// Plug says a plug for an opening: what it is, how it goes in and comes out, and
// its lengths from the head down.
func Plug(g fettle.PlugFit, sys fettle.System) string {
	var p page
	through := "blind"
	if g.Through {
		through = "through"
	}
	p.say("", "%s: a plug for %s (%s, %s), of %s.", g.Part, g.Opening, g.Form, through, g.Soft)
	p.head("In short")
	p.item("%s", sentence(sys.Reword(g.Says)))
	p.item("At the mouth it is %s wider than the opening and holds by that; at its tip %s narrower, so that it finds the way in.", sys.Length(g.MouthSqueezeMM), sys.Length(g.TipPlayMM))
	section(&p, "What to watch", g.Warnings, func(w string) string { return sentence(sys.Reword(w)) })
	p.head("What to do")
	if !g.Closed {
		p.item("Its solid is not closed: do not print it before it is mended.")
	}
	p.item("%s", sentence(sys.Reword(g.Do)))
	p.item("Try it in one part before the lot. Count the plugs before the charge and after it: one that comes out stays in the media.")
	p.head("From the head down")
	rows := [][]string{{"", "long", "wide, above to below", "across, above to below"}}
	for _, s := range g.Steps {
		rows = append(rows, []string{s.Name, sys.Length(s.LongMM), taper(s.WideMM, sys), taper(s.AcrossMM, sys)})
	}
	p.columns(rows)
	taperSays := "upright walls"
	if g.TaperDeg > 0.005 {
		taperSays = fmt.Sprintf("a taper of %s°", two(g.TaperDeg))
	}
	p.item("%s × %s × %s over all, %s, with %s.", number(g.SizeMM[0], sys), number(g.SizeMM[1], sys), sys.Length(g.SizeMM[2]), sys.Volume(g.VolumeMM3), taperSays)
	return p.String()
}

// taper is a width that may change along a step.
func taper(w [2]float64, sys fettle.System) string {
	a, b := sys.Length(w[0]), sys.Length(w[1])
	if a == b {
		return a
	}
	return strings.TrimSuffix(strings.TrimSuffix(a, " in"), " mm") + " to " + b
}
