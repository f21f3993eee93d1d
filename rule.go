package fettle

// Rule is a rule of the trade that a route was held to, with its reason. A brief
// may set it aside.
type Rule struct {
	ID   string `json:"id"` // "finer-only"
	Says string `json:"says"`
	// SetAside is true where the brief says that it shall not hold here.
	SetAside bool `json:"set_aside"`
	// Cut counts the ways that the search did not follow because of it.
	Cut int `json:"cut"`
}

// StepWish is what a user wants done with a step of a route. The rest is solved
// again around it.
type StepWish struct {
	// Do is "keep", "drop" or "replace".
	Do string `json:"do"`
	// Step is a step's key, as in [Step.Key], or the part of it that names a thing
	// on the shelf: "rub P400", "P400", "cob-2", "cob-2 in dry barrel", "bowl".
	Step string `json:"step"`
	// With is the key that takes its place, for "replace".
	With string `json:"with,omitempty"`
	// Hours pins how long a charge that is kept runs; 0 leaves it to the laws.
	Hours float64 `json:"hours,omitempty"`
	// StepoverMM pins how far apart the passes of a cutter that is kept lie, and Crossed
	// whether a second set goes square to the first; 0 and nil leave them to the search.
	StepoverMM float64 `json:"stepover_mm,omitempty"`
	Crossed    *bool   `json:"crossed,omitempty"`
}

// Aim is what a route is chosen for, among those that reach the finish.
type Aim string

// The aims.
const (
	LeastMoney Aim = "least money"
	Soonest    Aim = "soonest"
	Surest     Aim = "surest"
)

// Search is how a route was found and what that proves.
type Search struct {
	// Ways is how many part-routes were worked out, Cut how many of them were left
	// because nothing that follows could have won.
	Ways int `json:"ways"`
	Cut  int `json:"cut"`
	// Proved tells that no route over this shelf under these rules does better.
	// Where it is false the search was stopped, and Within is how much better, as a
	// share of what is minimised, a route that was not looked at could be at most.
	Proved bool    `json:"proved"`
	Within float64 `json:"within"`
}
