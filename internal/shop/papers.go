package shop

import (
	"context"
	"fmt"
	"net/url"

	"fettle"
	"fettle/internal/output/paper"
	"fettle/internal/work"
)

// Papers are the choices of a paper that is made when it is asked for.
type Papers struct {
	Size  string // "A4" or "Letter"; empty: the plan's
	Base  string // address at which phones reach the shop; empty: codes name the step only
	Money bool   // prices on the traveler
}

// Traveler is a job's traveler as it is now: with the days promised, what is right,
// and codes that open the pages of its steps.
func (s *Shop) Traveler(ctx context.Context, job string, how Papers) ([]byte, error) {
	rec, plan, opt, err := s.paperFor(ctx, job, how)
	if err != nil {
		return nil, err
	}
	if p, _, err := s.Promised(ctx, job); err == nil {
		opt.Promise = p
	} else if fettle.CodeOf(err) != fettle.NotFound {
		return nil, err
	}
	j, err := bodyOf[fettle.Job](rec)
	if err != nil {
		return nil, err
	}
	opt.Acceptance = j.Acceptance
	model, done, err := s.modelOfJob(ctx, rec, j)
	if err != nil {
		return nil, err
	}
	defer done()
	part, err := work.LoadPart(ctx, model, work.PartOptions{Fine: true, Whole: true}, s.say)
	if err != nil {
		return nil, err
	}
	return paper.Traveler(plan, part.Mesh, opt)
}

// FirstArticlePaper is the paper of a job's first article and of how its lot is looked
// at.
func (s *Shop) FirstArticlePaper(ctx context.Context, job string, how Papers) ([]byte, error) {
	rec, plan, opt, err := s.paperFor(ctx, job, how)
	if err != nil {
		return nil, err
	}
	_, j, err := s.agreed(ctx, rec.ID)
	if err != nil {
		return nil, err
	}
	return paper.FirstArticle(plan, j.Acceptance, opt)
}

func (s *Shop) paperFor(ctx context.Context, job string, how Papers) (fettle.Record, *fettle.Plan, paper.Options, error) {
	opt := paper.Options{Money: how.Money}
	rec, err := s.store.Get(ctx, fettle.KeptJob, job)
	if err != nil {
		return rec, nil, opt, err
	}
	plan, sheet, err := s.planAsAgreed(ctx, rec)
	if err != nil {
		return rec, nil, opt, err
	}
	if how.Size == "" {
		how.Size = paperOf(sheet)
	}
	if opt.Size, err = paper.ParseSize(how.Size); err != nil {
		return rec, nil, opt, err
	}
	shelf, err := s.Shelf(ctx)
	if err != nil {
		return rec, nil, opt, err
	}
	opt.Cutters = shelf.Cutters
	opt.Display, opt.Job = plan.Brief.Display, rec.ID[max(0, len(rec.ID)-6):]
	if how.Base != "" {
		opt.Link = func(step int) string { return StepAddress(how.Base, rec.ID, step) }
	}
	return rec, plan, opt, nil
}

// StepAddress is where the page of a step is, by its index in the route.
func StepAddress(base, job string, step int) string {
	return fmt.Sprintf("%s/#/run/%s/%d", base, url.PathEscape(job), step+1)
}

// modelOfJob is the model file that a job links to.
func (s *Shop) modelOfJob(ctx context.Context, job fettle.Record, j fettle.Job) (work.Model, func(), error) {
	file := job.Links["file"]
	if file == "" {
		return work.Model{}, nil, fettle.Errorf(fettle.Invalid, "job %q has no model file; link one to it first", j.Title)
	}
	a, err := s.argsOf(ctx, file, j.Brief.ModelUnits, j.Brief.Body)
	if err != nil {
		return work.Model{}, nil, err
	}
	m, done, err := s.modelOf(ctx, a)
	m.Up = j.Brief.Up
	return m, done, err
}

// Calendar is a job's promise for a calendar (RFC 5545).
func (s *Shop) Calendar(ctx context.Context, job string) ([]byte, error) {
	rec, err := s.store.Get(ctx, fettle.KeptJob, job)
	if err != nil {
		return nil, err
	}
	j, err := bodyOf[fettle.Job](rec)
	if err != nil {
		return nil, err
	}
	p, _, err := s.Promised(ctx, job)
	if err != nil {
		return nil, err
	}
	return work.Calendar(p, j.Title, job, j.Brief, s.now())
}

// OfferFile is what went to the customer with an offer: its "page" or its "paper".
func (s *Shop) OfferFile(ctx context.Context, offer, role string) ([]byte, error) {
	rec, err := s.store.Get(ctx, fettle.KeptOffer, offer)
	if err != nil {
		return nil, err
	}
	sha := rec.Files[role]
	if sha == "" {
		return nil, fettle.Errorf(fettle.NotFound, "this offer has no %s; it was made before offers had one", role)
	}
	return s.bytes(ctx, sha)
}
