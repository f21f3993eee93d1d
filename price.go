package fettle

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

// OfferRung is what an offer asks for a lot of one size.
type OfferRung struct {
	Lot   int  `json:"lot"`
	Each  Cost `json:"each"`
	Price Cost `json:"price"`
}
