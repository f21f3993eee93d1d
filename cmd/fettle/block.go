package main

import (
	"context"

	"fettle"
	"fettle/internal/output/words"
	"fettle/internal/work"
)

type blockCmd struct {
	modelFlags
	Part  string    `arg:"" help:"Model file: STEP, STL, 3MF, OBJ, PLY or OFF." placeholder:"PART"`
	Zone  string    `help:"Zone to sand, by its id in fettle survey (default: the largest that shows)." placeholder:"ID"`
	Patch string    `help:"One patch of the zone alone, such as show-2." placeholder:"ID"`
	Paper float64   `help:"How thick the paper is, mm, by a micrometer." placeholder:"MM"`
	Grit  string    `help:"Grit on the shelf: raised on the block, and its thickness where --paper is not given." placeholder:"NAME"`
	Job   string    `help:"Name raised on the block (default: the file's)." placeholder:"NAME"`
	Limit float64   `help:"How far the face may stand off while it is stroked, µm (default: a tenth of the paper)." placeholder:"UM"`
	Long  float64   `help:"Length of the face along the stroke, mm (default: chosen)." placeholder:"MM"`
	Wide  float64   `help:"Width of the face, mm (default: chosen)." placeholder:"MM"`
	Shelf string    `help:"Shelf as a JSON file." placeholder:"FILE"`
	Up    []float64 `help:"Direction the part's show face looks: --up 0,0,1." placeholder:"X,Y,Z"`
	Out   string    `help:"Solid to write, .stl or .3mf; its mirror image, the strip that holds the paper and pictures go beside it." placeholder:"FILE"`
}

func (blockCmd) Help() string {
	return "Makes formed sanding blocks for a zone: finds the patches of it that slide on themselves, the stroke of each and how far it goes, and a block whose face lies on the patch with the paper between. Says so where no stiff block can follow.\n\nExamples:\n\n  fettle block plate.stl --zone show --paper 0.28 --out plate-block.3mf\n\n  fettle block knob.stl --zone sides --grit P240 --out knob-block.stl\n\n" + exits
}

func (c blockCmd) Run(ctx context.Context, s *streams) error {
	up, err := direction("--up", c.Up)
	if err != nil {
		return err
	}
	things, err := s.things(ctx, c.Shelf)
	if err != nil {
		return err
	}
	made, files, err := work.BlockFile(ctx, work.BlockRequest{
		Part: c.model(s, c.Part, up), Zone: c.Zone, Patch: c.Patch, PaperMM: c.Paper, Grit: c.Grit, Job: c.Job,
		LimitUM: c.Limit, FaceMM: [2]float64{c.Long, c.Wide}, Things: things, Display: s.display, Out: c.Out,
	}, s.progress())
	if err != nil {
		return err
	}
	if err := s.answer(made, func() string { return words.Block(made.Blocks, s.display) }); err != nil {
		return err
	}
	s.written(files)
	if !made.Closed {
		return fettle.Errorf(fettle.No, "no stiff block can follow this zone; use a soft pad")
	}
	return nil
}
