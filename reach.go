package fettle

// Reach is what media do to a part's every place: where they touch it, where
// they stay stuck, and how its edges go.
type Reach struct {
	File   string `json:"file"`
	SHA256 string `json:"sha256"`
	// CellMM is the grid that the void was measured on; what is said about widths
	// and reach is good to about two of them.
	CellMM   float64   `json:"cell_mm"`
	Zones    []Zone    `json:"zones"`
	Openings []Opening `json:"openings"`
	// Media are in the order of their rank for this part, best first.
	Media []MediaReach `json:"media"`
	Plugs []Plug       `json:"plugs"`
	Edges []EdgeWear   `json:"edges"`
	// Allowances are what to leave on each face and bore, for one micrometre taken
	// off an open flat face: multiply by what the route takes off.
	Allowances []FaceAllowance `json:"allowances"`
	Masks      []Mask          `json:"masks"`
	Warnings   []string        `json:"warnings"`
}

// MediaReach is one kind of media on this part.
type MediaReach struct {
	Name  string `json:"name"`
	Title string `json:"title"`
	Rank  int    `json:"rank"` // 1 for the best
	Why   string `json:"why"`  // of the rank
	// ReachedShare is the share of the part's area that it touches when new,
	// WornShare when worn out; 0 to 1.
	ReachedShare float64     `json:"reached_share"`
	WornShare    float64     `json:"worn_reached_share"`
	Zones        []ZoneReach `json:"zones"`
	Leaves       []LeftAsCut `json:"leaves"`
	Jams         []Jam       `json:"jams"`
	// JamP is the chance that at least one opening of a part holds a piece.
	JamP float64 `json:"jam_chance"`
}

// ZoneReach is how much of a zone media touch and how openly it lies to them.
type ZoneReach struct {
	Zone         string  `json:"zone"`
	ReachedShare float64 `json:"reached_share"`
	WornShare    float64 `json:"worn_reached_share"`
	// Exposure is the share of directions from which media come, the mean over the
	// zone; an open flat or bulging face has 1.
	Exposure float64 `json:"exposure"`
	// Removal is the mean removal against an open flat face.
	Removal float64 `json:"removal"`
}

// LeftAsCut is a place that media do not reach.
type LeftAsCut struct {
	Place   string     `json:"place"` // "inside corners of pocket-1"
	Zone    string     `json:"zone"`
	Opening string     `json:"opening,omitempty"`
	AreaMM2 float64    `json:"area_mm2"`
	At      [3]float64 `json:"at_mm"`
	// RadiusMM is the largest sphere's radius that reaches all but a twentieth of
	// it; 0 where none does.
	RadiusMM float64 `json:"radius_mm"`
	Says     string  `json:"says"`
}

// Plug is an opening worth closing before the charge.
type Plug struct {
	Opening string   `json:"opening"`
	With    []string `json:"with"`  // others to close too, or it is of no use
	Frees   []string `json:"frees"` // media that could be used then, by name
	Says    string   `json:"says"`
}

// EdgeWear is how one class of edges goes.
type EdgeWear struct {
	ID       string  `json:"id"`
	Place    string  `json:"place"` // "rim of hole-1", "outer edges of the show face"
	Zone     string  `json:"zone"`
	Opening  string  `json:"opening,omitempty"`
	LengthMM float64 `json:"length_mm"`
	AngleDeg float64 `json:"angle_deg"` // between the faces, in the material
	Exposure float64 `json:"exposure"`
	// Radii are the radius of the edge against what an open flat face has lost.
	Radii []EdgeRadius `json:"radii"`
}

// EdgeRadius is one point of an edge's growth.
type EdgeRadius struct {
	RemovedUM float64 `json:"removed_um"` // from an open flat face
	RadiusUM  float64 `json:"radius_um"`
}

// FaceAllowance is what a face loses for each micrometre off an open flat face.
type FaceAllowance struct {
	Place   string  `json:"place"`
	Zone    string  `json:"zone"`
	Opening string  `json:"opening,omitempty"`
	Ratio   float64 `json:"ratio"` // mean
	Least   float64 `json:"least"` // 5 % of its area loses less
	Most    float64 `json:"most"`  // 5 % loses more
}

// Mask is a place to cover or close before the charge, with its reason.
type Mask struct {
	Place string `json:"place"`
	Says  string `json:"says"`
}
