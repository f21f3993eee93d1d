package main

import (
	"context"
	"fmt"
	"runtime/debug"

	"fettle/internal/format/brep"
	"fettle/internal/output/words"
	"fettle/internal/work"
)

type shelfCmd struct {
	Shelf string `help:"Shelf as a JSON file; without it the built-in one." placeholder:"FILE"`
}

func (shelfCmd) Help() string {
	return "Lists what plans choose from. With --json it writes a file to edit and give back to fettle plan --shelf.\n\n" + exits
}

func (c shelfCmd) Run(_ context.Context, s *streams) error {
	shelf, err := work.OpenShelf(c.Shelf)
	if err != nil {
		return err
	}
	return s.answer(shelf, func() string { return words.Shelf(shelf, s.display) })
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
	version := "unknown"
	if info, ok := debug.ReadBuildInfo(); ok {
		version = info.Main.Version + " " + info.GoVersion
	}
	_, err := fmt.Fprintln(s.out, "fettle", version)
	return err
}
