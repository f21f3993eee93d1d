package main

import (
	"context"

	"fettle/internal/output/words"
	"fettle/internal/work"
)

type learnCmd struct {
	Log   string `help:"Logbook: runs and what was read on them, as JSON (default: the workspace's)." placeholder:"FILE"`
	Media string `help:"Tell of this media only, also where just its kin are in the log." placeholder:"NAME"`
	Shelf string `help:"Your own shelf as a JSON file." placeholder:"FILE"`
}

func (learnCmd) Help() string {
	return "Joins every kind of reading (Ra, Rz, Sq, a comparison plate, gloss, grams, a micrometer, whether a mark was gone, pieces that jammed, minutes by hand) with the starting guesses of the shelf, and shows each number before and after. What is learned of media, barrel and metal is lent to their kin; wet and dry are kept apart. A run whose roughness no single exponential fits is refused and named. Ends with the readings that would teach most.\n\n" + exits
}

func (c learnCmd) Run(ctx context.Context, s *streams) error {
	things, err := s.things(ctx, c.Shelf)
	if err != nil {
		return err
	}
	runs, err := s.logged(ctx, c.Log)
	if err != nil {
		return err
	}
	l, err := work.Learn(ctx, work.LearnRequest{Things: things, Log: c.Log, Runs: runs, Media: c.Media})
	if err != nil {
		return err
	}
	return s.answer(l, func() string { return words.Learned(*l, s.display) })
}
