package work

import (
	"context"
	"fmt"
	"io"
	"path/filepath"

	"fettle"
	"fettle/internal/output/closeup"
	"fettle/internal/trade/cusp"
)

// writeCloseups leaves what the chosen pass makes of the judged face in
// pictures: the surface under a low lamp, a trace across the passes, and the
// choice beside the same passes crossed and half as far apart. A plan whose face
// shows no cusps, or has no room for a piece, has none of them.
func writeCloseups(ctx context.Context, dir string, part *Part, plan *fettle.Plan, shelf *fettle.Shelf) ([]string, error) {
	zone, pass := shownPass(plan)
	if pass == nil {
		return nil, nil
	}
	cutter, err := shelf.Cutter(pass.Cutter)
	if err != nil {
		return nil, err
	}
	look := func(p fettle.Pass) (*cusp.Piece, error) {
		return cusp.Simulate(ctx, part.Mesh, *zone, cutter, p, cusp.SimulateOptions{})
	}
	piece, err := look(*pass)
	if fettle.CodeOf(err) == fettle.NotFound {
		return nil, nil // the plan says so
	}
	if err != nil {
		return nil, err
	}
	sys := plan.Brief.Display
	along := 0.0
	opt := closeup.Options{LayDeg: &along, Tint: closeup.TintOf(plan.Material.Class), Display: sys, Whole: true}
	opt.Caption = fmt.Sprintf("%s, passes %s apart: cusps %s, Ra %s", cutter.Title, sys.Small(pass.StepoverMM), sys.Height(piece.CuspUM), sys.Height(piece.RaUM))
	light, err := closeup.Light(piece.Rough, opt)
	if err != nil {
		return nil, err
	}
	z, dx, err := closeup.Across(piece.Rough, along, 0)
	if err != nil {
		return nil, err
	}
	trace, err := closeup.Profile(z, dx, closeup.ProfileOptions{
		Display: sys, RaUM: piece.RaUM, RzUM: piece.RzUM,
		Caption: fmt.Sprintf("Across the passes, %s apart", sys.Small(pass.StepoverMM)),
	})
	if err != nil {
		return nil, err
	}
	panels := []closeup.Panel{{Map: piece.Rough, Caption: fmt.Sprintf("one way, %s: Sq %s", sys.Small(pass.StepoverMM), sys.Height(piece.SqUM))}}
	for _, other := range []struct {
		step    float64
		crossed bool
		says    string
	}{{pass.StepoverMM, true, "crossed, %s, twice the minutes: Sq %s"}, {pass.StepoverMM / 2, false, "one way, %s, twice the minutes: Sq %s"}} {
		p := *pass
		p.StepoverMM, p.Crossed = other.step, other.crossed
		o, err := look(p)
		if err != nil {
			return nil, err
		}
		panels = append(panels, closeup.Panel{Map: o.Rough, Caption: fmt.Sprintf(other.says, sys.Small(other.step), sys.Height(o.SqUM))})
	}
	opt.Caption, opt.Whole = "", false
	strip, _, err := closeup.Strip(panels, opt, false)
	if err != nil {
		return nil, err
	}
	var files []string
	for _, f := range []struct {
		name  string
		write func(io.Writer) error
	}{
		{"after-cutting.png", light.PNG},
		{"after-cutting-profile.svg", func(w io.Writer) error { _, err := w.Write(trace.SVG()); return err }},
		{"cutting-choices.png", strip.PNG},
	} {
		path := filepath.Join(dir, "pictures", f.name)
		if err := WriteFile(path, f.write); err != nil {
			return nil, err
		}
		files = append(files, path)
	}
	return files, nil
}

// shownPass is the first pass of the route that leaves cusps, and its zone.
func shownPass(plan *fettle.Plan) (*fettle.Zone, *fettle.Pass) {
	for i := range plan.Route {
		s := &plan.Route[i]
		if s.Pass == nil || s.Pass.CuspUM == 0 || s.Pass.StepoverMM == 0 {
			continue
		}
		for j := range plan.Zones {
			if plan.Zones[j].ID == s.Zone {
				return &plan.Zones[j], s.Pass
			}
		}
	}
	return nil, nil
}
