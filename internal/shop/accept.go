package shop

import (
	"context"
	"fmt"
	"strconv"
	"time"

	"fettle"
	"fettle/internal/trade/sampling"
)

// Sampled is how a lot is to be looked at.
type Sampled struct {
	// Sample is the run that made the piece which the customer saw, by id; empty: none
	// was seen.
	Sample string
	Level  string  // of inspection; empty: II
	AQL    float64 // % nonconforming; 0: 1.0
}

// Accept says what "right" means for a job's lot, from the sample that was signed off,
// and keeps it with the job.
func (s *Shop) Accept(ctx context.Context, by, job string, how Sampled) (fettle.Record, *fettle.Acceptance, error) {
	rec, err := s.store.Get(ctx, fettle.KeptJob, job)
	if err != nil {
		return rec, nil, err
	}
	acc, err := s.acceptance(ctx, rec, how)
	if err != nil {
		return rec, nil, err
	}
	j, err := bodyOf[fettle.Job](rec)
	if err != nil {
		return rec, nil, err
	}
	j.Acceptance = acc
	rec.Body = write(j)
	rec, err = s.Alter(ctx, by, rec)
	return rec, acc, err
}

// acceptance works out what is right, by the finish that the job's brief names.
func (s *Shop) acceptance(ctx context.Context, job fettle.Record, how Sampled) (*fettle.Acceptance, error) {
	j, err := bodyOf[fettle.Job](job)
	if err != nil {
		return nil, err
	}
	plan, _, err := s.planAsAgreed(ctx, job)
	if err != nil {
		return nil, err
	}
	in := sampling.AcceptInput{
		Plan: plan, Look: j.Brief.Finish, Day: s.now().UTC().Format(time.DateOnly), Lot: j.Brief.Lot, AQL: how.AQL, Level: how.Level,
	}
	if how.Sample != "" {
		run, err := s.runWithReadings(ctx, how.Sample)
		if err != nil {
			return nil, err
		}
		in.Sample, in.SampleID = run, how.Sample
	}
	if in.Severity, err = s.severity(ctx, job, j.Brief.Finish); err != nil {
		return nil, err
	}
	stopped := in.Severity == sampling.Discontinued
	if stopped {
		in.Severity = sampling.Tightened
	}
	acc, err := sampling.Accept(in)
	if err != nil {
		return nil, err
	}
	if stopped {
		acc.Notes = append(acc.Notes, "Five lots were refused under tightened inspection: by the standard no lot is taken until the cause was found and mended.")
	}
	return &acc, nil
}

// severity is how a job's lot is to be looked at, from what came of the lots of the
// same part in the same finish before it.
func (s *Shop) severity(ctx context.Context, job fettle.Record, look string) (string, error) {
	part := job.Links["part"]
	if part == "" {
		return sampling.Normal, nil
	}
	rs, err := s.all(ctx, fettle.Query{Kind: fettle.KeptJob, Role: "part", Target: part})
	if err != nil {
		return "", err
	}
	var lots []sampling.Lot
	now := sampling.Normal
	for _, r := range rs {
		if r.ID == job.ID {
			continue
		}
		j, err := bodyOf[fettle.Job](r)
		if err != nil {
			return "", err
		}
		if j.Acceptance == nil || fettle.FoldName(j.Acceptance.Look) != fettle.FoldName(look) {
			continue
		}
		for _, c := range j.Checks {
			lots, now = append(lots, sampling.Lot{Severity: c.Severity, Taken: c.Taken, Again: c.Again}), c.Severity
		}
	}
	return sampling.Next(lots, now), nil
}

// runWithReadings is a run as it stands in the logbook.
func (s *Shop) runWithReadings(ctx context.Context, id string) (*fettle.Run, error) {
	r, err := s.store.Get(ctx, fettle.KeptRun, id)
	if err != nil {
		return nil, err
	}
	run, err := bodyOf[fettle.Run](r)
	if err != nil {
		return nil, err
	}
	rs, err := s.all(ctx, fettle.Query{Kind: fettle.KeptReading, Role: "run", Target: id})
	if err != nil {
		return nil, err
	}
	run.ID, run.Readings = id, []fettle.Reading{}
	for _, rd := range rs {
		body, err := bodyOf[fettle.Reading](rd)
		if err != nil {
			return nil, err
		}
		run.Readings = append(run.Readings, body)
	}
	return &run, nil
}

// agreed is a job that has been accepted, ready to be altered.
func (s *Shop) agreed(ctx context.Context, job string) (fettle.Record, fettle.Job, error) {
	rec, err := s.store.Get(ctx, fettle.KeptJob, job)
	if err != nil {
		return rec, fettle.Job{}, err
	}
	j, err := bodyOf[fettle.Job](rec)
	if err == nil && j.Acceptance == nil {
		err = fettle.Errorf(fettle.NotFound, "what is right for job %q was not settled yet; keep the customer's answer, or accept a sample", j.Title)
	}
	return rec, j, err
}

// FirstArticle keeps what was measured on a line of the first-article record.
func (s *Shop) FirstArticle(ctx context.Context, by, job string, line int, measured float64) (fettle.Record, *fettle.Acceptance, error) {
	rec, j, err := s.agreed(ctx, job)
	if err != nil {
		return rec, nil, err
	}
	if err := sampling.Record(j.Acceptance, line, measured); err != nil {
		return rec, nil, err
	}
	rec.Body = write(j)
	rec, err = s.Alter(ctx, by, rec)
	return rec, j.Acceptance, err
}

// CheckLot keeps what was found when the job's lot was looked at, and says whether it
// is taken. How severely the next lot of the part is looked at follows from it.
func (s *Shop) CheckLot(ctx context.Context, by, job string, looked, bad int) (fettle.Record, *fettle.LotCheck, error) {
	return s.CheckLotOnce(ctx, by, "", job, looked, bad)
}

// CheckLotOnce is CheckLot that with a key happens once, however often it is asked for:
// two equal findings may be two looks, and a lost answer must not make them so.
func (s *Shop) CheckLotOnce(ctx context.Context, by, key, job string, looked, bad int) (fettle.Record, *fettle.LotCheck, error) {
	asked := hash([]byte("check lot"), []byte(job), []byte(strconv.Itoa(looked)), []byte(strconv.Itoa(bad)))
	rec, j, err := s.agreed(ctx, job)
	if err != nil {
		return rec, nil, err
	}
	plan := j.Acceptance.Sampling
	switch {
	case looked == 0:
		looked = plan.Size
	case looked < plan.Size:
		return rec, nil, fettle.Errorf(fettle.Invalid, "%d pieces were looked at, and the sampling plan wants %d; look at the others too", looked, plan.Size)
	case looked > max(plan.Lot, plan.Size):
		return rec, nil, fettle.Errorf(fettle.Invalid, "%d pieces were looked at, and the lot has %d; check the numbers", looked, plan.Lot)
	}
	if bad < 0 || bad > looked {
		return rec, nil, fettle.Errorf(fettle.Invalid, "%d bad pieces of %d that were looked at cannot be; check the numbers", bad, looked)
	}
	c := fettle.LotCheck{Day: s.now().UTC().Format(time.DateOnly), Looked: looked, Bad: bad, Taken: bad <= plan.Accept, Again: len(j.Checks) > 0, Severity: plan.Severity}
	if c.Taken {
		c.Says = fmt.Sprintf("the lot is taken: %d of %d pieces failed, and up to %d may", bad, looked, plan.Accept)
	} else {
		c.Says = fmt.Sprintf("the lot is not taken: %d of %d pieces failed, and at most %d may; look at every piece, mend what can be mended, and look again", bad, looked, plan.Accept)
	}
	j.Checks = append(j.Checks, c)
	rec.Body = write(j)
	if err := s.judge(ctx, &rec); err != nil {
		return rec, nil, err
	}
	if rec, err = s.first(ctx, fettle.Edit{By: by, Key: key, Asked: asked, Changes: []fettle.Change{{Act: fettle.Alter, Record: rec}}}); err != nil {
		return rec, nil, err
	}
	if j, err = bodyOf[fettle.Job](rec); err != nil { // as it was kept the first time
		return rec, nil, err
	}
	return rec, &j.Checks[len(j.Checks)-1], nil
}
