package fettle

// Plan is the answer to a brief: what it will take, what it will cost, and
// what to watch.
type Plan struct {
	Title    string   `json:"title"`
	Shop     string   `json:"shop,omitempty"`
	Brief    Brief    `json:"brief"`
	Material Material `json:"material"`
	Look     Look     `json:"look"`
	Survey   Survey   `json:"survey"`
	Zones    []Zone   `json:"zones"`
	// Stock is the blank to saw: size, mass.
	Stock Stock `json:"stock"`
	// Mill is the machine that the cutting times are for.
	Mill Machine `json:"mill"`
	// Curves hold, for each zone and each cutter that fits, minutes against
	// cusp height.
	Curves []Curve `json:"curves"`
	Route  Route   `json:"route"`
	// AllowanceUM is the material to leave on before finishing, by zone id, and by
	// opening id for the walls of each opening.
	AllowanceUM map[string]Estimate `json:"allowance_um"`
	Charges     []Charge            `json:"charges"`
	// Plugs are openings worth closing, Masks places to cover, Edges how the edges
	// go: see [Reach].
	Plugs  []Plug     `json:"plugs"`
	Masks  []Mask     `json:"masks"`
	Edges  []EdgeWear `json:"edges"`
	Solids []Solid    `json:"solids"`
	Price  Price      `json:"price"`
	Offers []Offer    `json:"offers"`
	// Rules of the trade that the route was held to, and the search that found it.
	Rules  []Rule `json:"rules"`
	Search Search `json:"search"`
	// Chance is that the lot comes out right without another round.
	Chance float64 `json:"chance"`
	// ReadyH is when the lot could be ready if it is begun now and nothing else
	// waits: hours by the clock.
	ReadyH Estimate `json:"ready_h"`
	// Missing says what would make a finish possible that is not.
	Missing []string `json:"missing"`
	// Accounts say how each predicted number came about.
	Accounts []Account `json:"accounts"`
	Cautions []Caution `json:"cautions"`
	// Warnings are what may go wrong or was assumed, worst first.
	Warnings []string `json:"warnings"`
	// LeftOut says why things on the shelf may not be used on this part.
	LeftOut []string `json:"left_out"`
	// Meets tells whether the last Ra is expected to meet the look or the
	// drawing, and what is missing when not.
	Meets   bool   `json:"meets"`
	Verdict string `json:"verdict"`
}

// Stock is the blank, and the bars that the lot's blanks are cut from.
type Stock struct {
	SizeMM [3]float64 `json:"size_mm"` // along the part's X, Y and Z
	Kg     float64    `json:"kg"`
	Says   string     `json:"says"`
	// Bar is the size that the blanks are cut from, without its prices, PerBar how many
	// blanks it gives and Bars how many are bought; nil and zero where blanks are bought
	// by their own weight.
	Bar    *StockSize `json:"bar,omitempty"`
	PerBar int        `json:"per_bar,omitempty"`
	Bars   int        `json:"bars,omitempty"`
	// CutMM is the length to cut, DropMM what is left over of the last bar.
	CutMM  float64 `json:"cut_mm,omitempty"`
	DropMM float64 `json:"drop_mm,omitempty"`
}

// Curve is one cutter on one zone: what its passes cost and leave.
type Curve struct {
	Zone   string  `json:"zone"`
	Cutter string  `json:"cutter"`
	Reach  float64 `json:"reach"` // share of the zone it can get into, by curvature
	// Fits is false where the cutter cannot be used at all; Why says so.
	Fits   bool         `json:"fits"`
	Why    string       `json:"why"`
	Points []CurvePoint `json:"points"` // by falling stepover
}

// CurvePoint is one stepover on a curve.
type CurvePoint struct {
	StepoverMM float64 `json:"stepover_mm"`
	CuspUM     float64 `json:"cusp_um"`
	RaUM       float64 `json:"ra_um"`
	Minutes    float64 `json:"minutes"` // a piece
}

// Solid is a thing to print or cut that a plan brings with it.
type Solid struct {
	File string `json:"file"`
	// Kind is "block", "jaw" or "plug", For what it serves: a zone's patch, a pair
	// of jaws, an opening.
	Kind      string  `json:"kind"`
	For       string  `json:"for"`
	VolumeMM3 float64 `json:"volume_mm3"`
	Closed    bool    `json:"closed"`
	Picture   string  `json:"picture,omitempty"`
	Says      string  `json:"says"`
}

// Offer is one finish that could be had instead, with what it would cost.
type Offer struct {
	Look      string   `json:"look"`
	Title     string   `json:"title"`
	Asked     bool     `json:"asked"` // the finish of the brief
	Each      Cost     `json:"each"`
	AttendedH Estimate `json:"attended_h"`
	AloneH    Estimate `json:"alone_h"`
	RaUM      Estimate `json:"ra_um"`
	Meets     bool     `json:"meets"`
	// Aim is what this way to the asked finish was chosen for; empty for another
	// finish.
	Aim    Aim      `json:"aim,omitempty"`
	Chance float64  `json:"chance"`
	ReadyH Estimate `json:"ready_h"`
	// Steps are the keys of its steps.
	Steps []string `json:"steps"`
	// Ladder is what other lots of it would cost.
	Ladder []OfferRung `json:"ladder,omitempty"`
	// Day is the day that it was promised for, RFC 3339 full-date.
	Day  string `json:"day,omitempty"`
	Says string `json:"says"`
}

// Caution is a hazard of a step, in plain words, with where to read on.
type Caution struct {
	ID    string   `json:"id"`
	Says  string   `json:"says"`
	Defer string   `json:"defer"` // "the media's safety data sheet; NFPA 484"
	Basis string   `json:"basis"`
	Steps []string `json:"steps"` // names of the steps it stands beside
}
