package finish

import (
	"math"
	"slices"

	"fettle"
	"fettle/internal/trade/price"
	"fettle/internal/trade/rub"
)

// Time by hand that no law gives: starting guesses.
var (
	loadMin    = fettle.Guess(12, 6, 25, fettle.BasisGuess)     // load, unload and sieve a charge
	lookMin    = fettle.Guess(3, 1.5, 6, fettle.BasisGuess)     // one look into a running charge
	washMin    = fettle.Guess(8, 4, 15, fettle.BasisGuess)      // wash a load
	buffMin    = fettle.Guess(1, 0.5, 2, fettle.BasisGuess)     // pick up, dress the mop, wipe: a piece
	inspectMin = fettle.Guess(1.2, 0.6, 2.5, fettle.BasisGuess) // a piece
)

// passTime widens the minutes computed from passes by what the control adds.
var passTime = fettle.Guess(1, 0.8, 1.4, "computed from the passes; × 0.8–1.4 for the control (starting guess)")

// endMinutes is what comes at the end of every route, for the lot.
func (p *planner) endMinutes() float64 { return p.learnedLot * inspectMin.Value }

// dryMinutes is drying the lot before what must be dry, where it is wet.
func (p *planner) dryMinutes(wet bool, lot float64) float64 {
	if !wet || !p.rb.holds(ruleDryForDry) {
		return 0
	}
	return lot * rub.Drying().Value
}

// washMinutes is washing and drying after a charge.
func washMinutes(loads, lot float64) float64 {
	return loads*washMin.Value + lot*rub.Drying().Value
}

// spent is the money that goes with something of the route: for the lot, for the pieces
// of it that are lost, and for the samples, each a piece by itself. All are in major
// units.
func (p *planner) spent(lot, one float64) float64 {
	r := p.in.Shelf.Rates
	return lot/(1-r.ScrapShare) + r.SampleLoops*one
}

// paperCost is what a piece uses up of a grit, in major units.
func (p *planner) paperCost(g fettle.Grit) float64 {
	return rub.Paper(p.face()).Value / sheetCM2 * g.PriceSheet.Value
}

// sheetCM2 is a sheet of paper of 230 × 280 mm.
const sheetCM2 = 23 * 28

// millMinute is what a minute of a pass costs, in major units: the mill's time, and
// what it wears off the cutter.
func (p *planner) millMinute(cutter string) float64 {
	perH := p.mill.RatePerH.Value
	if c, err := p.in.Shelf.Cutter(cutter); err == nil {
		perH += price.CutterPerH(c, p.mat).Value
	}
	return perH / 60
}

// job is a lot as the price sees it.
func (p *planner) job(ws []work, lot int) (price.Job, error) {
	route, err := p.forLot(ws, lot)
	if err != nil {
		return price.Job{}, err
	}
	s, shelf := p.in.Survey, p.in.Shelf
	j := price.Job{
		Lot: lot, Rates: shelf.Rates, Learning: p.learning(), Mill: p.mill, Material: p.mat,
		Vessels: shelf.Vessels, Cutters: shelf.Cutters, Rough: p.rougher(),
		PartMM: s.SizeMM, PartMM3: s.VolumeMM3, Setups: p.setups(), Route: route,
		Wear: p.wear(route, lot), System: p.in.Brief.Display,
	}
	if len(shelf.Jaws) > 0 {
		j.Pockets = p.setups() - 1 // the first side is held by the blank
	}
	if rubbed(route) && p.hold() == rub.FormedBlock {
		j.Prints = append(j.Prints, price.Print{What: "a block for the " + lowerFirst(p.main.Name), CM3: p.blockCM3(), Count: 1})
	}
	return j, nil
}

func rubbed(route fettle.Route) bool {
	return slices.ContainsFunc(route, func(s fettle.Step) bool { return s.Rub != nil })
}

// Measures of a block as it is held in one hand, mm: starting guesses for a thing that
// is not made yet. Its face leaves itself room to move on a long patch.
const (
	blockLong, blockLongest  = 45.0, 80.0
	blockWide, blockBroadest = 22.0, 45.0
	blockHigh                = 30.0
	blockOfPatch             = 0.6
)

// blockCM3 is the volume of a formed block before there is one.
func (p *planner) blockCM3() fettle.Estimate {
	long, wide := math.Max(p.main.SizeMM[0], p.main.SizeMM[1]), math.Min(p.main.SizeMM[0], p.main.SizeMM[1])
	long = math.Min(math.Max(blockOfPatch*long, blockLong), blockLongest)
	wide = math.Min(math.Max(wide, blockWide), blockBroadest)
	return fettle.Guess(1, 0.6, 1.6, "a block as large as a hand holds for this face (starting guess)").Scale(long * wide * blockHigh / 1000)
}

// blockCost is what the block costs that the first grit wants, in major units.
func (p *planner) blockCost() float64 {
	if p.hold() != rub.FormedBlock {
		return 0
	}
	return p.blockCM3().Value * p.in.Shelf.Rates.PrintPerCM3.Value
}

// rougher is the cutter that mills to shape: the stoutest end mill on the shelf, or the
// stoutest bull nose; nil where there is neither.
func (p *planner) rougher() *fettle.Cutter {
	var best *fettle.Cutter
	for i := range p.in.Shelf.Cutters {
		c := &p.in.Shelf.Cutters[i]
		if c.Shape == fettle.Ball {
			continue
		}
		if best == nil || c.Shape != best.Shape && c.Shape == fettle.Flat || c.Shape == best.Shape && c.DiameterMM > best.DiameterMM {
			best = c
		}
	}
	return best
}

// setups counts the sides the mill must come from: the show face and, as a
// rule, the back.
func (p *planner) setups() int { return 2 }

// wear is what a lot uses up: paper, media, compound, polish.
func (p *planner) wear(route fettle.Route, lot int) []price.Wear {
	n := float64(lot)
	var ws []price.Wear
	for _, s := range route {
		if s.Rub != nil {
			for _, g := range p.in.Shelf.Grits {
				if g.Name == s.Rub.Grit {
					ws = append(ws, price.Wear{Key: fettle.LinePaper, Step: s.Key, Qty: s.Rub.PaperCM2.Scale(n / sheetCM2), Unit: "sheets", Of: "of " + g.Name, Each: g.PriceSheet, Per: "a sheet"})
				}
			}
		}
		if s.Buff != nil {
			if m, err := p.in.Shelf.Mop(s.Buff.Mop); err == nil {
				ws = append(ws, price.Wear{Key: fettle.LinePolish, Step: s.Key, Qty: fettle.Exactly(n*p.area/1e6, fettle.BasisGeometry), Unit: "m²", Of: "with " + m.Name, Each: m.BarCost, Per: "a square metre"})
			}
		}
		if c := s.Charge; c != nil {
			b := p.bathOf(*c)
			ws = append(ws,
				price.Wear{Key: fettle.LineMediaWear, Step: s.Key, Qty: b.wearPctH().Scale(c.MediaKg * float64(c.Loads) / 100).Times(c.Hours), Unit: "kg", Of: "of " + b.Name, Each: b.PricePerKg, Per: "a kilogram"},
				price.Wear{Key: fettle.LineCompound, Step: s.Key, Qty: c.CompoundML.Scale(float64(c.Loads) / 1000), Unit: "l", Of: "in the " + c.Vessel, Each: p.in.Shelf.Rates.CompoundPerL, Per: "a litre"})
		}
	}
	return slices.DeleteFunc(ws, func(w price.Wear) bool { return w.Cost().Value <= 0 })
}
