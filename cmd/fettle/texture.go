package main

import (
	"context"

	"fettle/internal/output/words"
	"fettle/internal/work"
)

type textureCmd struct {
	File    string  `arg:"" help:"Measurement or height map: X3P, SDF, or text with heights." placeholder:"FILE"`
	Cutoff  string  `help:"Cut-off of the Gaussian filter, mm, or none; without it the standard's, by the marks or the roughness." placeholder:"MM"`
	Form    string  `help:"Form to take off first: none, plane, cylinder, sphere, or poly1 to poly12." default:"plane" placeholder:"FORM"`
	Spacing float64 `help:"How far apart the heights of a text are, mm, where it does not say." placeholder:"MM"`
	XUnit   string  `name:"x-unit" help:"Unit of a text's places: mm, µm, nm, in." placeholder:"UNIT"`
	ZUnit   string  `name:"z-unit" help:"Unit of a text's heights: µm, nm, mm, µin." placeholder:"UNIT"`
	Profile string  `help:"Measure rows (x) or columns (y) of a map as profiles too." placeholder:"x|y"`
	Row     []int   `help:"Which of them, from 0; the middle one without it." placeholder:"N,…"`
	Write   string  `help:"Leave what is left after levelling and filtering in this file: .x3p, .sdf or .csv." placeholder:"FILE"`
}

func (textureCmd) Help() string {
	return "Takes the form off, filters with the Gaussian of ISO 16610, and gives the parameters of ISO 21920-2 for a profile (and the averages over sections that ISO 4287 had) or of ISO 25178-2 for a map, with the lay and the waves that stand out. Says which cut-off it took and why.\n\n" + exits
}

func (c textureCmd) Run(ctx context.Context, s *streams) error {
	t, files, err := work.TextureFile(ctx, work.TextureRequest{
		Path: c.File, Cutoff: c.Cutoff, Form: c.Form, SpacingMM: c.Spacing, XUnit: c.XUnit, ZUnit: c.ZUnit, Along: c.Profile, Rows: c.Row, Write: c.Write,
	}, s.progress())
	if err != nil {
		return err
	}
	if err := s.answer(t, func() string { return words.Texture(*t, s.display) }); err != nil {
		return err
	}
	s.written(files)
	return nil
}
