package price

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"fettle"
)

// fixtures are the things made once for the lot, and the plugs that each piece takes
// into the barrel.
func (s *sheet) fixtures() {
	r := s.Rates
	var once, plugs []term
	for _, p := range s.Prints {
		t := term{qty: p.CM3.Scale(float64(p.Count)), unit: "cm³", of: "of " + p.What, rate: r.PrintPerCM3, per: "a cm³"}
		if p.Plug {
			plugs = append(plugs, t)
		} else {
			once = append(once, t)
		}
	}
	n := float64(s.Pockets)
	once = append(once, term{qty: fettle.Exactly(n, fettle.BasisGeometry), unit: "pair", of: "of soft jaws", rate: r.JawsEach, per: "a pair"})
	s.lineOf(fettle.LineFixtures, "fixtures", true, append(once, s.both(r.JawMin.Scale(n))...), "once for the lot")
	s.lineOf(fettle.LinePlugs, "plugs", false, plugs, "one for each opening of each piece in a load")
}

// metal is the bars or blanks, and sawing them.
func (s *sheet) metal() {
	m, r, lot := s.Material, s.Rates, float64(s.Lot)
	b := s.bar
	if b == nil {
		why := ""
		if len(m.Sold) > 0 {
			why = "no size on the list covers the blank"
		}
		s.lineOf(fettle.LineStock, "stock", false, []term{{qty: fettle.Exactly(s.stock.Kg*lot, fettle.BasisGeometry), unit: "kg", of: "of blanks", rate: m.PricePerKg, per: "a kilogram"}},
			fmt.Sprintf("%d of %s g each, bought by their own weight", s.Lot, num(s.stock.Kg*1000)), why)
		return
	}
	t := term{qty: fettle.Exactly(b.Paid, fettle.BasisGeometry), unit: formOf(b.Size) + "s", of: "of " + measures(b.Size, s.System), rate: b.Each, per: "a bar"}
	byWeight := ""
	if b.Size.PriceEach.Value <= 0 {
		byWeight = "a bar is " + num(barKg(b.Size, m)) + " kg"
	}
	s.lineOf(fettle.LineStock, "stock", false, []term{t},
		fmt.Sprintf("%d blanks, %d to a bar: %d bought", s.Lot, b.PerBar, b.Bars),
		fmt.Sprintf("of what the last bar would still give, %s %% is paid", num(100*r.DropShare)), byWeight)
	s.lineOf(fettle.LineSaw, "sawing", false, []term{{qty: r.SawMin.Scale(lot), unit: "min", of: "of a person", rate: r.PersonPerH, per: "an hour", who: person}},
		fmt.Sprintf("a cut of %s min for each blank", num(r.SawMin.Value)))
}

// work is the steps of some kinds.
func (s *sheet) work(key, name string, kinds ...fettle.StepKind) {
	attended := term{unit: "min", of: "of a person", rate: s.Rates.PersonPerH, per: "an hour", who: person}
	var machines []term
	var byHand []string
	for _, st := range s.Route {
		if !slices.Contains(kinds, st.Kind) {
			continue
		}
		attended.qty = attended.qty.Plus(st.MinutesAttended)
		if key == fettle.LineHand && st.MinutesAttended.Value > 0 {
			byHand = append(byHand, st.Key+" "+num(st.MinutesAttended.Value)+" min")
		}
		if st.MinutesAlone.Value <= 0 {
			continue
		}
		t := term{qty: st.MinutesAlone, unit: "min", of: "of the mill", rate: s.rateOf(st), per: "an hour", who: alone, mill: st.Charge == nil}
		if st.Charge != nil {
			t.of = "of the " + st.Charge.Vessel
		}
		if n := len(machines); n > 0 && machines[n-1].of == t.of {
			machines[n-1].qty = machines[n-1].qty.Plus(t.qty)
		} else {
			machines = append(machines, t)
		}
	}
	learned := ""
	if key == fettle.LineHand || key == fettle.LineInspect {
		learned = s.learning()
	}
	s.lineOf(key, name, false, append([]term{attended}, machines...), strings.Join(byHand, ", "), learned)
}

// rateOf is what an hour of a step's machine costs.
func (j Job) rateOf(st fettle.Step) fettle.Estimate {
	if st.Charge == nil {
		return j.Mill.RatePerH
	}
	return j.vessel(st.Charge.Vessel).RatePerH
}

func (j Job) vessel(name string) fettle.Vessel {
	for _, v := range j.Vessels {
		if v.Name == name {
			return v
		}
	}
	panic("price: a charge in a vessel that the job does not have: " + name)
}

// used is what the lot wears and uses up of one kind.
func (s *sheet) used(key, name string) {
	var ts []term
	for _, w := range s.Wear {
		if w.Key != key {
			continue
		}
		same := slices.IndexFunc(ts, func(t term) bool { return t.of == w.Of && t.unit == w.Unit && t.rate == w.Each })
		if same >= 0 {
			ts[same].qty = ts[same].qty.Plus(w.Qty)
		} else {
			ts = append(ts, term{qty: w.Qty, unit: w.Unit, of: w.Of, rate: w.Each, per: w.Per})
		}
	}
	s.lineOf(key, name, false, ts)
}

// roughMin is the mill's minutes a piece from the blank to where finishing begins.
func (j Job) roughMin() fettle.Estimate {
	st, _ := j.blank()
	chips := math.Max(0, st.Kg/j.Material.Density*1e6-j.PartMM3) / 1000
	return j.Rates.RoughMinCM3.Scale(chips * j.hardness())
}

// mildSteel is the specific cutting force of the steel that lives of cutters and rates
// of roughing are given for, N/mm² (kc1.1 of VDI 3323 group 1).
const mildSteel = 1350

// hardness compares the metal with mild steel: a starting guess for how fast it can be
// roughed and how fast it wears a cutter.
func (j Job) hardness() float64 { return j.Material.KC11 / mildSteel }

// cutters are those worn by the passes and by milling to shape.
func (s *sheet) cutters() {
	hard := s.hardness()
	var ts []term
	var why []string
	add := func(c fettle.Cutter, minutes fettle.Estimate, of string) {
		if minutes.Value <= 0 || c.LifeH.Value <= 0 || c.Price.Value <= 0 {
			return
		}
		t := term{qty: minutes, unit: "min", of: of, rate: CutterPerH(c, s.Material), per: "an hour"}
		for i := range ts {
			if ts[i].of == of {
				ts[i].qty = ts[i].qty.Plus(minutes)
				return
			}
		}
		ts = append(ts, t)
		says := fmt.Sprintf("%s costs %s %s and lasts %s h in mild steel", c.Name, s.Rates.Currency, num(c.Price.Value), num(c.LifeH.Value))
		if !slices.Contains(why, says) {
			why = append(why, says)
		}
	}
	if s.Rough != nil {
		add(*s.Rough, s.roughMin().Scale(float64(s.Lot)), "of roughing with "+s.Rough.Name)
	}
	for _, st := range s.Route {
		if st.Pass == nil {
			continue
		}
		for _, c := range s.Cutters {
			if c.Name == st.Pass.Cutter {
				add(c, st.MinutesAlone, "of "+c.Name)
				break
			}
		}
	}
	if len(ts) > 0 {
		why = append(why, fmt.Sprintf("this metal wears them %s times as fast", num(hard)))
	}
	s.lineOf(fettle.LineCutters, "cutters worn", false, ts, why...)
}

// CutterPerH is what an hour of cutting wears off a cutter in a metal: its price over
// its life in mild steel, in proportion to the metals' specific cutting forces (a
// starting guess).
func CutterPerH(c fettle.Cutter, m fettle.Material) fettle.Estimate {
	if c.LifeH.Value <= 0 || c.Price.Value <= 0 {
		return fettle.Estimate{}
	}
	return c.Price.Over(c.LifeH).Scale(m.KC11 / mildSteel)
}
