package shop

import (
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"fettle"
	"fettle/internal/trade/promise"
)

// Promise reckons when a job can be ready, around all that was promised to others.
// The zero time means now. Nothing is kept.
func (s *Shop) Promise(ctx context.Context, job string, from time.Time) (*fettle.Promise, error) {
	rec, err := s.store.Get(ctx, fettle.KeptJob, job)
	if err != nil {
		return nil, err
	}
	plan, _, err := s.planAsAgreed(ctx, rec)
	if err != nil {
		return nil, err
	}
	booked, _, err := s.booked(ctx, job)
	if err != nil {
		return nil, err
	}
	return s.reckon(ctx, rec, plan, booked, from)
}

// reckon puts a plan on the calendar.
func (s *Shop) reckon(ctx context.Context, job fettle.Record, plan *fettle.Plan, booked []fettle.Booking, from time.Time) (*fettle.Promise, error) {
	shelf, err := s.Shelf(ctx)
	if err != nil {
		return nil, err
	}
	if from.IsZero() {
		from = s.now()
	}
	return promise.Of(ctx, promise.Input{
		Plan: plan, Rates: shelf.Rates, Vessels: shelf.Vessels, Machines: shelf.Machines,
		Booked: booked, From: from, Job: job.ID, Title: job.Name,
	})
}

// planAsAgreed is the plan of the finish that a job's brief names now: the job's own,
// or the one beside it that was offered with it.
func (s *Shop) planAsAgreed(ctx context.Context, job fettle.Record) (*fettle.Plan, fettle.Record, error) {
	j, err := bodyOf[fettle.Job](job)
	if err != nil {
		return nil, fettle.Record{}, err
	}
	plan, sheet, err := s.planOfJob(ctx, job)
	if err != nil {
		return nil, sheet, err
	}
	if fettle.FoldName(plan.Look.Name) == fettle.FoldName(j.Brief.Finish) {
		return plan, sheet, nil
	}
	others, err := s.besides(ctx, sheet)
	if err != nil {
		return nil, sheet, err
	}
	for _, o := range others {
		if fettle.FoldName(o.Look.Name) == fettle.FoldName(j.Brief.Finish) {
			return o, sheet, nil
		}
	}
	return nil, sheet, fettle.Errorf(fettle.NotFound, "job %q has no plan for the finish %s; plan it again", j.Title, j.Brief.Finish)
}

// besides are the plans of the finishes beside that of a plan.
func (s *Shop) besides(ctx context.Context, sheet fettle.Record) ([]*fettle.Plan, error) {
	var out []*fettle.Plan
	for _, role := range roles(sheet.Files) {
		if !strings.HasPrefix(role, "sheet/others/") || !strings.HasSuffix(role, ".json") {
			continue
		}
		p, err := stored[fettle.Plan](ctx, s, sheet.Files[role])
		if err != nil {
			return nil, err
		}
		out = append(out, &p)
	}
	return out, nil
}

// booked is all that was promised to jobs that are still open, but one, and the
// number of the last promise.
func (s *Shop) booked(ctx context.Context, but string) ([]fettle.Booking, int, error) {
	rs, err := s.all(ctx, fettle.Query{Kind: fettle.KeptPromise})
	if err != nil {
		return nil, 0, err
	}
	now, last := s.now(), 0
	var out []fettle.Booking
	for _, r := range rs {
		n, _ := strconv.Atoi(strings.TrimPrefix(r.Name, promiseName))
		last = max(last, n)
		id := r.Links["job"]
		if id == but {
			continue
		}
		p, err := bodyOf[fettle.Promise](r)
		if err != nil {
			return nil, 0, err
		}
		if !slices.ContainsFunc(p.Bookings, func(b fettle.Booking) bool { return b.To.After(now) }) {
			continue
		}
		job, err := s.store.Get(ctx, fettle.KeptJob, id)
		if err != nil {
			return nil, 0, err
		}
		j, err := bodyOf[fettle.Job](job)
		if err != nil {
			return nil, 0, err
		}
		if job.Deleted != nil || j.State == fettle.JobShipped || j.State == fettle.JobNo {
			continue
		}
		for _, b := range p.Bookings {
			if b.To.After(now) {
				out = append(out, b)
			}
		}
	}
	return out, last, nil
}

// freed takes back what was promised to a job that is over by a change: should it come
// back, others may have its times by then.
func (s *Shop) freed(ctx context.Context, c fettle.Change) ([]fettle.Change, error) {
	if c.Record.Kind != fettle.KeptJob || c.Act != fettle.Delete && c.Act != fettle.Alter {
		return nil, nil
	}
	if c.Act == fettle.Alter {
		j, err := bodyOf[fettle.Job](c.Record)
		if err != nil || j.State != fettle.JobShipped && j.State != fettle.JobNo {
			return nil, err
		}
	}
	return s.without(ctx, c.Record.ID)
}

// without takes back what was promised to a job.
func (s *Shop) without(ctx context.Context, job string) ([]fettle.Change, error) {
	old, err := s.all(ctx, fettle.Query{Kind: fettle.KeptPromise, Role: "job", Target: job})
	if err != nil {
		return nil, err
	}
	var cs []fettle.Change
	for _, o := range old {
		cs = append(cs, fettle.Change{Act: fettle.Delete, Record: fettle.Record{Kind: o.Kind, ID: o.ID, Rev: o.Rev}})
	}
	return cs, nil
}

// promiseName begins the name of a promise; its number follows.
const promiseName = "promise "

// mostReckonings is how often a promise is reckoned anew because another was kept
// meanwhile.
const mostReckonings = 20

// KeepPromise reckons a job's promise and keeps it, in the place of an earlier one:
// from then on what it takes is taken. Of promises that are reckoned at one time each
// sees all that were kept before it, so nothing is taken twice. Where move, the job is
// due on the day.
func (s *Shop) KeepPromise(ctx context.Context, by, job string, from time.Time, move bool) (fettle.Record, *fettle.Promise, error) {
	var none fettle.Record
	for try := 1; ; try++ {
		rec, p, err := s.keepPromise(ctx, by, job, from, move)
		if fettle.CodeOf(err) == fettle.Conflict && try < mostReckonings {
			continue
		}
		if err != nil {
			return none, nil, err
		}
		return rec, p, nil
	}
}

func (s *Shop) keepPromise(ctx context.Context, by, job string, from time.Time, move bool) (fettle.Record, *fettle.Promise, error) {
	var none fettle.Record
	rec, err := s.store.Get(ctx, fettle.KeptJob, job)
	if err != nil {
		return none, nil, err
	}
	if rec.Deleted != nil {
		return none, nil, fettle.Errorf(fettle.Invalid, "job %q was deleted; undo that first", rec.Name)
	}
	plan, sheet, err := s.planAsAgreed(ctx, rec)
	if err != nil {
		return none, nil, err
	}
	booked, last, err := s.booked(ctx, job)
	if err != nil {
		return none, nil, err
	}
	p, err := s.reckon(ctx, rec, plan, booked, from)
	if err != nil {
		return none, nil, err
	}
	kept := fettle.Record{
		Kind: fettle.KeptPromise, Name: fmt.Sprintf("%s%06d", promiseName, last+1),
		Links: map[string]string{"job": job, "plan": sheet.ID}, Body: write(p),
	}
	if err := s.judge(ctx, &kept); err != nil {
		return none, nil, err
	}
	cs := []fettle.Change{{Act: fettle.Make, Record: kept}}
	old, err := s.without(ctx, job)
	if err != nil {
		return none, nil, err
	}
	cs = append(cs, old...)
	if move {
		j, err := bodyOf[fettle.Job](rec)
		if err != nil {
			return none, nil, err
		}
		if j.Due != p.Day {
			j.Due = p.Day
			rec.Body = write(j)
			cs = append(cs, fettle.Change{Act: fettle.Alter, Record: rec})
		}
	}
	r, err := s.first(ctx, fettle.Edit{By: by, Changes: cs})
	return r, p, err
}

// Promised is the promise that was kept for a job; NotFound where there is none.
func (s *Shop) Promised(ctx context.Context, job string) (*fettle.Promise, fettle.Record, error) {
	page, err := s.store.List(ctx, fettle.Query{Kind: fettle.KeptPromise, Role: "job", Target: job, Newest: true, Limit: 1})
	if err != nil {
		return nil, fettle.Record{}, err
	}
	if len(page.Records) == 0 {
		return nil, fettle.Record{}, fettle.Errorf(fettle.NotFound, "nothing was promised for this job yet")
	}
	p, err := bodyOf[fettle.Promise](page.Records[0])
	return &p, page.Records[0], err
}
