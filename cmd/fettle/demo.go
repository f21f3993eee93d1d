package main

import (
	"context"
	"fmt"
	"path/filepath"

	"fettle/internal/output/words"
	"fettle/internal/work"
)

type demoCmd struct {
	Out string `help:"Folder to leave everything in." default:"fettle-demo" placeholder:"DIR"`
}

func (demoCmd) Help() string {
	return "Makes three sample parts of an invented shop in code (an escutcheon plate in naval brass, a pull in titanium, a knob in aluminium), plans each, and leaves models, plans and travelers in a folder. Prints the plate's plan in words.\n\n" + exits
}

func (c demoCmd) Run(ctx context.Context, s *streams) error {
	d, err := work.Demo(ctx, c.Out, tomorrow(), s.progress())
	if err != nil {
		return err
	}
	first := d.Plans[0]
	err = s.answer(first, func() string {
		return words.Plan(*first) + promiseSays(d.Promises[0], first.Brief) + "\n" + words.Others(d.Plans[1:])
	})
	if err != nil {
		return err
	}
	if !s.json && !s.quiet {
		if abs, err := filepath.Abs(c.Out); err == nil {
			fmt.Fprintf(s.out, "\nEverything is in %s:\n", abs)
		}
		for _, f := range d.Files {
			fmt.Fprintln(s.out, "  "+f)
		}
	}
	return nil
}
