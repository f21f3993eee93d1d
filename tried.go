package fettle

// PocketWish is where a pocket is wished for; what is left out is chosen.
type PocketWish struct {
	Pair string `json:"pair,omitempty"` // on the shelf
	// Fixed and Moving are how the jaws on the two sides of the vise are mounted;
	// Swapped has each stand in the other's place.
	Fixed   JawTurn  `json:"fixed_jaw,omitempty"`
	Moving  JawTurn  `json:"moving_jaw,omitempty"`
	Swapped *bool    `json:"swapped,omitempty"`
	TurnDeg *float64 `json:"turn_deg,omitempty"`
	ShiftMM *float64 `json:"shift_mm,omitempty"`
	GripMM  float64  `json:"grip_mm,omitempty"`
	// Reuse lays the part in a pocket that has been cut, by its id or name.
	Reuse string `json:"reuse,omitempty"`
}

// TriedPocket is a pocket as it was wished for, in the pair that it would be cut in.
type TriedPocket struct {
	Wish   PocketWish `json:"wish"`
	Pocket JawPocket  `json:"pocket"`
	Pair   Jaws       `json:"pair"`
	// Older is what was cut in the pair before, as it is mounted now.
	Older []OlderCut `json:"older"`
	// Bores are the mounting holes and the recesses for their heads.
	Bores []JawBore `json:"bores"`
	// Files are drawing, outlines and both jaws as solids: SHA-256 by name.
	Files map[string]string `json:"files"`
}

// JawBore is a mounting hole, or the recess for its head, as its jaw is mounted: a
// cylinder along the vise's Y.
type JawBore struct {
	Hole       int        `json:"hole"` // from 1, as on the shelf
	Jaw        int        `json:"jaw"`
	XMM        float64    `json:"x_mm"`
	ZMM        float64    `json:"z_mm"`
	YMM        [2]float64 `json:"y_mm"` // from, to
	DiameterMM float64    `json:"diameter_mm"`
}

// OlderCut is what one pocket took from one jaw, in the vise's frame.
type OlderCut struct {
	Name   string `json:"name"`
	Pocket string `json:"pocket"`
	Part   string `json:"part"`
	SHA256 string `json:"sha256"`
	Date   string `json:"date,omitempty"`
	Jaw    int    `json:"jaw"`
	// LowMM and HighMM are how far down and up it goes from the jaws' top; HighMM is
	// below 0 where it does not come out at the top.
	LowMM  float64 `json:"low_mm"`
	HighMM float64 `json:"high_mm"`
	// Edges are its outlines from above, all depths together.
	Edges [][]PlanEdge `json:"edges"`
}
