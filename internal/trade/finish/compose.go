package finish

import (
	"context"
	"fmt"
	"maps"
	"strings"

	"fettle"
	"fettle/internal/trade/caution"
	"fettle/internal/trade/price"
)

// compose turns the chosen route into a plan with its sentences.
func (p *planner) compose(ctx context.Context, c *told) (*fettle.Plan, error) {
	b := p.in.Brief
	ws := p.work(c.t, c.stages)
	route, err := p.forLot(ws, b.Lot)
	if err != nil {
		return nil, err
	}
	tellLooks(ws, route)
	pl := &fettle.Plan{
		Title: b.Title, Shop: b.Shop, Brief: b, Material: p.mat, Look: p.look, Survey: p.in.Survey,
		Zones: p.zones, Mill: p.mill, Curves: p.curves, Route: route, Solids: []fettle.Solid{},
		Charges: []fettle.Charge{}, Meets: c.says.right(), Plugs: []fettle.Plug{}, Masks: []fettle.Mask{}, Edges: []fettle.EdgeWear{},
		Rules: c.rules, Search: c.found, Chance: c.says.chance, Missing: []string{},
	}
	if r := p.in.Reach; r != nil {
		pl.Plugs, pl.Masks, pl.Edges = r.Plugs, r.Masks, r.Edges
	}
	pl.Material.Sold = nil // the shelf's; what comes of it is the stock's bar
	if pl.Title == "" {
		pl.Title = strings.TrimSuffix(p.in.Survey.File, extension(p.in.Survey.File))
	}
	for i := range pl.Route {
		p.describe(&pl.Route[i], c)
		p.sayMarks(&pl.Route[i], c)
		if ch := pl.Route[i].Charge; ch != nil {
			ch.Step = i
			pl.Charges = append(pl.Charges, *ch)
		}
	}
	pl.AllowanceUM = p.allowance(c)
	pl.Cautions = caution.Of(pl.Route, p.mat, p.in.Shelf)
	for i := range ws { // their names, for what the price says of them
		ws[i].step.Name = pl.Route[i].Name
	}
	pl.Price, err = price.Of(b.Lot, func(lot int) (price.Job, error) { return p.job(ws, lot) })
	if err != nil {
		return nil, err
	}
	job, err := p.job(ws, b.Lot)
	if err != nil {
		return nil, err
	}
	pl.Stock = job.Stock()
	pl.ReadyH = p.ready(c, pl.Route)
	pl.Accounts = p.accounts(pl.Route, c.t, c.stages)
	if !pl.Meets {
		if pl.Missing, err = p.missing(ctx, c.route); err != nil {
			return nil, err
		}
	}
	pl.Verdict = p.verdict(c, pl.Missing)
	pl.Warnings = p.warnings(c)
	pl.LeftOut = append([]string{}, p.refused...)
	return pl, nil
}

// stage finds the stage of a step of the judged face by its key; nil for what is
// none.
func (c *told) stage(key string) *stage {
	for i := range c.stages {
		if c.stages[i].key == key {
			return &c.stages[i]
		}
	}
	return nil
}

// ready is when the lot could be ready, by the clock, with the interval of its hours.
func (p *planner) ready(c *told, route fettle.Route) fettle.Estimate {
	sum := fettle.Exactly(0, "steps one after the other, "+fmt.Sprintf("%.0f h a day at it; vessels as free as the shelf says", p.in.Shelf.Rates.Day()))
	for _, s := range route {
		hand := s.MinutesAttended.Scale(p.night / 60)
		alone := s.MinutesAlone.Scale(1.0 / 60)
		if s.Charge == nil {
			alone = alone.Scale(p.night) // a mill is not left to itself at night
		} else if v, err := p.in.Shelf.Vessel(s.Charge.Vessel); err == nil && sum.Value < v.FreeInH {
			wait := v.FreeInH - sum.Value
			sum.Value, sum.Low, sum.High = sum.Value+wait, sum.Low+wait, sum.High+wait
		}
		sum = sum.Plus(hand).Plus(alone)
	}
	return sum
}

func extension(name string) string {
	if i := strings.LastIndexByte(name, '.'); i > 0 {
		return name[i:]
	}
	return ""
}

// allowance is the material to leave on each zone before finishing starts, by
// what the route takes from it.
func (p *planner) allowance(c *told) map[string]fettle.Estimate {
	out := map[string]fettle.Estimate{}
	for _, z := range p.zones {
		if z.ID == p.main.ID || z.Class == fettle.Show {
			out[z.ID] = c.t.w.Sum(c.end().Removed, fettle.BasisGuess)
			continue
		}
		out[z.ID] = p.removedFrom(c, z.ID)
		if isRecess(z) {
			maps.Copy(out, p.wallsOf(c))
		}
	}
	return out
}

// offer is a plan as one of the finishes side by side.
func (p *planner) offer(pl *fettle.Plan, asked bool) fettle.Offer {
	return fettle.Offer{
		Look: p.look.Name, Title: p.look.Title, Asked: asked, Each: pl.Price.Each, AttendedH: pl.Price.AttendedH, AloneH: pl.Price.AloneH,
		RaUM: pl.Route[len(pl.Route)-1].RaUM, Meets: pl.Meets, Says: pl.Verdict,
		Chance: pl.Chance, ReadyH: pl.ReadyH, Steps: keys(pl.Route), Ladder: rungs(pl.Price.Ladder),
	}
}

// rungs are a ladder as it is offered.
func rungs(ladder []fettle.LotPrice) []fettle.OfferRung {
	var out []fettle.OfferRung
	for _, l := range ladder {
		out = append(out, fettle.OfferRung{Lot: l.Lot, Each: l.Each, Price: l.Price})
	}
	return out
}

// keys are those of the steps of a route over the judged face.
func keys(route fettle.Route) []string {
	out := []string{}
	for _, s := range route {
		if s.Kind != fettle.StepWash && s.Kind != fettle.StepInspect && s.Key != "" {
			out = append(out, s.Key)
		}
	}
	return out
}

func list(words []string) string { return strings.Join(words, ", ") }

func lowerFirst(s string) string {
	if s == "" || len(s) > 1 && s[1] >= 'A' && s[1] <= 'Z' {
		return s
	}
	return strings.ToLower(s[:1]) + s[1:]
}
