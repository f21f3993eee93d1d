package fettle

// OpeningKind is the shape of an opening's mouth.
type OpeningKind string

// The kinds.
const (
	Hole   OpeningKind = "hole"
	Slot   OpeningKind = "slot" // keyholes count as slots with a wide end
	Pocket OpeningKind = "pocket"
	Gap    OpeningKind = "gap" // between features: no wall or floor of its own
)

// Opening is a place where media may lodge and a cutter must fit.
type Opening struct {
	ID      string      `json:"id"` // "hole-1", largest first within a kind
	Kind    OpeningKind `json:"kind"`
	Through bool        `json:"through"`
	// WidthMM is the clear width at the narrowest: a hole's diameter, a slot's or
	// pocket's smallest clear distance between walls. WidestMM is the clear width at the
	// widest point of the mouth (a countersink's or keyhole's large diameter).
	WidthMM  float64 `json:"width_mm"`
	WidestMM float64 `json:"widest_mm"`
	// LengthMM is the long way across the mouth; a round hole's equals its
	// width.
	LengthMM float64    `json:"length_mm"`
	DepthMM  float64    `json:"depth_mm"`
	At       [3]float64 `json:"at_mm"` // centre of the mouth
	Axis     [3]float64 `json:"axis"`  // unit vector out of the mouth
	// InsideMM is the smallest inside radius in plan, seen along the axis; 0 for
	// a sharp one.
	InsideMM float64 `json:"inside_radius_mm"`
	// Countersunk and Keyhole name the form where it was recognised.
	Form string `json:"form,omitempty"` // "countersunk", "counterbored", "keyhole", "groove"
	// Profile is the clear width along the depth, from the mouth to the bottom or
	// the other end, at most DepthMM down: of a keyhole that of its wide end, of a gap
	// that of its neck. Empty where the opening is too narrow for the grid of CellMM,
	// which is 0 then.
	Profile []Width `json:"profile"`
	CellMM  float64 `json:"cell_mm"`
	Facets  []int32 `json:"-"`
	Why     string  `json:"why,omitempty"` // how it was found
}

// Width is the clear width at one depth.
type Width struct {
	DepthMM float64 `json:"depth_mm"` // below the mouth
	WidthMM float64 `json:"width_mm"` // diameter of the largest circle between the walls
}

// Corner is an inside corner: a valley that a cutter or a piece of media must
// reach into.
type Corner struct {
	ID       string     `json:"id"`
	RadiusMM float64    `json:"radius_mm"` // 0 when sharp
	LengthMM float64    `json:"length_mm"`
	AngleDeg float64    `json:"angle_deg"` // between the faces, inside the void
	At       [3]float64 `json:"at_mm"`
	Zone     string     `json:"zone,omitempty"`
	Opening  string     `json:"opening,omitempty"`
}
