// Package finish works out what it takes to bring a part from the cutter to the
// finish of its brief: which ball and stepover, which ladder of grits, which
// charges of media, in an order that keeps the rules of the trade, for the
// least expected money.
//
// [Plan] is the way in. It carries the show face through routes in many equally
// likely worlds (room law), changes it by the published laws, and searches all that
// the shelf and the rules of the trade allow for the route with the least of what is
// asked for, divided by its chance of being right the first time. The search (room
// search) proves that there is none better, or says how much better one could be.
// The pass that wins is simulated on the part, and the search runs again with what
// it leaves.
package finish

import (
	"context"
	"fmt"
	"math"

	"fettle"
	"fettle/internal/shape/mesh"
	"fettle/internal/trade/cusp"
	"fettle/internal/trade/learn"
)

// Input is what a plan rests on.
type Input struct {
	Survey fettle.Survey
	Brief  fettle.Brief
	Shelf  *fettle.Shelf
	Mill   string // a machine's name; empty: the first that holds the part
	// Mesh is the part that the survey is of, its facets in the same order. With
	// it cutters are lowered onto the part and passes simulated; nil leaves both to
	// closed forms.
	Mesh *mesh.Mesh
	// Reach says where the shelf's media get on the part and where they jam; nil
	// leaves jams to bands and calipers and takes media to reach all faces.
	Reach *fettle.Reach
	// Book is what the shop's log says of its processes; nil plans with starting
	// guesses.
	Book *learn.Book
	// Trade is a shelf of what could be bought, for saying what is missing; nil says
	// only what is wrong.
	Trade *fettle.Shelf
}

// Plan answers a brief. A part that cannot reach its finish still gets the best
// plan there is, with Meets false and the verdict saying what is missing. It
// fails with Invalid or NotFound where the brief and the shelf do not fit
// together, and with BadFile where the model cannot be planned for.
func Plan(ctx context.Context, in Input) (*fettle.Plan, error) {
	pl, _, err := Plans(ctx, in)
	return pl, err
}

// Plans is [Plan] with the plans of the finishes beside it, which the plan's offers
// name: the next rougher and the next finer one that the shelf leads to.
func Plans(ctx context.Context, in Input) (plan *fettle.Plan, others []*fettle.Plan, err error) {
	p, err := newPlanner(ctx, in)
	if err != nil {
		return nil, nil, err
	}
	return p.plan(ctx)
}

// planner holds what stays the same over all candidates.
type planner struct {
	in     Input
	mat    fettle.Material
	look   fettle.Look
	need   need
	mill   fettle.Machine
	zones  []fettle.Zone
	main   fettle.Zone // the face that is judged
	area   float64     // mm² of all show zones
	curves []fettle.Curve
	// reached is how far the cutters get on the zones, where a mesh tells.
	reached []cusp.Reached
	baths   []*bath   // media that may be used, each in a vessel
	options []*option // passes over the judged face
	trials  *trials
	plugged []fettle.Plug
	wish    *wishes
	// blank are the rules as the brief has them, base with what they kept on the
	// shelf, rb as the search that runs is held to them.
	blank, base, rb *rulebook
	// learnedLot is how many times the first piece's minutes by hand the lot takes.
	learnedLot float64
	// night is how many hours go by on the clock for one that a person is at it.
	night float64
	// sides are the passes over zones that are not judged, with the money and the
	// minutes a piece.
	sides    []work
	sideCost float64
	sideMin  float64
	// refused says why media and vessels on the shelf are not used; jamming
	// counts the media that would stay in an opening.
	refused []string
	jamming int
	warn    []string
}

func newPlanner(ctx context.Context, in Input) (*planner, error) {
	if err := in.Brief.Validate(); err != nil {
		return nil, err
	}
	p := &planner{in: in, trials: &trials{done: map[string]*cusp.Piece{}}}
	p.learnedLot = p.learning().Lot(in.Brief.Lot)
	var err error
	if p.mat, err = in.Shelf.Material(in.Brief.Material); err != nil {
		return nil, err
	}
	if p.look, err = in.Shelf.Look(in.Brief.Finish); err != nil {
		return nil, err
	}
	if !in.Survey.Closed || in.Survey.VolumeMM3 <= 0 {
		return nil, fettle.Errorf(fettle.BadFile, "%s is not a closed solid, so it cannot be planned for; mend it where it was drawn and export it again", in.Survey.File)
	}
	if p.mill, err = millFor(in.Shelf, in.Mill, in.Survey.SizeMM); err != nil {
		return nil, err
	}
	if err := p.classify(); err != nil {
		return nil, err
	}
	p.need = needOf(p.look, in.Brief)
	if err := p.findReach(ctx); err != nil {
		return nil, err
	}
	if p.curves, err = cusp.Curves(ctx, p.cutZones(), in.Shelf.Cutters, p.mat, p.mill, p.curveOptions()); err != nil {
		return nil, err
	}
	if err := p.findSides(ctx); err != nil {
		return nil, err
	}
	p.night = 24 / in.Shelf.Rates.Day()
	if p.blank, err = newRulebook(in.Brief); err != nil {
		return nil, err
	}
	if p.wish, err = newWishes(in.Brief, p.known); err != nil {
		return nil, err
	}
	p.place()
	if err := p.findBaths(); err != nil {
		return nil, err
	}
	p.rb = p.base.clone()
	return p, p.findOptions()
}

// defaultToleranceUM is the chord tolerance of a finishing pass where the brief
// names none.
const defaultToleranceUM = 2

func (p *planner) curveOptions() cusp.Options {
	tol := p.in.Brief.ToleranceUM
	if tol == 0 {
		tol = defaultToleranceUM
	}
	return cusp.Options{ToleranceUM: tol, Reached: p.reached}
}

// millFor finds the machine by name, or the first that holds the part with room
// for a vise.
func millFor(shelf *fettle.Shelf, name string, size [3]float64) (fettle.Machine, error) {
	// Lying on any of its sides, with as much again above it for the tool.
	holds := func(m fettle.Machine) bool {
		ta, tb := math.Max(m.TravelMM[0], m.TravelMM[1]), math.Min(m.TravelMM[0], m.TravelMM[1])
		for k := range 3 {
			a, b := math.Max(size[(k+1)%3], size[(k+2)%3]), math.Min(size[(k+1)%3], size[(k+2)%3])
			if a <= ta && b <= tb && 2*size[k] <= m.TravelMM[2] {
				return true
			}
		}
		return false
	}
	mill, err := shelf.Mill(name)
	if err != nil || holds(mill) {
		return mill, err
	}
	if name == "" {
		for _, m := range shelf.Machines[1:] {
			if holds(m) {
				return m, nil
			}
		}
	}
	t := mill.TravelMM
	return mill, fettle.Errorf(fettle.No, "the part of %.0f × %.0f × %.0f mm does not fit %s with travels of %.0f × %.0f × %.0f mm; send it to a partner, or check the units with --units",
		size[0], size[1], size[2], mill.Title, t[0], t[1], t[2])
}

// classify gives zones the classes of the brief and picks the face that is
// judged: the largest show zone.
func (p *planner) classify() error {
	p.zones = append([]fettle.Zone(nil), p.in.Survey.Zones...)
	for _, set := range []struct {
		ids   []string
		class fettle.Class
	}{{p.in.Brief.Show, fettle.Show}, {p.in.Brief.Plain, fettle.Plain}, {p.in.Brief.Hidden, fettle.Hidden}} {
		for _, id := range set.ids {
			z := p.zone(id)
			if z == nil {
				return fettle.Errorf(fettle.Invalid, "the brief names a zone %q that the part does not have; there is: %v", id, zoneIDs(p.zones))
			}
			z.Class = set.class
		}
	}
	for _, class := range []fettle.Class{fettle.Show, fettle.Plain, fettle.Hidden} {
		var best *fettle.Zone
		for i := range p.zones {
			z := &p.zones[i]
			if z.Class == class && (best == nil || z.AreaMM2 > best.AreaMM2) {
				best = z
			}
		}
		if best == nil {
			continue
		}
		if class != fettle.Show {
			p.warn = append(p.warn, fmt.Sprintf("no zone is marked as show, so %s is planned for as the face that is judged", best.ID))
			p.area = best.AreaMM2
		}
		p.main = *best
		break
	}
	if p.main.ID == "" {
		return fettle.Errorf(fettle.BadFile, "no faces could be told apart on the model; check it where it was drawn")
	}
	for _, z := range p.zones {
		if z.Class == fettle.Show {
			p.area += z.AreaMM2
		}
	}
	return nil
}

func (p *planner) zone(id string) *fettle.Zone {
	for i := range p.zones {
		if p.zones[i].ID == id {
			return &p.zones[i]
		}
	}
	return nil
}

func zoneIDs(zs []fettle.Zone) []string {
	var ids []string
	for _, z := range zs {
		ids = append(ids, z.ID)
	}
	return ids
}

// cutZones are the zones that a cutter finishes, the judged one first.
func (p *planner) cutZones() []fettle.Zone {
	zs := []fettle.Zone{p.main}
	for _, z := range p.zones {
		if z.ID != p.main.ID && !isRecess(z) && z.AreaMM2 > 0 {
			zs = append(zs, z)
		}
	}
	return zs
}

// neighbours are the looks just simpler and just finer than the one asked for,
// by their aim.
func (p *planner) neighbours() []fettle.Look {
	var rougher, finer *fettle.Look
	for i := range p.in.Shelf.Looks {
		l := &p.in.Shelf.Looks[i]
		switch {
		case l.Name == p.look.Name:
		case l.RaUM.Value >= p.look.RaUM.Value:
			if rougher == nil || l.RaUM.Value < rougher.RaUM.Value {
				rougher = l
			}
		default:
			if finer == nil || l.RaUM.Value > finer.RaUM.Value {
				finer = l
			}
		}
	}
	var ls []fettle.Look
	for _, l := range []*fettle.Look{rougher, finer} {
		if l != nil {
			ls = append(ls, *l)
		}
	}
	return ls
}
