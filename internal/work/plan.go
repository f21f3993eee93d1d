package work

import (
	"context"
	"image/png"
	"io"
	"path/filepath"

	"fettle"
	"fettle/internal/output/draw"
	"fettle/internal/output/paper"
	"fettle/internal/trade/finish"
	"fettle/internal/trade/learn"
	"fettle/internal/trade/stock"
)

// PlanRequest asks for a plan of a model file.
type PlanRequest struct {
	Part      Model  // units, body and side that shows stand in the brief
	BriefFile string // JSON; may be empty
	Things
	LogFile string          // JSON; empty: nothing has been logged
	Log     *fettle.Logbook // where given, stands for the file
	Mill    string          // empty: the first that holds the part
	Out     string          // folder; empty: nothing is written
	Paper   string          // "A4" or "Letter"
	// Over wins over the brief file wherever it is set.
	Over fettle.Brief
}

// PlanFile plans a model and, with Out, leaves its files there. It returns the
// plan and the paths of the files written.
func PlanFile(ctx context.Context, req PlanRequest, say Progress) (*fettle.Plan, []string, error) {
	brief, err := BriefOf(req.BriefFile, req.Over) // before the work of reading the model
	if err != nil {
		return nil, nil, err
	}
	shelf, err := req.Open()
	if err != nil {
		return nil, nil, err
	}
	if _, err := shelf.Material(brief.Material); err != nil {
		return nil, nil, err
	}
	if _, err := shelf.Look(brief.Finish); err != nil {
		return nil, nil, err
	}
	book, err := req.book(ctx, shelf)
	if err != nil {
		return nil, nil, err
	}
	size, err := paper.ParseSize(req.Paper)
	if err != nil {
		return nil, nil, err
	}
	model := req.Part
	model.Units, model.Body, model.Up = brief.ModelUnits, brief.Body, brief.Up
	part, err := LoadPart(ctx, model, PartOptions{Media: shelf.Media, Fine: true}, say)
	if err != nil {
		return nil, nil, err
	}
	plan, found, err := planPart(ctx, part, brief, shelf, book, req.Mill, say)
	if err != nil {
		return nil, nil, err
	}
	if req.Out == "" {
		return plan, nil, nil
	}
	files, err := writePlan(ctx, req.Out, part, plan, found, shelf, size, say)
	return plan, files, err
}

// BriefOf is the brief of a file, JSON or none, with what was given over it.
func BriefOf(file string, over fettle.Brief) (fettle.Brief, error) {
	b, err := OpenBrief(file)
	if err != nil {
		return b, err
	}
	b = merged(b, over)
	return b, b.Validate()
}

// merged lets what was given on the command line win over the file.
func merged(b, over fettle.Brief) fettle.Brief {
	pick := func(to *string, from string) {
		if from != "" {
			*to = from
		}
	}
	pick(&b.Material, over.Material)
	pick(&b.Finish, over.Finish)
	pick(&b.ModelUnits, over.ModelUnits)
	pick(&b.Body, over.Body)
	pick(&b.Title, over.Title)
	pick(&b.Shop, over.Shop)
	pick((*string)(&b.Display), string(over.Display))
	pick((*string)(&b.Aim), string(over.Aim))
	pick((*string)(&b.Tone), string(over.Tone))
	b.Steps = append(b.Steps, over.Steps...)
	b.SetAside = append(b.SetAside, over.SetAside...)
	if over.Lot != 0 {
		b.Lot = over.Lot
	}
	if over.Up != [3]float64{} {
		b.Up = over.Up
	}
	if over.RaMaxUM != 0 {
		b.RaMaxUM = over.RaMaxUM
	}
	if over.RzMaxUM != 0 {
		b.RzMaxUM = over.RzMaxUM
	}
	if b.Lot == 0 {
		b.Lot = 1
	}
	return b
}

// planPart plans a part that has been read. Where media reach comes with it, nil
// for a part whose void was not measured.
func planPart(ctx context.Context, part *Part, brief fettle.Brief, shelf *fettle.Shelf, book *learn.Book, mill string, say Progress) (*fettle.Plan, *reached, error) {
	in := finish.Input{Survey: part.Survey, Brief: brief, Shelf: shelf, Mill: mill, Mesh: part.Mesh, Book: book, Trade: stock.Shelf()}
	var found *reached
	if part.Void != nil {
		var err error
		if found, err = part.reach(ctx, shelf.Media, say); err != nil {
			return nil, nil, err
		}
		in.Reach = found.doc
	}
	say.say("planning "+part.Survey.File, 0, 1)
	plan, err := finish.Plan(ctx, in)
	return plan, found, err
}

// book is what the log says; nil for none.
func (req PlanRequest) book(ctx context.Context, shelf *fettle.Shelf) (*learn.Book, error) {
	log := req.Log
	if log == nil {
		if req.LogFile == "" {
			return nil, nil
		}
		read, err := OpenLog(req.LogFile)
		if err != nil {
			return nil, err
		}
		log = &read
	}
	if len(log.Runs) == 0 {
		return nil, nil
	}
	return learn.Read(ctx, *log, shelf)
}

// writePlan leaves a plan's files in a folder: plan.json, traveler.pdf,
// pictures/part.png, the close-ups, where the media of each charge reach, and what
// must be made first in solids/.
func writePlan(ctx context.Context, dir string, part *Part, plan *fettle.Plan, found *reached, shelf *fettle.Shelf, size paper.Size, say Progress) ([]string, error) {
	say.say("writing the papers of "+part.Survey.File, 0, 1)
	if err := makeDir(dir); err != nil {
		return nil, err
	}
	made, err := makeThings(ctx, dir, part, plan, shelf, size, say)
	if err != nil {
		return nil, err
	}
	pdf, err := paper.Traveler(plan, part.Mesh, paper.Options{Size: size, Display: plan.Brief.Display})
	if err != nil {
		return nil, err
	}
	doc := filepath.Join(dir, "plan.json")
	if err := writeJSON(doc, plan); err != nil {
		return nil, err
	}
	sheet := filepath.Join(dir, "traveler.pdf")
	if err := WriteBytes(sheet, pdf); err != nil {
		return nil, err
	}
	picture, err := writePicture(dir, part)
	if err != nil {
		return nil, err
	}
	say.say("drawing the surface of "+part.Survey.File, 0, 1)
	closeups, err := writeCloseups(ctx, dir, part, plan, shelf)
	if err != nil {
		return nil, err
	}
	files := append([]string{doc, sheet, picture}, closeups...)
	drawn := map[string]bool{}
	for _, c := range plan.Charges {
		if found == nil || drawn[c.Media] {
			continue
		}
		drawn[c.Media] = true
		path := filepath.Join(dir, "pictures", "reach-"+c.Media+".png")
		if err := found.draw(path, part, c.Media); err != nil {
			return nil, err
		}
		files = append(files, path)
	}
	return append(files, made...), nil
}

// pictureSize is the longer side of a picture in pixels.
const pictureSize = 900

// writePicture leaves a shaded view of the part in pictures/part.png.
func writePicture(dir string, part *Part) (string, error) {
	img, err := draw.Shade(part.Mesh, draw.FromAbove(part.Detail.Up).Oblique(), pictureSize)
	if err != nil {
		return "", err
	}
	if err := makeDir(filepath.Join(dir, "pictures")); err != nil {
		return "", err
	}
	path := filepath.Join(dir, "pictures", "part.png")
	return path, WriteFile(path, func(w io.Writer) error { return png.Encode(w, img) })
}
