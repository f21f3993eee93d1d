package fettle

// Block is a formed sanding block for a patch of a zone: a face that lies on the
// part with the paper between, and the stroke along which it keeps lying on it.
type Block struct {
	Part  string `json:"part"`
	Zone  string `json:"zone"`
	Patch string `json:"patch"` // "show-1", largest first
	// Surface is what the patch is as a thing to slide on: "plane", "sphere",
	// "cylinder", "extruded", "revolved", "helix", "free-form".
	Surface string  `json:"surface"`
	AreaMM2 float64 `json:"area_mm2"` // of the patch
	// Stiff is true where a stiff block can follow; the rest is there only then.
	Stiff bool   `json:"stiff"`
	Says  string `json:"says"`

	Grit     string     `json:"grit,omitempty"`
	PaperMM  Estimate   `json:"paper_mm"`
	LimitUM  float64    `json:"limit_um"` // how far the face may stand off while it is stroked
	Strokes  []Stroke   `json:"strokes"`  // best first; the block is made for the first
	FaceMM   [2]float64 `json:"face_mm"`  // along and across the stroke
	SizeMM   [3]float64 `json:"size_mm"`  // of the whole block
	Covered  float64    `json:"covered"`  // share of the patch that the stroked block goes over
	Fit      BlockFit   `json:"fit"`
	Sheet    PaperCut   `json:"paper"`
	Mirrored bool       `json:"mirrored"` // for the part's mirror image
	// VolumeMM3 and Closed are of the solid.
	VolumeMM3 float64  `json:"volume_mm3"`
	Closed    bool     `json:"closed"`
	Warnings  []string `json:"warnings"`
}

// Stroke is a motion in which a patch slides on itself.
type Stroke struct {
	Kind string `json:"kind"` // "straight", "round an axis", "screw"
	// Axis is the direction of a straight stroke, else that of the axis, which goes
	// through At.
	Axis [3]float64 `json:"axis"`
	At   [3]float64 `json:"at_mm"`
	// RadiusMM is the distance of the patch's middle from the axis, PitchMM the
	// advance along it in one turn; 0 where they mean nothing.
	RadiusMM float64 `json:"radius_mm,omitempty"`
	PitchMM  float64 `json:"pitch_mm,omitempty"`
	// ReachMM is how far to either side the block may be stroked before it stands
	// off by more than the limit, or leaves the patch by half its length.
	ReachMM float64 `json:"reach_mm"`
	// ErrorUM is how far it stands off at most within that, and Errors how that
	// grows.
	ErrorUM float64       `json:"error_um"`
	Errors  []StrokeError `json:"errors"`
}

// StrokeError is how a block fits when moved along its stroke.
type StrokeError struct {
	AtMM  float64 `json:"at_mm"`
	MaxUM float64 `json:"max_um"` // the largest stand-off, once the block has settled
	RMSUM float64 `json:"rms_um"`
	Share float64 `json:"share"` // of the face that is over the patch
}

// BlockFit is how a block's face lies on the part at rest, measured on the part's
// own facets.
type BlockFit struct {
	OffsetMM float64 `json:"offset_mm"` // wanted
	WorstUM  float64 `json:"worst_um"`  // largest distance from it, of 99 % of the face over the patch
	MaxUM    float64 `json:"max_um"`
	RMSUM    float64 `json:"rms_um"`
	// FacetUM is what of this the part's own facets may be answerable for.
	FacetUM float64 `json:"facet_um"`
	// BridgedShare of the face lies over openings.
	BridgedShare float64 `json:"bridged_share"`
	// ClearMM is the least distance of all but the face from the part while it is
	// stroked.
	ClearMM float64 `json:"clear_mm"`
}

// PaperCut is the paper to cut for a block.
type PaperCut struct {
	LongMM float64 `json:"long_mm"` // along the stroke, both tucks included
	WideMM float64 `json:"wide_mm"`
	TuckMM float64 `json:"tuck_mm"` // of each end that goes into the slot
	// StripMM is the widest strip that still lies on the face without a wrinkle; 0
	// where the whole sheet does.
	StripMM float64 `json:"strip_mm,omitempty"`
	Says    string  `json:"says"`
}
