package shop

import (
	"cmp"
	"context"
	"slices"
	"strings"
	"time"

	"fettle"
)

// Today is what needs a hand now.
type Today struct {
	At time.Time `json:"at"`
	// Running are runs that have begun and not ended, those that are to be looked at
	// soonest first. Steps are the next steps of agreed jobs of which nothing runs.
	// Waiting are offers without an answer, the newest of each job. Jobs are those that are
	// not shipped, the soonest promised first.
	Running []Now `json:"running"`
	Steps   []Now `json:"steps"`
	Waiting []Now `json:"waiting"`
	Jobs    []Now `json:"jobs"`
}

// Now is one thing that needs a hand.
type Now struct {
	ID    string          `json:"id"`
	Title string          `json:"title"`
	State fettle.JobState `json:"state,omitempty"`
	Due   string          `json:"due,omitempty"`
	Job   string          `json:"job,omitempty"`
	// Of a step and of a run of it: its key, its number in the route as it is now, from 1
	// (0: it is no longer in it), its name, what to do and what to look for, and which load
	// of how many.
	Step   string `json:"step,omitempty"`
	Number int    `json:"number,omitempty"`
	Name   string `json:"name,omitempty"`
	Do     string `json:"do,omitempty"`
	Look   string `json:"look,omitempty"`
	Load   int    `json:"load,omitempty"`
	Loads  int    `json:"loads,omitempty"`
	Vessel string `json:"vessel,omitempty"`
	// Of a run: the hours gone.
	Started string  `json:"started,omitempty"`
	GoneH   float64 `json:"gone_h,omitempty"`
	// LookInH is in how many hours to look next, below 0 for late; nil where the plan
	// does not say. ToGoH is in how many it should be over.
	LookInH *float64         `json:"look_in_h,omitempty"`
	ToGoH   *fettle.Estimate `json:"to_go_h,omitempty"`
}

// Today lists what needs a hand.
func (s *Shop) Today(ctx context.Context) (*Today, error) {
	t := &Today{At: s.now().UTC(), Running: []Now{}, Steps: []Now{}, Waiting: []Now{}, Jobs: []Now{}}
	jobs, err := s.all(ctx, fettle.Query{Kind: fettle.KeptJob})
	if err != nil {
		return nil, err
	}
	title, byID := map[string]string{}, map[string]fettle.Record{}
	for _, r := range jobs {
		title[r.ID], byID[r.ID] = r.Name, r
	}
	runs, err := s.all(ctx, fettle.Query{Kind: fettle.KeptRun})
	if err != nil {
		return nil, err
	}
	of := map[string][]fettle.Record{} // runs by job
	for _, r := range runs {
		of[r.Links["job"]] = append(of[r.Links["job"]], r)
		run, err := bodyOf[fettle.Run](r)
		if err != nil {
			return nil, err
		}
		began, err := time.Parse(time.RFC3339, run.Started)
		if err != nil || run.Ended != "" {
			continue
		}
		n := s.running(ctx, r, run, t.At.Sub(began).Hours())
		if name, is := title[n.Job]; is {
			n.Title = name
			n.Number = s.numberNow(ctx, byID[n.Job], r, run)
		}
		t.Running = append(t.Running, n)
	}
	slices.SortStableFunc(t.Running, func(a, b Now) int { return cmp.Compare(soonest(a), soonest(b)) })
	for _, r := range jobs {
		j, err := bodyOf[fettle.Job](r)
		if err != nil {
			return nil, err
		}
		if j.State == fettle.JobShipped || j.State == fettle.JobNo {
			continue
		}
		t.Jobs = append(t.Jobs, Now{ID: r.ID, Title: r.Name, State: j.State, Due: j.Due})
		if j.State != fettle.JobAgreed {
			continue
		}
		if n := s.waiting(ctx, r, of[r.ID]); n != nil {
			n.Due = j.Due
			t.Steps = append(t.Steps, *n)
		}
	}
	byDue := func(a, b Now) int { return strings.Compare(undated(a.Due), undated(b.Due)) }
	slices.SortStableFunc(t.Jobs, byDue)
	slices.SortStableFunc(t.Steps, byDue)
	offers, err := s.all(ctx, fettle.Query{Kind: fettle.KeptOffer, Newest: true})
	if err != nil {
		return nil, err
	}
	asked := map[string]bool{}
	for _, r := range offers {
		job := r.Links["job"]
		p, err := bodyOf[fettle.Proposal](r)
		if err != nil {
			return nil, err
		}
		i := slices.IndexFunc(t.Jobs, func(n Now) bool { return n.ID == job })
		// An older offer is overtaken by the newer, and a job that moved on waits for no word.
		if asked[job] || i < 0 || t.Jobs[i].State == fettle.JobAgreed {
			continue
		}
		asked[job] = true
		if p.Answer == nil {
			t.Waiting = append(t.Waiting, Now{ID: r.ID, Title: title[job], Job: job, Due: p.Until})
		}
	}
	slices.SortStableFunc(t.Waiting, byDue)
	return t, nil
}

// undated sorts what has no date last.
func undated(day string) string {
	if day == "" {
		return "9999"
	}
	return day
}

// soonest sorts runs that nothing says when to look at last.
func soonest(n Now) float64 {
	if n.LookInH == nil {
		return 1e9
	}
	return *n.LookInH
}

// running is a run that has gone for so many hours.
func (s *Shop) running(ctx context.Context, r fettle.Record, run fettle.Run, gone float64) Now {
	n := Now{ID: r.ID, Title: r.Name, Job: r.Links["job"], Step: run.Step, Number: run.StepNumber, Vessel: run.Vessel, Started: run.Started, GoneH: gone}
	st, number := s.stepOf(ctx, r, run)
	if st == nil {
		return n
	}
	n.Number, n.Name, n.Do, n.Look = number, st.Name, st.Do, st.Look
	looks, hours := watch(*st)
	if len(looks) > 0 {
		if next, is := nextLook(looks, s.lookedAt(ctx, r, run)); is {
			in := next - gone
			n.LookInH = &in
		}
	}
	if hours.Value > 0 {
		left := hours
		left.Value, left.Low, left.High = hours.Value-gone, hours.Low-gone, hours.High-gone
		n.ToGoH = &left
	}
	return n
}

// nextLook is the first look after the last that was had; a look up to a quarter of an hour
// before its time counts for it. One that was missed stays due.
func nextLook(looks []float64, looked float64) (float64, bool) {
	i := slices.IndexFunc(looks, func(h float64) bool { return h > looked+min(0.25, h/4) })
	if i < 0 {
		return 0, false
	}
	return looks[i], true
}

// lookedAt is when a run was looked at last, in hours since it began: a reading is a look.
func (s *Shop) lookedAt(ctx context.Context, r fettle.Record, run fettle.Run) float64 {
	at := run.LookedH
	readings, err := s.all(ctx, fettle.Query{Kind: fettle.KeptReading, Role: "run", Target: r.ID})
	if err != nil {
		return at
	}
	for _, rd := range readings {
		if body, err := bodyOf[fettle.Reading](rd); err == nil {
			at = max(at, body.AtH)
		}
	}
	return at
}

// Looked keeps that somebody looked at a run, so many hours since it began. An earlier look
// changes nothing.
func (s *Shop) Looked(ctx context.Context, by, id string, atH float64) (fettle.Record, error) {
	if !(atH >= 0 && atH <= 2000) {
		return fettle.Record{}, fettle.Errorf(fettle.Invalid, "a look after %.3g hours cannot be; it must lie between 0 and 2000", atH)
	}
	for tries := 1; ; tries++ {
		rec, err := s.store.Get(ctx, fettle.KeptRun, id)
		if err != nil {
			return rec, err
		}
		run, err := bodyOf[fettle.Run](rec)
		if err != nil || atH <= run.LookedH {
			return rec, err
		}
		run.LookedH = atH
		rec.Body = write(run)
		now, err := s.apply(ctx, by, fettle.Change{Act: fettle.Alter, Record: rec})
		if fettle.CodeOf(err) != fettle.Conflict || tries == mostTries {
			return now, err
		}
	}
}

// numberNow is the number that the step of a run has in the plan that its job is run by
// now, 0 where that has no such step any more.
func (s *Shop) numberNow(ctx context.Context, job, r fettle.Record, run fettle.Run) int {
	plan, sheet, err := s.planToRun(ctx, job)
	if err != nil {
		return 0
	}
	return place(plan, sheet.ID, r, run) + 1
}

// watch is when to look at a step, in hours since it began, and how long it takes: of a
// charge each load, of other steps the lot.
func watch(st fettle.Step) (looks []float64, hours fettle.Estimate) {
	if c := st.Charge; c != nil {
		return c.LooksH, c.Hours
	}
	m := st.MinutesAttended
	if m.Value == 0 {
		m = st.MinutesAlone
	}
	m.Value, m.Low, m.High = m.Value/60, m.Low/60, m.High/60
	return nil, m
}

// stepOf is the step of the plan that a run is of, and its number; nil where the plan
// does not know it.
func (s *Shop) stepOf(ctx context.Context, r fettle.Record, run fettle.Run) (*fettle.Step, int) {
	if run.Step == "" || r.Links["plan"] == "" {
		return nil, 0
	}
	plan, sheet, err := s.PlanOf(ctx, r.Links["plan"])
	if err != nil {
		return nil, 0
	}
	for _, p := range append([]*fettle.Plan{plan}, s.othersOf(ctx, sheet, plan, run)...) {
		for i := range p.Route {
			if st := &p.Route[i]; st.Key == run.Step && (run.StepNumber == 0 || run.StepNumber == i+1) {
				return st, i + 1
			}
		}
	}
	return nil, 0
}

// othersOf are the plans of other finishes kept with a plan, where a run is of none of its
// steps.
func (s *Shop) othersOf(ctx context.Context, sheet fettle.Record, plan *fettle.Plan, run fettle.Run) []*fettle.Plan {
	if slices.ContainsFunc(plan.Route, func(st fettle.Step) bool { return st.Key == run.Step }) {
		return nil
	}
	others, err := s.besides(ctx, sheet)
	if err != nil {
		return nil
	}
	return others
}

// waiting is the next step of a job that is to be run, nil where there is none or one runs.
func (s *Shop) waiting(ctx context.Context, job fettle.Record, runs []fettle.Record) *Now {
	plan, sheet, err := s.planToRun(ctx, job)
	if err != nil {
		return nil
	}
	last, loads := -1, 0
	for _, r := range runs {
		run, err := bodyOf[fettle.Run](r)
		if err != nil {
			continue
		}
		if run.Started != "" && run.Ended == "" {
			return nil
		}
		i := place(plan, sheet.ID, r, run)
		switch {
		case i > last:
			last, loads = i, 1
		case i == last && i >= 0:
			loads++
		}
	}
	next := last + 1
	load := 1
	if last >= 0 {
		if c := plan.Route[last].Charge; c != nil && loads < c.Loads {
			next, load = last, loads+1
		}
	}
	if next >= len(plan.Route) {
		return nil
	}
	st := plan.Route[next]
	n := &Now{ID: job.ID, Title: job.Name, Job: job.ID, Step: st.Key, Number: next + 1, Name: st.Name, Do: st.Do, Look: st.Look}
	if c := st.Charge; c != nil {
		n.Vessel, n.Load, n.Loads = c.Vessel, load, c.Loads
	}
	return n
}

// place is which step of a plan a run was, -1 for none: by its number where it was run by
// this very plan, else by its key.
func place(plan *fettle.Plan, sheet string, r fettle.Record, run fettle.Run) int {
	at := run.StepNumber - 1
	if at >= 0 && at < len(plan.Route) && r.Links["plan"] == sheet && plan.Route[at].Key == run.Step {
		return at
	}
	return slices.IndexFunc(plan.Route, func(st fettle.Step) bool { return run.Step != "" && st.Key == run.Step })
}
