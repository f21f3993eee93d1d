package shop

import (
	"context"
	"slices"
	"strings"
	"time"

	"fettle"
)

// Steps is what a phone at the machine needs of a job: the steps of the plan that it is run
// by, without what the desk needs, and what was done of them. It is small.
type Steps struct {
	At     time.Time  `json:"at"` // the shop's own time
	Job    string     `json:"job"`
	Title  string     `json:"title"`
	Plan   string     `json:"plan"` // the plan's record
	Finish string     `json:"finish"`
	Lot    int        `json:"lot"`
	Steps  []StepToDo `json:"steps"`
	// Runs are the oldest first.
	Runs []RunKept `json:"runs"`
}

// StepToDo is one step as it is done.
type StepToDo struct {
	Number  int             `json:"number"` // from 1
	Key     string          `json:"key"`
	Name    string          `json:"name"`
	Kind    fettle.StepKind `json:"kind"`
	Do      string          `json:"do"`
	Look    string          `json:"look"`
	Caution string          `json:"caution"`
	Defer   string          `json:"defer,omitempty"` // where to read on about the caution
	RaUM    fettle.Estimate `json:"ra_um"`
	// Hours is how long it takes: a load of a charge, of other steps the lot. LooksH are
	// the hours since it began at which to look.
	Hours  fettle.Estimate `json:"hours"`
	LooksH []float64       `json:"looks_h"`
	// VentH is how often a sealed barrel is opened to let its gas out; 0 for not.
	VentH  float64 `json:"vent_h,omitempty"`
	Alone  bool    `json:"alone"` // it runs on its own
	Vessel string  `json:"vessel,omitempty"`
	Media  string  `json:"media,omitempty"`
	Grit   string  `json:"grit,omitempty"`
	Loads  int     `json:"loads,omitempty"`
	Pieces int     `json:"pieces,omitempty"` // in a load
	// MarkUM is how much must come off for the deepest mark that stands before it to go.
	MarkUM float64 `json:"mark_um,omitempty"`
	// Openings are where pieces can hold media.
	Openings []OpeningName `json:"openings"`
}

// OpeningName is an opening of the part by its id.
type OpeningName struct {
	ID      string  `json:"id"`
	Kind    string  `json:"kind"`
	WidthMM float64 `json:"width_mm"`
}

// RunKept is a run with its revision and its readings with theirs.
type RunKept struct {
	ID     string `json:"id"`
	Rev    int64  `json:"rev"`
	Number int    `json:"number"` // of the step that it was of, 0 for none of the plan's
	By     string `json:"by"`
	// Body has no readings; they stand beside it.
	Body     fettle.Run    `json:"body"`
	Readings []ReadingKept `json:"readings"`
}

// ReadingKept is a reading as it was kept.
type ReadingKept struct {
	ID   string         `json:"id"`
	Rev  int64          `json:"rev"`
	Made time.Time      `json:"made"`
	By   string         `json:"by"`
	Body fettle.Reading `json:"body"`
}

// Steps are the steps of a job, by the plan of the finish that was agreed.
func (s *Shop) Steps(ctx context.Context, job string) (*Steps, error) {
	rec, err := s.store.Get(ctx, fettle.KeptJob, job)
	if err != nil {
		return nil, err
	}
	plan, sheet, err := s.planToRun(ctx, rec)
	if err != nil {
		return nil, err
	}
	out := &Steps{At: s.now().UTC(), Job: job, Title: rec.Name, Plan: sheet.ID, Finish: plan.Look.Name, Lot: plan.Brief.Lot, Steps: []StepToDo{}, Runs: []RunKept{}}
	for i := range plan.Route {
		out.Steps = append(out.Steps, stepToDo(plan, i))
	}
	runs, err := s.all(ctx, fettle.Query{Kind: fettle.KeptRun, Role: "job", Target: job})
	if err != nil {
		return nil, err
	}
	for _, r := range runs {
		k, err := s.runKept(ctx, r)
		if err != nil {
			return nil, err
		}
		k.Number = place(plan, sheet.ID, r, k.Body) + 1
		out.Runs = append(out.Runs, k)
	}
	return out, nil
}

func (s *Shop) runKept(ctx context.Context, r fettle.Record) (RunKept, error) {
	k := RunKept{ID: r.ID, Rev: r.Rev, By: r.By, Readings: []ReadingKept{}}
	var err error
	if k.Body, err = bodyOf[fettle.Run](r); err != nil {
		return k, err
	}
	k.Body.ID, k.Body.Readings = r.ID, []fettle.Reading{}
	readings, err := s.all(ctx, fettle.Query{Kind: fettle.KeptReading, Role: "run", Target: r.ID})
	if err != nil {
		return k, err
	}
	for _, rd := range readings {
		body, err := bodyOf[fettle.Reading](rd)
		if err != nil {
			return k, err
		}
		k.Readings = append(k.Readings, ReadingKept{ID: rd.ID, Rev: rd.Rev, Made: rd.Made, By: rd.By, Body: body})
	}
	return k, nil
}

// stepToDo is step i of a plan.
func stepToDo(plan *fettle.Plan, i int) StepToDo {
	st := plan.Route[i]
	d := StepToDo{
		Number: i + 1, Key: st.Key, Name: st.Name, Kind: st.Kind, Do: st.Do, Look: st.Look, Caution: st.Caution, RaUM: st.RaUM,
		Alone: st.MinutesAlone.Value > st.MinutesAttended.Value, LooksH: []float64{}, Openings: []OpeningName{},
	}
	for _, c := range plan.Cautions {
		if slices.Contains(c.Steps, st.Name) && c.Defer != "" && !strings.Contains(d.Defer, c.Defer) {
			d.Defer = strings.TrimPrefix(d.Defer+"; "+c.Defer, "; ")
		}
	}
	looks, hours := watch(st)
	d.Hours = hours
	d.LooksH = append(d.LooksH, looks...)
	if c := st.Charge; c != nil {
		d.Vessel, d.Media, d.Loads, d.Pieces, d.VentH = c.Vessel, c.Media, c.Loads, c.PartsPerLoad, c.VentEveryH
		for _, o := range plan.Survey.Openings {
			d.Openings = append(d.Openings, OpeningName{o.ID, string(o.Kind), o.WidthMM})
		}
	}
	if r := st.Rub; r != nil {
		d.Grit, d.MarkUM = r.Grit, r.TakeOffUM.Value
	}
	for k := i - 1; k >= 0 && d.MarkUM == 0; k-- { // the last step before it on the same zone
		if plan.Route[k].Zone != st.Zone {
			continue
		}
		for _, m := range plan.Route[k].Marks {
			d.MarkUM = max(d.MarkUM, m.DepthUM.Value)
		}
		break
	}
	return d
}

// ResumeRun takes back that a run is over: it runs on, and its hours come off the media
// again.
func (s *Shop) ResumeRun(ctx context.Context, by, id string, rev int64) (fettle.Record, error) {
	for tries := 1; ; tries++ {
		rec, overtaken, err := s.resumeRun(ctx, by, id, rev)
		if !overtaken || tries == mostTries {
			return rec, err
		}
	}
}

func (s *Shop) resumeRun(ctx context.Context, by, id string, rev int64) (r fettle.Record, overtaken bool, err error) {
	rec, err := s.store.Get(ctx, fettle.KeptRun, id)
	if err != nil {
		return rec, false, err
	}
	if rec.Rev != rev {
		return rec, false, fettle.Errorf(fettle.Conflict, "run %s was changed since; look at it again", id)
	}
	run, err := bodyOf[fettle.Run](rec)
	if err != nil {
		return rec, false, err
	}
	if run.Ended == "" {
		return rec, false, fettle.Errorf(fettle.Conflict, "run %s is not over; it runs on", id)
	}
	hours := run.HoursRun
	run.Ended, run.HoursRun = "", 0
	rec.Body = write(run)
	return s.keepHours(ctx, by, rec, run, -hours)
}
