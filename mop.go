package fettle

// Mop is a polishing wheel of cloth or sisal with the bar of compound that
// belongs to it.
type Mop struct {
	Name     string `json:"name"` // "cotton-sewn-cut"
	Title    string `json:"title"`
	Wheel    string `json:"wheel"` // "sisal", "sewn cotton", "loose cotton"
	Compound string `json:"compound"`
	// ContactMM is the length over which it bears: it follows what is longer.
	ContactMM float64 `json:"contact_mm"`
	// LimitRaUM is the roughness that it tends to on steel.
	LimitRaUM Estimate `json:"limit_ra_um"`
	// MinPer100CM2 is its time constant: minutes for 100 cm² of open steel in which
	// the distance to its limit falls to 1/e.
	MinPer100CM2 Estimate `json:"min_per_100_cm2"`
	// CutUMMin is what comes off 100 cm² of open steel in a minute.
	CutUMMin Estimate `json:"cut_um_min_per_100_cm2"`
	// StartRaUM is the roughest surface it is any use on; 0 for no limit.
	StartRaUM float64  `json:"start_ra_um"`
	BarCost   Estimate `json:"bar_cost"` // of compound, for 1 m² of face
	Basis     string   `json:"basis"`
}

// Buff is work with a mop.
type Buff struct {
	Mop string `json:"mop"`
	// OpenShare is the share of the face that a wheel gets to.
	OpenShare float64 `json:"open_share"`
}
