package main

import (
	"context"
	"fmt"
	"io"
	"math"

	"fettle"
	"fettle/internal/output/words"
	"fettle/internal/work"
)

type planCmd struct {
	Part     string    `arg:"" help:"Model file: STL, 3MF, OBJ, PLY or OFF." placeholder:"PART"`
	Material string    `help:"Alloy on the shelf, such as \"naval brass\" or 304." placeholder:"NAME"`
	Finish   string    `help:"Finish: as machined, deburred, satin, matte, stonewash, bright or mirror." placeholder:"NAME"`
	Lot      int       `help:"Pieces in the lot (default 1)." placeholder:"N"`
	Brief    string    `help:"Brief as a JSON file; options given here win over it." placeholder:"FILE"`
	Shelf    string    `help:"Shelf as a JSON file (fettle --json shelf writes the built-in one)." placeholder:"FILE"`
	Mill     string    `help:"Mill on the shelf (default: the first that holds the part)." placeholder:"NAME"`
	Units    string    `help:"Unit of the model's numbers where the file does not say." placeholder:"UNIT"`
	Up       []float64 `help:"Direction the show face looks: --up 0,0,1." placeholder:"X,Y,Z"`
	Ra       float64   `help:"Largest Ra the drawing allows, µm; wins over the finish." placeholder:"UM"`
	Rz       float64   `help:"Largest Rz the drawing allows, µm; wins over the finish." placeholder:"UM"`
	Out      string    `help:"Folder for plan.json, traveler.pdf and pictures; without it only words are written." placeholder:"DIR"`
	Paper    string    `help:"Paper of the traveler: A4 or Letter." enum:"A4,Letter,a4,letter" default:"A4"`
}

func (planCmd) Help() string {
	return "Surveys the part, picks cutter and stepover, the ladder of grits and the charges of media that reach the finish for the least expected money, and says why. Every predicted number carries its interval and where it came from.\n\n" + exits
}

func (c planCmd) Run(ctx context.Context, s *streams) error {
	up, err := direction(c.Up)
	if err != nil {
		return err
	}
	plan, files, err := work.PlanFile(ctx, work.PlanRequest{
		Part: c.Part, BriefFile: c.Brief, ShelfFile: c.Shelf, Mill: c.Mill, Out: c.Out, Paper: c.Paper,
		Over: fettle.Brief{
			Material: c.Material, Finish: c.Finish, Lot: c.Lot, ModelUnits: c.Units, Up: up,
			RaMaxUM: c.Ra, RzMaxUM: c.Rz, Display: s.display,
		},
	}, s.progress())
	if err != nil {
		return err
	}
	if err := s.answer(plan, func() string { return words.Plan(*plan) }); err != nil {
		return err
	}
	s.written(files)
	return verdict(plan)
}

// verdict turns a plan that misses its finish into the answer "no".
func verdict(p *fettle.Plan) error {
	if p.Meets {
		return nil
	}
	return fettle.Errorf(fettle.No, "%s", p.Verdict)
}

// written names the files that were left, beside the words or, with --json,
// away from the document.
func (s *streams) written(files []string) {
	w := s.out
	if s.json {
		w = s.err
	}
	if s.quiet {
		w = io.Discard
	}
	for _, f := range files {
		fmt.Fprintln(w, "wrote", f)
	}
}

// direction reads three numbers as a vector of any length but zero.
func direction(v []float64) (d [3]float64, err error) {
	if len(v) == 0 {
		return d, nil
	}
	if len(v) != 3 {
		return d, fettle.Errorf(fettle.Invalid, "--up has %d numbers; give three, such as --up 0,0,1", len(v))
	}
	copy(d[:], v)
	n := math.Hypot(math.Hypot(d[0], d[1]), d[2])
	if n == 0 || math.IsNaN(n) || math.IsInf(n, 0) {
		return d, fettle.Errorf(fettle.Invalid, "--up %g,%g,%g has no direction; give three numbers that are not all zero, such as --up 0,0,1", d[0], d[1], d[2])
	}
	return d, nil
}
