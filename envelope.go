package fettle

// Envelope is what the shop takes. A limit of 0 and an empty list set none.
type Envelope struct {
	MaxMM     [3]float64 `json:"max_mm"` // the part's size, longest first
	MinMM     float64    `json:"min_mm"` // of its longest side
	MaxKg     float64    `json:"max_kg"`
	Materials []string   `json:"materials"`
	Finishes  []string   `json:"finishes"`
	MinLot    int        `json:"min_lot"`
	MaxLot    int        `json:"max_lot"`
	// HolesUnderMM are not worked: a through hole or slot narrower than this makes
	// a part another shop's.
	HolesUnderMM float64 `json:"holes_under_mm"`
	Notes        string  `json:"notes,omitempty"`
}

// Fit is whether a part is the shop's.
type Fit struct {
	// Ours is true where the part is beyond no limit, as far as that could be judged.
	Ours bool `json:"ours"`
	// Because gives each limit that it is beyond, with both numbers.
	Because []Refusal `json:"because"`
	// Open gives each limit that could not be judged, with what to do about it.
	Open []Refusal `json:"open"`
}

// Refusal is one limit that a part is beyond, or may be.
type Refusal struct {
	Limit string `json:"limit"` // the key of the envelope: "max_mm"
	Says  string `json:"says"`
}
