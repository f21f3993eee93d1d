package fettle

// Acceptance is what "right" means for a lot, from the sample that the customer
// signed off.
type Acceptance struct {
	Look   string `json:"look"`
	Sample string `json:"sample,omitempty"` // the run that made it, by id
	Day    string `json:"day"`
	// Limits are what a piece is held to, Lot how many pieces are looked at.
	Limits   []AcceptLimit `json:"limits"`
	Sampling SamplingPlan  `json:"sampling"`
	// First is the record of the first article, line by line.
	First []FirstArticle `json:"first_article"`
	Notes []string       `json:"notes"`
	// Display is the units that Says and First are written in.
	Display System `json:"display,omitempty"`
}

// AcceptLimit is what one kind of reading of a piece must be.
type AcceptLimit struct {
	Kind  ReadingKind `json:"kind"`
	Place string      `json:"place"`
	Unit  string      `json:"unit"`
	// Sample is what the accepted sample read, its mean where it was read often.
	Sample float64 `json:"sample"`
	N      int     `json:"n"`
	// Low and High bound the reading of a piece; nil for no bound on that side.
	Low  *float64 `json:"low,omitempty"`
	High *float64 `json:"high,omitempty"`
	Says string   `json:"says"`
	// Basis is where the width between the bounds comes from.
	Basis string `json:"basis"`
}

// SamplingPlan is a single sampling plan by attributes: of Lot pieces look at Size;
// take the lot with at most Accept that fail, refuse it with Reject or more.
type SamplingPlan struct {
	Lot      int     `json:"lot"`
	Level    string  `json:"level"`    // "S1" to "S4", "I", "II", "III"
	AQL      float64 `json:"aql"`      // % nonconforming
	Severity string  `json:"severity"` // "normal", "tightened", "reduced"
	Letter   string  `json:"letter"`   // the code letter of the plan used
	Size     int     `json:"size"`
	Accept   int     `json:"accept"`
	Reject   int     `json:"reject"`
	// All is true where the plan asks for as many as the lot has.
	All    bool   `json:"all"`
	Says   string `json:"says"`
	Source string `json:"source"`
}

// FirstArticle is one line of a first-article record.
type FirstArticle struct {
	Number int    `json:"number"`
	What   string `json:"what"`
	// Place is an opening or a zone by its id, Name as a person reads it; both empty
	// for the whole part.
	Place string `json:"place,omitempty"`
	Name  string `json:"name,omitempty"`
	// Wanted is the value with its limits, as printed; Low and High bound what is
	// measured, in Unit, nil for no bound on that side that is known here.
	Wanted   string   `json:"wanted"`
	Low      *float64 `json:"low,omitempty"`
	High     *float64 `json:"high,omitempty"`
	Measured *float64 `json:"measured,omitempty"`
	Unit     string   `json:"unit"`
	// Right is nil until it was measured.
	Right *bool `json:"right,omitempty"`
}
