package fettle

// HardnessClass groups alloys that wear alike in a barrel and under a grit.
type HardnessClass string

// The classes for which priors are known.
const (
	ClassAluminium HardnessClass = "aluminium"
	ClassBrass     HardnessClass = "brass" // copper alloys and other soft heavy metals
	ClassMildSteel HardnessClass = "mild steel"
	ClassStainless HardnessClass = "stainless"
	ClassTitanium  HardnessClass = "titanium"
	ClassHardened  HardnessClass = "hardened steel"
)

// Material is an alloy in a stated condition.
type Material struct {
	Name      string        `json:"name"`  // what a user types: "naval brass"
	Title     string        `json:"title"` // what a person reads: "Naval brass C46400"
	Aliases   []string      `json:"aliases,omitempty"`
	Class     HardnessClass `json:"class"`
	ISOGroup  string        `json:"iso_group"` // ISO 513: P M K N S H
	Density   float64       `json:"density_g_cm3"`
	HardnessB float64       `json:"hardness_hb"`
	// KC11 and MC are Kienzle's specific cutting force and its exponent, for
	// chips 1 mm thick and 1 mm wide; ±20 %.
	KC11 float64 `json:"kc11_n_mm2"`
	MC   float64 `json:"mc"`
	// CutSpeed is the surface speed of a carbide ball at its effective
	// diameter, FeedPerTooth the feed of a finishing pass with a 6 mm ball.
	CutSpeed     Estimate `json:"cut_speed_m_min"`
	FeedPerTooth Estimate `json:"feed_per_tooth_mm"`
	// PricePerKg of small sawn stock, in the rates' currency.
	PricePerKg Estimate `json:"price_per_kg"`
	// Sold are the sizes in which it is bought; without any, blanks are priced by
	// their own weight.
	Sold []StockSize `json:"sold,omitempty"`
	// HydrogenLPerG is the gas that a gram of fines frees from water, litres at
	// 0 °C and 1 atm; 0 where it does not matter.
	HydrogenLPerG float64 `json:"hydrogen_l_per_g"`
	// DustFire marks metals whose fine dust burns.
	DustFire bool `json:"dust_fire"`
	// Rusts marks metals that flash-rust when left wet.
	Rusts bool `json:"rusts"`
	// Caution is what must be known before this metal is cut, rubbed or
	// tumbled at all; empty for metals without a hazard of their own.
	Caution string `json:"caution,omitempty"`
	Basis   string `json:"basis"` // of the numbers without one of their own
}
