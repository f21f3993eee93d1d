package fettle

// Recipe is how a finish is made, apart from the shop it was made in: what was
// used is described, not only named, so that another shop can find its own.
type Recipe struct {
	Title    string   `json:"title"`
	Material Material `json:"material"`
	Look     Look     `json:"look"`
	Lot      int      `json:"lot"`
	// Piece is the part that its charges were made up for, Tone how wet they ran.
	Piece RecipePiece  `json:"piece"`
	Tone  Tone         `json:"tone,omitempty"`
	Steps []RecipeStep `json:"steps"`
	// Allowances are what to leave on before finishing, µm, by zone or opening.
	AllowanceUM map[string]Estimate `json:"allowance_um"`
	Cautions    []Caution           `json:"cautions"`
	Program     string              `json:"program"` // version of fettle that wrote it
}

// RecipePiece is a part as a barrel sees it; zero where it is not known.
type RecipePiece struct {
	SizeMM    [3]float64 `json:"size_mm"`
	VolumeMM3 float64    `json:"volume_mm3"`
	AreaMM2   float64    `json:"area_mm2"`
}

// RecipeStep is one step, with the things it used as they stood on the shelf of
// the shop that wrote it.
type RecipeStep struct {
	Key    string   `json:"key"`
	Name   string   `json:"name"`
	Kind   StepKind `json:"kind"`
	Zone   string   `json:"zone"`
	Do     string   `json:"do"`
	RaUM   Estimate `json:"ra_um"`
	Pass   *Pass    `json:"pass,omitempty"`
	Rub    *Rub     `json:"rub,omitempty"`
	Charge *Charge  `json:"charge,omitempty"`
	Buff   *Buff    `json:"buff,omitempty"`
	Cutter *Cutter  `json:"cutter,omitempty"`
	Grit   *Grit    `json:"grit,omitempty"`
	Media  *Media   `json:"media,omitempty"`
	Vessel *Vessel  `json:"vessel,omitempty"`
	Mop    *Mop     `json:"mop,omitempty"`
	// Learned are the numbers that this shop's log gave for what it used.
	Learned []Parameter `json:"learned"`
}

// Mapping is a recipe laid over another shop's shelf.
type Mapping struct {
	Recipe string       `json:"recipe"`
	Steps  []MappedStep `json:"steps"`
	// Missing are sentences: what this shelf does not hold and what to do about it,
	// worst first.
	Missing []string `json:"missing"`
	// Ready is set when every step has something on this shelf that will do.
	Ready bool `json:"ready"`
	// Wishes are the steps as a brief can keep them ([Brief.Steps]).
	Wishes []StepWish `json:"wishes"`
}

// MatchGrade is how well something on the shelf stands for another thing.
type MatchGrade string

// The grades.
const (
	SameThing MatchGrade = "same"
	CloseKin  MatchGrade = "close" // will do; Says tells what changes
	NoMatch   MatchGrade = "none"
)

// MappedStep is one step on the new shelf.
type MappedStep struct {
	Was   string     `json:"was"` // the recipe's key
	Now   string     `json:"now"` // the key here; empty where nothing does
	Grade MatchGrade `json:"grade"`
	// Uses tells, thing by thing, what stands for what.
	Uses []Stand `json:"uses"`
	// Hours of a charge, as it ran there and as it is expected here.
	HoursWas *Estimate `json:"hours_was,omitempty"`
	HoursNow *Estimate `json:"hours_now,omitempty"`
	Says     []string  `json:"says"`
}

// Stand is one thing of a recipe and what stands for it here.
type Stand struct {
	Kind  RecordKind `json:"kind"`
	Was   string     `json:"was"`
	Now   string     `json:"now,omitempty"`
	Grade MatchGrade `json:"grade"`
	Says  string     `json:"says"`
}
