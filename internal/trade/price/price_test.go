package price

import (
	"testing"

	"fettle"
)

func sure(v float64) fettle.Estimate { return fettle.Exactly(v, "agreed") }

// example is a part of 96 cm³ out of blanks of 120 cm³, milled in 12 minutes.
func example(lot int) (Job, error) {
	rates := fettle.Rates{
		Currency: "USD", PersonPerH: sure(36), MarginShare: 0.2, ScrapShare: 0.04, SampleLoops: 1,
		ProgramH: sure(2), SetupMin: sure(30), HandlingMin: sure(2), RoughMinCM3: sure(0.5), DayH: 8, Basis: "agreed",
	}
	n := float64(lot)
	barrel := fettle.Vessel{Name: "dry barrel", RatePerH: sure(2)}
	loads := (lot + 19) / 20
	m := float64(loads)
	return Job{
		Lot: lot, Rates: rates, Mill: fettle.Machine{Name: "mill", RatePerH: sure(30)}, Vessels: []fettle.Vessel{barrel},
		Material: fettle.Material{PricePerKg: sure(20), Density: 2.5, KC11: mildSteel},
		PartMM:   [3]float64{100, 60, 20}, PartMM3: 96000, Setups: 2,
		Route: fettle.Route{
			{Key: "pass", Name: "Last pass", Kind: fettle.StepSurface, MinutesAlone: sure(6 * n), MinutesAttended: sure(0)},
			{Key: "rub", Name: "Sand", Kind: fettle.StepRub, MinutesAttended: sure(5 * n)},
			{Key: "tumble", Name: "Tumble", Kind: fettle.StepTumble, MinutesAttended: sure(20 * m), MinutesAlone: sure(120 * m), Charge: &fettle.Charge{Vessel: "dry barrel", Loads: loads, Hours: sure(2)}},
			{Key: "inspect", Name: "Inspect", Kind: fettle.StepInspect, MinutesAttended: sure(n)},
		},
		Wear: []Wear{{Key: fettle.LineCompound, Step: "tumble", Qty: sure(0.15 * m), Unit: "l", Each: sure(10), Per: "a litre"}},
	}, nil
}

// Worked by hand, for ten pieces; a sample is one piece with a load of its own:
//
//	programming      2 h × 36                                   72.00
//	setting up       2 × 0.5 h × (36 + 30)                      66.00
//	stock            10 × 0.12 dm³ × 2.5 × 20                   60.00
//	milling          10 × 12/60 × 30 + 10 × 2 × 2/60 × 36       84.00
//	finishing passes 10 × 6/60 × 30                             30.00
//	handwork         10 × 5/60 × 36                             30.00
//	barrels          20/60 × 36 + 120/60 × 2                    16.00
//	inspection       10 × 1/60 × 36                              6.00
//	compound         0.15 × 10                                   1.50
//	scrap            (60+84+30+30+16+1.50) × 0.04/0.96           9.23
//	samples          6.00 + 8.40 + 3.00 + 3.00 + 16.00 + 1.50   37.90
//	cost                                                       412.63
//	price            412.63 / 0.8                              515.79
//	each             515.79 / 10                                51.58
func TestWorkedExample(t *testing.T) {
	p, err := Of(10, example)
	if err != nil {
		t.Fatal(err)
	}
	want := map[string]int64{
		fettle.LineProgram: 7200, fettle.LineSetup: 6600, fettle.LineStock: 6000, fettle.LineShape: 8400,
		fettle.LinePass: 3000, fettle.LineHand: 3000, fettle.LineBarrel: 1600, fettle.LineInspect: 600,
		fettle.LineCompound: 150, fettle.LineScrap: 923, fettle.LineSamples: 3790,
	}
	if len(p.Lines) != len(want) {
		t.Errorf("%d lines, want %d", len(p.Lines), len(want))
	}
	for _, l := range p.Lines {
		if l.Cost.Value.Minor != want[l.Key] {
			t.Errorf("%s: %s, want %d cents (%s)", l.Key, l.Cost.Value, want[l.Key], l.Says)
		}
	}
	if p.Cost.Value.Minor != 41263 || p.Price.Value.Minor != 51579 || p.Each.Value.Minor != 5158 {
		t.Errorf("cost %s, price %s, each %s; want 412.63, 515.79, 51.58", p.Cost.Value, p.Price.Value, p.Each.Value)
	}
	for _, l := range p.Lines {
		t.Log(l.Name, l.Cost.Value, l.Says)
	}
	t.Log(p.Bottleneck.Says, p.Dearest)
}
