package shop

import (
	"context"

	"fettle"
	"fettle/internal/trade/envelope"
)

// Envelope is what the shop takes; nothing is refused until it was stated.
func (s *Shop) Envelope(ctx context.Context) (fettle.Envelope, error) {
	r, err := s.store.Named(ctx, fettle.KeptEnvelope, envelopeName)
	if fettle.CodeOf(err) == fettle.NotFound {
		return fettle.Envelope{}, nil
	}
	if err != nil {
		return fettle.Envelope{}, err
	}
	return bodyOf[fettle.Envelope](r)
}

// SetEnvelope states what the shop takes.
func (s *Shop) SetEnvelope(ctx context.Context, by string, e fettle.Envelope) (fettle.Record, error) {
	r, err := s.store.Named(ctx, fettle.KeptEnvelope, envelopeName)
	switch {
	case fettle.CodeOf(err) == fettle.NotFound:
		return s.Make(ctx, by, "", fettle.Record{Kind: fettle.KeptEnvelope, Body: write(e)})
	case err != nil:
		return r, err
	}
	r.Body = write(e)
	return s.Alter(ctx, by, r)
}

// ProposeEnvelope is what the shop could take, by what stands on its shelf.
func (s *Shop) ProposeEnvelope(ctx context.Context) (fettle.Envelope, error) {
	shelf, err := s.Shelf(ctx)
	if err != nil {
		return fettle.Envelope{}, err
	}
	return envelope.Default(shelf), nil
}

// Judge says whether a job is the shop's own, from its plan's survey or, where
// there is none yet, from a survey made now. The answer of a survey that still
// waits in the queue is a Conflict.
func (s *Shop) Judge(ctx context.Context, job string) (fettle.Fit, error) {
	var none fettle.Fit
	rec, err := s.store.Get(ctx, fettle.KeptJob, job)
	if err != nil {
		return none, err
	}
	j, err := bodyOf[fettle.Job](rec)
	if err != nil {
		return none, err
	}
	env, err := s.Envelope(ctx)
	if err != nil {
		return none, err
	}
	shelf, err := s.Shelf(ctx)
	if err != nil {
		return none, err
	}
	sv, err := s.surveyOf(ctx, rec, j)
	if err != nil {
		return none, err
	}
	return envelope.Judge(env, sv, j.Brief, shelf)
}

func (s *Shop) surveyOf(ctx context.Context, rec fettle.Record, j fettle.Job) (*fettle.Survey, error) {
	plan, sheet, err := s.planOfJob(ctx, rec)
	if err == nil && sheet.Links["file"] == rec.Links["file"] {
		return &plan.Survey, nil
	}
	if err != nil && fettle.CodeOf(err) != fettle.NotFound {
		return nil, err
	}
	if rec.Links["file"] == "" {
		return nil, fettle.Errorf(fettle.Invalid, "job %q has no model file; link one to it first", j.Title)
	}
	t, err := s.AskSurvey(ctx, rec.By, rec.Links["file"], j.Brief.ModelUnits, j.Brief.Body)
	if err != nil {
		return nil, err
	}
	switch t.State {
	case fettle.Done:
	case fettle.Waiting, fettle.Running:
		return nil, fettle.Errorf(fettle.Conflict, "the model of job %q is still being surveyed; ask again in a moment", j.Title)
	default:
		return nil, fettle.Errorf(fettle.BadFile, "the model of job %q cannot be judged: %s", j.Title, t.Why)
	}
	a, err := answerOf[SurveyAnswer](t)
	if err != nil {
		return nil, err
	}
	sv, err := stored[fettle.Survey](ctx, s, a.Survey)
	return &sv, err
}
