package main

import (
	"context"
	"fmt"
	"runtime/debug"

	"fettle"
	"fettle/internal/format/brep"
	"fettle/internal/output/words"
	"fettle/internal/work"
)

type shelfCmd struct {
	Shelf string `help:"Shelf as a JSON file (default: the workspace's where there is one, else the built-in one)." placeholder:"FILE"`
	Take  string `help:"Make the workspace's shelf as this JSON file has it; what is not in it goes, and every change is kept in the history." placeholder:"FILE"`
}

func (shelfCmd) Help() string {
	return "Lists what plans choose from. With --json it writes a file to edit and give back with fettle shelf --take, or to fettle plan --shelf.\n\n" + exits
}

func (c shelfCmd) Run(ctx context.Context, s *streams) error {
	if c.Take != "" {
		shelf, err := work.OpenShelf(c.Take)
		if err != nil {
			return err
		}
		return s.keepShelf(ctx, shelf)
	}
	things, err := s.things(ctx, c.Shelf)
	if err != nil {
		return err
	}
	shelf, err := things.Open()
	if err != nil {
		return err
	}
	return s.answer(shelf, func() string { return words.Shelf(shelf, s.display) })
}

// keepShelf makes the workspace's shelf as given.
func (s *streams) keepShelf(ctx context.Context, shelf *fettle.Shelf) error {
	w, err := s.open(ctx)
	if err != nil {
		return err
	}
	defer w.Close()
	n, err := w.TakeShelf(ctx, actor, shelf, nil)
	if err != nil {
		return err
	}
	if !s.quiet {
		fmt.Fprintf(s.err, "%d things on the shelf changed\n", n)
	}
	return nil
}

type verCmd struct {
	Notices bool `help:"Whose the kernel is that reads STEP files, what was changed in it, and its licences."`
}

func (c verCmd) Run(s *streams) error {
	if c.Notices {
		text := brep.Notices()
		if text == "" {
			text = "This build has no kernel for STEP in it.\n"
		}
		_, err := fmt.Fprint(s.out, text)
		return err
	}
	v := version()
	if info, ok := debug.ReadBuildInfo(); ok {
		v += " " + info.GoVersion
	}
	_, err := fmt.Fprintln(s.out, "fettle", v)
	return err
}
