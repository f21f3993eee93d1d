package shop

import (
	"context"
	"encoding/json"
	"errors"
	"os"

	"fettle"
	"fettle/internal/work"
)

// PlanAnswer is what a planning task answers: the id of the plan's record.
type PlanAnswer struct {
	Plan string `json:"plan"`
}

type planArgs struct {
	Job    string            `json:"job"`
	FileID string            `json:"file"`
	By     string            `json:"by"`
	From   fettle.PlanInputs `json:"from"`
}

// name is what a plan of these inputs is found by.
func (a planArgs) name() string { return "plan " + hash(write(a.From))[:32] }

// AskPlan asks for the plan of a job, from its brief, the model file that it links
// to, and the shelf and the log as they are now. Mill and paper may be empty.
func (s *Shop) AskPlan(ctx context.Context, by, job, mill, paper string) (fettle.Task, error) {
	rec, err := s.store.Get(ctx, fettle.KeptJob, job)
	if err != nil {
		return fettle.Task{}, err
	}
	if rec.Deleted != nil {
		return fettle.Task{}, fettle.Errorf(fettle.Conflict, "job %s was deleted; undo that first", job)
	}
	j, err := bodyOf[fettle.Job](rec)
	if err != nil {
		return fettle.Task{}, err
	}
	file := rec.Links["file"]
	if file == "" {
		return fettle.Task{}, fettle.Errorf(fettle.Invalid, "job %q has no model file; link one to it first", j.Title)
	}
	model, err := s.argsOf(ctx, file, "", "")
	if err != nil {
		return fettle.Task{}, err
	}
	if paper == "" {
		paper = "A4"
	}
	a := planArgs{Job: job, FileID: file, By: by, From: fettle.PlanInputs{
		Model: model.Model, File: model.File, Brief: j.Brief, Mill: mill, Paper: paper, Program: s.program,
	}}
	if a.From.Shelf, a.From.Log, err = s.snapshot(ctx); err != nil {
		return fettle.Task{}, err
	}
	return s.ask(ctx, fettle.TaskPlan, by, a)
}

func (s *Shop) plan(ctx context.Context, args json.RawMessage, say func(doing string, done, total int)) (json.RawMessage, error) {
	a, err := read[planArgs](args)
	if err != nil {
		return nil, err
	}
	sheet, files, err := s.planned(ctx, a)
	if err != nil {
		return nil, err
	}
	if sheet == nil {
		if sheet, files, err = s.workOut(ctx, a, say); err != nil {
			return nil, err
		}
	}
	// The key makes this happen once, also where the program ended right after it.
	rec, err := s.Make(ctx, a.By, a.name()+" "+a.Job, fettle.Record{
		Kind: fettle.KeptPlan, Name: a.name(), Links: map[string]string{"job": a.Job, "file": a.FileID}, Files: files, Body: write(sheet),
	})
	if err != nil {
		return nil, err
	}
	return write(PlanAnswer{rec.ID}), nil
}

// planned finds a plan that was made from the same inputs for another job.
func (s *Shop) planned(ctx context.Context, a planArgs) (*fettle.PlanSheet, map[string]string, error) {
	page, err := s.store.List(ctx, fettle.Query{Kind: fettle.KeptPlan, Name: a.name(), Limit: 1})
	if err != nil || len(page.Records) == 0 {
		return nil, nil, err
	}
	sheet, err := bodyOf[fettle.PlanSheet](page.Records[0])
	return &sheet, page.Records[0].Files, err
}

// workOut makes a plan and stores it with all that came with it.
func (s *Shop) workOut(ctx context.Context, a planArgs, say work.Progress) (*fettle.PlanSheet, map[string]string, error) {
	shelf, log, err := s.takeUp(ctx, a.From.Shelf, a.From.Log)
	if err != nil {
		return nil, nil, err
	}
	model, done, err := s.modelOf(ctx, modelArgs{Model: a.From.Model, File: a.From.File})
	if err != nil {
		return nil, nil, err
	}
	defer done()
	dir, err := os.MkdirTemp(s.store.Scratch(), "plan-*")
	if err != nil {
		return nil, nil, noRoom(err)
	}
	defer os.RemoveAll(dir)
	planned, err := work.PlanFile(ctx, work.PlanRequest{
		Part: model, Things: work.Things{Shelf: shelf}, Log: log, Mill: a.From.Mill, Out: dir, Paper: a.From.Paper, Over: a.From.Brief,
	}, say)
	if err != nil {
		return nil, nil, err
	}
	plan, b := planned.Plan, planned.Plan.Brief
	sheet := &fettle.PlanSheet{
		Title: plan.Title, Material: b.Material, Finish: b.Finish, Lot: b.Lot, Meets: plan.Meets, Verdict: plan.Verdict,
		Each: plan.Price.Each, ReadyH: plan.ReadyH, From: a.From, Files: []fettle.SheetFile{},
	}
	files := map[string]string{"shelf": a.From.Shelf}
	if a.From.Log != "" {
		files["log"] = a.From.Log
	}
	for _, n := range planned.Files {
		f, err := s.keepFile(ctx, dir, n)
		if err != nil {
			return nil, nil, err
		}
		sheet.Files = append(sheet.Files, f)
		files["sheet/"+f.Name] = f.SHA256
		if f.Name == "plan.json" {
			files["plan"] = f.SHA256
		}
	}
	if files["plan"] == "" {
		return nil, nil, errors.New("the plan was not among its own papers")
	}
	return sheet, files, nil
}

// PlanOf is the plan that a record keeps.
func (s *Shop) PlanOf(ctx context.Context, id string) (*fettle.Plan, fettle.Record, error) {
	r, err := s.store.Get(ctx, fettle.KeptPlan, id)
	if err != nil {
		return nil, r, err
	}
	p, err := stored[fettle.Plan](ctx, s, r.Files["plan"])
	return &p, r, err
}

// planOfJob is the plan that a job links to, or its newest.
func (s *Shop) planOfJob(ctx context.Context, job fettle.Record) (*fettle.Plan, fettle.Record, error) {
	id := job.Links["plan"]
	if id == "" {
		page, err := s.store.List(ctx, fettle.Query{Kind: fettle.KeptPlan, Role: "job", Target: job.ID, Newest: true, Limit: 1})
		if err != nil {
			return nil, fettle.Record{}, err
		}
		if len(page.Records) == 0 {
			return nil, fettle.Record{}, fettle.Errorf(fettle.NotFound, "job %q has no plan yet; plan it first", job.Name)
		}
		id = page.Records[0].ID
	}
	return s.PlanOf(ctx, id)
}
