// Package price turns the minutes of a route into money for a lot.
//
// Attended and unattended time are kept apart: a person's minute and a barrel's
// night have different rates and different limits. Every line says how it was
// worked out, is rounded once to the cent, and the total is the sum of the
// lines as printed. The intervals of the route are carried through bound to
// bound, because the guesses behind the steps of one route tend to be wrong
// together.
package price

import (
	"fmt"
	"strings"

	"fettle"
)

// Job is what a lot consists of.
type Job struct {
	Lot      int
	Rates    fettle.Rates
	Mill     fettle.Machine
	Material fettle.Material
	StockKg  float64 // a piece
	Setups   int     // of the mill
	// CutMin is the mill's time a piece before finishing passes.
	CutMin fettle.Estimate
	Route  fettle.Route
	Wear   []Wear // media, compound, paper, cutters
}

// Wear is something the lot uses up.
type Wear struct {
	Name string
	Says string
	Cost fettle.Estimate // in major units, for the lot
}

// StepCost is what a step of the route costs for the lot: a person's time at
// it, and the machine's or vessel's on its own. aloneRate is that of the mill
// or of the vessel, per hour.
func StepCost(s fettle.Step, rates fettle.Rates, aloneRate fettle.Estimate) fettle.Cost {
	e := s.MinutesAttended.Scale(1.0 / 60).Times(rates.PersonPerH)
	if s.MinutesAlone.Value > 0 {
		e = e.Plus(s.MinutesAlone.Scale(1.0 / 60).Times(aloneRate))
	}
	return fettle.CostOf(e.Because(rates.Basis), rates.Currency)
}

// kinds groups the steps of a route into lines, in the order they are printed.
var kinds = []struct {
	name  string
	kinds []fettle.StepKind
}{
	{"finishing passes on the mill", []fettle.StepKind{fettle.StepSurface}},
	{"handwork at the bench", []fettle.StepKind{fettle.StepDeburr, fettle.StepRub, fettle.StepBuff}},
	{"barrels and bowls", []fettle.StepKind{fettle.StepTumble, fettle.StepWash}},
	{"inspection", []fettle.StepKind{fettle.StepInspect}},
}

// Of prices a lot. The route's steps must carry their cost.
func Of(j Job) fettle.Price {
	r, lot := j.Rates, float64(j.Lot)
	p := fettle.Price{LotPrice: fettle.LotPrice{Lot: j.Lot}, Currency: r.Currency, Basis: r.Basis}
	line := func(name string, e fettle.Estimate, says string, args ...any) fettle.Cost {
		c := fettle.CostOf(e, r.Currency)
		p.Lines = append(p.Lines, fettle.PriceLine{Name: name, Cost: c, Says: fmt.Sprintf(says, args...)})
		return c
	}
	hour := func(e fettle.Estimate) fettle.Estimate { return e.Scale(1.0 / 60) }
	both := r.PersonPerH.Plus(j.Mill.RatePerH)

	line("programming and fixtures", r.ProgramH.Times(r.PersonPerH),
		"%.1f h at the desk, once for the lot", r.ProgramH.Value)
	setups := r.SetupMin.Scale(float64(j.Setups))
	line("setting up the mill", hour(setups).Times(both),
		"%d set-ups of %.0f min, once for the lot", j.Setups, r.SetupMin.Value)
	stock := line("stock", j.Material.PricePerKg.Scale(j.StockKg*lot),
		"%d blanks of %.0f g at %s %.2f a kilogram", j.Lot, j.StockKg*1000, r.Currency, j.Material.PricePerKg.Value)
	cut := line("milling to shape", hour(j.CutMin.Scale(lot)).Times(j.Mill.RatePerH).Plus(hour(r.HandlingMin.Scale(lot*float64(j.Setups))).Times(r.PersonPerH)),
		"%.1f min a piece on the mill, %.1f min to load and unload at each of %d set-ups", j.CutMin.Value, r.HandlingMin.Value, j.Setups)
	lost := stock.Plus(cut)

	for _, k := range kinds {
		var c fettle.Cost
		var attended, alone float64
		for _, s := range j.Route {
			for _, kind := range k.kinds {
				if s.Kind == kind {
					c = c.Plus(s.Cost)
					attended += s.MinutesAttended.Value
					alone += s.MinutesAlone.Value
				}
			}
		}
		if attended == 0 && alone == 0 {
			continue
		}
		var parts []string
		if attended > 0 {
			parts = append(parts, fettle.Minutes(attended)+" of a person")
		}
		if alone > 0 {
			parts = append(parts, fettle.Minutes(alone)+" of a machine on its own")
		}
		says := strings.Join(parts, ", ")
		p.Lines = append(p.Lines, fettle.PriceLine{Name: k.name, Cost: c, Says: says})
		if k.name != "inspection" {
			lost = lost.Plus(c)
		}
	}
	for _, w := range j.Wear {
		line(w.Name, w.Cost, "%s", w.Says)
	}
	if r.ScrapShare > 0 {
		line("scrap", costEstimate(lost).Scale(r.ScrapShare/(1-r.ScrapShare)),
			"%.0f %% of the pieces started are lost", r.ScrapShare*100)
	}
	if r.SampleLoops > 0 {
		line("samples for the customer", costEstimate(lost).Scale(r.SampleLoops/lot),
			"%s of one piece, made and finished like the lot", rounds(r.SampleLoops))
	}

	for _, l := range p.Lines {
		p.Cost = p.Cost.Plus(l.Cost)
	}
	p.Cost.Basis = r.Basis
	p.Price = fettle.CostOf(costEstimate(p.Cost).Scale(1/(1-r.MarginShare)), r.Currency)
	p.Each = fettle.CostOf(costEstimate(p.Price).Scale(1/lot), r.Currency)
	p.AttendedH, p.AloneH = hours(j)
	return p
}

func rounds(n float64) string {
	if n == 1 {
		return "one round"
	}
	return fmt.Sprintf("%.2g rounds", n)
}

// hours sums a lot's time with a person and without.
func hours(j Job) (attended, alone fettle.Estimate) {
	r, lot := j.Rates, float64(j.Lot)
	attended = r.ProgramH.Plus(r.SetupMin.Scale(float64(j.Setups) / 60)).Plus(r.HandlingMin.Scale(lot * float64(j.Setups) / 60))
	alone = j.CutMin.Scale(lot / 60)
	for _, s := range j.Route {
		attended = attended.Plus(s.MinutesAttended.Scale(1.0 / 60))
		alone = alone.Plus(s.MinutesAlone.Scale(1.0 / 60))
	}
	return attended, alone
}

// costEstimate is a cost as numbers in major units.
func costEstimate(c fettle.Cost) fettle.Estimate {
	return fettle.Estimate{Value: c.Value.Major(), Low: c.Low.Major(), High: c.High.Major(), Basis: c.Basis}
}
