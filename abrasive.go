package fettle

// GritScale is the standard that a grit number belongs to. Numbers of
// different scales must never be compared.
type GritScale string

// The scales.
const (
	ScaleP    GritScale = "P"    // ISO 6344, FEPA 43
	ScaleCAMI GritScale = "CAMI" // ANSI B74.18
)

// Grit is a coated abrasive: paper or cloth of one grain size.
type Grit struct {
	Name    string    `json:"name"` // "P240"
	Scale   GritScale `json:"scale"`
	Number  int       `json:"number"`
	GrainUM float64   `json:"grain_um"` // mean grain diameter
	Backing string    `json:"backing"`
	ThickMM Estimate  `json:"thick_mm"`
	// RaUM and RzUM are what it leaves across the lay on ground austenitic
	// stainless.
	RaUM       Estimate `json:"ra_um"`
	RzUM       Estimate `json:"rz_um"`
	PriceSheet Estimate `json:"price_sheet"` // 230 × 280 mm
	Basis      string   `json:"basis"`
}
