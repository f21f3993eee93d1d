package work

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"fettle"
	"fettle/internal/output/draw"
	"fettle/internal/output/paper"
	"fettle/internal/shape/geom"
	"fettle/internal/shape/mesh"
	"fettle/internal/trade/block"
	"fettle/internal/trade/hold"
	"fettle/internal/trade/plug"
	"fettle/internal/trade/rub"
)

// things makes what a plan needs made before the work begins: a formed block for
// each zone that is sanded on one, a plug for each opening that is worth closing, a
// pocket in soft jaws for the second side. Files go to solids/ and pictures/ in the
// plan's folder; the plan is told of them. What cannot be made becomes a warning of
// the plan: the rest of it stands.
type things struct {
	ctx   context.Context
	dir   string
	part  *Part
	plan  *fettle.Plan
	shelf *fettle.Shelf
	size  paper.Size
	files []string
}

func makeThings(ctx context.Context, dir string, part *Part, plan *fettle.Plan, shelf *fettle.Shelf, size paper.Size, say Progress) ([]string, error) {
	t := &things{ctx: ctx, dir: dir, part: part, plan: plan, shelf: shelf, size: size}
	for _, d := range []string{"solids", "pictures"} {
		if err := makeDir(filepath.Join(dir, d)); err != nil {
			return nil, err
		}
	}
	plan.Solids = []fettle.Solid{}
	for i, make := range []func() error{t.blocks, t.plugs, t.jaws} {
		say.say("making blocks, plugs and jaws for "+part.Survey.File, i, 3)
		if err := make(); err != nil {
			return nil, err
		}
	}
	return t.files, nil
}

// cannot turns a refusal into a warning; all else goes on as it is.
func (t *things) cannot(what string, err error) error {
	var e *fettle.Error
	if !errors.As(err, &e) {
		return err
	}
	t.plan.Warnings = append(t.plan.Warnings, what+" was not made: "+e.Message)
	return nil
}

// mostBlocks bounds the blocks of one zone: a hand has no use for more.
const mostBlocks = 2

// blocks makes one for each zone with a step on a formed block, to the paper of its
// first grit: the finer ones are thinner by a few hundredths of a millimetre, which
// no face in a shop is true enough to feel.
func (t *things) blocks() error {
	done := map[string]bool{}
	for _, s := range t.plan.Route {
		if s.Rub == nil || rub.Hold(s.Rub.Block) != rub.FormedBlock || done[s.Zone] {
			continue
		}
		done[s.Zone] = true
		sheet, grit, err := paperOf(t.shelf, 0, s.Rub.Grit)
		if err != nil {
			if err := t.cannot("the block for "+s.Zone, err); err != nil {
				return err
			}
			continue
		}
		made, err := block.Make(t.ctx, block.Input{
			Mesh: t.part.Mesh, Survey: t.part.Survey, Detail: t.part.Detail, Zone: s.Zone,
			Paper: sheet, Grit: grit, Job: jobName(t.plan.Title, t.part.Survey.File),
		})
		if err != nil {
			if err := t.cannot("the block for "+s.Zone, err); err != nil {
				return err
			}
			continue
		}
		if err := t.keepBlocks(s.Zone, made); err != nil {
			return err
		}
	}
	return nil
}

func (t *things) keepBlocks(zone string, made []block.Made) error {
	n := 0
	for _, m := range made {
		if m.Mesh == nil || n == mostBlocks {
			continue
		}
		n++
		if _, err := checked(m.Mesh, "block for "+m.Doc.Patch); err != nil {
			return err
		}
		path := filepath.Join(t.dir, "solids", "block-"+m.Doc.Patch+".3mf")
		if err := writeSolid(path, m.Mesh, "block for "+m.Doc.Patch+" of "+t.part.Survey.File); err != nil {
			return err
		}
		if m.Wedge != nil {
			strip := beside(path, "-strip", "")
			if err := writeSolid(strip, m.Wedge, "paper strip of the block for "+m.Doc.Patch); err != nil {
				return err
			}
			t.files = append(t.files, strip)
		}
		pictures, err := drawBlock(filepath.Join(t.dir, "pictures", filepath.Base(path)), t.part, m, t.plan.Brief.Display)
		if err != nil {
			return err
		}
		t.files = append(append(t.files, path), pictures...)
		t.plan.Solids = append(t.plan.Solids, fettle.Solid{
			File: "solids/" + filepath.Base(path), Kind: "block", For: m.Doc.Patch,
			VolumeMM3: m.Doc.VolumeMM3, Closed: m.Doc.Closed, Picture: "pictures/" + filepath.Base(pictures[0]), Says: m.Doc.Says,
		})
	}
	if n == 0 && len(made) > 0 {
		t.plan.Warnings = append(t.plan.Warnings, "zone "+zone+": "+made[0].Doc.Says)
	}
	return nil
}

// plugs makes one for each opening that the plan says is worth closing. Openings
// that are alike share one.
func (t *things) plugs() error {
	var ids []string
	for _, p := range t.plan.Plugs {
		ids = append(ids, p.Opening)
		ids = append(ids, p.With...)
	}
	slices.Sort(ids)
	ids = slices.Compact(ids)
	soft, err := t.shelf.Soft("")
	if err != nil && len(ids) > 0 {
		return t.cannot("the plug for "+ids[0], err)
	}
	alike := map[[6]float64]int{} // which solid
	for _, id := range ids {
		i := slices.IndexFunc(t.part.Survey.Openings, func(o fettle.Opening) bool { return o.ID == id })
		if i < 0 {
			continue
		}
		o := t.part.Survey.Openings[i]
		key := [6]float64{hundredths(o.WidthMM), hundredths(o.WidestMM), hundredths(o.LengthMM), hundredths(o.DepthMM), float64(len(o.Kind)), float64(len(o.Form))}
		if n, ok := alike[key]; ok {
			t.plan.Solids[n].For += ", " + id
			continue
		}
		made, err := plug.Make(t.ctx, plug.Input{Mesh: t.part.Mesh, Survey: t.part.Survey, Detail: t.part.Detail, Opening: id, Soft: soft})
		if err != nil {
			if err := t.cannot("the plug for "+id, err); err != nil {
				return err
			}
			continue
		}
		path := filepath.Join(t.dir, "solids", "plug-"+id+".3mf")
		picture := filepath.Join(t.dir, "pictures", "plug-"+id+".png")
		if err := writePlug(path, picture, made); err != nil {
			return err
		}
		alike[key] = len(t.plan.Solids)
		t.files = append(t.files, path, picture)
		t.plan.Solids = append(t.plan.Solids, fettle.Solid{
			File: "solids/" + filepath.Base(path), Kind: "plug", For: id, VolumeMM3: made.Doc.VolumeMM3, Closed: made.Doc.Closed,
			Picture: "pictures/" + filepath.Base(picture), Says: firstSentence(made.Doc.Says),
		})
	}
	return nil
}

// firstSentence is what a list has room for; fettle plug says the rest.
func firstSentence(s string) string {
	if i := strings.Index(s, ". "); i >= 0 {
		return s[:i+1]
	}
	return s
}

func hundredths(v float64) float64 { return float64(int(v*100 + 0.5)) }

// jaws makes the pocket for the side that is cut second, with the show face down.
func (t *things) jaws() error {
	if len(t.shelf.Jaws) == 0 {
		return nil
	}
	in := hold.Input{
		Mesh: t.part.Mesh, File: t.part.Survey.File, SHA256: t.part.Survey.SHA256, Name: jobName(t.plan.Title, t.part.Survey.File),
		Pairs: t.shelf.Jaws, Cutters: t.shelf.Cutters, Down: geom.Array(t.part.Detail.Up), Material: t.plan.Material,
	}
	cuts, err := heldAgainst(t.shelf, JawRequest{}, t.plan.Material)
	if err != nil {
		return err
	}
	in.Cuts = append(cuts, PlannedCuts(t.plan, t.shelf.Cutters)...)
	made, err := hold.Make(t.ctx, in)
	if err != nil {
		return t.cannot("the pocket in soft jaws", err)
	}
	doc, _, err := jawAnswer("", made, t.size, t.plan.Brief.Display)
	if err != nil {
		return err
	}
	files, err := writeJaws(filepath.Join(t.dir, "solids", "jaws.dxf"), made, t.size, t.plan.Brief.Display)
	if err != nil {
		return err
	}
	img, err := draw.Shade(mesh.Join(made.Jaws[0], made.Jaws[1]), draw.FromAbove(upward).Oblique(), pictureSize)
	if err != nil {
		return err
	}
	picture := filepath.Join(t.dir, "pictures", "jaws.png")
	if err := writePNG(picture, img); err != nil {
		return err
	}
	t.files = append(append(t.files, files...), picture)
	says := fmt.Sprintf("A pocket %.2f mm deep in the pair %s, with the show face down for the second side; %s.", made.Doc.DepthMM, made.Pair.Name, made.Doc.Stop.Says)
	if h := made.Doc.Holding; h != nil {
		says += " Against " + h.Cut.Says + ": " + strings.ToLower(h.Says[:1]) + h.Says[1:] + "."
	}
	t.plan.Solids = append(t.plan.Solids, fettle.Solid{
		File: "solids/jaws.pdf", Kind: "jaw", For: made.Pair.Name, VolumeMM3: doc.VolumeMM3, Closed: doc.Closed,
		Picture: "pictures/jaws.png", Says: says,
	})
	for _, w := range made.Doc.Warnings {
		t.plan.Warnings = append(t.plan.Warnings, "second side: "+w)
	}
	return nil
}
