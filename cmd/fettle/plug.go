package main

import (
	"context"

	"fettle/internal/output/words"
	"fettle/internal/work"
)

type plugCmd struct {
	modelFlags
	Part    string    `arg:"" help:"Model file: STEP, STL, 3MF, OBJ, PLY or OFF." placeholder:"PART"`
	Opening string    `help:"Opening to close, by its id in fettle reach, such as hole-1." required:"" placeholder:"ID"`
	Soft    string    `help:"Soft material on the shelf (default: the first)." placeholder:"NAME"`
	Shelf   string    `help:"Shelf as a JSON file." placeholder:"FILE"`
	Up      []float64 `help:"Direction the part's show face looks: --up 0,0,1." placeholder:"X,Y,Z"`
	Out     string    `help:"Solid to write, .stl or .3mf; a picture goes beside it." placeholder:"FILE"`
}

func (plugCmd) Help() string {
	return "Makes a soft plug for an opening in which media would stay: stepped and slightly conical, with a head that seals the mouth and a tab to pull it by.\n\nExample:\n\n  fettle plug plate.stl --opening slot-1 --soft flex-95a --out plug.3mf\n\n" + exits
}

func (c plugCmd) Run(ctx context.Context, s *streams) error {
	up, err := direction("--up", c.Up)
	if err != nil {
		return err
	}
	things, err := s.things(ctx, c.Shelf)
	if err != nil {
		return err
	}
	made, files, err := work.PlugFile(ctx, work.PlugRequest{
		Part: c.model(s, c.Part, up), Opening: c.Opening, Soft: c.Soft, Things: things, Out: c.Out,
	}, s.progress())
	if err != nil {
		return err
	}
	if err := s.answer(made, func() string { return words.Plug(made.Plug, s.display) }); err != nil {
		return err
	}
	s.written(files)
	return nil
}
