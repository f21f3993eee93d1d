package work

import (
	"context"
	"time"

	"fettle"
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
	// From is when work may begin; with it the plan is put on the calendar, and offers
	// are written. Zero: neither.
	From time.Time
	// Link is the address of the run page of a step, by its index; nil: there is none.
	Link func(step int) string
	// Over wins over the brief file wherever it is set.
	Over fettle.Brief
}

// Planned is a plan and what came with it.
type Planned struct {
	Plan *fettle.Plan
	// Others are the plans of the finishes beside it.
	Others  []*fettle.Plan
	Promise *fettle.Promise // nil where it was not put on the calendar
	Files   []string        // paths of those that were written

	part  *Part
	found *reached // where media reach; nil for a part whose void was not measured
	shelf *fettle.Shelf
}

// PlanFile plans a model and, with Out, leaves its files there.
func PlanFile(ctx context.Context, req PlanRequest, say Progress) (*Planned, error) {
	brief, err := BriefOf(req.BriefFile, req.Over) // before the work of reading the model
	if err != nil {
		return nil, err
	}
	shelf, err := req.Open()
	if err != nil {
		return nil, err
	}
	if _, err := shelf.Material(brief.Material); err != nil {
		return nil, err
	}
	if _, err := shelf.Look(brief.Finish); err != nil {
		return nil, err
	}
	book, err := req.book(ctx, shelf)
	if err != nil {
		return nil, err
	}
	size, err := paper.ParseSize(req.Paper)
	if err != nil {
		return nil, err
	}
	model := req.Part
	model.Units, model.Body, model.Up = brief.ModelUnits, brief.Body, brief.Up
	part, err := LoadPart(ctx, model, PartOptions{Media: shelf.Media, Fine: true}, say)
	if err != nil {
		return nil, err
	}
	done, err := planPart(ctx, part, brief, shelf, book, req.Mill, say)
	if err != nil {
		return nil, err
	}
	if err := done.schedule(ctx, req.From); err != nil {
		return nil, err
	}
	if req.Out == "" {
		return done, nil
	}
	return done, done.write(ctx, req.Out, size, req.Link, say)
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
	pick(&b.Contact, over.Contact)
	pick(&b.Language, over.Language)
	pick((*string)(&b.Display), string(over.Display))
	pick((*string)(&b.Aim), string(over.Aim))
	pick((*string)(&b.Tone), string(over.Tone))
	b.Steps = append(b.Steps, over.Steps...)
	b.SetAside = append(b.SetAside, over.SetAside...)
	if over.Lot != 0 {
		b.Lot = over.Lot
	}
	if over.Learning != 0 {
		b.Learning = over.Learning
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

// planPart plans a part that has been read.
func planPart(ctx context.Context, part *Part, brief fettle.Brief, shelf *fettle.Shelf, book *learn.Book, mill string, say Progress) (*Planned, error) {
	done := &Planned{part: part, shelf: shelf}
	in := finish.Input{Survey: part.Survey, Brief: brief, Shelf: shelf, Mill: mill, Mesh: part.Mesh, Book: book, Trade: stock.Shelf()}
	var err error
	if part.Void != nil {
		if done.found, err = part.reach(ctx, shelf.Media, say); err != nil {
			return nil, err
		}
		in.Reach = done.found.doc
	}
	say.say("planning "+part.Survey.File, 0, 1)
	done.Plan, done.Others, err = finish.Plans(ctx, in)
	return done, err
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
