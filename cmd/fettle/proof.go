package main

import (
	"context"
	"fmt"

	"fettle"
	"fettle/internal/output/words"
	"fettle/internal/work"
)

type proofCmd struct {
	modelFlags
	Program  string    `arg:"" help:"NC program in the word address format of ISO 6983." placeholder:"PROGRAM"`
	Part     string    `help:"Model file of the part; without it all but the surface is worked out." placeholder:"PART"`
	Setup    string    `help:"Set-up as a JSON file: offset, zero, stock, jaws, tools." placeholder:"FILE"`
	Tool     []string  `help:"What is behind a tool number: T1=ball:6, T2=flat:10, T3=bull:10:1 (mm), or a cutter on the shelf. Give one for each tool." sep:"none" placeholder:"T1=ball:6"`
	Cell     float64   `help:"Side of the surface's cells, µm (default 10, or as fine as the face allows)." placeholder:"UM"`
	Mill     string    `help:"Mill on the shelf; wins over the set-up." placeholder:"NAME"`
	Material string    `help:"Alloy on the shelf; wins over the set-up." placeholder:"NAME"`
	Shelf    string    `help:"Shelf as a JSON file." placeholder:"FILE"`
	Up       []float64 `help:"Direction the part's show face looks: --up 0,0,1." placeholder:"X,Y,Z"`
	Skip     bool      `help:"The control's block skip switch is on: leave out blocks that begin with a slash."`
	Map      string    `help:"Leave the surface in this file: .x3p, .sdf or .csv as heights, .png as a picture under a low lamp." placeholder:"FILE"`
}

func (proofCmd) Help() string {
	return "Follows the program as a control would and says what does not agree with the set-up, how it meets the blank, how long it takes, and what it leaves on the part: cusps, facets, gouges, stock. Every finding names its line. A proof is advice: prove the program out on the machine too.\n\n" + exits
}

func (c proofCmd) Run(ctx context.Context, s *streams) error {
	up, err := direction("--up", c.Up)
	if err != nil {
		return err
	}
	things, err := s.things(ctx, c.Shelf)
	if err != nil {
		return err
	}
	p, files, err := work.ProveFile(ctx, work.ProofRequest{
		Program: c.Program, Part: c.model(s, c.Part, up), SetupFile: c.Setup, Tools: c.Tool, Mill: c.Mill, Material: c.Material,
		Things: things, CellUM: c.Cell, Skip: c.Skip, Map: c.Map, Display: s.display,
	}, s.progress())
	if p != nil { // where only the map could not be written there is a proof all the same
		if err := s.answer(p, func() string { return words.Proof(*p, s.display) }); err != nil {
			return err
		}
	}
	if err != nil {
		return err
	}
	s.written(files)
	return agrees(p)
}

// agrees turns a program that is wrong into the answer "no".
func agrees(p *fettle.Proof) error {
	n, worst := 0, ""
	for _, f := range p.Findings {
		if f.Severity != fettle.Wrong {
			continue
		}
		if n++; n == 1 {
			worst = f.Says
		}
	}
	switch n {
	case 0:
		return nil
	case 1:
		return fettle.Errorf(fettle.No, "%s: %s", p.File, worst)
	}
	return fettle.Errorf(fettle.No, "%s: %s; and %s", p.File, worst, fmt.Sprintf("%d more findings", n-1))
}
