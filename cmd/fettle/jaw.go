package main

import (
	"context"
	"time"

	"fettle"
	"fettle/internal/output/words"
	"fettle/internal/work"
)

type jawCmd struct {
	modelFlags
	Part      string    `arg:"" help:"Model file: STEP, STL, 3MF, OBJ, PLY or OFF." placeholder:"PART"`
	Pair      string    `help:"Pair of soft jaws on the shelf (default: the one that gives most support)." placeholder:"NAME"`
	Down      []float64 `help:"Direction of the model that looks to the vise's bed (default: the show face's, as for the second side)." placeholder:"X,Y,Z"`
	Turn      *float64  `help:"Turn of the part about the vertical, degrees (default: chosen)." placeholder:"DEG"`
	Shift     *float64  `help:"Middle of the part along the jaws, from their middle, mm (default: where there is most support)." placeholder:"MM"`
	Grip      float64   `help:"How deep the part sits below the jaws' top, mm (default: chosen)." placeholder:"MM"`
	Gap       float64   `help:"Distance between the jaws' faces, mm (default: chosen)." placeholder:"MM"`
	Clearance float64   `help:"Room all round, mm (default 0.03)." placeholder:"MM"`
	Cutter    string    `help:"Cutter for the pocket, on the shelf or as flat:6 (default: chosen)." placeholder:"NAME"`
	Name      string    `help:"Name of the pocket (default: the file's)." placeholder:"NAME"`
	Material  string    `help:"Alloy of the part on the shelf; with it, whether it will hold is reckoned." placeholder:"NAME"`
	With      string    `help:"Cutter of the cut to hold against, on the shelf or as flat:6 (default: roughing with the largest flat up to 6 mm)." placeholder:"NAME"`
	Depth     float64   `help:"Depth of that cut, mm." placeholder:"MM"`
	Wide      float64   `help:"Width of that cut, mm." placeholder:"MM"`
	Feed      float64   `help:"Feed per tooth of that cut, mm." placeholder:"MM"`
	WasCut    bool      `help:"The pocket has been cut: enter it in the workspace's shelf, or in the shelf file."`
	Reuse     string    `help:"Lay the part in a pocket that the shelf remembers, by its name." placeholder:"NAME"`
	Shelf     string    `help:"Shelf as a JSON file (fettle --json shelf writes the built-in one)." placeholder:"FILE"`
	Paper     string    `help:"Paper of the drawing: A4 or Letter." enum:"A4,Letter,a4,letter" default:"A4"`
	Out       string    `help:"File to write: .stl or .3mf for both halves, .dxf, .svg or .pdf; all of them are left under its name." placeholder:"FILE"`
}

func (jawCmd) Help() string {
	return "Designs a pocket in soft jaws for one side of a part: its levels, the corner reliefs that the cutter makes, a relief for the burr, and where on which pair, mounted which way, most is left to bear on. With --material it reckons whether the part will hold against a cut: advice, never permission. The shelf remembers the pocket once you say that it was cut.\n\nExamples:\n\n  fettle jaw plate.stl --material \"naval brass\" --out plate-jaws.dxf\n\n  fettle jaw plate.stl --pair soft-150 --grip 4.5 --shelf shelf.json --was-cut\n\n  fettle jaw plate.stl --shelf shelf.json --reuse plate\n\n" + exits
}

func (c jawCmd) Run(ctx context.Context, s *streams) error {
	down, err := direction("--down", c.Down)
	if err != nil {
		return err
	}
	things, err := s.things(ctx, c.Shelf)
	if err != nil {
		return err
	}
	var keep func(*fettle.Shelf) error
	if c.WasCut && things.Shelf != nil {
		keep = func(shelf *fettle.Shelf) error { return s.keepShelf(ctx, shelf) }
	}
	made, pair, files, err := work.JawFile(ctx, work.JawRequest{
		Part: c.model(s, c.Part, [3]float64{}), Pair: c.Pair, Down: down, TurnDeg: c.Turn, ShiftMM: c.Shift, GripMM: c.Grip, GapMM: c.Gap,
		ClearanceMM: c.Clearance, Cutter: c.Cutter, Name: c.Name, Material: c.Material, With: c.With,
		DepthMM: c.Depth, WideMM: c.Wide, FeedMM: c.Feed, Paper: c.Paper, Display: s.display,
		Things: things, WasCut: c.WasCut, Keep: keep, Reuse: c.Reuse, Today: time.Now(), Out: c.Out,
	}, s.progress())
	if err != nil {
		return err
	}
	if err := s.answer(made, func() string { return words.Jaw(made.Pocket, *pair, s.display) }); err != nil {
		return err
	}
	s.written(files)
	return held(made.Pocket)
}

// held turns a pocket that will not do into the answer "no".
func held(p fettle.JawPocket) error {
	for _, r := range p.Room {
		if !r.OK {
			return fettle.Errorf(fettle.No, "the pocket leaves %.3g mm of metal to %s where %.3g mm is wanted", r.MM, r.To, r.WantsMM)
		}
	}
	switch {
	case !p.LoadsClear:
		return fettle.Errorf(fettle.No, "%s", p.Loads)
	case p.Holding != nil && !p.Holding.OK:
		return fettle.Errorf(fettle.No, "%s", p.Holding.Says)
	}
	return nil
}
