package fettle

// Recipe is how a finish is made, apart from the shop it was made in: what was
// used is described, not only named, so that another shop can find its own.
type Recipe struct {
	Title    string       `json:"title"`
	Material Material     `json:"material"`
	Look     Look         `json:"look"`
	Lot      int          `json:"lot"`
	Tone     Tone         `json:"tone,omitempty"`
	Steps    []RecipeStep `json:"steps"`
	// Allowances are what to leave on before finishing, µm, by zone or opening.
	AllowanceUM map[string]Estimate `json:"allowance_um"`
	Cautions    []Caution           `json:"cautions"`
	Program     string              `json:"program"` // version of fettle that wrote it
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

// Pack is the list of contents of a file that goes to a partner shop.
type Pack struct {
	Format  string     `json:"format"` // "fettle pack 1"
	Title   string     `json:"title"`
	From    string     `json:"from,omitempty"` // the shop
	Written string     `json:"written"`        // RFC 3339 date and time
	Program string     `json:"program"`
	Files   []PackFile `json:"files"`
	// Customer and Money say whether such data was put in on request.
	Customer bool `json:"customer"`
	Money    bool `json:"money"`
	// NotOurs says why the shop passes the job on, where it does.
	NotOurs []Refusal `json:"not_ours,omitempty"`
}

// PackFile is one file in a pack.
type PackFile struct {
	Name   string `json:"name"` // "model/plate.step", "brief.json", "plan.json", "recipe.json", "pictures/…"
	Role   string `json:"role"` // model, brief, plan, recipe, picture, paper, solid
	Bytes  int64  `json:"bytes"`
	SHA256 string `json:"sha256"`
}
