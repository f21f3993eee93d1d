package main

import (
	"context"

	"fettle/internal/output/words"
	"fettle/internal/work"
)

type reachCmd struct {
	modelFlags
	Part  string    `arg:"" help:"Model file: STEP, STL, 3MF, OBJ, PLY or OFF." placeholder:"PART"`
	Media []string  `help:"Media on the shelf, by name; without it all of them." placeholder:"NAME"`
	Shelf string    `help:"Shelf as a JSON file." placeholder:"FILE"`
	Up    []float64 `help:"Direction the part's show face looks: --up 0,0,1." placeholder:"X,Y,Z"`
	Cell  float64   `help:"Side of the grid's cells, mm (default: from the smallest opening, the media and the part)." placeholder:"MM"`
	Out   string    `help:"Leave pictures of what is reached here, and the part with the values at its corners as PLY." placeholder:"DIR"`
}

func (reachCmd) Help() string {
	return "Says of every kind of media where it touches the part and what stays as it was cut; which opening may hold a piece, new, as it is now and worn, and why; how fast each face loses material and each edge its sharpness. Advice: count the openings clear after every load.\n\n" + exits
}

func (c reachCmd) Run(ctx context.Context, s *streams) error {
	up, err := direction("--up", c.Up)
	if err != nil {
		return err
	}
	things, err := s.things(ctx, c.Shelf)
	if err != nil {
		return err
	}
	r, files, err := work.ReachFile(ctx, work.ReachRequest{
		Part: c.model(s, c.Part, up), Media: c.Media, Things: things, CellMM: c.Cell, Out: c.Out,
	}, s.progress())
	if err != nil {
		return err
	}
	if err := s.answer(r, func() string { return words.Reach(*r, s.display) }); err != nil {
		return err
	}
	s.written(files)
	return nil
}
