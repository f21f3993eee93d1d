package fettle

// Logbook is the runs of a shop, oldest first.
type Logbook struct {
	Shop string `json:"shop,omitempty"`
	Runs []Run  `json:"runs"`
}

// Run is a step that was really done, with what was read on it.
type Run struct {
	ID   string `json:"id"`
	Day  string `json:"day"` // RFC 3339 full-date
	Part string `json:"part,omitempty"`
	// Material is an alloy on the shelf.
	Material string   `json:"material"`
	Kind     StepKind `json:"kind"`
	// A charge: media and vessel on the shelf, and how wet it ran.
	Media  string `json:"media,omitempty"`
	Vessel string `json:"vessel,omitempty"`
	Tone   Tone   `json:"tone,omitempty"`
	// Work by hand: a grit on the shelf, the area that was worked, mm², and the
	// largest side of the part, mm.
	Grit    string  `json:"grit,omitempty"`
	AreaMM2 float64 `json:"area_mm2,omitempty"`
	SizeMM  float64 `json:"size_mm,omitempty"`
	// Pieces in the run; 0 counts as 1.
	Pieces int `json:"pieces,omitempty"`
	// Step is the key of the plan's step that this was.
	Step string `json:"step,omitempty"`
	// StepNumber is its place in the plan's route, from 1, because two steps may have one
	// key; 0 is not known.
	StepNumber int `json:"step_number,omitempty"`
	// Started and Ended are RFC 3339 times; HoursRun is how long it really ran, which
	// is less than the time between where it was stopped in between.
	Started  string    `json:"started,omitempty"`
	Ended    string    `json:"ended,omitempty"`
	HoursRun float64   `json:"hours_run,omitempty"`
	LookedH  float64   `json:"looked_h,omitempty"` // hours since it began when somebody looked at it last
	Readings []Reading `json:"readings"`
	Notes    string    `json:"notes,omitempty"`
}

// ReadingKind is what was read.
type ReadingKind string

// The kinds of readings, with what Value holds.
const (
	ReadRa       ReadingKind = "ra"         // µm, profile across the lay
	ReadRz       ReadingKind = "rz"         // µm
	ReadSq       ReadingKind = "sq"         // µm, areal
	ReadGrade    ReadingKind = "grade"      // N number on a comparison plate, 1 to 12
	ReadGloss    ReadingKind = "gloss"      // gloss units at 60°
	ReadGrams    ReadingKind = "grams"      // lost by one piece since the run began
	ReadMicron   ReadingKind = "micrometer" // µm lost across two faces since the run began
	ReadMarkGone ReadingKind = "mark gone"  // 1 gone, 0 still there; DepthUM says how deep it was
	ReadJammed   ReadingKind = "jammed"     // pieces of Pieces that held media
	ReadMinutes  ReadingKind = "minutes"    // by hand, a piece
)

// Reading is anything measured on a run.
type Reading struct {
	Kind  ReadingKind `json:"kind"`
	AtH   float64     `json:"at_h"` // hours since the run began; 0 before it
	Value float64     `json:"value"`
	// Spread is the standard deviation of the reading's natural logarithm, or, for
	// grams and micrometer, its own in their unit; 0 takes that of its kind.
	Spread float64 `json:"spread,omitempty"`
	// DepthUM is the mean thickness that had to come off for a mark to go.
	DepthUM float64 `json:"depth_um,omitempty"`
	// Place is "face", or an opening by its id for pieces that jammed.
	Place string `json:"place,omitempty"`
}

// Parameter is a number that the log has taught, before and after.
type Parameter struct {
	// Name is "time constant", "limit roughness", "removal", "pace by hand".
	Name   string        `json:"name"`
	Media  string        `json:"media,omitempty"`
	Vessel string        `json:"vessel,omitempty"`
	Class  HardnessClass `json:"class,omitempty"`
	Tone   Tone          `json:"tone,omitempty"`
	Unit   string        `json:"unit"`
	Value  Estimate      `json:"value"` // with the log
	Prior  Estimate      `json:"prior"` // without it
	// N is how many readings bear on it of themselves; others of its kin may lend
	// it theirs.
	N    int    `json:"n"`
	Says string `json:"says"`
}

// NextReading is a reading worth taking, and what it would teach.
type NextReading struct {
	Kind  ReadingKind `json:"kind"`
	AtH   float64     `json:"at_h"`
	Media string      `json:"media,omitempty"`
	// Narrows is the factor by which the interval of what is planned with would
	// shrink: 0.5 halves it.
	Narrows float64 `json:"narrows"`
	Says    string  `json:"says"`
}

// Learned is what a shop's log says.
type Learned struct {
	Runs       int           `json:"runs"`
	Readings   int           `json:"readings"`
	Parameters []Parameter   `json:"parameters"`
	Next       []NextReading `json:"next"`
	// Refused are runs that no single exponential fits, with why; their readings of
	// roughness teach nothing.
	Refused  []string `json:"refused"`
	Warnings []string `json:"warnings"`
}
