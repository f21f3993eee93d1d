package fettle

// Class is how a zone is judged.
type Class string

// The classes of zones.
const (
	Show   Class = "show"   // the customer looks at it
	Plain  Class = "plain"  // seen, not looked at
	Hidden Class = "hidden" // out of sight in use
)

// Zone is a set of facets that are treated and judged alike.
type Zone struct {
	ID      string  `json:"id"` // stable for one model: "show", "sides", "back"
	Name    string  `json:"name"`
	Class   Class   `json:"class"`
	AreaMM2 float64 `json:"area_mm2"`
	// Facets are triangle indices of the welded mesh, ascending.
	Facets []int32 `json:"-"`
	Count  int     `json:"facets"`
	// SizeMM is the zone's box as the part lies with its show face up: two sides
	// in plan (along X and Y where Z is up) and the height.
	SizeMM [3]float64 `json:"size_mm"`
	// Up is the mean outward normal weighted by area, unit length; for the sides
	// it is the part's up.
	Up [3]float64 `json:"up"`
	// SlopeDeg is the angle between facet normals and Up: median and 95 %, by
	// area.
	SlopeDeg Quantiles `json:"slope_deg"`
	// Curvature of the smooth inside of the zone: the tightest hollow (concave)
	// and the tightest bulge (convex) that cover at least 2 % of its area, as
	// radii in mm; 0 where there is none.
	ConcaveMM float64 `json:"concave_radius_mm"`
	ConvexMM  float64 `json:"convex_radius_mm"`
	// InsideCornerMM is the smallest radius between this zone's faces that a
	// cutter must get into; 0 where there is none, and sharp when Sharp is set.
	InsideCornerMM float64 `json:"inside_corner_mm"`
	SharpInside    bool    `json:"sharp_inside"`
	// EdgeMM is the length of sharp outside edges on its border.
	EdgeMM float64 `json:"edge_mm"`
	// Faces are the ids of the survey's faces that make up the zone.
	Faces []int  `json:"faces"`
	Why   string `json:"why"`
}

// Quantiles are the median, the 95 % point and the largest of a quantity over
// an area.
type Quantiles struct {
	P50 float64 `json:"p50"`
	P95 float64 `json:"p95"`
	Max float64 `json:"max"`
}
