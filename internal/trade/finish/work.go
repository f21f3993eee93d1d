package finish

import (
	"fettle"
	"fettle/internal/trade/price"
)

// work is a step with what it takes, whatever the lot: minutes of a person for the first
// piece, which fall as the lot goes on, for each piece alike and for each load; minutes
// of the mill for each piece; hours of a load.
type work struct {
	step              fettle.Step
	hand, piece, load fettle.Estimate
	alone             fettle.Estimate
	bath              *bath
	hours             fettle.Estimate
	looks             func(*fettle.Charge) // fills in when a charge passes the looks of the shelf
}

// learning is the shop's, or the brief's in its place.
func (p *planner) learning() fettle.Learning {
	return p.in.Shelf.Rates.Learning.At(p.in.Brief.Learning)
}

// learns tells whether the lot of the brief takes less by hand than as many first pieces.
func (p *planner) learns() bool { return p.learning().On() && p.in.Brief.Lot > 1 }

// forLot is the route for a lot of any size: its minutes, loads and cost. Its faces and
// hours are the same for every lot.
func (p *planner) forLot(ws []work, lot int) (fettle.Route, error) {
	n, learned := float64(lot), p.learning().Lot(lot)
	var route fettle.Route
	for _, w := range ws {
		s := w.step
		loads := 0.0
		rate := p.mill.RatePerH
		attended := w.hand.Scale(learned).Plus(w.piece.Scale(n))
		alone := w.alone.Scale(n)
		if w.bath != nil {
			ch, err := p.chargeFor(*w.bath, w.hours, lot)
			if err != nil {
				return nil, err
			}
			loads = float64(ch.Loads)
			attended = attended.Plus(w.load.Scale(loads))
			if s.Kind == fettle.StepTumble {
				ch.HoursTo = []fettle.LookHours{}
				s.Charge, rate = &ch, w.bath.Vessel.RatePerH
				attended = attended.Plus(loadMin.Plus(lookMin.Scale(float64(len(ch.LooksH)))).Scale(loads))
				alone = ch.Hours.Scale(60 * loads)
			}
		}
		s.MinutesAttended, s.MinutesAlone = orNone(attended), orNone(alone)
		s.Cost = price.StepCost(s, p.in.Shelf.Rates, rate)
		route = append(route, s)
	}
	return route, nil
}

// tellLooks fills in when the charges of a route pass the looks of the shelf.
func tellLooks(ws []work, route fettle.Route) {
	for i := range route {
		if ch := route[i].Charge; ch != nil {
			ws[i].looks(ch)
		}
	}
}

// orNone is an estimate, or nothing at all by geometry.
func orNone(e fettle.Estimate) fettle.Estimate {
	if e.Value == 0 {
		return fettle.Exactly(0, fettle.BasisGeometry)
	}
	return e
}

// chargeFor makes up a load for a lot of any size. Where another lot's loads would hold
// so few parts that the media do not fill the vessel, it is filled as for the lot of the
// brief, with scrap in the place of the parts that are wanting.
func (p *planner) chargeFor(b bath, hours fettle.Estimate, lot int) (fettle.Charge, error) {
	if hours.Value == 0 { // only the loads are asked for
		hours = fettle.Exactly(1, fettle.BasisGuess)
	}
	ch, err := p.charge(b, hours, lot)
	if fettle.CodeOf(err) != fettle.No || lot == p.in.Brief.Lot {
		return ch, err
	}
	if ch, err = p.charge(b, hours, p.in.Brief.Lot); err != nil {
		return ch, err
	}
	ch.Loads = (lot + ch.PartsPerLoad - 1) / ch.PartsPerLoad
	ch.LastLoadParts = lot - (ch.Loads-1)*ch.PartsPerLoad
	return ch, nil
}
