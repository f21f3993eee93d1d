package main

import (
	"context"

	"fettle"
	"fettle/internal/output/words"
	"fettle/internal/work"
)

type envelopeCmd struct {
	Take    string `help:"State it as this JSON file has it." placeholder:"FILE" xor:"what"`
	Propose bool   `help:"Show what the shelf would allow, to be edited and given back." xor:"what"`
}

func (envelopeCmd) Help() string {
	return "A part beyond it is not ours: fettle job ours says why, with the numbers, and fettle pack makes the file for a partner shop. Until it is stated everything is taken.\n\nExamples:\n\n  fettle --json envelope --propose > envelope.json\n\n  fettle envelope --take envelope.json\n\n" + exits
}

func (c envelopeCmd) Run(ctx context.Context, s *streams) error {
	if c.Take != "" {
		e, err := work.OpenEnvelope(c.Take)
		if err != nil {
			return err
		}
		w, err := s.open(ctx)
		if err != nil {
			return err
		}
		defer w.Close()
		r, err := w.SetEnvelope(ctx, actor, e)
		if err != nil {
			return err
		}
		return s.record(r)
	}
	w, err := s.look(ctx)
	if err != nil {
		return err
	}
	defer w.Close()
	var e fettle.Envelope
	if c.Propose {
		e, err = w.ProposeEnvelope(ctx)
	} else {
		e, err = w.Envelope(ctx)
	}
	if err != nil {
		return err
	}
	return s.answer(e, func() string { return words.Envelope(e, s.display) })
}
