package fettle

// StepKind is what is done in a step.
type StepKind string

// The kinds of steps.
const (
	StepSurface StepKind = "surface" // the last cutting pass over a zone
	StepDeburr  StepKind = "deburr"  // by hand
	StepRub     StepKind = "rub"     // by hand with a grit
	StepTumble  StepKind = "tumble"  // a charge of a barrel, bowl or centrifugal barrel
	StepWash    StepKind = "wash"    // wash and dry between charges
	StepBuff    StepKind = "buff"    // a mop with a bar of compound
	StepInspect StepKind = "inspect"
)

// Step is one thing to do, with what it is expected to leave.
type Step struct {
	// Key names the step in a [StepWish]: "pass ball-10", "deburr", "rub P400",
	// "tumble cob-2 in dry barrel", "buff cotton-loose".
	Key  string   `json:"key"`
	Name string   `json:"name"`
	Kind StepKind `json:"kind"`
	Zone string   `json:"zone"` // the zone whose numbers follow; media reach all
	// Minutes are for the lot: at it, and on its own.
	MinutesAttended Estimate `json:"minutes_attended"`
	MinutesAlone    Estimate `json:"minutes_alone"`
	RaUM            Estimate `json:"ra_um"`
	Marks           []Mark   `json:"marks"`
	// TextureMM is the dominant wavelength of the fine texture that the face has after
	// this step, TextureLay its direction; 0 and empty where it is not known.
	TextureMM    float64  `json:"texture_mm,omitempty"`
	TextureLay   string   `json:"texture_lay,omitempty"`
	RemovedUM    Estimate `json:"removed_um"`     // by this step
	EdgeRadiusUM Estimate `json:"edge_radius_um"` // after this step
	Cost         Cost     `json:"cost"`           // for the lot
	Caution      string   `json:"caution"`
	Do           string   `json:"do"`   // what to do, in whole sentences
	Look         string   `json:"look"` // what to look for when it is done
	Why          []string `json:"why"`  // reasons, most important first
	Pass         *Pass    `json:"pass,omitempty"`
	Rub          *Rub     `json:"rub,omitempty"`
	Charge       *Charge  `json:"charge,omitempty"`
	Buff         *Buff    `json:"buff,omitempty"`
}

// Route is the ordered steps from raw stock to the finish.
type Route []Step

// Pass is a finishing pass of a cutter over a zone.
type Pass struct {
	Cutter     string  `json:"cutter"`
	StepoverMM float64 `json:"stepover_mm"` // 0 for one pass with the side of the cutter
	Crossed    bool    `json:"crossed"`
	CuspUM     float64 `json:"cusp_um"` // at the worst slope and curvature of 95 % of the zone
	FeedMarkUM float64 `json:"feed_mark_um"`
	FacetMM    float64 `json:"facet_mm"`
	FacetDeg   float64 `json:"facet_turn_deg"`
	// ToleranceUM is the chord tolerance that the program is to be made with.
	ToleranceUM float64 `json:"tolerance_um"`
	SpindleRPM  float64 `json:"spindle_rpm"`
	FeedMMMin   float64 `json:"feed_mm_min"`
	// Reach is the share of the zone's area that the cutter can reach by
	// curvature, 0 to 1.
	Reach float64 `json:"reach"`
	// Simulated is what the moves of this pass leave on a small piece of the zone;
	// nil where the side or the end of the cutter makes the face.
	Simulated *Simulated `json:"simulated,omitempty"`
}

// Simulated is the surface on a small piece of a zone, worked out move by move
// and measured as an instrument would.
type Simulated struct {
	AtMM     [3]float64 `json:"at_mm"`   // the middle of the piece, on the model
	SizeMM   [2]float64 `json:"size_mm"` // along and across the passes
	CellUM   float64    `json:"cell_um"`
	SlopeDeg float64    `json:"slope_deg"` // mean, against the zone's up
	// CuspUM is the height from peak to valley within one stepover across the
	// passes: the median over the piece.
	CuspUM float64 `json:"cusp_um"`
	// RaUM and RzUM are of profiles across the passes (ISO 21920-2), the mean of
	// many; CutoffMM is the filter's cut-off, 0 where the piece is too short for
	// one.
	RaUM     float64 `json:"ra_um"`
	RzUM     float64 `json:"rz_um"`
	CutoffMM float64 `json:"cutoff_mm"`
	// Sa, Sq, Sz and the rms slope are of the piece (ISO 25178-2) without its form.
	SaUM    float64 `json:"sa_um"`
	SqUM    float64 `json:"sq_um"`
	SzUM    float64 `json:"sz_um"`
	SdqMrad float64 `json:"sdq_mrad"`
	// FacetUM is how far the model itself goes up and down about a smooth surface
	// there, peak to valley. The pass is simulated on the smooth surface; a program
	// made from a model with coarse facets cuts them too.
	FacetUM float64 `json:"model_facets_um"`
}

// Rub is work by hand with one grit.
type Rub struct {
	Grit string `json:"grit"`
	// Block is "stiff block", "formed block", "soft pad" or "free hand".
	Block     string   `json:"block"`
	Wet       bool     `json:"wet"`
	TakeOffUM Estimate `json:"take_off_um"` // to erase what came before
	PaperCM2  Estimate `json:"paper_cm2"`   // per piece
	StrokeDeg float64  `json:"stroke_deg"`  // in the plane of the zone, turned 90° between grits
}
