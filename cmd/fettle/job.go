package main

import (
	"context"
	"fmt"
	"os"
	"path/filepath"

	"fettle"
	"fettle/internal/output/words"
	"fettle/internal/shop"
)

type jobCmd struct {
	New     jobNewCmd     `cmd:"" help:"A new job from a model and a brief."`
	List    jobListCmd    `cmd:"" help:"Jobs, the newest first."`
	Show    jobShowCmd    `cmd:"" help:"One job: brief, plans, offers, runs."`
	Plan    jobPlanCmd    `cmd:"" help:"Plan a job from the shop's shelf and log, and keep the plan."`
	Offer   jobOfferCmd   `cmd:"" help:"Offer the finishes to the customer: a page and a PDF, kept with the job."`
	Answer  jobAnswerCmd  `cmd:"" help:"Note the customer's word on an offer."`
	Promise jobPromiseCmd `cmd:"" help:"When a job can be ready, and why not sooner; --keep promises it."`
	Accept  jobAcceptCmd  `cmd:"" help:"Say what is right for the lot, from the sample that was signed off."`
	First   jobFirstCmd   `cmd:"" help:"Note a size or a reading of the first article."`
	Check   jobCheckCmd   `cmd:"" help:"Note what was found when the lot was looked at: taken or not."`
	Paper   jobPaperCmd   `cmd:"" help:"Print the traveler or the first article's paper, as the job is now."`
	Ours    jobOursCmd    `cmd:"" help:"Is this job ours? If not, why not, with the numbers."`
	State   jobStateCmd   `cmd:"" help:"Set where a job stands: asked, offered, agreed, shipped or no."`
	Delete  jobDeleteCmd  `cmd:"" help:"Take a job away; undo brings it back."`
	Undo    jobUndoCmd    `cmd:"" help:"Take the last change of a job back, its deletion too."`
}

func (jobCmd) Help() string {
	return "Jobs are kept in the workspace, with every revision of them. A job is named by its id, by four or more characters from either end of it, or by its title.\n\n" + exits
}

type jobNewCmd struct {
	modelFlags
	Part     string `arg:"" help:"Model file: STEP, STL, 3MF, OBJ, PLY or OFF." placeholder:"PART"`
	Brief    string `help:"Brief as a JSON file; options given here win over it." placeholder:"FILE"`
	Material string `help:"Alloy on the shelf." placeholder:"NAME"`
	Finish   string `help:"Finish on the shelf." placeholder:"NAME"`
	Lot      int    `help:"Pieces in the lot (default 1)." placeholder:"N"`
	Title    string `help:"Name of the job (default: the brief's, else the model's)." placeholder:"TEXT"`
	Customer string `help:"Customer's name; kept anew if there is none of that name." placeholder:"NAME"`
	Due      string `help:"Day that was promised, such as 2026-03-31." placeholder:"DAY"`
}

func (c jobNewCmd) Run(ctx context.Context, s *streams) error {
	w, err := s.open(ctx)
	if err != nil {
		return err
	}
	defer w.Close()
	f, err := os.Open(c.Part)
	if notThere(err) {
		return fettle.Errorf(fettle.NotFound, "%s is not there; check the path", c.Part)
	}
	if err != nil {
		return fettle.Errorf(fettle.BadFile, "%s cannot be opened; check that it is a file you may read", c.Part)
	}
	defer f.Close()
	rec, err := w.NewJob(ctx, actor, shop.NewJob{
		File: filepath.Base(c.Part), Model: f, BriefFile: c.Brief, Title: c.Title, Customer: c.Customer, Due: c.Due,
		Over: fettle.Brief{Material: c.Material, Finish: c.Finish, Lot: c.Lot, ModelUnits: c.Units, Body: c.Body},
	})
	if err != nil {
		return err
	}
	return s.record(rec)
}

// record answers with a record: its id in words.
func (s *streams) record(r fettle.Record) error {
	return s.answer(r, func() string { return fmt.Sprintf("%s %s: %s\n", r.Kind, r.ID, r.Name) })
}

type jobListCmd struct {
	All bool `help:"Those that are shipped or refused too."`
}

func (c jobListCmd) Run(ctx context.Context, s *streams) error {
	w, err := s.look(ctx)
	if err != nil {
		return err
	}
	defer w.Close()
	jobs, err := w.Jobs(ctx, c.All)
	if err != nil {
		return err
	}
	return s.answer(jobs, func() string { return words.Jobs(jobs) })
}

type jobShowCmd struct {
	Job string `arg:"" placeholder:"JOB"`
}

func (c jobShowCmd) Run(ctx context.Context, s *streams) error {
	return s.withRecord(ctx, s.look, fettle.KeptJob, c.Job, func(w *workspace, rec fettle.Record) error {
		story, err := w.JobStory(ctx, rec.ID)
		if err != nil {
			return err
		}
		return s.answer(story, func() string { return words.JobStory(*story, s.display) })
	})
}

type jobPlanCmd struct {
	Job   string `arg:"" placeholder:"JOB"`
	Mill  string `help:"Mill on the shelf (default: the first that holds the part)." placeholder:"NAME"`
	Paper string `help:"Paper of the traveler: A4 or Letter." enum:"A4,Letter" default:"A4"`
	Out   string `help:"Folder for the plan's files as well; they are kept in the workspace all the same." placeholder:"DIR"`
}

func (c jobPlanCmd) Run(ctx context.Context, s *streams) error {
	return s.withRecord(ctx, s.open, fettle.KeptJob, c.Job, func(w *workspace, rec fettle.Record) error {
		plan, sheet, err := w.PlanNow(ctx, actor, rec.ID, c.Mill, c.Paper)
		if err != nil {
			return err
		}
		if err := s.answer(plan, func() string { return words.Plan(*plan) }); err != nil {
			return err
		}
		fit, err := w.Judge(ctx, rec.ID)
		if err != nil {
			return err
		}
		if !fit.Ours && !s.quiet {
			fmt.Fprint(s.err, words.Fit(fit, s.display))
		}
		if c.Out != "" {
			files, err := w.CopyOut(ctx, sheet, c.Out)
			if err != nil {
				return err
			}
			s.written(files)
		}
		return verdict(plan)
	})
}

type jobOfferCmd struct {
	Job   string `arg:"" placeholder:"JOB"`
	Until string `help:"Day the offer holds until." placeholder:"DAY"`
	Words string `help:"What goes with it." placeholder:"TEXT"`
	Out   string `help:"Folder for offers.html and offers.pdf; they are kept in the workspace all the same." placeholder:"DIR"`
}

func (c jobOfferCmd) Run(ctx context.Context, s *streams) error {
	return s.withRecord(ctx, s.open, fettle.KeptJob, c.Job, func(w *workspace, job fettle.Record) error {
		rec, err := w.OfferJob(ctx, actor, "", job.ID, "", c.Words, c.Until)
		if err != nil {
			return err
		}
		if err := s.record(rec); err != nil || c.Out == "" {
			return err
		}
		return s.offered(ctx, w, rec, c.Out)
	})
}

type jobAnswerCmd struct {
	Offer  string `arg:"" placeholder:"OFFER"`
	Accept string `help:"Finish that the customer chose." placeholder:"FINISH" xor:"word" required:""`
	No     bool   `help:"The customer wants none of them." xor:"word" required:""`
	Day    string `help:"Day of the answer (default: today)." placeholder:"DAY"`
	Words  string `help:"What the customer said." placeholder:"TEXT"`
	Sample string `help:"Run that made the piece which the customer saw." placeholder:"RUN"`
}

func (c jobAnswerCmd) Run(ctx context.Context, s *streams) error {
	return s.withRecord(ctx, s.open, fettle.KeptOffer, c.Offer, func(w *workspace, offer fettle.Record) error {
		a := fettle.Answer{Accepted: !c.No, Look: c.Accept, Day: c.Day, Words: c.Words}
		if c.Sample != "" {
			run, err := w.find(ctx, fettle.KeptRun, c.Sample)
			if err != nil {
				return err
			}
			a.Sample = run.ID
		}
		rec, err := w.AnswerOffer(ctx, actor, offer.ID, offer.Rev, a)
		if err != nil {
			return err
		}
		if a.Accepted {
			s.promised(ctx, w, offer.Links["job"])
		}
		return s.record(rec)
	})
}

type jobOursCmd struct {
	Job string `arg:"" placeholder:"JOB"`
}

func (c jobOursCmd) Run(ctx context.Context, s *streams) error {
	return s.withRecord(ctx, s.open, fettle.KeptJob, c.Job, func(w *workspace, rec fettle.Record) error {
		fit, err := w.Judge(ctx, rec.ID)
		if err != nil {
			return err
		}
		if err := s.answer(fit, func() string { return words.Fit(fit, s.display) }); err != nil {
			return err
		}
		if !fit.Ours {
			return fettle.Errorf(fettle.No, "not ours; fettle pack %s FILE makes the file for a partner shop", short(rec.ID))
		}
		return nil
	})
}

// short is the end of an id, which is enough to name a record by.
func short(id string) string { return id[max(0, len(id)-6):] }

type jobStateCmd struct {
	Job   string `arg:"" placeholder:"JOB"`
	State string `arg:"" enum:"asked,offered,agreed,shipped,no" placeholder:"STATE"`
}

func (c jobStateCmd) Run(ctx context.Context, s *streams) error {
	return s.change(ctx, c.Job, func(w *workspace, r fettle.Record) (fettle.Record, error) {
		return w.SetJobState(ctx, actor, r, fettle.JobState(c.State))
	})
}

type jobDeleteCmd struct {
	Job string `arg:"" placeholder:"JOB"`
}

func (c jobDeleteCmd) Run(ctx context.Context, s *streams) error {
	return s.change(ctx, c.Job, func(w *workspace, r fettle.Record) (fettle.Record, error) {
		return w.Delete(ctx, actor, r.Kind, r.ID, r.Rev)
	})
}

type jobUndoCmd struct {
	Job string `arg:"" placeholder:"JOB"`
}

func (c jobUndoCmd) Run(ctx context.Context, s *streams) error {
	return s.change(ctx, c.Job, func(w *workspace, r fettle.Record) (fettle.Record, error) {
		return w.Undo(ctx, actor, r.Kind, r.ID, r.Rev)
	})
}

// change does something to a job and answers with it.
func (s *streams) change(ctx context.Context, job string, do func(*workspace, fettle.Record) (fettle.Record, error)) error {
	return s.withRecord(ctx, s.open, fettle.KeptJob, job, func(w *workspace, rec fettle.Record) error {
		rec, err := do(w, rec)
		if err != nil {
			return err
		}
		return s.record(rec)
	})
}
