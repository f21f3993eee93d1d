package fettle

// Charge is one load of a barrel or bowl.
type Charge struct {
	Step   int    `json:"step"` // index into the route
	Vessel string `json:"vessel"`
	Media  string `json:"media"`
	// Loads is how often the vessel must be filled for the lot.
	Loads        int     `json:"loads"`
	PartsPerLoad int     `json:"parts_per_load"`
	MediaToParts float64 `json:"media_to_parts_by_volume"`
	FillShare    float64 `json:"fill_share"` // of the vessel's volume
	MediaL       float64 `json:"media_l"`
	MediaKg      float64 `json:"media_kg"`
	// Tone is how wet it runs, WaterLevel says so in words, Tones what else could
	// be had.
	Tone        Tone         `json:"tone,omitempty"`
	WaterLevel  string       `json:"water_level"`
	Tones       []ToneChoice `json:"tones"`
	WaterL      Estimate     `json:"water_l"`
	CompoundML  Estimate     `json:"compound_ml"`
	Compound    string       `json:"compound"`
	RPM         float64      `json:"rpm"`          // 0 for a bowl
	CriticalRPM float64      `json:"critical_rpm"` // 0 for a bowl
	Froude      float64      `json:"froude"`       // (RPM/CriticalRPM)²
	Hours       Estimate     `json:"hours"`
	// HoursTo are when it passes each look of the shelf that it can pass.
	HoursTo    []LookHours `json:"hours_to"`
	FirstLookH float64     `json:"first_look_h"`
	// LooksH are the hours at which to look, the first of them FirstLookH.
	LooksH []float64 `json:"looks_h"`
	// Apart says how parts are kept from marking each other; empty where media
	// between them do it.
	Apart string `json:"apart,omitempty"`
	// LastLoadParts is how many pieces the last load holds.
	LastLoadParts int     `json:"last_load_parts"`
	VentEveryH    float64 `json:"vent_every_h"` // 0: no need
	ChangeLiquidH float64 `json:"change_liquid_h"`
	Jams          []Jam   `json:"jams"`
	// ReachedShare is the share of the judged face that the media touch, and Leaves
	// what they leave as it was; 1 and none where that was not worked out.
	ReachedShare float64     `json:"reached_share"`
	Leaves       []LeftAsCut `json:"leaves"`
}

// Jam is the judgement of one opening against one piece of media.
type Jam struct {
	Opening string `json:"opening"`
	Media   string `json:"media"`
	State   State  `json:"state"`
	// Enters is what a search over places and poses of one piece found.
	Enters Entry `json:"enters"`
	// Ratio is clear width over the size of the piece that is worst for it.
	Ratio  float64 `json:"ratio"`
	Chance Chance  `json:"chance"`
	Why    string  `json:"why"`
	// HoursToFit is how long media that cannot enter run in a bowl until they have
	// worn so far that they can; nil where they can already or never will.
	HoursToFit *Estimate `json:"hours_to_fit,omitempty"`
}

// State is how far media have worn.
type State string

// The states that are judged. Worn stands for all the way from new to where the
// media are discarded.
const (
	New  State = "new"
	Now  State = "now"
	Worn State = "worn"
)

// Entry is what one piece of media can do at an opening.
type Entry string

// The answers.
const (
	CannotEnter Entry = "cannot enter"
	PassesFree  Entry = "enters and leaves"
	CanBeHeld   Entry = "can be held"
)

// Chance is a probability in words and as a number, 0 to 1.
type Chance struct {
	Word string  `json:"word"` // "none", "slight", "real", "near certain"
	P    float64 `json:"p"`
}

// ChanceOf puts a probability in words.
func ChanceOf(p float64) Chance {
	word := "near certain"
	switch {
	case p < 0.005:
		word = "none"
	case p < 0.1:
		word = "slight"
	case p < 0.6:
		word = "real"
	}
	return Chance{Word: word, P: p}
}
