package main

import (
	"context"

	"fettle/internal/output/words"
	"fettle/internal/work"
)

type surveyCmd struct {
	modelFlags
	Part string    `arg:"" help:"Model file: STEP, STL, 3MF, OBJ, PLY or OFF." placeholder:"PART"`
	Up   []float64 `help:"Direction the show face looks, as three numbers: --up 0,0,1." placeholder:"X,Y,Z"`
}

func (surveyCmd) Help() string {
	return "Reads the model, mends it and says what was mended, and tells what there is: size, volume, openings with their width and depth, inside corners, and the zones that will be treated alike.\n\n" + exits
}

func (c surveyCmd) Run(ctx context.Context, s *streams) error {
	up, err := direction("--up", c.Up)
	if err != nil {
		return err
	}
	part, err := work.SurveyFile(ctx, c.model(s, c.Part, up), s.progress())
	if err != nil {
		return err
	}
	return s.answer(part.Survey, func() string { return words.Survey(part.Survey, s.display) })
}
