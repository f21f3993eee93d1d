package main

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"

	"fettle"
	"fettle/internal/output/words"
	"fettle/internal/shop"
	"fettle/internal/work"
)

type jobPromiseCmd struct {
	Job  string `arg:"" placeholder:"JOB"`
	From string `help:"Day, or time as 2026-03-31T08:00:00Z, when work may begin (default: now)." placeholder:"DAY"`
	Keep bool   `help:"Keep it: what it takes is taken from then on, and the job is due on the day."`
	ICS  string `help:"Leave steps and looks as an iCalendar file as well." name:"ics" placeholder:"FILE"`
}

func (c jobPromiseCmd) Run(ctx context.Context, s *streams) error {
	from, err := moment(c.From)
	if err != nil {
		return err
	}
	open := s.look
	if c.Keep {
		open = s.open
	}
	return s.withRecord(ctx, open, fettle.KeptJob, c.Job, func(w *workspace, job fettle.Record) error {
		var p *fettle.Promise
		if c.Keep {
			_, p, err = w.KeepPromise(ctx, actor, job.ID, from, true)
		} else {
			p, err = w.Promise(ctx, job.ID, from)
		}
		if err != nil {
			return err
		}
		if err := s.answer(p, func() string { return words.Promise(p, s.display) }); err != nil {
			return err
		}
		if c.ICS == "" {
			return nil
		}
		data, err := work.Calendar(p, job.Name, job.ID, fettle.Brief{}, time.Now())
		return s.leave(c.ICS, data, err)
	})
}

// moment reads a day or a time; none is the zero time.
func moment(s string) (time.Time, error) {
	if s == "" {
		return time.Time{}, nil
	}
	for _, layout := range []string{time.RFC3339, time.DateOnly} {
		if t, err := time.Parse(layout, s); err == nil {
			return t, nil
		}
	}
	return time.Time{}, fettle.Errorf(fettle.Invalid, "--from %q is neither a day nor a time; write it like 2026-03-31 or 2026-03-31T08:00:00Z", s)
}

// leave puts a file where it was asked for and says so.
func (s *streams) leave(path string, data []byte, err error) error {
	if err != nil {
		return err
	}
	if err := work.WriteBytes(path, data); err != nil {
		return err
	}
	s.written([]string{path})
	return nil
}

type jobAcceptCmd struct {
	Job    string  `arg:"" placeholder:"JOB"`
	Sample string  `help:"Run that made the piece which the customer signed off." placeholder:"RUN"`
	Level  string  `help:"Level of inspection by ISO 2859-1: S1 to S4, I, II or III." default:"II" placeholder:"LEVEL"`
	AQL    float64 `help:"Acceptance quality limit, % of pieces." name:"aql" default:"1" placeholder:"PERCENT"`
}

func (c jobAcceptCmd) Run(ctx context.Context, s *streams) error {
	return s.withRecord(ctx, s.open, fettle.KeptJob, c.Job, func(w *workspace, job fettle.Record) error {
		how := shop.Sampled{Level: c.Level, AQL: c.AQL}
		if c.Sample != "" {
			run, err := w.find(ctx, fettle.KeptRun, c.Sample)
			if err != nil {
				return err
			}
			how.Sample = run.ID
		}
		_, acc, err := w.Accept(ctx, actor, job.ID, how)
		if err != nil {
			return err
		}
		return s.answer(acc, func() string { return words.Acceptance(acc, s.display) })
	})
}

type jobFirstCmd struct {
	Job      string  `arg:"" placeholder:"JOB"`
	Line     int     `arg:"" help:"Number of the line." placeholder:"LINE"`
	Measured float64 `arg:"" help:"What was measured, in the line's unit." placeholder:"VALUE"`
}

func (c jobFirstCmd) Run(ctx context.Context, s *streams) error {
	return s.withRecord(ctx, s.open, fettle.KeptJob, c.Job, func(w *workspace, job fettle.Record) error {
		_, acc, err := w.FirstArticle(ctx, actor, job.ID, c.Line, c.Measured)
		if err != nil {
			return err
		}
		if err := s.answer(acc, func() string { return words.Acceptance(acc, s.display) }); err != nil {
			return err
		}
		for _, l := range acc.First {
			if l.Number == c.Line && l.Right != nil && !*l.Right {
				return fettle.Errorf(fettle.No, "line %d, %s: %g %s is outside of %s", l.Number, l.What, c.Measured, l.Unit, l.Wanted)
			}
		}
		return nil
	})
}

type jobCheckCmd struct {
	Job    string `arg:"" placeholder:"JOB"`
	Bad    int    `help:"Pieces that failed." required:"" placeholder:"N"`
	Looked int    `help:"Pieces that were looked at (default: as many as the sampling plan wants)." placeholder:"N"`
}

func (c jobCheckCmd) Run(ctx context.Context, s *streams) error {
	return s.withRecord(ctx, s.open, fettle.KeptJob, c.Job, func(w *workspace, job fettle.Record) error {
		_, found, err := w.CheckLot(ctx, actor, job.ID, c.Looked, c.Bad)
		if err != nil {
			return err
		}
		if err := s.answer(found, func() string { return strings.ToUpper(found.Says[:1]) + found.Says[1:] + ".\n" }); err != nil {
			return err
		}
		if !found.Taken {
			return fettle.Errorf(fettle.No, "%s", found.Says)
		}
		return nil
	})
}

type jobPaperCmd struct {
	Job   string `arg:"" placeholder:"JOB"`
	What  string `arg:"" enum:"traveler,first-article" help:"traveler or first-article." placeholder:"WHAT"`
	Out   string `help:"File to write (default: WHAT.pdf)." placeholder:"FILE"`
	Paper string `help:"A4 or Letter (default: that of the plan)." enum:",A4,Letter" default:""`
	Base  string `help:"Address at which phones reach the shop, such as https://shop.lan:8443, for the codes beside the steps." placeholder:"URL"`
	Money bool   `help:"Put what it costs on the traveler."`
}

func (c jobPaperCmd) Run(ctx context.Context, s *streams) error {
	return s.withRecord(ctx, s.look, fettle.KeptJob, c.Job, func(w *workspace, job fettle.Record) error {
		how := shop.Papers{Size: c.Paper, Base: c.Base, Money: c.Money}
		print := w.Traveler
		if c.What == "first-article" {
			print = w.FirstArticlePaper
		}
		data, err := print(ctx, job.ID, how)
		out := c.Out
		if out == "" {
			out = c.What + ".pdf"
		}
		return s.leave(out, data, err)
	})
}

// offered leaves what goes to the customer in a folder.
func (s *streams) offered(ctx context.Context, w *workspace, offer fettle.Record, dir string) error {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return fettle.Errorf(fettle.Invalid, "%s cannot be made; choose another folder with --out", dir)
	}
	for _, f := range []struct{ role, name string }{{"page", "offers.html"}, {"paper", "offers.pdf"}} {
		data, err := w.OfferFile(ctx, offer.ID, f.role)
		if err := s.leave(filepath.Join(dir, f.name), data, err); err != nil {
			return err
		}
	}
	return nil
}

// promised says what became of a promise after the customer's word.
func (s *streams) promised(ctx context.Context, w *workspace, job string) {
	if s.quiet {
		return
	}
	p, _, err := w.Promised(ctx, job)
	if err != nil {
		fmt.Fprintf(s.err, "no day is promised yet; fettle job promise %s --keep does\n", short(job))
		return
	}
	fmt.Fprintf(s.err, "promised for %s; fettle job promise %s says why\n", p.Day, short(job))
}
