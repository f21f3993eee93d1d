package main

import (
	"context"
	"io"
	"os"
	"path/filepath"

	"fettle"
	"fettle/internal/output/words"
	"fettle/internal/work"
)

type packCmd struct {
	Job      string `arg:"" placeholder:"JOB"`
	File     string `arg:"" help:"File to write, such as plate.zip." placeholder:"FILE"`
	Customer bool   `help:"With the customer and the brief's notes."`
	Money    bool   `help:"With prices and costs."`
}

func (packCmd) Help() string {
	return "One zip file with the model, the brief, the plan, the recipe with what the shop's log taught, pictures and solids. Its list of contents is described in docs/pack.schema.json. Customer and money stay out of it unless asked for; what stands in names of files, titles and the model itself goes along.\n\n" + exits
}

func (c packCmd) Run(ctx context.Context, s *streams) error {
	return s.withRecord(ctx, s.look, fettle.KeptJob, c.Job, func(w *workspace, job fettle.Record) error {
		if err := work.WriteFile(c.File, func(out io.Writer) error { return w.Pack(ctx, job.ID, c.Customer, c.Money, out) }); err != nil {
			return err
		}
		s.written([]string{c.File})
		return nil
	})
}

type unpackCmd struct {
	File string `arg:"" help:"Pack from a partner shop." placeholder:"FILE"`
}

func (unpackCmd) Help() string {
	return "Makes a job of the pack, lays its recipe over this shop's shelf, and says what does not match and what the change of barrel does to the hours. Exit status 1 if a step has nothing here that will do.\n\n" + exits
}

func (c unpackCmd) Run(ctx context.Context, s *streams) error {
	f, err := os.Open(c.File)
	if notThere(err) {
		return fettle.Errorf(fettle.NotFound, "%s is not there; check the path", c.File)
	}
	if err != nil {
		return fettle.Errorf(fettle.BadFile, "%s cannot be opened; check that it is a file you may read", c.File)
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil || !info.Mode().IsRegular() {
		return fettle.Errorf(fettle.BadFile, "%s is no file; name the zip that a partner sent", c.File)
	}
	w, err := s.open(ctx)
	if err != nil {
		return err
	}
	defer w.Close()
	u, err := w.Unpack(ctx, actor, f, info.Size())
	if err != nil {
		return err
	}
	if err := s.answer(u, func() string { return words.Unpacked(u.Job, u.Title, u.From, u.Mapping, u.NotOurs, s.display) }); err != nil {
		return err
	}
	if !u.Mapping.Ready {
		return fettle.Errorf(fettle.No, "%s was taken as a job, but not every step of its recipe can be done here", filepath.Base(c.File))
	}
	return nil
}
