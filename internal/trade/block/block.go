// Package block makes formed sanding blocks: which patches of a zone a stiff block
// can follow, along which stroke and how far, and the solid to print. Make is the way
// in.
//
// A stiff block keeps a shape only along motions in which the surface slides on
// itself. For each patch that has one, the block's face is the surface a paper's
// thickness off the patch's own facets; what of the face lies over an opening takes
// its height from where the stroke brings it over the patch, so that it bridges the
// opening and does not dip into it. The face stands on a head with a slot at each end
// for the paper, on a grip for the hand, and is measured against the part once it is
// made of facets itself.
package block

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"fettle"
	"fettle/internal/shape/mesh"
	"fettle/internal/shape/slide"
	"fettle/internal/trade/survey"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// Input is what a block is made for.
type Input struct {
	Mesh   *mesh.Mesh
	Survey fettle.Survey
	Detail *survey.Detail
	Zone   string          // a zone's ID
	Paper  fettle.Estimate // its thickness, mm
	Grit   string
	Job    string
	// LimitUM is how far the face may stand off while it is stroked, µm; 0: a tenth of
	// the paper's thickness, a starting guess.
	LimitUM float64
	Patch   string // "show-1", largest first; empty for all
	// LongMM and WideMM are those of the face, along and across the stroke; 0: chosen.
	LongMM, WideMM float64
}

// Made is a block, or the reason why there is none.
type Made struct {
	Doc fettle.Block
	// Mesh is the block as it is printed, face up; nil where none can follow. Mirror is
	// that for the part's mirror image: the same in the mirror, but for its text.
	Mesh, Mirror *mesh.Mesh
	// Wedge is the strip that holds the paper in a slot, nil where there is none.
	Wedge *mesh.Mesh
	Pose  Pose
	Face  []FacePoint
	Tris  []int32  // the patch's facets
	Path  []r3.Vec // the middle of the face along the stroke, on the part
	rim   int
}

// Outline is the border of the face at rest on the part, a closed loop.
func (m *Made) Outline() []r3.Vec {
	loop := make([]r3.Vec, m.rim)
	for i := range loop {
		loop[i] = m.Face[i].Part
	}
	return loop
}

// No more blocks are made at once than mostBlocks, and none for a patch of less than
// leastPatch of the zone, unless it is asked for by name.
const (
	mostBlocks = 4
	leastPatch = 0.05
	// shortStroke is the least reach to either side that is worth a block, mm.
	shortStroke = 3.0
	leastStroke = 1.0 // whatever stands in the way
)

// Make makes the blocks of a zone, for the largest patch first. Errors are Invalid
// and NotFound, of one sentence, and the context's.
func Make(ctx context.Context, in Input) ([]Made, error) {
	if in.Mesh == nil || in.Detail == nil || in.Detail.Patches == nil {
		panic("block: a block needs a mesh and its detail")
	}
	t := in.Paper.Value
	switch {
	case !(t >= 0.02 && t <= 5):
		return nil, fettle.Errorf(fettle.Invalid, "paper %g mm thick cannot be; measure a folded sheet and halve it: 0.1 to 1 mm is usual", t)
	case !(in.LimitUM >= 0 && in.LimitUM <= 5000):
		return nil, fettle.Errorf(fettle.Invalid, "a face cannot stand off by %g µm; give 0 to have it chosen, or 1 to 5000 µm", in.LimitUM)
	case !(in.LongMM >= 0 && in.LongMM <= 200) || !(in.WideMM >= 0 && in.WideMM <= 200):
		return nil, fettle.Errorf(fettle.Invalid, "a face of %g × %g mm is no size for a hand; give 0 to have it chosen, or up to 200 mm", in.LongMM, in.WideMM)
	case in.LongMM > 0 && in.LongMM < 2 || in.WideMM > 0 && in.WideMM < 2:
		return nil, fettle.Errorf(fettle.Invalid, "a face of %g × %g mm is too small to print; give 2 mm or more each way", in.LongMM, in.WideMM)
	}
	if in.LimitUM == 0 {
		in.LimitUM = 100 * t
	}
	var zone *fettle.Zone
	for i := range in.Survey.Zones {
		if strings.EqualFold(in.Survey.Zones[i].ID, in.Zone) {
			zone = &in.Survey.Zones[i]
		}
	}
	if zone == nil {
		return nil, fettle.Errorf(fettle.NotFound, "the part has no zone %q; see its survey for those that it has", in.Zone)
	}
	patches, err := slide.Split(ctx, in.Detail.Patches, zone.Facets, slide.Options{})
	if err != nil {
		return nil, err
	}
	total := 0.0
	for _, p := range patches {
		total += p.Area
	}
	part := groundOf(in.Mesh, in.Detail.Patches.Topology, in.Detail.Tree)
	var out []Made
	left, leftArea := 0, 0.0
	for i, p := range patches {
		name := fmt.Sprintf("%s-%d", zone.ID, i+1)
		if in.Patch != "" && !strings.EqualFold(in.Patch, name) {
			continue
		}
		if in.Patch == "" && (len(out) == mostBlocks || p.Area < leastPatch*total) {
			left, leftArea = left+1, leftArea+p.Area
			continue
		}
		m, err := makeOne(ctx, in, part, p, name)
		if err != nil {
			return nil, err
		}
		out = append(out, m)
	}
	if len(out) == 0 {
		if in.Patch != "" {
			return nil, fettle.Errorf(fettle.NotFound, "zone %s has no patch %q; it has %s", zone.ID, in.Patch, names(zone.ID, len(patches)))
		}
		return nil, fettle.Errorf(fettle.Invalid, "zone %s has no patch that is large enough for a block; rub it with a soft pad", zone.ID)
	}
	if left > 0 {
		first := &out[0].Doc
		first.Warnings = append(first.Warnings, fmt.Sprintf("%d more patches, %.0f %% of the zone, got no block of their own, as they are small or many; ask for one by name (%s)",
			left, 100*leftArea/total, names(zone.ID, len(patches))))
	}
	return out, nil
}

// names says which patches there are.
func names(zone string, n int) string {
	switch n {
	case 0:
		return "none"
	case 1:
		return zone + "-1"
	}
	return fmt.Sprintf("%s-1 to %s-%d", zone, zone, n)
}

// makeOne makes the block for one patch.
func makeOne(ctx context.Context, in Input, part *ground, p slide.Patch, name string) (Made, error) {
	out := Made{Tris: p.Tris}
	doc := &out.Doc
	*doc = fettle.Block{
		Part: in.Survey.File, Zone: in.Zone, Patch: name, Surface: string(p.Kind), AreaMM2: p.Area,
		Grit: in.Grit, PaperMM: in.Paper, LimitUM: in.LimitUM, Strokes: []fettle.Stroke{}, Warnings: []string{},
	}
	w := &works{in: in, patch: p, name: name, ground: newGround(in.Mesh, p.Tris), part: part, thick: in.Paper.Value}
	w.pts = scatter(in.Mesh, p.Tris, 1)
	w.facets = facetUM(in.Detail.Patches, in.Detail.Curvature, p.Tris)
	doc.Fit.FacetUM = w.facets
	if w.coarse() {
		doc.Says = fmt.Sprintf("no block is made for this face: the model's facets may lie %.0f µm off what they stand for, so that it cannot be told in which motions it slides on itself; export the model with chords within %.0f µm, or use a soft pad",
			w.facets, max(1, in.LimitUM/5))
		return out, nil
	}
	best, err := w.plan(ctx)
	if err != nil {
		return out, err
	}
	if best != nil && best.reach < leastStroke && best.why != "limit" {
		best.barred = true
	}
	if best == nil || best.reach < shortStroke && (p.Kind == slide.Free || best.why == "limit") || best.barred || best.body.face.long == 0 {
		doc.Says = w.refusal(best)
		return out, nil
	}
	doc.Stiff = true
	doc.Fit, err = w.build(ctx, best, &out)
	if err != nil {
		return out, err
	}
	w.say(best, &out)
	return out, nil
}

// coarse reports whether the model's facets hide whether the patch slides at all. A
// plane, sphere or cylinder is known from its vertices, however few.
func (w *works) coarse() bool {
	switch w.patch.Kind {
	case slide.Plane, slide.Sphere, slide.Cylinder:
		return false
	}
	return w.facets > w.in.LimitUM
}

// build makes the solid of a plan and measures it.
func (w *works) build(ctx context.Context, b *layout, out *Made) (fettle.BlockFit, error) {
	doc := &out.Doc
	var m *made
	var fit fettle.BlockFit
	var face []FacePoint
	for try := range 3 { // finer where the face's own facets are to blame
		var err error
		if m, err = b.body.build(ctx, w.letters()); err != nil {
			return doc.Fit, err
		}
		out.Pose = b.face.stand.pose
		out.Pose.At = out.Pose.Point(r3.Vec{Z: -m.raise})
		if fit, face, err = fitOf(ctx, m, out.Pose, w.ground, w.thick); err != nil {
			return fit, err
		}
		const most = 15000 // vertices to begin again from
		if try == 2 || fit.WorstUM <= 2*1000*sagMM || m.face1 > most {
			break
		}
		b.body.stepX, b.body.stepY = b.body.stepX*0.6, b.body.stepY*0.6
	}
	other := b.body
	other.like = m
	other.text[1] = append(slices.Clone(other.text[1][:len(other.text[1])-1]), w.name+" mirror")
	back, err := other.build(ctx, backwards(w.letters()))
	if err != nil {
		return fit, err
	}
	out.Mesh, out.Mirror = m.mesh, mirrored(back.mesh)
	out.rim = m.rim
	out.Face = face
	fit.FacetUM = w.facets
	near := about(w.pts, out.Pose, b.reach*2+tallMM)
	if fit.ClearMM, err = clearance(ctx, m, out.Pose, w.part, near, b.motion, b.reach); err != nil {
		return fit, err
	}
	measured := mesh.Measure(m.mesh, nil)
	size := measured.Box.Size()
	doc.SizeMM = [3]float64{size.X, size.Y, size.Z}
	doc.VolumeMM3, doc.Closed = measured.Volume, measured.Closed
	doc.FaceMM = [2]float64{b.body.face.long, b.body.face.wide}
	doc.Covered = covered(w.ground, b.face, b.body.face, b.reach)
	doc.Sheet = sheetFor(m, &b.body, b.face, gaussOf(w.in.Detail.Curvature, w.patch.Tris))
	if b.body.slot > 0 {
		out.Wedge = wedge(b.body.head().wide, b.body.slot-w.thick)
	}
	if m.bare {
		doc.Warnings = append(doc.Warnings, "there was no room for legible letters on the grip: mark the block by hand")
	}
	doc.Strokes = b.strokes
	const steps = 24
	mid := out.Pose.At
	if z, _ := b.face.height(r2.Vec{}); !math.IsNaN(z) {
		mid = b.face.stand.pose.Point(r3.Vec{Z: z + w.thick})
	}
	for i := range steps + 1 {
		out.Path = append(out.Path, b.motion.Move(mid, b.reach*(2*float64(i)/steps-1)))
	}
	return fit, nil
}
