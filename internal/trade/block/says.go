package block

import (
	"fmt"
	"math"
	"strings"

	"fettle/internal/shape/slide"
)

// text is what stands on the grip: the paper on one side, the job on the other.
func (w *works) text() [2][]string {
	var paper, job []string
	if w.in.Grit != "" {
		paper = append(paper, short(w.in.Grit))
	}
	paper = append(paper, fmt.Sprintf("%.2f mm", w.thick))
	if w.in.Job != "" {
		job = append(job, short(w.in.Job))
	}
	return [2][]string{paper, append(job, w.name)}
}

// short is a name as it has room on a grip.
func short(s string) string {
	const most = 16
	r := []rune(strings.TrimSpace(s))
	if len(r) > most {
		r = r[:most]
	}
	return string(r)
}

// refusal says why there is no block for the patch.
func (w *works) refusal(b *layout) string {
	pad := "use a soft pad, and look at the shape as you go"
	if b != nil && b.narrow {
		return fmt.Sprintf("no stiff block is made for this face: where it is widest it has no room for one %g mm wide that lies on it; %s", leastFace, pad)
	}
	if b != nil && (b.barred || b.body.face.long == 0) {
		return "no stiff block gets at this face: what stands round it, or the face's own far side, leaves no room for one; " + pad + ", or a dowel of its shape"
	}
	if b == nil || b.stroker == nil {
		return "no stiff block can follow this face: there is no motion in which it slides on itself; " + pad
	}
	e := b.stroker.lies(b.motion, shortStroke)
	if o := b.stroker.lies(b.motion, -shortStroke); o.MaxUM > e.MaxUM {
		e = o
	}
	return fmt.Sprintf("no stiff block can follow this face: %g mm along its best stroke a face of %.0f × %.0f mm would stand off by %.0f µm, where %.0f µm is allowed; %s",
		shortStroke, b.body.face.long, b.body.face.wide, e.MaxUM, w.limit(), pad)
}

// say writes what a person should know of a block that was made.
func (w *works) say(b *layout, out *Made) {
	doc := &out.Doc
	warn := func(format string, a ...any) { doc.Warnings = append(doc.Warnings, fmt.Sprintf(format, a...)) }
	how := "straight"
	if b.motion.Turns {
		how = "round its axis"
		if b.motion.Pitch != 0 {
			how = "like a screw"
		}
	}
	switch {
	case w.patch.Kind == slide.Free:
		doc.Says = fmt.Sprintf("this face slides on itself in no motion; a stiff block still follows it for short strokes of %.1f mm to either side, %s, standing off by at most %.0f µm", b.reach, how, b.strokes[0].ErrorUM)
		warn("keep to the short stroke of %.1f mm to either side: past it the block stands on its ends or edges and cuts the shape", b.reach)
	case b.why == "limit":
		doc.Says = fmt.Sprintf("a stiff block follows this face %s for %.1f mm to either side; past that it stands off by more than %.0f µm", how, b.reach, w.limit())
	case b.why == "body":
		doc.Says = fmt.Sprintf("a stiff block follows this face %s for %.1f mm to either side; past that it runs into what stands beside the face", how, b.reach)
	default:
		doc.Says = fmt.Sprintf("a stiff block follows this face %s for %.1f mm to either side", how, b.reach)
	}
	if e := b.strokes[0].ErrorUM; e > w.in.LimitUM && w.facets > 0 {
		warn("stroked it seems to stand off by %.0f µm, of which the model's facets make up to %.0f µm", e, 3*w.facets)
	}
	if b.reach < shortStroke {
		warn("there is room for %.1f mm to either side only; a shorter face leaves more", b.reach)
	}
	if b.cramped {
		warn("the face is only %.1f × %.1f mm because of what stands beside it", doc.FaceMM[0], doc.FaceMM[1])
	}
	if doc.Fit.ClearMM < besideMM {
		if doc.Fit.ClearMM <= 0 {
			warn("the block's body runs into the part by %.2f mm while it is stroked: cut it back there, or ask for a smaller face", math.Abs(doc.Fit.ClearMM))
		} else {
			warn("the block's body comes within %.2f mm of the part while it is stroked", doc.Fit.ClearMM)
		}
	}
	if doc.Fit.WorstUM > 10 {
		warn("the face lies up to %.0f µm off where it should on the model's facets", doc.Fit.WorstUM)
	}
	if doc.Fit.FacetUM > 10 {
		warn("the model's facets are coarse: they may lie %.0f µm off the true surface, and the block has them too; export the model finer", doc.Fit.FacetUM)
	}
	if doc.Fit.BridgedShare > 0.3 {
		warn("%.0f %% of the face lies over openings or past the border at rest: keep it level", 100*doc.Fit.BridgedShare)
	}
	if b.body.slot == 0 {
		warn("the face is too short for paper slots: hold the paper with double-sided tape, and count the tape as paper thickness")
	}
	// What layers do to a face is far more than its facets: common practice.
	warn("print it face up in the finest layers; a layer's step shows in the face, so rub the bare face in on the part over a sheet of fine paper, grit side up, until the steps are gone")
	if p := w.in.Paper; p.High > p.Low {
		warn("paper is taken as %.2f mm thick (%.2f to %.2f): measure it", p.Value, p.Low, p.High)
	}
}
