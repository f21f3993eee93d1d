package finish

import (
	"math"

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
func (p *planner) endMinutes() float64 { return float64(p.in.Brief.Lot) * inspectMin.Value }

// dryMinutes is drying the lot before what must be dry, where it is wet.
func (p *planner) dryMinutes(wet bool, lot float64) float64 {
	if !wet || !p.rb.holds(ruleDryForDry) {
		return 0
	}
	return lot * rub.Drying().Value
}

// washMinutes is washing and drying after a charge, for the lot.
func (p *planner) washMinutes(b *bath, lot float64) float64 {
	return b.loads*washMin.Value + lot*rub.Drying().Value
}

// paperCost is what a piece uses up of a grit, in major units.
func (p *planner) paperCost(g fettle.Grit) float64 {
	return rub.Paper(p.face()).Value / sheetCM2 * g.PriceSheet.Value
}

// sheetCM2 is a sheet of paper of 230 × 280 mm.
const sheetCM2 = 23 * 28

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
	bars := fettle.Estimate{}
	for _, s := range route {
		if s.Rub != nil {
			for _, g := range p.in.Shelf.Grits {
				if g.Name == s.Rub.Grit {
					sheets = sheets.Plus(s.Rub.PaperCM2.Scale(lot / sheetCM2).Times(g.PriceSheet))
				}
			}
		}
		if s.Buff != nil {
			if m, err := p.in.Shelf.Mop(s.Buff.Mop); err == nil {
				bars = bars.Plus(m.BarCost.Scale(lot * p.area / 1e6))
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
		{Name: "bars of polish", Says: "on the mops", Cost: bars},
	} {
		if w.Cost.Value > 0 {
			ws = append(ws, w)
		}
	}
	return ws
}
