package shop

import (
	"context"
	"encoding/json"
	"errors"
	"strings"
	"time"

	"fettle"
	"fettle/internal/trade/learn"
	"fettle/internal/work"
)

// Logbook is every run that teaches, with its readings, oldest first.
func (s *Shop) Logbook(ctx context.Context) (fettle.Logbook, error) {
	log := fettle.Logbook{Runs: []fettle.Run{}}
	runs, err := s.all(ctx, fettle.Query{Kind: fettle.KeptRun})
	if err != nil {
		return log, err
	}
	readings, err := s.all(ctx, fettle.Query{Kind: fettle.KeptReading})
	if err != nil {
		return log, err
	}
	log.Runs, err = bound(runs, readings)
	return log, err
}

// runsOf are the runs of a job, with their readings.
func (s *Shop) runsOf(ctx context.Context, job string) ([]fettle.Run, error) {
	runs, err := s.all(ctx, fettle.Query{Kind: fettle.KeptRun, Role: "job", Target: job})
	if err != nil {
		return nil, err
	}
	var readings []fettle.Record
	for _, r := range runs {
		rs, err := s.all(ctx, fettle.Query{Kind: fettle.KeptReading, Role: "run", Target: r.ID})
		if err != nil {
			return nil, err
		}
		readings = append(readings, rs...)
	}
	return bound(runs, readings)
}

// bound puts readings to their runs.
func bound(runs, readings []fettle.Record) ([]fettle.Run, error) {
	of := map[string][]fettle.Reading{}
	for _, r := range readings {
		rd, err := bodyOf[fettle.Reading](r)
		if err != nil {
			return nil, err
		}
		of[r.Links["run"]] = append(of[r.Links["run"]], rd)
	}
	out := []fettle.Run{}
	for _, r := range runs {
		run, err := bodyOf[fettle.Run](r)
		if err != nil {
			return nil, err
		}
		run.ID, run.Readings = r.ID, of[r.ID]
		if run.Readings == nil {
			run.Readings = []fettle.Reading{}
		}
		out = append(out, run)
	}
	return out, nil
}

// teaching is the part of a log that can be learned from: charges and work by hand.
func teaching(log fettle.Logbook) fettle.Logbook {
	out := fettle.Logbook{Shop: log.Shop}
	for _, r := range log.Runs {
		if len(r.Readings) > 0 && (r.Kind == fettle.StepTumble || r.Kind == fettle.StepRub) {
			out.Runs = append(out.Runs, r)
		}
	}
	return out
}

// Learned is what the log says, of one media where it is named.
func (s *Shop) Learned(ctx context.Context, media string) (*fettle.Learned, error) {
	shelf, err := s.Shelf(ctx)
	if err != nil {
		return nil, err
	}
	log, err := s.Logbook(ctx)
	if err != nil {
		return nil, err
	}
	log = teaching(log)
	return work.Learn(ctx, work.LearnRequest{Runs: &log, Things: work.Things{Shelf: shelf}, Media: media})
}

// judgeRun checks a run, with its readings, beside the shelf.
func (s *Shop) judgeRun(ctx context.Context, r *fettle.Record, readings []fettle.Reading) error {
	run, err := read[fettle.Run](r.Body)
	if err != nil {
		return err
	}
	run.ID = "" // the record's stands for it
	r.Body = write(run)
	if run.Kind != fettle.StepTumble && run.Kind != fettle.StepRub {
		switch run.Kind {
		case fettle.StepSurface, fettle.StepDeburr, fettle.StepWash, fettle.StepBuff, fettle.StepInspect:
			if len(readings) > 0 {
				return fettle.Errorf(fettle.Invalid, "readings teach something of charges and of work by hand only; a %s run has none", run.Kind)
			}
			return nil
		}
		return fettle.Errorf(fettle.Invalid, "kind %q is nothing that is done in a run; it is surface, deburr, rub, tumble, wash, buff or inspect", run.Kind)
	}
	shelf, err := s.Shelf(ctx)
	if err != nil {
		return err
	}
	run.Readings = readings
	return plainRun(learn.Fits(run, shelf))
}

// plainRun takes off a sentence about a log of one run what it says of the log.
func plainRun(err error) error {
	var e *fettle.Error
	if !errors.As(err, &e) {
		return err
	}
	msg := strings.TrimPrefix(e.Message, "run number 1: ")
	if rest, ok := strings.CutPrefix(msg, "run number 1, reading 1 ("); ok {
		msg = strings.Replace(rest, ")", "", 1)
	}
	return fettle.Errorf(e.Code, "%s", msg)
}

// judgeReading checks a reading beside its run.
func (s *Shop) judgeReading(ctx context.Context, r fettle.Record) error {
	rec, err := s.store.Get(ctx, fettle.KeptRun, r.Links["run"])
	if err != nil {
		return err
	}
	rd, err := read[fettle.Reading](r.Body)
	if err != nil {
		return err
	}
	return s.judgeRun(ctx, &rec, []fettle.Reading{rd})
}

// AddReading keeps a reading of a run and has the log learned from anew.
func (s *Shop) AddReading(ctx context.Context, by, key, run string, rd fettle.Reading) (fettle.Record, error) {
	r, err := s.Make(ctx, by, key, fettle.Record{Kind: fettle.KeptReading, Links: map[string]string{"run": run}, Body: write(rd)})
	if err != nil {
		return r, err
	}
	// The reading is kept whatever comes of learning from it.
	_, _ = s.AskLearn(ctx, by)
	return r, nil
}

// EndRun says that a run is over and how long it ran, and puts the hours on the
// media that it wore, in one edit.
func (s *Shop) EndRun(ctx context.Context, by, id string, hours float64, at time.Time) (fettle.Record, error) {
	for tries := 1; ; tries++ {
		rec, overtaken, err := s.endRun(ctx, by, id, hours, at)
		if !overtaken || tries == mostTries {
			return rec, err
		}
	}
}

// mostTries is how often what adds to a number is tried again, because another
// added to it meanwhile.
const mostTries = 8

func (s *Shop) endRun(ctx context.Context, by, id string, hours float64, at time.Time) (r fettle.Record, overtaken bool, err error) {
	rec, err := s.store.Get(ctx, fettle.KeptRun, id)
	if err != nil {
		return rec, false, err
	}
	run, err := bodyOf[fettle.Run](rec)
	if err != nil {
		return rec, false, err
	}
	if run.Ended != "" {
		return rec, false, fettle.Errorf(fettle.Conflict, "run %s ended at %s already; alter it instead", id, run.Ended)
	}
	if hours == 0 && run.Started != "" {
		if began, err := time.Parse(time.RFC3339, run.Started); err == nil {
			hours = at.Sub(began).Hours()
		}
	}
	if !(hours > 0 && hours <= 2000) {
		return rec, false, fettle.Errorf(fettle.Invalid, "%.3g hours cannot be; say how long it ran with --hours", hours)
	}
	run.Ended, run.HoursRun = at.UTC().Format(time.RFC3339), hours
	rec.Body = write(run)
	return s.keepHours(ctx, by, rec, run, hours)
}

// keepHours keeps a run together with the hours that it puts on its media, below 0 for
// hours that come off again. overtaken says that someone else was first.
func (s *Shop) keepHours(ctx context.Context, by string, rec fettle.Record, run fettle.Run, hours float64) (r fettle.Record, overtaken bool, err error) {
	cs := []fettle.Change{{Act: fettle.Alter, Record: rec}}
	if run.Kind == fettle.StepTumble {
		m, err := s.store.Named(ctx, fettle.KeptMedia, run.Media)
		if err != nil && fettle.CodeOf(err) != fettle.NotFound { // media may have left the shelf
			return rec, false, err
		}
		if err == nil {
			media, err := bodyOf[fettle.Media](m)
			if err != nil {
				return rec, false, err
			}
			media.HoursRun = max(0, media.HoursRun+hours)
			m.Body = write(media)
			cs = append(cs, fettle.Change{Act: fettle.Alter, Record: m})
		}
	}
	rs, err := s.store.Apply(ctx, fettle.Edit{By: by, Changes: cs})
	if err != nil {
		return rec, fettle.CodeOf(err) == fettle.Conflict, err
	}
	return rs[0], false, nil
}

// AskLearn has the log learned from, and what changed kept with its history. Shelf and
// log are those of the moment when the work begins, so that many readings that come one
// after the other are learned from together.
func (s *Shop) AskLearn(ctx context.Context, by string) (fettle.Task, error) {
	changes, err := s.store.Changes(ctx, append(kindsOnShelf(), fettle.KeptRun, fettle.KeptReading)...)
	if err != nil {
		return fettle.Task{}, err
	}
	return s.askNow(ctx, fettle.TaskLearn, by, learnArgs{Changes: changes, By: by})
}

type learnArgs struct {
	// Changes of shelf and log when it was asked for; it is there to tell one question
	// from the next.
	Changes string `json:"changes"`
	By      string `json:"by"`
}

func (s *Shop) learn(ctx context.Context, args json.RawMessage, say func(doing string, done, total int)) (json.RawMessage, error) {
	a, err := read[learnArgs](args)
	if err != nil {
		return nil, err
	}
	for try := 1; ; try++ {
		changed, err := s.learnOnce(ctx, a.By)
		// Another worker learned meanwhile, from this log or one that was shorter.
		if fettle.CodeOf(err) == fettle.Conflict && try < 5 {
			continue
		}
		if err != nil {
			return nil, err
		}
		return write(struct {
			Changed int `json:"changed"`
		}{changed}), nil
	}
}

// learnOnce learns from the log and keeps what changed. It is a Conflict where another
// did so at the same time.
func (s *Shop) learnOnce(ctx context.Context, by string) (changed int, err error) {
	// What is kept is read before the log: whoever reads it later has the longer log, and
	// is not written over.
	kept, err := s.all(ctx, fettle.Query{Kind: fettle.KeptLearned})
	if err != nil {
		return 0, err
	}
	was := map[string]fettle.Record{}
	for _, r := range kept {
		was[fettle.FoldName(r.Name)] = r
	}
	shelf, err := s.Shelf(ctx)
	if err != nil {
		return 0, err
	}
	log, err := s.Teaching(ctx)
	if err != nil {
		return 0, err
	}
	l, err := work.Learn(ctx, work.LearnRequest{Runs: &log, Things: work.Things{Shelf: shelf}})
	if err != nil {
		return 0, err
	}
	var cs []fettle.Change
	for _, p := range l.Parameters {
		body := write(p)
		r, is := was[fettle.FoldName(parameterName(p))]
		switch {
		case !is:
			cs = append(cs, fettle.Change{Act: fettle.Make, Record: fettle.Record{Kind: fettle.KeptLearned, Name: parameterName(p), Body: body}})
		case !sameJSON(r.Body, body):
			r.Body = body
			cs = append(cs, fettle.Change{Act: fettle.Alter, Record: r})
		}
	}
	if len(cs) == 0 {
		return 0, nil
	}
	_, err = s.store.Apply(ctx, fettle.Edit{By: by, Changes: cs})
	return len(cs), err
}
