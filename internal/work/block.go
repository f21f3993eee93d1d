package work

import (
	"context"
	"fmt"
	"math"
	"path/filepath"
	"strings"

	"fettle"
	"fettle/internal/output/closeup"
	"fettle/internal/output/draw"
	"fettle/internal/shape/mesh"
	"fettle/internal/trade/block"

	"gonum.org/v1/gonum/spatial/r3"
)

// BlockRequest asks for formed sanding blocks for a zone.
type BlockRequest struct {
	Part    Model
	Zone    string // empty: the largest that shows
	Patch   string // empty: all of the zone
	PaperMM float64
	Grit    string // on the shelf; gives the thickness where PaperMM is 0
	Job     string // raised on the block; empty: the file's name
	LimitUM float64
	FaceMM  [2]float64 // along and across the stroke; 0: chosen
	Things
	Display fettle.System
	Out     string // file; empty: nothing is written
}

// BlockFile makes formed blocks. It returns the answer and the paths of the files
// written: the largest patch's block at Out, the others' beside it, each with its
// mirror image, a picture of its stroke and a map of its fit.
func BlockFile(ctx context.Context, req BlockRequest, say Progress) (*fettle.MadeBlocks, []string, error) {
	if req.Out != "" {
		if err := solidFile(req.Out); err != nil {
			return nil, nil, err
		}
	}
	shelf, err := req.Open()
	if err != nil {
		return nil, nil, err
	}
	paper, grit, err := paperOf(shelf, req.PaperMM, req.Grit)
	if err != nil {
		return nil, nil, err
	}
	part, err := LoadPart(ctx, req.Part, PartOptions{Fine: true}, say)
	if err != nil {
		return nil, nil, err
	}
	zone, err := part.zone(req.Zone)
	if err != nil {
		return nil, nil, err
	}
	say.say("making blocks for "+zone.Name+" of "+part.Survey.File, 0, 1)
	made, err := block.Make(ctx, block.Input{
		Mesh: part.Mesh, Survey: part.Survey, Detail: part.Detail, Zone: zone.ID, Patch: req.Patch,
		Paper: paper, Grit: grit, Job: jobName(req.Job, part.Survey.File), LimitUM: req.LimitUM, LongMM: req.FaceMM[0], WideMM: req.FaceMM[1],
	})
	if err != nil {
		return nil, nil, err
	}
	doc := &fettle.MadeBlocks{Blocks: []fettle.Block{}}
	var files []string
	for _, m := range made {
		doc.Blocks = append(doc.Blocks, m.Doc)
		if m.Mesh == nil {
			continue
		}
		path := req.Out
		if doc.Closed && path != "" { // not the first
			path = beside(path, "-"+m.Doc.Patch, "")
		}
		if !doc.Closed {
			doc.File, doc.VolumeMM3, doc.Closed, doc.Fit = filepath.Base(path), m.Doc.VolumeMM3, m.Doc.Closed, m.Doc.Fit
			if path == "" {
				doc.File = ""
			}
		}
		if path != "" {
			some, err := writeBlock(path, part, m, req.Display)
			if err != nil {
				return nil, nil, err
			}
			files = append(files, some...)
		}
	}
	return doc, files, nil
}

// paperOf is how thick the paper is: as given, or as its grit says.
func paperOf(shelf *fettle.Shelf, mm float64, grit string) (fettle.Estimate, string, error) {
	var of fettle.Estimate
	if grit != "" {
		g, err := shelf.Grit(grit)
		if err != nil {
			return of, "", err
		}
		of, grit = g.ThickMM, g.Name
	}
	switch {
	case math.IsNaN(mm) || mm < 0 || mm > 5 || mm > 0 && mm < 0.02:
		return of, "", fettle.Errorf(fettle.Invalid, "paper %g mm thick cannot be; measure a folded sheet with a micrometer and halve it: 0.1 to 1 mm is usual", mm)
	case mm > 0:
		of = fettle.Exactly(mm, "measured")
	case of.Value == 0:
		return of, "", fettle.Errorf(fettle.Invalid, "how thick the paper is, is not known; give --paper MM as a micrometer says, or --grit NAME for the shelf's value")
	}
	return of, grit, nil
}

// zone finds a zone by its id; an empty id finds the largest that shows.
func (p *Part) zone(id string) (*fettle.Zone, error) {
	var best *fettle.Zone
	var names []string
	for i := range p.Survey.Zones {
		z := &p.Survey.Zones[i]
		names = append(names, z.ID)
		if strings.EqualFold(z.ID, id) {
			return z, nil
		}
		if z.Class == fettle.Show && (best == nil || z.AreaMM2 > best.AreaMM2) {
			best = z
		}
	}
	if id == "" && best != nil {
		return best, nil
	}
	return nil, fettle.Errorf(fettle.NotFound, "%s has no zone %q; there is: %s", p.Survey.File, id, strings.Join(names, ", "))
}

func jobName(job, file string) string {
	if job != "" {
		return job
	}
	return strings.TrimSuffix(file, filepath.Ext(file))
}

// writeBlock leaves a block, its mirror image, the strip that holds its paper, and
// its two pictures.
func writeBlock(path string, part *Part, m block.Made, sys fettle.System) ([]string, error) {
	name := fmt.Sprintf("block for %s of %s", m.Doc.Patch, part.Survey.File)
	var files []string
	for _, s := range []struct {
		add  string
		mesh *mesh.Mesh
		name string
	}{{"", m.Mesh, name}, {"-mirror", m.Mirror, name + ", mirror image"}, {"-strip", m.Wedge, "paper strip of the " + name}} {
		if s.mesh == nil {
			continue
		}
		if _, err := checked(s.mesh, s.name); err != nil {
			return nil, err
		}
		file := beside(path, s.add, "")
		if err := writeSolid(file, s.mesh, s.name); err != nil {
			return nil, err
		}
		files = append(files, file)
	}
	pictures, err := drawBlock(path, part, m, sys)
	return append(files, pictures...), err
}

// drawBlock leaves the stroke on the part and the map of the fit beside a block.
func drawBlock(path string, part *Part, m block.Made, sys fettle.System) ([]string, error) {
	up := r3.Scale(-1, m.Pose.Direction(upward)) // the block stands on its face
	img, err := draw.Stroked(part.Mesh, draw.FromAbove(up).Oblique(), pictureSize, m.Path, m.Outline())
	if err != nil {
		return nil, err
	}
	stroke := beside(path, "-stroke", ".png")
	if err := writePNG(stroke, img); err != nil {
		return nil, err
	}
	var at [][2]float64
	var off []float64
	var over []bool
	for _, f := range m.Face {
		at, off, over = append(at, [2]float64{f.At.X, f.At.Y}), append(off, f.OffUM), append(over, f.Over)
	}
	fit, err := closeup.FitMap(at, off, over, 0, closeup.Options{
		Whole: true, Display: sys, Caption: m.Doc.Patch + " of " + part.Survey.File,
	})
	if err != nil {
		return nil, err
	}
	file := beside(path, "-fit", ".png")
	return []string{stroke, file}, writePNG(file, fit)
}
