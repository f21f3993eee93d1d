package finish

import (
	"math"

	"fettle"
	"fettle/internal/trade/price"
)

// Time by hand that no law gives: starting guesses.
var (
	deburrMinPerM = fettle.Guess(8, 4, 16, fettle.BasisGuess)      // of sharp outside edge
	deburrMin     = fettle.Guess(0.7, 0.3, 1.5, fettle.BasisGuess) // a piece, to pick up and look
	loadMin       = fettle.Guess(12, 6, 25, fettle.BasisGuess)     // load, unload and sieve a charge
	lookMin       = fettle.Guess(3, 1.5, 6, fettle.BasisGuess)     // one look into a running charge
	washMin       = fettle.Guess(8, 4, 15, fettle.BasisGuess)      // wash a load
	dryMin        = fettle.Guess(0.3, 0.1, 0.6, fettle.BasisGuess) // dry a piece
	inspectMin    = fettle.Guess(1.2, 0.6, 2.5, fettle.BasisGuess) // a piece
)

// passTime widens the minutes computed from passes by what the control adds.
var passTime = fettle.Guess(1, 0.8, 1.4, "computed from the passes; × 0.8–1.4 for the control (starting guess)")

// cutCost is the mill's share of a start, a piece.
func (p *planner) cutCost(s start) float64 {
	return s.cutMin / 60 * p.mill.RatePerH.Value
}

// steps is a candidate's route in numbers: names, times, state and cost, without the
// sentences that only the chosen one needs.
func (p *planner) steps(c *candidate) fettle.Route {
	lot := float64(p.in.Brief.Lot)
	zero := fettle.Exactly(0, fettle.BasisGeometry)
	var route fettle.Route
	add := func(s fettle.Step, rate fettle.Estimate, after *surface, before fettle.Estimate) {
		s.Zone = p.main.ID
		s.RaUM, s.EdgeRadiusUM = after.ra, after.edge
		s.Marks = append([]fettle.Mark{}, after.marks...)
		s.RemovedUM = fettle.Estimate{
			Value: after.removed.Value - before.Value, Low: after.removed.Low - before.Low, High: after.removed.High - before.High,
			Basis: after.removed.Basis,
		}
		s.Cost = price.StepCost(s, p.in.Shelf.Rates, rate)
		route = append(route, s)
	}

	now := p.cut(c.pass, c.raUM)
	add(fettle.Step{
		Kind: fettle.StepSurface, Pass: &c.pass, MinutesAttended: zero,
		MinutesAlone: passTime.Scale(c.cutMin * lot),
	}, p.mill.RatePerH, &now, now.removed)
	route = append(route, p.sides...)

	was := now.removed
	now.deburr()
	add(fettle.Step{
		Kind: fettle.StepDeburr, MinutesAlone: zero,
		MinutesAttended: deburrMinPerM.Scale(p.in.Survey.SharpEdgeMM / 1000).Plus(deburrMin).Scale(lot),
	}, zero, &now, was)

	for i, r := range c.rungs {
		was = now.removed
		left := len(c.rungs) - 1 - i
		now.rubbed(p.main.ID, p.mat.Class, r, strokeLay(left))
		add(fettle.Step{
			Kind: fettle.StepRub, MinutesAlone: zero, MinutesAttended: r.Minutes.Scale(lot),
			Rub: &fettle.Rub{
				Grit: r.Grit.Name, Block: p.block(), Wet: p.face().Wet, TakeOffUM: r.TakeUM, PaperCM2: r.Paper,
				StrokeDeg: float64(left%2) * 90,
			},
		}, zero, &now, was)
	}

	for i, b := range c.baths {
		was = now.removed
		now.tumbled(b, c.hours[i])
		ch, err := p.charge(b, c.hours[i])
		if err != nil { // a bath is only there because its charge could be made up
			panic("finish: " + err.Error())
		}
		loads := float64(ch.Loads)
		add(fettle.Step{
			Kind: fettle.StepTumble, Charge: &ch,
			MinutesAttended: loadMin.Plus(lookMin.Scale(looks)).Scale(loads),
			MinutesAlone:    ch.Hours.Scale(60 * loads),
		}, b.Vessel.RatePerH, &now, was)
		add(fettle.Step{
			Kind: fettle.StepWash, MinutesAlone: zero, MinutesAttended: washMin.Scale(loads).Plus(dryMin.Scale(lot)),
		}, zero, &now, now.removed)
	}
	add(fettle.Step{
		Kind: fettle.StepInspect, MinutesAlone: zero, MinutesAttended: inspectMin.Scale(lot),
	}, zero, &now, now.removed)
	return route
}

// looks are how often a charge is opened before it is done: at each quarter.
const looks = 3

// cost is what a candidate's steps cost for the lot, in major units: the medians
// of steps, without making the steps, because the search asks for it a hundred
// thousand times.
func (p *planner) cost(c *candidate) float64 {
	lot, person := float64(p.in.Brief.Lot), p.in.Shelf.Rates.PersonPerH.Value/60
	min := lot * (deburrMinPerM.Value*p.in.Survey.SharpEdgeMM/1000 + deburrMin.Value + inspectMin.Value)
	for _, r := range c.rungs {
		min += lot * r.Minutes.Value
	}
	sum := lot*p.cutCost(c.start) + p.sideCost
	for i, b := range c.baths {
		min += b.loads*(loadMin.Value+looks*lookMin.Value+washMin.Value) + lot*dryMin.Value
		sum += c.hours[i].Value * b.loads * b.Vessel.RatePerH.Value
	}
	return sum + min*person
}

// block is what the paper goes on.
func (p *planner) block() string {
	f := p.face()
	switch {
	case !f.Curved:
		return "stiff block"
	case p.main.ConcaveMM > 0 && p.main.ConcaveMM < 3:
		return "soft pad"
	}
	return "formed block"
}

// job is the lot as the price sees it.
func (p *planner) job(route fettle.Route) price.Job {
	s, r := p.in.Survey, p.in.Shelf.Rates
	stock := p.stock()
	chips := math.Max(0, stock.SizeMM[0]*stock.SizeMM[1]*stock.SizeMM[2]-s.VolumeMM3) / 1000
	hardness := p.mat.KC11 / 1350 // against mild steel, for which the rate is given
	return price.Job{
		Lot: p.in.Brief.Lot, Rates: r, Mill: p.mill, Material: p.mat, StockKg: stock.Kg, Setups: p.setups(),
		CutMin: r.RoughMinCM3.Scale(chips * hardness), Route: route, Wear: p.wear(route),
	}
}

// setups counts the sides the mill must come from: the show face and, as a
// rule, the back.
func (p *planner) setups() int { return 2 }

// stock is the blank to saw.
func (p *planner) stock() fettle.Stock {
	var st fettle.Stock
	v := 1.0
	for i, x := range p.in.Survey.SizeMM {
		st.SizeMM[i] = math.Ceil(x + 2*p.in.Shelf.Rates.StockOverMM)
		v *= st.SizeMM[i]
	}
	st.Kg = v / 1e6 * p.mat.Density
	return st
}

// wear is what the lot uses up: paper, media, compound.
func (p *planner) wear(route fettle.Route) []price.Wear {
	lot := float64(p.in.Brief.Lot)
	var ws []price.Wear
	sheets := fettle.Estimate{}
	media := fettle.Estimate{}
	compound := fettle.Estimate{}
	for _, s := range route {
		if s.Rub != nil {
			for _, g := range p.in.Shelf.Grits {
				if g.Name == s.Rub.Grit {
					sheets = sheets.Plus(s.Rub.PaperCM2.Scale(lot / (23 * 28)).Times(g.PriceSheet))
				}
			}
		}
		if c := s.Charge; c != nil {
			b := p.bathOf(*c)
			media = media.Plus(b.wearPctH().Scale(c.MediaKg * float64(c.Loads) / 100).Times(c.Hours).Times(b.Media.PricePerKg))
			compound = compound.Plus(c.CompoundML.Scale(float64(c.Loads) / 1000).Times(p.in.Shelf.Rates.CompoundPerL))
		}
	}
	for _, w := range []price.Wear{
		{Name: "sandpaper", Says: "sheets of 230 × 280 mm used up", Cost: sheets},
		{Name: "media worn away", Says: "weight lost in the charges", Cost: media},
		{Name: "compound", Says: "in the water of the charges", Cost: compound},
	} {
		if w.Cost.Value > 0 {
			ws = append(ws, w)
		}
	}
	return ws
}
