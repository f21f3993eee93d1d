package price

import (
	"testing"

	"fettle"
)

func sure(v float64) fettle.Estimate { return fettle.Exactly(v, "agreed") }

// check holds a price against one that was worked out by hand, in minor units: value,
// low and high, or the value alone.
func check(t *testing.T, p fettle.Price, lines map[string][]int64, cost, price, each []int64) {
	t.Helper()
	same := func(what string, c fettle.Cost, want []int64, says string) {
		t.Helper()
		if len(want) == 0 {
			t.Errorf("%s: %s, want no such line (%s)", what, c, says)
			return
		}
		got := []int64{c.Value.Minor, c.Low.Minor, c.High.Minor}
		for i, w := range want {
			if got[i] != w {
				t.Errorf("%s: %d, by hand %d (%s)", what, got, want, says)
				return
			}
		}
	}
	if len(p.Lines) != len(lines) {
		t.Errorf("%d lines, want %d", len(p.Lines), len(lines))
	}
	for _, l := range p.Lines {
		same(l.Key, l.Cost, lines[l.Key], l.Says)
	}
	same("cost", p.Cost, cost, "")
	same("price", p.Price, price, "")
	same("each", p.Each, each, "")
}

// example is a part of 96 cm³ out of blanks of 120 cm³, milled in 12 minutes, twenty to
// a load.
func example(lot int) (Job, error) {
	n, loads := float64(lot), (lot+19)/20
	m := float64(loads)
	return Job{
		Lot: lot, Mill: fettle.Machine{Name: "mill", RatePerH: sure(30)}, Vessels: []fettle.Vessel{{Name: "dry barrel", RatePerH: sure(2)}},
		Rates: fettle.Rates{
			Currency: "USD", PersonPerH: sure(36), MarginShare: 0.2, ScrapShare: 0.04, SampleLoops: 1,
			ProgramH: sure(2), SetupMin: sure(30), HandlingMin: sure(2), RoughMinCM3: sure(0.5), DayH: 8, Basis: "agreed",
		},
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

// Worked by hand, for ten pieces without learning; a sample is one piece with a load of
// its own:
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
	check(t, p, map[string][]int64{
		fettle.LineProgram: {7200}, fettle.LineSetup: {6600}, fettle.LineStock: {6000}, fettle.LineShape: {8400},
		fettle.LinePass: {3000}, fettle.LineHand: {3000}, fettle.LineBarrel: {1600}, fettle.LineInspect: {600},
		fettle.LineCompound: {150}, fettle.LineScrap: {923}, fettle.LineSamples: {3790},
	}, []int64{41263, 41263, 41263}, []int64{51579}, []int64{5158})
	// By a person 120 + 60 + 40 + 50 + 20 + 10 min; 40 + 50 + 20 of them again for a
	// twenty-fourth in scrap, and 4 + 5 + 20 for the sample. Alone 120 + 60 + 120, and
	// that again for a twenty-fourth, and 12 + 6 + 120.
	if a, b := p.AttendedH.Value*60, p.AloneH.Value*60; a < 333.57 || a > 333.6 || b < 450.49 || b > 450.51 {
		t.Errorf("%.2f min attended, %.2f min alone; want 333.58 and 450.5", a, b)
	}
	if p.Rounding != "each line is rounded once, to USD 0.01, halves away from zero; the cost is the sum of the lines as they stand here" {
		t.Errorf("rounding is told as %q", p.Rounding)
	}
}

// learned is a lot of blanks of 44 × 70 × 10 mm from bars, which is learned at 80 % up to
// the fourth piece. A person's hour is known to a factor of two, and so are the hours of
// programming.
func learned(lot int) (Job, error) {
	person, program := fettle.Guess(36, 18, 72, "agreed"), fettle.Guess(1, 0.5, 2, "agreed")
	l := fettle.Learning{Rate: 0.8, Until: 4, Basis: "agreed"}
	n, hand := float64(lot), l.Lot(lot)
	rough := fettle.Cutter{Name: "flat-10", Price: sure(48), LifeH: sure(6)}
	return Job{
		Lot: lot, Learning: l, Mill: fettle.Machine{Name: "mill", RatePerH: sure(30)}, Vessels: []fettle.Vessel{{Name: "barrel", RatePerH: sure(2)}},
		Rates: fettle.Rates{
			Currency: "USD", PersonPerH: person, MarginShare: 0.25, ScrapShare: 0.05, SampleLoops: 1,
			ProgramH: program, SetupMin: sure(30), HandlingMin: sure(2), RoughMinCM3: sure(0.8), StockOverMM: 2,
			SawMin: sure(1.5), KerfMM: 2, DropShare: 0.5, PrintPerCM3: sure(0.1), JawsEach: sure(18), JawMin: sure(30), Basis: "agreed",
		},
		Material: fettle.Material{
			PricePerKg: sure(20), Density: 8, KC11: mildSteel / 2.0,
			Sold: []fettle.StockSize{
				{SectionMM: [2]float64{12, 80}, LengthMM: 1000, PriceEach: sure(200)},
				{SectionMM: [2]float64{10, 50}, LengthMM: 500},
				{SectionMM: [2]float64{8, 50}, LengthMM: 500},
			},
		},
		PartMM: [3]float64{40, 66, 6}, PartMM3: 20000, Setups: 2, Pockets: 1,
		Prints: []Print{{What: "a block for the show face", CM3: sure(50), Count: 1}},
		Rough:  &rough, Cutters: []fettle.Cutter{{Name: "ball-6", Price: sure(32), LifeH: sure(4)}},
		Route: fettle.Route{
			{Key: "pass ball-6", Name: "Last pass", Kind: fettle.StepSurface, MinutesAlone: sure(6 * n), MinutesAttended: sure(0), Pass: &fettle.Pass{Cutter: "ball-6"}},
			{Key: "rub P400", Name: "Sand", Kind: fettle.StepRub, MinutesAttended: sure(5 * hand)},
			{Key: "tumble", Name: "Tumble", Kind: fettle.StepTumble, MinutesAttended: sure(20), MinutesAlone: sure(840), Charge: &fettle.Charge{Vessel: "barrel", Loads: 1, Hours: sure(14)}},
			{Key: "inspect", Name: "Inspect", Kind: fettle.StepInspect, MinutesAttended: sure(hand)},
		},
		Wear: []Wear{
			{Key: fettle.LinePaper, Step: "rub P400", Qty: sure(0.3 * n), Unit: "sheets", Of: "of P400", Each: sure(0.8), Per: "a sheet"},
			{Key: fettle.LineCompound, Step: "tumble", Qty: sure(0.15), Unit: "l", Each: sure(9), Per: "a litre"},
		},
	}, nil
}

// Worked by hand, for eight pieces. By hand they take 1 + 0.8 + 3^log2 0.8 + 5 × 0.64 =
// 5.7021 times the first. A bar of 10 × 50 × 500 weighs 2 kg and costs 40.00; it gives
// (500 + 2)/(70 + 2) = 6 blanks, so two are bought, the last gives two and 356 mm are
// left; 8/6 bars and half of the other 4/6 are paid. A blank of 35 cm³ for a part of 20
// is milled in 15 × 0.8 × 1/2 = 6 minutes. Low and high are a person at 18 and at 72;
// the hours of programming are uncertain as well, independently, so both bounds there
// are off by a factor of exp(√2 ln 2) = 2.6651.
//
//	                                                          low  value    high
//	programming  1 h × 36                                   13.51  36.00   95.95
//	fixtures     50 × 0.10 + 18 + 0.5 h × (36 + 30)         47.00  56.00   74.00
//	setting up   2 × 0.5 h × (36 + 30)                      48.00  66.00  102.00
//	stock        1.6667 bars × 40                           66.67  66.67   66.67
//	sawing       8 × 1.5/60 × 36                             3.60   7.20   14.40
//	milling      8 × 6/60 × 30 + 2 × 2 × 5.7021/60 × 36     30.84  37.69   51.37
//	passes       8 × 6/60 × 30                              24.00  24.00   24.00
//	handwork     5 × 5.7021/60 × 36                          8.55  17.11   34.21
//	barrels      20/60 × 36 + 14 × 2                        34.00  40.00   52.00
//	inspection   5.7021/60 × 36                              1.71   3.42    6.84
//	cutters      0.8 h × 48/6/2 + 0.8 h × 32/4/2             6.40   6.40    6.40
//	sandpaper    2.4 × 0.80                                  1.92   1.92    1.92
//	compound     0.15 × 9                                    1.35   1.35    1.35
//	scrap        (66.67 + 7.20 + 37.69 + 24.00 + 17.11 + 40.00 + 6.40 + 1.92 + 1.35 = 202.34;
//	             177.33; 252.32) / 19                        9.33  10.65   13.28
//	samples      one piece pays 1/6 of a bar and half of 5/6, 23.33; sawing 0.90, milling
//	             5.40, pass 3.00, hand 3.00, barrel 40.00, cutters 0.80, paper 0.24,
//	             compound 1.35                              68.87  78.02   96.32
//	cost                                                   365.75 452.43  640.71
//	price        / 0.75                                    487.67 603.24  854.28
//	each         / 8                                        60.96  75.41  106.79
func TestWorkedExampleWithLearningAndBars(t *testing.T) {
	p, err := Of(8, learned)
	if err != nil {
		t.Fatal(err)
	}
	check(t, p, map[string][]int64{
		fettle.LineProgram: {3600, 1351, 9595}, fettle.LineFixtures: {5600, 4700, 7400}, fettle.LineSetup: {6600, 4800, 10200},
		fettle.LineStock: {6667, 6667, 6667}, fettle.LineSaw: {720, 360, 1440}, fettle.LineShape: {3769, 3084, 5137},
		fettle.LinePass: {2400, 2400, 2400}, fettle.LineHand: {1711, 855, 3421}, fettle.LineBarrel: {4000, 3400, 5200},
		fettle.LineInspect: {342, 171, 684}, fettle.LineCutters: {640, 640, 640}, fettle.LinePaper: {192, 192, 192},
		fettle.LineCompound: {135, 135, 135}, fettle.LineScrap: {1065, 933, 1328}, fettle.LineSamples: {7802, 6887, 9632},
	}, []int64{45243, 36575, 64071}, []int64{60324, 48767, 85428}, []int64{7541, 6096, 10679})
	j, _ := learned(8)
	st := j.Stock()
	if st.SizeMM != [3]float64{50, 70, 10} || st.PerBar != 6 || st.Bars != 2 || st.DropMM != 356 || st.CutMM != 70 || st.Kg != 0.28 {
		t.Errorf("the stock is %+v", st)
	}
	if want := "saw 8 blanks of 50.00 mm × 70.00 mm × 10.00 mm, 280 g each, from 2 flat bars of 10.00 mm × 50.00 mm × 500.00 mm, cuts of 70.00 mm with a kerf of 2.00 mm; 356.00 mm left over"; st.Says != want {
		t.Errorf("the stock says %q", st.Says)
	}
}

// single is one piece in yen, finished on a mop, from a round bar.
func single(lot int) (Job, error) {
	n := float64(lot)
	return Job{
		Lot: lot, Mill: fettle.Machine{Name: "mill", RatePerH: sure(4510)},
		Rates: fettle.Rates{
			Currency: "JPY", PersonPerH: sure(3333), MarginShare: 0.3, ProgramH: sure(1.5), SetupMin: sure(20), HandlingMin: sure(1.5),
			RoughMinCM3: sure(0.4), SawMin: sure(2), KerfMM: 3, DropShare: 1, Basis: "agreed",
		},
		Material: fettle.Material{
			PricePerKg: sure(900), Density: 2.7, KC11: mildSteel,
			Sold: []fettle.StockSize{{SectionMM: [2]float64{50, 50}, Round: true, LengthMM: 250, PriceEach: sure(1234.5)}},
		},
		PartMM: [3]float64{30, 40, 20}, PartMM3: 15000, Setups: 1,
		Route: fettle.Route{
			{Key: "buff", Name: "Buff", Kind: fettle.StepBuff, MinutesAttended: sure(7 * n)},
			{Key: "inspect", Name: "Inspect", Kind: fettle.StepInspect, MinutesAttended: sure(1 * n)},
		},
		Wear: []Wear{{Key: fettle.LinePolish, Step: "buff", Qty: sure(0.002 * n), Unit: "m²", Each: sure(1250), Per: "a square metre"}},
	}, nil
}

// Worked by hand, for a single piece in yen, without scrap and samples. A blank of 30 ×
// 40 × 20 mm goes into a round bar of 50 with 20 mm along it, √(30² + 40²) being 50; it
// is π/4 × 50² × 20 = 39.27 cm³ and milled in 24.27 × 0.4 = 9.708 minutes. Whole bars
// are paid.
//
//	programming  1.5 h × 3333 = 4999.5                       5000
//	setting up   20/60 × (3333 + 4510) = 2614.33             2614
//	stock        1 bar × 1234.5                              1235
//	sawing       2/60 × 3333 = 111.1                          111
//	milling      9.708/60 × 4510 + 1.5/60 × 3333 = 813.04     813
//	handwork     7/60 × 3333 = 388.85                         389
//	inspection   1/60 × 3333 = 55.55                           56
//	polish       0.002 × 1250 = 2.5                             3
//	cost                                                    10221
//	price        / 0.7 = 14601.43                           14601
func TestWorkedExampleInYen(t *testing.T) {
	p, err := Of(1, single)
	if err != nil {
		t.Fatal(err)
	}
	check(t, p, map[string][]int64{
		fettle.LineProgram: {5000}, fettle.LineSetup: {2614}, fettle.LineStock: {1235}, fettle.LineSaw: {111}, fettle.LineShape: {813},
		fettle.LineHand: {389}, fettle.LineInspect: {56}, fettle.LinePolish: {3},
	}, []int64{10221}, []int64{14601}, []int64{14601})
	if p.Each.Value.String() != "JPY 14,601" {
		t.Errorf("a piece costs %s", p.Each.Value)
	}
}
