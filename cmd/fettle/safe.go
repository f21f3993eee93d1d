package main

import (
	"context"

	"fettle"
	"fettle/internal/door/store"
	"fettle/internal/output/words"
)

type backupCmd struct {
	File string `arg:"" help:"File to write, such as shop-2026-03-31.zip; none of that name may be there." placeholder:"FILE"`
}

func (backupCmd) Help() string {
	return "Writes all that the shop keeps as it is at one moment, also while fettle serve runs, and reads it back before it says that it is done. Passcodes stay out of it.\n\n" + exits
}

func (c backupCmd) Run(ctx context.Context, s *streams) error {
	w, err := s.look(ctx)
	if err != nil {
		return err
	}
	defer w.Close()
	r, err := w.store.Backup(ctx, c.File, s.progress())
	if err != nil {
		return err
	}
	return s.answer(r, func() string { return words.Backup(r) })
}

type restoreCmd struct {
	File string `arg:"" help:"Backup to take." placeholder:"FILE"`
}

func (restoreCmd) Help() string {
	return "Verifies the backup, loads it beside what is there, and changes over at the end. What was there is kept and named. A backup may go into another kind of database than it came from.\n\n" + exits
}

func (c restoreCmd) Run(ctx context.Context, s *streams) error {
	dir, _, err := s.place.folder()
	if err != nil {
		return err
	}
	r, err := store.Restore(ctx, store.Options{Dir: dir, URL: s.place.Database, Log: s.log}, c.File, s.progress())
	if err != nil {
		return err
	}
	return s.answer(r, func() string { return words.Restored(r) })
}

type checkCmd struct{}

func (checkCmd) Help() string {
	return "Reads every stored file and every row again: sizes and hashes, links, revisions, the database itself. Exit status 1 if anything is not as it was stored.\n\n" + exits
}

func (c checkCmd) Run(ctx context.Context, s *streams) error {
	w, err := s.look(ctx)
	if err != nil {
		return err
	}
	defer w.Close()
	r, err := w.store.Check(ctx, s.progress())
	if err != nil {
		return err
	}
	if err := s.answer(r, func() string { return words.Checked(r) }); err != nil {
		return err
	}
	if !r.Sound {
		return fettle.Errorf(fettle.No, "the workspace is not sound; keep it as it is and restore the last backup beside it")
	}
	return nil
}
