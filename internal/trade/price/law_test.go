package price

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"fettle"

	"pgregory.net/rapid"
)

// drawn is a random job as it is made up for any lot: rates, steps, loads, bars.
type drawn struct {
	job      Job
	hand     float64 // minutes of the first piece
	pass     float64
	inspect  float64
	charges  []float64 // hours of a load
	perLoad  int
	loadMin  float64
	prints   bool
	wearSize float64
}

func draw(t *rapid.T) drawn {
	// Anything from a tenth to ten times as usual, known to up to a factor of four.
	e := func(label string, usual float64) fettle.Estimate {
		v := usual * math.Exp(rapid.Float64Range(-2.3, 2.3).Draw(t, label))
		f := rapid.Float64Range(1, 4).Draw(t, label+" spread")
		return fettle.Guess(v, v/f, v*f, "drawn")
	}
	f := func(label string, lo, hi float64) float64 { return rapid.Float64Range(lo, hi).Draw(t, label) }
	cut, m := drawBars(t)
	m.KC11 = f("kc", 300, 2500)
	rate := f("learning", 0.6, 1.05)
	if rate > 1 {
		rate = 0
	}
	rough := fettle.Cutter{Name: "flat-10", Price: e("rough price", 40), LifeH: e("rough life", 5)}
	ball := fettle.Cutter{Name: "ball-6", Price: e("ball price", 30), LifeH: e("ball life", 4)}
	d := drawn{
		job: Job{
			Learning: fettle.Learning{Rate: rate, Until: rapid.IntRange(0, 300).Draw(t, "until"), Basis: "drawn"},
			Mill:     fettle.Machine{Name: "mill", RatePerH: e("mill", 30)},
			Material: m, PartMM: cut.Blank, PartMM3: f("full", 0.1, 1) * cut.Blank[0] * cut.Blank[1] * cut.Blank[2],
			Setups: rapid.IntRange(1, 4).Draw(t, "setups"), Pockets: rapid.IntRange(0, 2).Draw(t, "pockets"),
			Rough: &rough, Cutters: []fettle.Cutter{ball},
			Rates: fettle.Rates{
				Currency:   rapid.SampledFrom([]string{"USD", "EUR", "KWD"}).Draw(t, "currency"),
				PersonPerH: e("person", 35), ProgramH: e("program", 2), SetupMin: e("setup", 30), HandlingMin: e("handling", 1.5),
				RoughMinCM3: e("roughing", 0.8), StockOverMM: f("over", 0, 3), SawMin: e("saw", 1.5), KerfMM: cut.KerfMM, DropShare: cut.DropShare,
				PrintPerCM3: e("print", 0.1), JawsEach: e("jaws", 20), JawMin: e("jaw", 30), MarginShare: f("margin", 0, 0.6), ScrapShare: float64(rapid.IntRange(0, 300).Draw(t, "scrap in 1000")) / 1000,
				SampleLoops: float64(rapid.IntRange(0, 3).Draw(t, "loops")), DayH: f("day", 4, 12), Basis: "drawn",
			},
		},
		hand: f("hand", 0, 30), pass: f("pass", 0, 30), inspect: f("inspect", 0.1, 3), perLoad: rapid.IntRange(1, 60).Draw(t, "per load"),
		loadMin: f("load", 1, 60), prints: rapid.Bool().Draw(t, "prints"), wearSize: f("wear", 0, 1),
	}
	for range rapid.IntRange(0, 2).Draw(t, "charges") {
		d.charges = append(d.charges, f("hours", 0.1, 40))
	}
	d.job.Vessels = []fettle.Vessel{{Name: "bowl", RatePerH: e("bowl", 2)}, {Name: "dry barrel", RatePerH: e("barrel", 2), Count: rapid.IntRange(0, 2).Draw(t, "count")}}
	return d
}

// spread widens minutes the same way for every lot.
func spread(v float64) fettle.Estimate { return fettle.Guess(v, v/2, v*3, "drawn") }

func (d drawn) at(lot int) (Job, error) {
	j := d.job
	n, hand := float64(lot), j.Learning.Lot(lot)
	j.Lot = lot
	j.Route = fettle.Route{
		{Key: "pass ball-6", Name: "Last pass", Kind: fettle.StepSurface, MinutesAlone: spread(d.pass * n), Pass: &fettle.Pass{Cutter: "ball-6"}},
		{Key: "rub P400", Name: "Sand", Kind: fettle.StepRub, MinutesAttended: spread(d.hand * hand)},
	}
	j.Wear = []Wear{{Key: fettle.LinePaper, Step: "rub P400", Qty: spread(d.wearSize * n), Unit: "sheets", Of: "of P400", Each: sure(0.83), Per: "a sheet"}}
	loads := (lot + d.perLoad - 1) / d.perLoad
	for i, h := range d.charges {
		v := j.Vessels[i%2].Name
		key := "tumble in " + v
		j.Route = append(j.Route, fettle.Step{
			Key: key, Name: "Tumble", Kind: fettle.StepTumble, MinutesAttended: spread(d.loadMin * float64(loads)),
			MinutesAlone: spread(h * 60 * float64(loads)), Charge: &fettle.Charge{Vessel: v, Loads: loads, Hours: spread(h)},
		})
		j.Wear = append(j.Wear, Wear{Key: fettle.LineMediaWear, Step: key, Qty: spread(d.wearSize * float64(loads)), Unit: "kg", Of: "of cob", Each: sure(3.1), Per: "a kilogram"})
	}
	j.Route = append(j.Route, fettle.Step{Key: "inspect", Name: "Inspect", Kind: fettle.StepInspect, MinutesAttended: spread(d.inspect * hand)})
	if d.prints {
		j.Prints = []Print{
			{What: "a block for the show face", CM3: spread(50), Count: 1},
			{What: "plugs for hole-1", CM3: spread(0.5), Count: min(lot, d.perLoad), Plug: true},
		}
	}
	return j, nil
}

// inOrder fails where an interval is not one.
func inOrder(t *rapid.T, what string, c fettle.Cost) {
	if c.Low.Minor > c.Value.Minor || c.Value.Minor > c.High.Minor || c.Low.Minor < 0 {
		t.Fatalf("%s: out of order: %v", what, c)
	}
}

// What must hold of every price, whatever rates, steps and lots.
func TestPricesKeepTheirLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := draw(t)
		lot := rapid.IntRange(1, 3000).Draw(t, "lot")
		p, err := Of(lot, d.at)
		if err != nil {
			t.Fatal(err)
		}
		all := append([]fettle.LotPrice{p.LotPrice}, p.Ladder...)
		for _, l := range all {
			var sum fettle.Cost
			var attended, alone float64
			seen := map[string]bool{}
			for _, line := range l.Lines {
				sum = sum.Plus(line.Cost)
				attended += line.AttendedMin.Value / 60
				alone += line.AloneMin.Value / 60
				inOrder(t, line.Key, line.Cost)
				if line.Key == "" || line.Name == "" || line.Says == "" || seen[line.Key] {
					t.Fatalf("a line says too little, or stands twice: %+v", line)
				}
				seen[line.Key] = true
				if !line.AttendedMin.Valid() || !line.AloneMin.Valid() {
					t.Fatalf("minutes of %s: %+v, %+v", line.Key, line.AttendedMin, line.AloneMin)
				}
			}
			if sum.Value != l.Cost.Value || sum.Low != l.Cost.Low || sum.High != l.Cost.High {
				t.Fatalf("lot of %d: lines add up to %v, the cost says %v", l.Lot, sum, l.Cost)
			}
			if math.Abs(attended-l.AttendedH.Value) > 1e-9*attended || math.Abs(alone-l.AloneH.Value) > 1e-9*(alone+1) {
				t.Fatalf("lot of %d: minutes of lines do not add up", l.Lot)
			}
			for what, c := range map[string]fettle.Cost{"cost": l.Cost, "price": l.Price, "each": l.Each} {
				inOrder(t, what, c)
			}
			if b := l.Bottleneck; b.Says == "" || b.Name == "" || !b.BusyH.Valid() || !(b.Days > 0) {
				t.Fatalf("lot of %d waits for %+v", l.Lot, b)
			}
		}
		for i := 1; i < len(p.Ladder); i++ {
			a, b := p.Ladder[i-1], p.Ladder[i]
			if b.Each.Value.Minor > a.Each.Value.Minor {
				t.Fatalf("a piece costs %s in a lot of %d and %s in one of %d", a.Each.Value, a.Lot, b.Each.Value, b.Lot)
			}
			if b.Bottleneck.Days < a.Bottleneck.Days {
				t.Fatalf("a lot of %d waits %g days and one of %d %g", a.Lot, a.Bottleneck.Days, b.Lot, b.Bottleneck.Days)
			}
		}
		fixed := func(l fettle.LotPrice) (out []fettle.PriceLine) {
			for _, line := range l.Lines {
				if line.Once {
					line.Says = ""
					out = append(out, line)
				}
			}
			return out
		}
		first := fmt.Sprint(fixed(p.LotPrice))
		for _, l := range p.Ladder {
			if got := fmt.Sprint(fixed(l)); got != first {
				t.Fatalf("what is paid once differs between lots of %d and %d:\n%s\n%s", p.Lot, l.Lot, first, got)
			}
		}
		more := lot + rapid.IntRange(1, 500).Draw(t, "more")
		q, err := Of(more, d.at)
		if err != nil {
			t.Fatal(err)
		}
		if q.Cost.Value.Minor < p.Cost.Value.Minor || q.Price.Value.Minor < p.Price.Value.Minor {
			t.Fatalf("a lot of %d costs %s and one of %d %s", lot, p.Cost.Value, more, q.Cost.Value)
		}
		if x := p.Dearest; x != nil {
			if x.FinishShare <= 0.5 || x.FinishShare > 1 || x.Share <= 0 || x.Share > x.FinishShare+1e-9 || x.Says == "" {
				t.Fatalf("the dearest is %+v", x)
			}
			inOrder(t, "the dearest", x.Each)
		}
	})
}

var (
	aTerm   = regexp.MustCompile(`^([\d.]+) (\S+).* at [A-Z]{3} ([\d.]+) `)
	aShare  = regexp.MustCompile(`: ([\d.]+) / ([\d.]+) of [A-Z]{3} ([\d.,]*\d),`)
	aFactor = regexp.MustCompile(`: ([\d.]+) × [A-Z]{3} ([\d.,]*\d),`)
)

// byHand works a line out again from nothing but its sentence.
func byHand(t *rapid.T, l fettle.PriceLine) float64 {
	number := func(s string) float64 {
		v, err := strconv.ParseFloat(strings.ReplaceAll(s, ",", ""), 64)
		if err != nil {
			t.Fatalf("%s: %v", l.Says, err)
		}
		return v
	}
	switch l.Key {
	case fettle.LineScrap:
		m := aShare.FindStringSubmatch(l.Says)
		return number(m[1]) / number(m[2]) * number(m[3])
	case fettle.LineSamples:
		m := aFactor.FindStringSubmatch(l.Says)
		return number(m[1]) * number(m[2])
	}
	terms, _, _ := strings.Cut(l.Says, "; ")
	sum := 0.0
	for _, term := range strings.Split(terms, ", ") {
		m := aTerm.FindStringSubmatch(term)
		if m == nil {
			t.Fatalf("no sum can be read from %q of %q", term, l.Says)
		}
		v := number(m[1]) * number(m[3])
		if m[2] == "min" {
			v /= 60
		}
		sum += v
	}
	return sum
}

// Whoever reads a line can work it out again by hand, to the minor unit for small sums
// and to the figures that are printed for large ones.
func TestSentencesWorkOut(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := draw(t)
		p, err := Of(rapid.IntRange(1, 2000).Draw(t, "lot"), d.at)
		if err != nil {
			t.Fatal(err)
		}
		unit := fettle.Money{Minor: 1, Currency: p.Currency}.Major()
		for _, l := range p.Lines {
			if got, want := byHand(t, l), l.Cost.Value.Major(); math.Abs(got-want) > 0.51*unit+1.01e-4*want {
				t.Fatalf("%s comes to %g by its sentence, and is %g: %s", l.Key, got, want, l.Says)
			}
		}
	})
}

// A rung of the ladder is the price of that lot.
func TestRungsAreThePrices(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := draw(t)
		p, err := Of(100, d.at)
		if err != nil {
			t.Fatal(err)
		}
		if got, want := fmt.Sprint(p.Ladder[2]), fmt.Sprint(p.LotPrice); got != want {
			t.Fatalf("the rung is\n%s\nthe price\n%s", got, want)
		}
		if len(p.Ladder) != 4 || p.Ladder[0].Lot != 1 || p.Ladder[3].Lot != 1000 {
			t.Fatalf("the ladder has lots %v", p.Ladder)
		}
	})
}

// What at fails with comes back.
func TestRefusalsComeBack(t *testing.T) {
	for _, bad := range []int{1, 7, 100} {
		_, err := Of(7, func(lot int) (Job, error) {
			if lot == bad {
				return Job{}, fettle.Errorf(fettle.No, "no lot of %d", lot)
			}
			return example(lot)
		})
		if fettle.CodeOf(err) != fettle.No {
			t.Errorf("a lot of %d: %v", bad, err)
		}
	}
}

func BenchmarkOf(b *testing.B) {
	for b.Loop() {
		if _, err := Of(12, learned); err != nil {
			b.Fatal(err)
		}
	}
}
