package price

import (
	"testing"

	"fettle"

	"pgregory.net/rapid"
)

func sure(v float64) fettle.Estimate { return fettle.Exactly(v, "agreed") }

func exampleJob(lot int) Job {
	rates := fettle.Rates{
		Currency: "USD", PersonPerH: sure(36), MarginShare: 0.2, ScrapShare: 0.04, SampleLoops: 1,
		ProgramH: sure(2), SetupMin: sure(30), HandlingMin: sure(2), Basis: "agreed",
	}
	mill := fettle.Machine{Name: "mill", RatePerH: sure(30)}
	n := float64(lot)
	route := fettle.Route{
		{Name: "surface", Kind: fettle.StepSurface, MinutesAlone: sure(6 * n), MinutesAttended: sure(0)},
		{Name: "sand", Kind: fettle.StepRub, MinutesAttended: sure(5 * n)},
		{Name: "barrel", Kind: fettle.StepTumble, MinutesAttended: sure(20), MinutesAlone: sure(120)},
		{Name: "look", Kind: fettle.StepInspect, MinutesAttended: sure(1 * n)},
	}
	for i := range route {
		rate := mill.RatePerH
		if route[i].Kind == fettle.StepTumble {
			rate = sure(2)
		}
		route[i].Cost = StepCost(route[i], rates, rate)
	}
	return Job{
		Lot: lot, Rates: rates, Mill: mill, Material: fettle.Material{PricePerKg: sure(20)},
		StockKg: 0.25, Setups: 2, CutMin: sure(12), Route: route,
		Wear: []Wear{{Name: "media and compound", Says: "worn", Cost: sure(1.5)}},
	}
}

// Worked by hand, for ten pieces:
//
//	programming      2 h × 36                                   72.00
//	setting up       2 × 0.5 h × (36 + 30)                      66.00
//	stock            10 × 0.25 kg × 20                          50.00
//	milling          10 × 12/60 × 30 + 10 × 2 × 2/60 × 36       84.00
//	finishing passes 10 × 6/60 × 30                             30.00
//	handwork         10 × 5/60 × 36                             30.00
//	barrels          20/60 × 36 + 120/60 × 2                    16.00
//	inspection       10 × 1/60 × 36                              6.00
//	media                                                        1.50
//	scrap            (50+84+30+30+16) × 0.04/0.96                8.75
//	samples          (50+84+30+30+16) × 1/10                    21.00
//	cost                                                       385.25
//	price            385.25 / 0.8                              481.56
//	each             481.56 / 10                                48.16
func TestWorkedExample(t *testing.T) {
	p := Of(exampleJob(10))
	want := map[string]int64{
		"programming and fixtures": 7200, "setting up the mill": 6600, "stock": 5000, "milling to shape": 8400,
		"finishing passes on the mill": 3000, "handwork at the bench": 3000, "barrels and bowls": 1600,
		"inspection": 600, "media and compound": 150, "scrap": 875, "samples for the customer": 2100,
	}
	if len(p.Lines) != len(want) {
		t.Errorf("%d lines, want %d", len(p.Lines), len(want))
	}
	for _, l := range p.Lines {
		if l.Cost.Value.Minor != want[l.Name] {
			t.Errorf("%s: %s, want %d cents", l.Name, l.Cost.Value, want[l.Name])
		}
	}
	if p.Cost.Value.Minor != 38525 || p.Price.Value.Minor != 48156 || p.Each.Value.Minor != 4816 {
		t.Errorf("cost %s, price %s, each %s; want 385.25, 481.56, 48.16", p.Cost.Value, p.Price.Value, p.Each.Value)
	}
	// 2 + 1 + 10·2·2/60 + (50 + 20 + 10)/60 h with a person; (120 + 60 + 120)/60 without.
	if a, b := p.AttendedH.Value, p.AloneH.Value; a < 4.99 || a > 5.01 || b < 4.99 || b > 5.01 {
		t.Errorf("%.3f h attended, %.3f h alone; want 5 and 5", a, b)
	}
}

func TestLinesAddUpAndLotsPay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 500).Draw(t, "lot")
		p, q := Of(exampleJob(n)), Of(exampleJob(n+rapid.IntRange(1, 500).Draw(t, "more")))
		var sum int64
		for _, l := range p.Lines {
			sum += l.Cost.Value.Minor
		}
		if sum != p.Cost.Value.Minor {
			t.Fatalf("lines add up to %d cents, the cost says %d", sum, p.Cost.Value.Minor)
		}
		if q.Each.Value.Minor > p.Each.Value.Minor {
			t.Fatalf("a piece costs %s in a lot of %d and %s in one of %d", p.Each.Value, p.Lot, q.Each.Value, q.Lot)
		}
		if p.Price.Low.Minor > p.Price.Value.Minor || p.Price.Value.Minor > p.Price.High.Minor {
			t.Fatalf("interval out of order: %v", p.Price)
		}
	})
}
