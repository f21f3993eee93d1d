package main

import (
	"context"

	"fettle"
	"fettle/internal/output/words"
	"fettle/internal/trade/cusp"
	"fettle/internal/work"
)

type cuspCmd struct {
	Ball      float64   `help:"Diameter of the ball, mm; without it every ball on the shelf is worked out." placeholder:"MM"`
	Step      float64   `help:"Stepover, mm, as the program has it." placeholder:"MM"`
	Level     float64   `help:"In place of --step: step in depth of passes at constant height, mm." placeholder:"MM"`
	Target    float64   `help:"In place of --step: the cusp height wanted, µm; answers with the stepover." placeholder:"UM"`
	End       float64   `help:"In place of --ball: diameter of a flat or bull-nosed end that leans, mm." placeholder:"MM"`
	Corner    float64   `help:"Corner radius of that end, mm; 0 for a flat one." placeholder:"MM"`
	Lean      float64   `help:"Its lean in the direction of feed, degrees." placeholder:"DEG"`
	Depth     float64   `help:"Depth of cut, mm: adds the effective diameter of the ball." placeholder:"MM"`
	Radius    float64   `help:"Radius of the surface across the passes, mm; flat without it." placeholder:"MM"`
	Side      string    `help:"Which way it bends: convex or concave." placeholder:"SIDE"`
	Slope     float64   `help:"Slope of the surface across the passes, degrees." placeholder:"DEG"`
	Tooth     float64   `name:"feed-per-tooth" help:"Feed per tooth, mm: adds feed marks." placeholder:"MM"`
	Tolerance float64   `help:"Chord tolerance of the path, µm: adds facets, with --radius." placeholder:"UM"`
	Material  string    `help:"Alloy, for the minutes of every ball." default:"naval brass" placeholder:"NAME"`
	Size      []float64 `help:"Face to sweep, mm, for the minutes of every ball." default:"60,40" placeholder:"L,W"`
	Mill      string    `help:"Mill on the shelf, for the minutes." placeholder:"NAME"`
	Shelf     string    `help:"Shelf as a JSON file." placeholder:"FILE"`
}

func (cuspCmd) Help() string {
	return "Closed forms: cusp height, Ra and Rq of the cusps, feed marks, and the facets that a chord tolerance cuts a curve into. What crossing the passes does is shown beside what the same minutes do in one direction.\n\n" + exits
}

func (c cuspCmd) Run(ctx context.Context, s *streams) error {
	in := cusp.Input{
		BallMM: c.Ball, StepMM: c.Step, RadiusMM: c.Radius, Side: cusp.Side(c.Side), SlopeDeg: c.Slope, FeedMM: c.Tooth, ToleranceU: c.Tolerance,
		LevelMM: c.Level, TargetUM: c.Target, EndMM: c.End, CornerMM: c.Corner, LeanDeg: c.Lean, DepthMM: c.Depth,
	}
	if c.Ball != 0 || c.End != 0 {
		res, err := work.Cusp(in)
		if err != nil {
			return err
		}
		return s.answer(res, func() string { return words.Cusp(res, s.display) })
	}
	if len(c.Size) != 2 {
		return fettle.Errorf(fettle.Invalid, "--size has %d numbers; give two, such as --size 60,40", len(c.Size))
	}
	things, err := s.things(ctx, c.Shelf)
	if err != nil {
		return err
	}
	rows, err := work.CuspShelf(ctx, work.CuspRequest{
		Input: in, Material: c.Material, SizeMM: [2]float64{c.Size[0], c.Size[1]}, Mill: c.Mill, Things: things,
	})
	if err != nil {
		return err
	}
	return s.answer(rows, func() string { return words.CuspRows(rows, s.display) })
}
