package fettle

// Look is a finish by the name the trade gives it. No standard defines these
// names: the numbers are this shop's, to be agreed by sample, and a roughness
// on the drawing wins over them.
type Look struct {
	Name  string `json:"name"`  // what a user types: "satin"
	Title string `json:"title"` // what a person reads
	Says  string `json:"says"`  // one sentence for the customer
	// RaUM is the band of Ra that reads as this look; Value is the aim.
	RaUM Estimate `json:"ra_um"`
	// Lay says whether the look wants visible direction (satin) or none.
	Lay LayWish `json:"lay"`
	// CuspsMayShow is true when the cutter's own pattern belongs to the look.
	CuspsMayShow bool `json:"cusps_may_show"`
	// Specular is the share of light that is thrown back as by a mirror, at 60°
	// from the normal and 550 nm, that the look wants at least; 0 for no wish.
	Specular float64 `json:"specular_share"`
	// MarkChance is the chance that an older mark is found, above which the look
	// counts as missed.
	MarkChance float64 `json:"mark_chance"`
	// Tone is how wet its charges run.
	Tone Tone `json:"tone,omitempty"`
	// EdgeUM is the edge radius the look is happy with.
	EdgeUM Estimate `json:"edge_radius_um"`
	Basis  string   `json:"basis"`
}

// LayWish is what a look asks of the direction of texture.
type LayWish string

// The wishes.
const (
	LayAny  LayWish = "any"
	LayOne  LayWish = "one direction"
	LayNone LayWish = "no direction"
)
