package work

import (
	"context"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"fettle"
	"fettle/internal/output/draw"
	"fettle/internal/output/dxf"
	"fettle/internal/output/paper"
	"fettle/internal/shape/geom"
	"fettle/internal/trade/hold"

	"gonum.org/v1/gonum/spatial/r3"
)

// JawRequest asks for a pocket in soft jaws.
type JawRequest struct {
	Part        Model
	Pair        string     // on the shelf; empty: the pair with most support
	Down        [3]float64 // zero: the show face looks down, as for the second side
	TurnDeg     *float64
	ShiftMM     *float64
	GripMM      float64
	Mounted     hold.Mounting
	GapMM       float64
	ClearanceMM float64
	Cutter      string // that cuts the pocket
	Name        string
	Material    string // of the part, for the holding check; empty: none
	With        string // cutter of the cut to hold against, on the shelf or by its sizes
	// DepthMM, WideMM and FeedMM are of that cut; 0: customary ones.
	DepthMM, WideMM, FeedMM float64
	Against                 []fettle.Cut // more of them; the worst counts
	Paper                   string
	Display                 fettle.System
	Things
	// WasCut enters the pocket in the shelf: in its file, or by Keep where the shelf is
	// in hand. Reuse lays the part in a pocket
	// that is there already, by its id or name.
	WasCut bool
	Keep   func(*fettle.Shelf) error
	Reuse  string
	Today  time.Time
	Out    string
}

// jawForms are the files that a pocket can be asked for as.
var jawForms = []string{".stl", ".3mf", ".dxf", ".svg", ".pdf"}

// JawFile designs a pocket. It returns the answer and the paths of the files
// written: both halves as solids, the outline as DXF, the drawing as SVG and PDF,
// all named after Out.
func JawFile(ctx context.Context, req JawRequest, say Progress) (*fettle.MadePocket, *fettle.Jaws, []string, error) {
	made, shelf, err := req.design(ctx, say)
	if err != nil {
		return nil, nil, nil, err
	}
	size, err := paper.ParseSize(req.Paper)
	if err != nil {
		return nil, nil, nil, err
	}
	doc, files, err := jawAnswer(req.Out, made, size, req.Display)
	if err != nil {
		return nil, nil, nil, err
	}
	if req.WasCut {
		if err := remember(shelf, made, req.Today); err != nil {
			return nil, nil, nil, err
		}
		if req.Keep != nil {
			return doc, &made.Pair, files, req.Keep(shelf)
		}
		if err := writeJSON(req.ShelfFile, shelf); err != nil {
			return nil, nil, nil, err
		}
		files = append(files, req.ShelfFile)
	}
	return doc, &made.Pair, files, nil
}

// design makes the pocket that is asked for. It returns the shelf too.
func (req JawRequest) design(ctx context.Context, say Progress) (*hold.Made, *fettle.Shelf, error) {
	if req.Out != "" && !slices.Contains(jawForms, strings.ToLower(filepath.Ext(req.Out))) {
		return nil, nil, fettle.Errorf(fettle.Invalid, "%s names no form of pocket; let --out end in %s", filepath.Base(req.Out), strings.Join(jawForms, ", "))
	}
	if req.WasCut && req.Reuse != "" {
		return nil, nil, fettle.Errorf(fettle.Invalid, "--was-cut enters a new pocket and --reuse lays the part in one that is entered; give one of them")
	}
	if req.WasCut && req.ShelfFile == "" && req.Keep == nil {
		return nil, nil, fettle.Errorf(fettle.Invalid, "the built-in shelf cannot be written in; write it to a file with fettle --json shelf, and name that with --shelf")
	}
	if _, err := paper.ParseSize(req.Paper); err != nil {
		return nil, nil, err
	}
	shelf, err := req.Open()
	if err != nil {
		return nil, nil, err
	}
	in := hold.Input{
		Pairs: shelf.Jaws, Cutters: shelf.Cutters, Cutter: req.Cutter, Name: req.Name,
		TurnDeg: req.TurnDeg, ShiftMM: req.ShiftMM, GripMM: req.GripMM, GapMM: req.GapMM, ClearanceMM: req.ClearanceMM, Mounted: req.Mounted,
	}
	if req.Pair != "" {
		pair, err := shelf.Pair(req.Pair)
		if err != nil {
			return nil, nil, err
		}
		in.Pairs = []fettle.Jaws{pair}
	}
	if req.Material != "" {
		if in.Material, err = shelf.Material(req.Material); err != nil {
			return nil, nil, err
		}
		if in.Cuts, err = heldAgainst(shelf, req, in.Material); err != nil {
			return nil, nil, err
		}
		in.Cuts = append(in.Cuts, req.Against...)
	} else if req.With != "" {
		return nil, nil, fettle.Errorf(fettle.Invalid, "the force of a cut depends on the metal; give --material, for example --material \"naval brass\"")
	}
	part, err := LoadPart(ctx, req.Part, PartOptions{}, say)
	if err != nil {
		return nil, nil, err
	}
	in.Mesh, in.File, in.SHA256, in.Down = part.Mesh, part.Survey.File, part.Survey.SHA256, req.Down
	if in.Down == [3]float64{} {
		in.Down = geom.Array(part.Detail.Up)
	}
	say.say("looking for a place in the jaws for "+part.Survey.File, 0, 1)
	made, err := placed(ctx, in, req.Reuse, shelf)
	return made, shelf, err
}

// placed makes a new pocket, or lays the part in one that has been cut.
func placed(ctx context.Context, in hold.Input, reuse string, shelf *fettle.Shelf) (*hold.Made, error) {
	if reuse == "" {
		return hold.Make(ctx, in)
	}
	var names []string
	for _, pair := range shelf.Jaws {
		for _, c := range pair.Cuts {
			if !strings.EqualFold(c.Pocket, reuse) && !strings.EqualFold(c.Name, reuse) {
				names = append(names, c.Name)
				continue
			}
			in.Drawn = pair.Name
			return hold.Reuse(ctx, in, c.Pocket, shelf.Jaws)
		}
	}
	slices.Sort(names)
	if names = slices.Compact(names); len(names) == 0 {
		return nil, fettle.Errorf(fettle.NotFound, "no jaws on the shelf remember a pocket; cut one, then run this again with --was-cut in place of --reuse")
	}
	return nil, fettle.Errorf(fettle.NotFound, "no jaws remember a pocket %q; there is: %s", reuse, strings.Join(names, ", "))
}

// heldAgainst are the cuts that a part must be held against: the one asked for, or
// roughing and finishing with what is on the shelf.
func heldAgainst(shelf *fettle.Shelf, req JawRequest, m fettle.Material) ([]fettle.Cut, error) {
	const above = 2.0 // mm over the jaws' top, where it is not known
	if req.With == "" {
		var flat fettle.Cutter
		for _, c := range shelf.Cutters {
			if c.Shape == fettle.Flat && c.DiameterMM <= 6 && c.DiameterMM > flat.DiameterMM {
				flat = c
			}
		}
		if flat.Name == "" {
			return nil, nil
		}
		return []fettle.Cut{hold.Rough(flat, m, above)}, nil
	}
	cutter, ok, err := fettle.ParseCutter(req.With)
	if err != nil {
		return nil, err
	}
	if !ok {
		if cutter, err = shelf.Cutter(req.With); err != nil {
			return nil, err
		}
	}
	if cutter.Flutes == 0 {
		cutter.Flutes = 3 // as most cutters of that kind have
	}
	cut := hold.Rough(cutter, m, above)
	for _, q := range []struct {
		name string
		v    float64
		to   *float64
		most float64
	}{{"--depth", req.DepthMM, &cut.DepthMM, 100}, {"--wide", req.WideMM, &cut.WideMM, cutter.DiameterMM}, {"--feed", req.FeedMM, &cut.FeedMM, 2}} {
		if q.v == 0 {
			continue
		}
		if !(q.v > 0 && q.v <= q.most) {
			return nil, fettle.Errorf(fettle.Invalid, "%s %g mm cannot be cut with %s; give more than 0 and up to %g mm", q.name, q.v, cutter.Name, q.most)
		}
		*q.to = q.v
	}
	cut.Says = fmt.Sprintf("a cut with %s, %.3g mm deep and %.3g mm wide", cutter.Name, cut.DepthMM, cut.WideMM)
	return []fettle.Cut{cut}, nil
}

// jawAnswer writes the files of a pocket, where there is a place for them, and sums
// it up.
func jawAnswer(out string, made *hold.Made, size paper.Size, display fettle.System) (*fettle.MadePocket, []string, error) {
	doc := &fettle.MadePocket{Pocket: made.Doc, Fit: made.Doc.Fit, Closed: true}
	for i, m := range made.Jaws {
		v, err := checked(m, []string{"fixed jaw", "moving jaw"}[i])
		if err != nil {
			return nil, nil, err
		}
		doc.VolumeMM3 += v
	}
	if out == "" {
		return doc, nil, nil
	}
	doc.File = filepath.Base(out)
	files, err := writeJaws(out, made, size, display)
	return doc, files, err
}

// writeJaws leaves a pocket's files: the one named and its companions.
func writeJaws(out string, made *hold.Made, size paper.Size, display fettle.System) ([]string, error) {
	var files []string
	ext := ".stl"
	if strings.EqualFold(filepath.Ext(out), ".3mf") {
		ext = filepath.Ext(out)
	}
	for i, which := range []string{"fixed", "moving"} {
		path := beside(out, "-"+which, ext)
		if err := writeSolid(path, made.Jaws[i], fmt.Sprintf("%s, %s jaw, %s", made.Pair.Name, which, made.Doc.Name)); err != nil {
			return nil, err
		}
		files = append(files, path)
	}
	plan := beside(out, "", ".dxf")
	if err := WriteFile(plan, func(w io.Writer) error { return dxf.Write(w, made.Doc.Name, jawLayers(made)) }); err != nil {
		return nil, err
	}
	sheet, err := paper.JawSheet(made.Doc, made.Pair, paper.Options{Size: size, Display: display})
	if err != nil {
		return nil, err
	}
	pdf := beside(out, "", ".pdf")
	if err := WriteBytes(pdf, sheet); err != nil {
		return nil, err
	}
	drawing, err := draw.JawPlan(made.Doc, made.Pair, made.Pair.Cuts, draw.PanelOptions{Width: 277, Height: 190, Display: display})
	if err != nil {
		return nil, err
	}
	svg := beside(out, "", ".svg")
	return append(files, plan, pdf, svg), WriteBytes(svg, drawing.SVG(277, 190, ""))
}

// remember enters a pocket in the shelf file.
func remember(shelf *fettle.Shelf, made *hold.Made, today time.Time) error {
	for i := range shelf.Jaws {
		if shelf.Jaws[i].Name == made.Pair.Name {
			return Remember(&shelf.Jaws[i], made.Cuts, today)
		}
	}
	return nil
}

// Remember enters in a pair what was cut in it.
func Remember(j *fettle.Jaws, cuts []fettle.JawCut, today time.Time) error {
	for _, c := range cuts {
		if slices.ContainsFunc(j.Cuts, func(o fettle.JawCut) bool { return o.Pocket == c.Pocket }) {
			return fettle.Errorf(fettle.Invalid, "%s remembers this pocket already, as %q; nothing was entered twice", j.Name, c.Name)
		}
	}
	j.Cuts = slices.Clone(j.Cuts)
	for _, c := range cuts {
		c.Date = today.Format(time.DateOnly)
		j.Cuts = append(j.Cuts, c)
	}
	return nil
}

var upward = r3.Vec{Z: 1}
