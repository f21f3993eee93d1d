package fettle

import "math"

// Price is what the lot costs, what each line of it is made of, and what other lots
// of the same part by the same route would cost.
type Price struct {
	LotPrice
	Currency string `json:"currency"` // ISO 4217
	Basis    string `json:"basis"`
	Rounding string `json:"rounding"` // how amounts were rounded, a sentence
	// Ladder holds the same route for lots of 1, 10, 100 and 1000, by rising lot.
	Ladder []LotPrice `json:"ladder"`
	// Dearest is the choice that costs most, told where finishing makes the price; nil
	// where it does not.
	Dearest *Dearest `json:"dearest,omitempty"`
}

// LotPrice is what a lot of one size costs.
type LotPrice struct {
	Lot   int         `json:"lot"`
	Lines []PriceLine `json:"lines"`
	Cost  Cost        `json:"cost"`  // sum of lines
	Price Cost        `json:"price"` // with margin
	Each  Cost        `json:"each"`  // price over the lot
	// Attended and Alone are hours of the lot.
	AttendedH  Estimate   `json:"attended_h"`
	AloneH     Estimate   `json:"alone_h"`
	Bottleneck Bottleneck `json:"bottleneck"`
}

// Keys of the lines of a price that other reckonings look up.
const (
	LineProgram   = "program"  // programming, once for the lot
	LineFixtures  = "fixtures" // blocks printed, jaws cut, once
	LinePlugs     = "plugs"    // printed, one for each piece in a load
	LineSetup     = "setup"    // setting up the mill, once
	LineSamples   = "samples"  // rounds with the customer, once
	LineStock     = "stock"
	LineSaw       = "saw"
	LineShape     = "shape" // milling to shape
	LinePass      = "pass"  // finishing passes on the mill
	LineHand      = "hand"
	LineBarrel    = "barrel" // barrels and bowls, washing
	LineInspect   = "inspect"
	LineCutters   = "cutters worn"
	LinePaper     = "sandpaper"
	LineMediaWear = "media worn"
	LineCompound  = "compound"
	LinePolish    = "polish"
	LineScrap     = "scrap"
)

// PriceLine is one line of a price.
type PriceLine struct {
	Key  string `json:"key"`
	Name string `json:"name"`
	// Once tells what is paid once for the lot and spread over it.
	Once bool   `json:"once"`
	Cost Cost   `json:"cost"` // for the lot
	Says string `json:"says"` // how it was worked out
	// Minutes of the lot, with a person and without.
	AttendedMin Estimate `json:"attended_min"`
	AloneMin    Estimate `json:"alone_min"`
}

// Bottleneck is what a lot waits for longest.
type Bottleneck struct {
	Kind  string   `json:"kind"` // "person", "mill", "vessel"
	Name  string   `json:"name"` // of the mill or the vessel
	BusyH Estimate `json:"busy_h"`
	// Days are working days that it alone would take, charges at night counted in.
	Days float64 `json:"days"`
	Says string  `json:"says"`
}

// Dearest is the choice of a route that costs most.
type Dearest struct {
	Step string `json:"step"` // the key of the step, or of a line of the price
	Each Cost   `json:"each"` // of the price of a piece, margin in it
	// Share is its part of the price, FinishShare that of all finishing, 0 to 1.
	Share       float64 `json:"share"`
	FinishShare float64 `json:"finish_share"`
	Says        string  `json:"says"`
}

// Learning is how the minutes of a piece by hand fall as a lot goes on: at every
// doubling of the pieces done, the next takes Rate of what it took. The first piece
// takes the route's own minutes.
type Learning struct {
	// Rate is in (0, 1]; 0 and 1 stand for no learning.
	Rate float64 `json:"rate"`
	// Until is the piece after which it goes no faster; 0 for no such piece.
	Until int    `json:"until,omitempty"`
	Basis string `json:"basis"`
}

// On tells whether anything is learned at all.
func (l Learning) On() bool { return l.Rate > 0 && l.Rate < 1 }

// At is the learning with the rate of a brief in the place of its own; 0 keeps it.
func (l Learning) At(rate float64) Learning {
	if rate > 0 {
		l.Rate, l.Basis = rate, "as the brief has it"
	}
	return l
}

// Unit is what piece n of a lot takes, as a share of the first: n to the log2 of Rate
// (T. P. Wright, Factors affecting the cost of airplanes, Journal of the Aeronautical
// Sciences 3(4), 1936, 122–128, read for the single piece, as J. R. Crawford did).
func (l Learning) Unit(n int) float64 {
	if l.Until > 0 {
		n = min(n, l.Until)
	}
	if !l.On() || n <= 1 {
		return 1
	}
	return math.Pow(float64(n), math.Log2(l.Rate))
}

// plainSum is how many pieces are summed one by one; past it the sum goes on by the
// formula of Euler and Maclaurin, whose next term is then under 1e-12 of a piece.
const plainSum = 64

// Lot is how many times the first piece's minutes a lot of n takes: the sum of
// [Learning.Unit] over its pieces.
func (l Learning) Lot(n int) float64 {
	if n <= 0 || !l.On() {
		return math.Max(0, float64(n))
	}
	learning := n
	if l.Until > 0 {
		learning = min(n, l.Until)
	}
	sum := 0.0
	for i := 1; i <= min(learning, plainSum); i++ {
		sum += l.Unit(i)
	}
	if learning > plainSum {
		sum += tail(math.Log2(l.Rate), plainSum, float64(learning))
	}
	return sum + float64(n-learning)*l.Unit(n)
}

// tail is the sum of i^b for whole i above from, up to to.
func tail(b, from, to float64) float64 {
	f := func(x float64) float64 { return math.Pow(x, b) }
	slope := func(x float64) float64 { return b * math.Pow(x, b-1) }
	third := func(x float64) float64 { return b * (b - 1) * (b - 2) * math.Pow(x, b-3) }
	ratio := math.Log(to / from)
	area := from * f(from) * ratio // where b is −1
	if c := b + 1; c != 0 {
		area = from * f(from) * math.Expm1(c*ratio) / c
	}
	return area + (f(to)-f(from))/2 + (slope(to)-slope(from))/12 - (third(to)-third(from))/720
}

// bad says what is wrong with it; empty for nothing.
func (l Learning) bad() string {
	if !(l.Rate == 0 || l.Rate > leastLearning && l.Rate <= 1) || l.Until < 0 {
		return "learning needs a rate above 0.5 and up to 1, or 0 for none, and until of 0 or more pieces"
	}
	return ""
}

// leastLearning is the rate at and below which a lot of any size would hardly take
// longer than a few pieces: no work by hand is learned so fast.
const leastLearning = 0.5

// StockSize is a size in which a metal is sold.
type StockSize struct {
	// SectionMM are thickness and width of a flat bar; of a round one, both its
	// diameter.
	SectionMM [2]float64 `json:"section_mm"`
	Round     bool       `json:"round,omitempty"`
	LengthMM  float64    `json:"length_mm"`
	// PriceEach is for a whole length; 0 where it is sold by the kilogram, at
	// PricePerKg or, where that is 0, the material's.
	PriceEach  Estimate `json:"price_each,omitzero"`
	PricePerKg Estimate `json:"price_per_kg,omitzero"`
}

// AreaMM2 is the bar's cross-section.
func (z StockSize) AreaMM2() float64 {
	if z.Round {
		return math.Pi / 4 * z.SectionMM[0] * z.SectionMM[0]
	}
	return z.SectionMM[0] * z.SectionMM[1]
}

// bad says what is wrong with it; empty for nothing.
func (z StockSize) bad() string {
	for _, v := range []float64{z.SectionMM[0], z.SectionMM[1], z.LengthMM} {
		if !(v > 0 && v <= 1e5) {
			return "each size sold needs section_mm and length_mm above zero"
		}
	}
	if z.Round && z.SectionMM[0] != z.SectionMM[1] {
		return "a round bar's section_mm are both its diameter"
	}
	if !absentOrPositive(z.PriceEach) || !absentOrPositive(z.PricePerKg) {
		return "price_each and price_per_kg of a size sold need value, low and high above zero in order, and a basis, or are left out"
	}
	return ""
}

// absentOrPositive tells an estimate that is left out, or one that a price can be
// worked out with.
func absentOrPositive(e Estimate) bool {
	return e == Estimate{} || e.Valid() && e.Low > 0
}

// badForPrices says what is wrong with the rates that a price is worked out with
// beyond those every shelf has; empty for nothing.
func (r Rates) badForPrices() string {
	switch {
	case r.Learning.bad() != "":
		return r.Learning.bad()
	case !absentOrPositive(r.SawMin) || !absentOrPositive(r.PrintPerCM3) || !absentOrPositive(r.JawsEach) || !absentOrPositive(r.JawMin):
		return "saw_min, print_per_cm3, jaws_each and jaw_min need value, low and high above zero in order, and a basis, or are left out"
	case !(r.KerfMM >= 0 && r.KerfMM <= 100):
		return "kerf_mm must be what the blade turns to chips, up to 100, or 0"
	case !(r.DropShare >= 0 && r.DropShare <= 1):
		return "drop_share must be from 0, the last bar paid by the blanks cut from it, to 1, whole bars"
	}
	return ""
}

// OfferRung is what an offer asks for a lot of one size.
type OfferRung struct {
	Lot   int  `json:"lot"`
	Each  Cost `json:"each"`
	Price Cost `json:"price"`
}
