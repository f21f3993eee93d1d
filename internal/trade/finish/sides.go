package finish

import (
	"context"
	"fmt"
	"math"
	"strings"

	"fettle"
	"fettle/internal/trade/cusp"
	"fettle/internal/trade/law"
)

// plainCuspUM is what is good enough for a face that is seen but not looked
// at.
const plainCuspUM = 8

// findSides picks the pass for each zone that is cut but not judged: the sides
// and the back.
func (p *planner) findSides(ctx context.Context) error {
	for _, z := range p.zones {
		if z.ID == p.main.ID || isRecess(z) || z.AreaMM2 <= 0 {
			continue
		}
		choice, err := cusp.Choose(z, p.in.Shelf.Cutters, p.mat, p.mill, plainCuspUM, p.curveOptions())
		if err != nil {
			return err
		}
		sys := p.in.Brief.Display
		zone := strings.ToLower(z.Name)
		ra := law.MachineShare().Scale(math.Max(law.BareRaUM, choice.RaUM)).Because(law.ByMachine)
		pass := choice.Pass
		if z.Class == fettle.Show { // the trial is for faces that are looked at
			if pass.Simulated, err = p.simulated(ctx, z, pass); err != nil {
				return err
			}
		}
		way := sideWay(z, pass, sys)
		if pass.CuspUM == 0 && z.SlopeDeg.P50 > leaning {
			pass.StepoverMM = 0 // one pass, the height of the wall
		}
		s := fettle.Step{
			Name: fmt.Sprintf("Last pass over the %s with %s", zone, lowerFirst(choice.Cutter.Title)), Kind: fettle.StepSurface, Zone: z.ID, Key: passKey(choice.Cutter.Name),
			RaUM: ra, Marks: []fettle.Mark{}, RemovedUM: fettle.Exactly(0, fettle.BasisGeometry), EdgeRadiusUM: law.AsCut(), Pass: &pass,
			Do: fmt.Sprintf("Finish the %s %s; %.0f rpm, %s, %s a piece",
				zone, way, pass.SpindleRPM, sys.Feed(pass.FeedMMMin), fettle.Minutes(choice.Minutes)),
			Look: fmt.Sprintf("an even face, about Ra %s, without chatter", sys.Height(ra.Value)),
			Why:  append(choice.Why, p.whySimulated(pass, choice.Minutes)...),
		}
		p.sides = append(p.sides, work{step: s, alone: passTime.Scale(choice.Minutes)})
		p.sideCost += choice.Minutes * p.millMinute(choice.Pass.Cutter)
		p.sideMin += choice.Minutes
		if !choice.Fits {
			p.warn = append(p.warn, fmt.Sprintf("%s: %s", z.Name, choice.Why[0]))
		}
	}
	return nil
}

// leaning is the slope in degrees past which a face without cusps was cut with
// the side of the cutter and not with its end.
const leaning = 45

// sideWay says how a face that is not judged is cut.
func sideWay(z fettle.Zone, pass fettle.Pass, sys fettle.System) string {
	switch {
	case pass.CuspUM > 0:
		return "in passes " + sys.Small(pass.StepoverMM) + " apart"
	case z.SlopeDeg.P50 > leaning:
		return "with the side of the cutter, one way round"
	}
	return "with the end of the cutter, passes " + sys.Length(pass.StepoverMM) + " apart"
}

// isRecess tells the walls and floors of openings from faces that a pass is
// planned for.
func isRecess(z fettle.Zone) bool { return z.ID == recess }
