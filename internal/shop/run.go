package shop

import (
	"context"
	"strings"
	"time"

	"fettle"
	"fettle/internal/work"

	"github.com/google/uuid"
)

// StartRun keeps a run that begins now, unless it says when. For a job, the step of
// its plan says what is not given: kind, material, media, vessel, grit, tone,
// pieces, area and size. Who began it while the shop was not heard may have given it
// its id, a UUIDv7, so that what was read on it since can be sent after it.
func (s *Shop) StartRun(ctx context.Context, by, key, job string, run fettle.Run) (fettle.Record, error) {
	var none fettle.Record
	asked := hash([]byte("start run"), []byte(job), write(run)) // without the hour, which is another the second time
	now := s.now().UTC()
	id := run.ID
	if v, err := uuid.Parse(id); id != "" && (err != nil || v.Version() != 7 || v.String() != id) {
		return none, fettle.Errorf(fettle.Invalid, "id %q is no UUID of version 7; leave it out and the run gets one", id)
	}
	if run.Day == "" {
		run.Day = now.Format(time.DateOnly)
	}
	if run.Started == "" {
		run.Started = now.Format(time.RFC3339)
	}
	links := map[string]string{}
	if job != "" {
		rec, err := s.store.Get(ctx, fettle.KeptJob, job)
		if err != nil {
			return none, err
		}
		links["job"] = job
		j, err := bodyOf[fettle.Job](rec)
		if err != nil {
			return none, err
		}
		run.Part = either(run.Part, j.Title)
		run.Material = either(run.Material, j.Brief.Material)
		if run.Step != "" {
			plan, sheet, err := s.planToRun(ctx, rec)
			if err != nil {
				return none, err
			}
			links["plan"] = sheet.ID
			if run, err = fromStep(run, plan); err != nil {
				return none, err
			}
		}
	}
	return s.makeAsked(ctx, by, key, asked, fettle.Record{Kind: fettle.KeptRun, ID: id, Links: links, Body: write(run)})
}

// planToRun is the plan that a job is run by: of the finish that was agreed, and where
// that has none yet, the job's own.
func (s *Shop) planToRun(ctx context.Context, job fettle.Record) (*fettle.Plan, fettle.Record, error) {
	plan, sheet, err := s.planAsAgreed(ctx, job)
	if fettle.CodeOf(err) == fettle.NotFound {
		return s.planOfJob(ctx, job)
	}
	return plan, sheet, err
}

// fromStep fills a run from the step of a plan.
func fromStep(run fettle.Run, plan *fettle.Plan) (fettle.Run, error) {
	for i, st := range plan.Route {
		if fettle.FoldName(st.Key) != fettle.FoldName(run.Step) || run.StepNumber > 0 && run.StepNumber != i+1 {
			continue
		}
		run.Step, run.StepNumber = st.Key, i+1
		if run.Kind == "" {
			run.Kind = st.Kind
		}
		if c := st.Charge; c != nil {
			run.Media, run.Vessel = either(run.Media, c.Media), either(run.Vessel, c.Vessel)
			if run.Tone == "" {
				run.Tone = c.Tone
			}
			if run.Pieces == 0 {
				run.Pieces = c.PartsPerLoad
			}
			if run.AreaMM2 == 0 {
				run.AreaMM2 = plan.Survey.AreaMM2
			}
		}
		if r := st.Rub; r != nil {
			run.Grit = either(run.Grit, r.Grit)
			for _, z := range plan.Zones {
				if z.ID == st.Zone && run.AreaMM2 == 0 {
					run.AreaMM2 = z.AreaMM2
				}
			}
		}
		if run.SizeMM == 0 {
			for _, mm := range plan.Survey.SizeMM {
				run.SizeMM = max(run.SizeMM, mm)
			}
		}
		return run, nil
	}
	var keys []string
	for _, st := range plan.Route {
		keys = append(keys, st.Key)
	}
	if run.StepNumber > 0 {
		return run, fettle.Errorf(fettle.NotFound, "step %d of the plan is not %q; there is, in this order: %s", run.StepNumber, run.Step, strings.Join(keys, ", "))
	}
	return run, fettle.Errorf(fettle.NotFound, "the plan has no step %q; there is: %s", run.Step, strings.Join(keys, ", "))
}

func either(a, b string) string {
	if a != "" {
		return a
	}
	return b
}

// Teaching is the part of the logbook that can be learned from: charges and work
// by hand with readings.
func (s *Shop) Teaching(ctx context.Context) (fettle.Logbook, error) {
	log, err := s.Logbook(ctx)
	return teaching(log), err
}

// TakenLog is what was taken from a logbook file.
type TakenLog struct {
	Runs     int `json:"runs"`
	Readings int `json:"readings"`
	Known    int `json:"known"` // runs that had been taken before
}

// TakeLog takes the runs of a logbook file with their readings, each run whole or
// not at all, and none twice.
func (s *Shop) TakeLog(ctx context.Context, by, file string) (TakenLog, error) {
	var t TakenLog
	log, err := work.OpenLog(file)
	if err != nil {
		return t, err
	}
	shelf, err := s.Shelf(ctx)
	if err != nil {
		return t, err
	}
	if _, err := work.Learn(ctx, work.LearnRequest{Runs: &log, Things: work.Things{Shelf: shelf}}); err != nil {
		return t, err // nothing is taken of a log that cannot be read as one
	}
	for _, run := range log.Runs {
		readings := run.Readings
		given := hash(write(run))
		if run.ID != "" {
			run.Notes = strings.TrimSpace("Called " + run.ID + " in the log that it came from. " + run.Notes)
		}
		run.ID, run.Readings = "", nil
		page, err := s.store.List(ctx, fettle.Query{Kind: fettle.KeptRun, Name: takenName(given), Limit: 1})
		if err != nil {
			return t, err
		}
		if len(page.Records) > 0 {
			t.Known++
			continue
		}
		id := freshID()
		cs := []fettle.Change{{Act: fettle.Make, Record: fettle.Record{Kind: fettle.KeptRun, ID: id, Name: takenName(given), Body: write(run)}}}
		for _, rd := range readings {
			cs = append(cs, fettle.Change{Act: fettle.Make, Record: fettle.Record{
				Kind: fettle.KeptReading, Name: string(rd.Kind), Links: map[string]string{"run": id}, Body: write(rd),
			}})
		}
		if _, err := s.store.Apply(ctx, fettle.Edit{By: by, Changes: cs}); err != nil {
			return t, err
		}
		t.Runs++
		t.Readings += len(readings)
	}
	if t.Runs > 0 {
		_, _ = s.AskLearn(ctx, by) // the runs are kept whatever comes of it
	}
	return t, nil
}

// takenName is what a run from a file is known by.
func takenName(hash string) string { return "taken " + hash[:32] }

// freshID is an id for a record that others in the same edit refer to.
func freshID() string { return uuid.Must(uuid.NewV7()).String() }
