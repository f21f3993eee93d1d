// Package price turns the minutes of a route into money for a lot, and for other lots
// of the same part by the same route.
//
// Attended and unattended time are kept apart: a person's minute and a barrel's
// night have different rates and different limits. Every line says how it was
// worked out, is rounded once to the currency's minor unit, and the total is the sum
// of the lines as printed. The intervals of the route are carried through bound to
// bound, because the guesses behind the steps of one route tend to be wrong
// together.
package price

import (
	"fmt"
	"slices"

	"fettle"
)

// Job is what a lot consists of.
type Job struct {
	Lot      int
	Rates    fettle.Rates
	Learning fettle.Learning // the rates' own, or what the brief puts in its place
	Mill     fettle.Machine
	Material fettle.Material
	Vessels  []fettle.Vessel // those of the route
	Cutters  []fettle.Cutter // those of the route
	// Rough is the cutter that mills to shape; nil where its wear is not reckoned.
	Rough *fettle.Cutter
	// PartMM and PartMM3 are the part's sides and its volume.
	PartMM  [3]float64
	PartMM3 float64
	Setups  int // of the mill
	Pockets int // to cut in soft jaws
	Prints  []Print
	// Route's minutes and charges are those of the lot.
	Route  fettle.Route
	Wear   []Wear
	System fettle.System // in which lengths are said
}

// Print is a thing to be printed for a lot.
type Print struct {
	What string          // "a block for the show face"
	CM3  fettle.Estimate // of one
	// Count is how many are needed; Plug tells what a piece takes into the barrel, of
	// which larger lots need more.
	Count int
	Plug  bool
}

// Wear is something that a step of a lot uses up.
type Wear struct {
	Key  string // of the line: LinePaper, LineMediaWear, LineCompound or LinePolish
	Step string // key of the step
	// Qty is how much, in Unit of Of: "2.3", "sheets", "of P240"; Each what one Unit
	// costs, said as Per: "a sheet".
	Qty           fettle.Estimate
	Unit, Of, Per string
	Each          fettle.Estimate
}

// Cost is what it costs, in major units.
func (w Wear) Cost() fettle.Estimate {
	return term{qty: w.Qty, unit: w.Unit, rate: w.Each}.money()
}

// StepCost is what a step of the route costs for the lot: a person's time at
// it, and the machine's or vessel's on its own. aloneRate is that of the mill
// or of the vessel, per hour.
func StepCost(s fettle.Step, rates fettle.Rates, aloneRate fettle.Estimate) fettle.Cost {
	return fettle.CostOf(stepMoney(s, rates, aloneRate).Because(rates.Basis), rates.Currency)
}

func stepMoney(s fettle.Step, rates fettle.Rates, aloneRate fettle.Estimate) fettle.Estimate {
	e := s.MinutesAttended.Scale(1.0 / 60).Times(rates.PersonPerH)
	if s.MinutesAlone.Value > 0 {
		e = e.Plus(s.MinutesAlone.Scale(1.0 / 60).Times(aloneRate))
	}
	return e
}

// Rungs are the lots of a price's ladder.
func Rungs() []int { return []int{1, 10, 100, 1000} }

// Of prices a lot, and the lots of the ladder by the same route. at makes up a lot of
// any size; what it fails with comes back.
func Of(lot int, at func(lot int) (Job, error)) (fettle.Price, error) {
	one, err := at(1)
	if err != nil {
		return fettle.Price{}, err
	}
	alone := base(one).lost()
	j := one
	if lot != 1 {
		if j, err = at(lot); err != nil {
			return fettle.Price{}, err
		}
	}
	p := fettle.Price{
		LotPrice: of(j, alone), Currency: j.Rates.Currency, Basis: j.Rates.Basis,
		Rounding: fettle.RoundingOf(j.Rates.Currency), Ladder: []fettle.LotPrice{},
	}
	for _, n := range Rungs() {
		rung := one
		if n != 1 {
			if rung, err = at(n); err != nil {
				return fettle.Price{}, err
			}
		}
		p.Ladder = append(p.Ladder, of(rung, alone))
	}
	p.Dearest = dearest(j, one, p)
	return p, nil
}

// of prices one lot; alone is what a piece costs that is made by itself.
func of(j Job, alone part) fettle.LotPrice {
	s := base(j)
	s.scrap()
	s.samples(alone)
	r := j.Rates
	p := fettle.LotPrice{Lot: j.Lot, Lines: []fettle.PriceLine{}}
	for _, l := range s.lines {
		l.AttendedMin, l.AloneMin = orNone(l.AttendedMin), orNone(l.AloneMin)
		p.Lines = append(p.Lines, l.PriceLine)
		p.Cost = p.Cost.Plus(l.Cost)
		p.AttendedH = p.AttendedH.Plus(l.AttendedMin.Scale(1.0 / 60))
		p.AloneH = p.AloneH.Plus(l.AloneMin.Scale(1.0 / 60))
	}
	p.Cost.Basis, p.AttendedH.Basis, p.AloneH.Basis = r.Basis, r.Basis, r.Basis
	p.Price = fettle.CostOf(estimate(p.Cost).Scale(1/(1-r.MarginShare)), r.Currency)
	p.Each = fettle.CostOf(estimate(p.Price).Scale(1/float64(j.Lot)), r.Currency)
	p.Bottleneck = s.bottleneck()
	return p
}

// orNone is an estimate, or none of anything.
func orNone(e fettle.Estimate) fettle.Estimate {
	if e == (fettle.Estimate{}) {
		return fettle.Exactly(0, fettle.BasisGeometry)
	}
	return e
}

// sheet is a lot's lines as they are worked out.
type sheet struct {
	Job
	stock fettle.Stock
	bar   *Bar
	lines []line
}

// both is what somebody at the mill takes: two terms.
func (s *sheet) both(minutes fettle.Estimate) []term {
	return []term{
		{qty: minutes, unit: "min", of: "of a person", rate: s.Rates.PersonPerH, per: "an hour", who: person},
		{qty: minutes, unit: "min", of: "of the mill", rate: s.Mill.RatePerH, per: "an hour", who: beside, mill: true},
	}
}

// base is all of a lot but what is lost and what the customer sees first.
func base(j Job) *sheet {
	s := &sheet{Job: j}
	s.stock, s.bar = j.blank()
	r, lot, learned := j.Rates, float64(j.Lot), j.Learning.Lot(j.Lot)

	s.lineOf(fettle.LineProgram, "programming", true,
		[]term{{qty: r.ProgramH.Scale(60), unit: "min", of: "of a person", rate: r.PersonPerH, per: "an hour", who: person}},
		"once for the lot")
	s.fixtures()
	setups := r.SetupMin.Scale(float64(j.Setups))
	s.lineOf(fettle.LineSetup, "setting up the mill", true, s.both(setups),
		fmt.Sprintf("%d set-ups of %s min, once for the lot", j.Setups, num(r.SetupMin.Value)))
	s.metal()

	rough := j.roughMin()
	load := r.HandlingMin.Scale(float64(j.Setups) * learned)
	s.lineOf(fettle.LineShape, "milling to shape", false, []term{
		{qty: rough.Scale(lot), unit: "min", of: "of the mill", rate: j.Mill.RatePerH, per: "an hour", who: alone, mill: true},
		{qty: load, unit: "min", of: "of a person", rate: r.PersonPerH, per: "an hour", who: person, mill: true},
	}, fmt.Sprintf("%s min a piece on the mill, %s min to load and unload at each of %d set-ups", num(rough.Value), num(r.HandlingMin.Value), j.Setups), j.learning())

	s.work(fettle.LinePass, "finishing passes on the mill", fettle.StepSurface)
	s.work(fettle.LineHand, "handwork at the bench", fettle.StepDeburr, fettle.StepRub, fettle.StepBuff)
	s.work(fettle.LineBarrel, "barrels and bowls", fettle.StepTumble, fettle.StepWash)
	s.work(fettle.LineInspect, "inspection", fettle.StepInspect)
	s.cutters()
	for _, k := range []struct{ key, name string }{
		{fettle.LinePaper, "sandpaper"}, {fettle.LineMediaWear, "media worn away"},
		{fettle.LineCompound, "compound"}, {fettle.LinePolish, "bars of polish"},
	} {
		s.used(k.key, k.name)
	}
	return s
}

// learning says how many times the first piece's minutes the lot takes by hand; empty
// where nothing is learned.
func (j Job) learning() string {
	if !j.Learning.On() || j.Lot < 2 {
		return ""
	}
	return fmt.Sprintf("by hand a lot of %d takes %s times its first piece, at a learning rate of %s %%", j.Lot, num(j.Learning.Lot(j.Lot)), num(100*j.Learning.Rate))
}

// part is some of a lot's money and minutes.
type part struct {
	cost                  fettle.Cost
	attended, alone, mill fettle.Estimate
}

// lostLines are what goes with a piece that is lost, up to its inspection.
var lostLines = []string{
	fettle.LineStock, fettle.LineSaw, fettle.LineShape, fettle.LinePass, fettle.LineHand, fettle.LineBarrel,
	fettle.LineCutters, fettle.LinePaper, fettle.LineMediaWear, fettle.LineCompound, fettle.LinePolish,
}

// lost sums the lines that go with a piece.
func (s *sheet) lost() part {
	var p part
	for _, l := range s.lines {
		if slices.Contains(lostLines, l.Key) {
			p.cost = p.cost.Plus(l.Cost)
			p.attended = p.attended.Plus(l.AttendedMin)
			p.alone = p.alone.Plus(l.AloneMin)
			p.mill = p.mill.Plus(l.mill)
		}
	}
	return p
}

// share adds a line that is a share of others.
func (s *sheet) share(key, name string, once bool, p part, k float64, says string) {
	s.lines = append(s.lines, line{
		PriceLine: fettle.PriceLine{
			Key: key, Name: name, Once: once, Cost: fettle.CostOf(estimate(p.cost).Scale(k), s.Rates.Currency), Says: says,
			AttendedMin: p.attended.Scale(k), AloneMin: p.alone.Scale(k),
		},
		mill: p.mill.Scale(k),
	})
}

func (s *sheet) scrap() {
	share := s.Rates.ScrapShare
	if share <= 0 {
		return
	}
	p := s.lost()
	s.share(fettle.LineScrap, "scrap", false, p, share/(1-share), fmt.Sprintf("%s %% of the pieces started are lost: %s / %s of %s, which metal, work and what it uses up cost without inspection",
		num(100*share), num(share), num(1-share), p.cost.Value))
}

func (s *sheet) samples(one part) {
	n := s.Rates.SampleLoops
	if n <= 0 {
		return
	}
	s.share(fettle.LineSamples, "samples for the customer", true, one, n, fmt.Sprintf("%s of one piece made by itself by the same route, without another set-up: %s × %s, which its metal, work and what it uses up cost",
		rounds(n), num(n), one.cost.Value))
}

func rounds(n float64) string {
	if n == 1 {
		return "one round"
	}
	return num(n) + " rounds"
}

// estimate is a cost as numbers in major units.
func estimate(c fettle.Cost) fettle.Estimate {
	return fettle.Estimate{Value: c.Value.Major(), Low: c.Low.Major(), High: c.High.Major(), Basis: c.Basis}
}
