package main

import (
	"context"
	"time"

	"fettle"
	"fettle/internal/output/words"
)

type runCmd struct {
	Start runStartCmd `cmd:"" help:"A step begins, or is logged as done with --hours."`
	End   runEndCmd   `cmd:"" help:"A run is over; its hours go onto the media that it wore."`
	List  runListCmd  `cmd:"" help:"Runs, the newest first."`
	Take  runTakeCmd  `cmd:"" help:"Take runs and readings of a logbook file into the workspace."`
}

func (runCmd) Help() string {
	return "A run is a step that was really done. What was read on it goes in with fettle read and teaches the plans that follow.\n\nExamples:\n\n  fettle run start plate --step \"tumble ceramic-fine-5 in wet barrel\"\n\n  fettle run start --material \"naval brass\" --kind tumble --media ceramic-fine-5 --vessel \"wet barrel\" --hours 12 --area 7500\n\n" + exits
}

type runStartCmd struct {
	Job      string  `arg:"" optional:"" help:"The job it is for; its plan's step says the rest." placeholder:"JOB"`
	Step     string  `help:"Key of the plan's step." placeholder:"STEP"`
	Kind     string  `help:"What is done: surface, deburr, rub, tumble, wash, buff or inspect." placeholder:"KIND"`
	Material string  `help:"Alloy on the shelf." placeholder:"NAME"`
	Media    string  `placeholder:"NAME"`
	Vessel   string  `placeholder:"NAME"`
	Grit     string  `placeholder:"NAME"`
	Tone     string  `help:"Wet charges brighter or darker." enum:",brighter,darker" default:""`
	Pieces   int     `help:"Pieces in the run." placeholder:"N"`
	Area     float64 `help:"Area of one piece, mm²." placeholder:"MM2"`
	Size     float64 `help:"Longest side of one piece, mm." placeholder:"MM"`
	Hours    float64 `help:"It is over already and ran so long." placeholder:"H"`
	Day      string  `help:"Day of the run (default: today)." placeholder:"DAY"`
	Notes    string  `placeholder:"TEXT"`
}

func (c runStartCmd) Run(ctx context.Context, s *streams) error {
	w, err := s.open(ctx)
	if err != nil {
		return err
	}
	defer w.Close()
	job := ""
	if c.Job != "" {
		rec, err := w.find(ctx, fettle.KeptJob, c.Job)
		if err != nil {
			return err
		}
		job = rec.ID
	}
	rec, err := w.StartRun(ctx, actor, "", job, fettle.Run{
		Step: c.Step, Kind: fettle.StepKind(c.Kind), Material: c.Material, Media: c.Media, Vessel: c.Vessel, Grit: c.Grit,
		Tone: fettle.Tone(c.Tone), Pieces: c.Pieces, AreaMM2: c.Area, SizeMM: c.Size, Day: c.Day, Notes: c.Notes,
	})
	if err != nil {
		return err
	}
	if c.Hours != 0 {
		if rec, err = w.EndRun(ctx, actor, rec.ID, c.Hours, time.Now()); err != nil {
			return err
		}
	}
	return s.record(rec)
}

type runEndCmd struct {
	RunID string  `arg:"" name:"run" placeholder:"RUN"`
	Hours float64 `help:"How long it really ran (default: since it began)." placeholder:"H"`
}

func (c runEndCmd) Run(ctx context.Context, s *streams) error {
	return s.withRecord(ctx, s.open, fettle.KeptRun, c.RunID, func(w *workspace, rec fettle.Record) error {
		rec, err := w.EndRun(ctx, actor, rec.ID, c.Hours, time.Now())
		if err != nil {
			return err
		}
		return s.record(rec)
	})
}

type runListCmd struct{}

func (runListCmd) Run(ctx context.Context, s *streams) error {
	w, err := s.look(ctx)
	if err != nil {
		return err
	}
	defer w.Close()
	log, err := w.Logbook(ctx)
	if err != nil {
		return err
	}
	return s.answer(log, func() string { return words.Runs(log) })
}

type runTakeCmd struct {
	File string `arg:"" help:"Logbook as a JSON file." placeholder:"FILE"`
}

func (c runTakeCmd) Run(ctx context.Context, s *streams) error {
	w, err := s.open(ctx)
	if err != nil {
		return err
	}
	defer w.Close()
	taken, err := w.TakeLog(ctx, actor, c.File)
	if err != nil {
		return err
	}
	return s.answer(taken, func() string { return words.Taken(taken.Runs, taken.Readings, taken.Known) })
}

type readCmd struct {
	RunID  string  `arg:"" name:"run" placeholder:"RUN"`
	Kind   string  `arg:"" help:"ra, rz, sq, grade, gloss, grams, micrometer, \"mark gone\", jammed or minutes." placeholder:"KIND"`
	Value  float64 `arg:"" placeholder:"VALUE"`
	At     float64 `help:"Hours since the run began; 0 for before it." placeholder:"H"`
	Depth  float64 `help:"For a mark: the thickness that had to come off for it to go, µm." placeholder:"UM"`
	Spread float64 `help:"Standard deviation of the reading, where it is known: of its logarithm, or of grams and micrometers in their unit." placeholder:"S"`
	Where  string  `help:"face, or an opening for pieces that jammed." placeholder:"PLACE"`
}

func (readCmd) Help() string {
	return "Ra, Rz and Sq are in µm, grades are N numbers from 1 to 12, grams and micrometer what one piece lost since the run began, \"mark gone\" 1 or 0 with --depth.\n\nExamples:\n\n  fettle read 5f3a2c ra 0.42 --at 6\n\n  fettle read 5f3a2c \"mark gone\" 1 --at 6 --depth 4\n\n" + exits
}

func (c readCmd) Run(ctx context.Context, s *streams) error {
	return s.withRecord(ctx, s.open, fettle.KeptRun, c.RunID, func(w *workspace, run fettle.Record) error {
		rec, err := w.AddReading(ctx, actor, "", run.ID, fettle.Reading{
			Kind: fettle.ReadingKind(c.Kind), AtH: c.At, Value: c.Value, DepthUM: c.Depth, Spread: c.Spread, Place: c.Where,
		})
		if err != nil {
			return err
		}
		return s.record(rec)
	})
}
