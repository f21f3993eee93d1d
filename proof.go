package fettle

// Proof is what a program will do and leave: the answer to "is this the one we
// think it is?". Lengths are in mm and in program coordinates.
type Proof struct {
	File   string `json:"file"`
	Number string `json:"number"` // of the program: "O1001"
	Title  string `json:"title"`
	Units  string `json:"units"` // "mm", "inch" or "mixed": what the program is written in

	Lines         int     `json:"lines"`
	MotionBlocks  int     `json:"motion_blocks"`
	Arcs          int     `json:"arcs"`
	FeedLengthMM  float64 `json:"feed_length_mm"`
	RapidLengthMM float64 `json:"rapid_length_mm"`
	// FeedBox and RapidBox are where the tip goes in the offset that is proved;
	// nil where it does not.
	FeedBox  *Span `json:"feed_box_mm"`
	RapidBox *Span `json:"rapid_box_mm"`

	Offsets    []string    `json:"offsets"`
	Offset     string      `json:"offset"` // the one that is proved
	Tools      []ProofTool `json:"tools"`
	SpindleRPM []float64   `json:"spindle_rpm"` // that cut, ascending
	Feeds      []float64   `json:"feeds"`       // mm/min, ascending

	NotUnderstood []NotUnderstood `json:"not_understood"`

	// TimeS is the sum of the four that follow.
	TimeS       float64 `json:"time_s"`
	CutS        float64 `json:"cut_s"`
	RapidS      float64 `json:"rapid_s"`
	DwellS      float64 `json:"dwell_s"`
	ToolChangeS float64 `json:"tool_change_s"`
	TimeBasis   string  `json:"time_basis"`

	FirstCut *FirstCut     `json:"first_cut"` // of the program; each tool's stands with the tool
	Regions  []ProofRegion `json:"regions"`
	Facets   *Facets       `json:"facets"` // of the tool that makes most of the surface

	// The surface. All is nil without a part, or where nothing can be told.
	CellUM  float64    `json:"cell_um"`
	Zones   []string   `json:"zones"` // that are judged
	ZoneMM2 float64    `json:"zone_mm2"`
	CuspUM  *Quantiles `json:"cusp_um"`
	SqUM    *float64   `json:"sq_um"`
	SaUM    *float64   `json:"sa_um"`
	// LayDeg is the direction of the passes that made most of the surface, from
	// the program's X, 0 to 180. Lay is "one way", "crossed" or "mixed".
	LayDeg *float64 `json:"lay_deg"`
	Lay    string   `json:"lay"`
	// GougeMM is the largest depth below the part anywhere on the map, LeftMM the
	// largest height left on the zone, LeftP95MM what 95 % of it stays under.
	GougeMM   *float64    `json:"gouge_mm"`
	GougeAt   *[2]float64 `json:"gouge_at_mm"`
	GougeLine int         `json:"gouge_line"`
	LeftMM    *float64    `json:"left_mm"`
	LeftP95MM *float64    `json:"left_p95_mm"`
	LeftAt    *[2]float64 `json:"left_at_mm"`
	// Untouched is the share of the zone that no cut reaches, 0 to 1.
	Untouched *float64 `json:"untouched"`

	Findings []Finding `json:"findings"`
	Advice   string    `json:"advice"`
}

// ProofTool is what a program does with one tool.
type ProofTool struct {
	Number int    `json:"number"`
	Cutter string `json:"cutter"` // of the set-up; empty where it is not known
	Length []int  `json:"length"` // registers that were in force while it moved
	// Minutes counts its moves, dwells and the change to it.
	Minutes    float64   `json:"minutes"`
	CutMinutes float64   `json:"cut_minutes"`
	FeedMM     float64   `json:"feed_length_mm"`
	FeedBox    *Span     `json:"feed_box_mm"`
	SpindleRPM []float64 `json:"spindle_rpm"`
	Feeds      []float64 `json:"feeds"`
	// MeanFeed is what acceleration and block rate leave of the feeds, mm/min.
	MeanFeed float64   `json:"mean_feed_mm_min"`
	FirstCut *FirstCut `json:"first_cut"`
	Facets   *Facets   `json:"facets"`
	Share    float64   `json:"zone_share"` // of the zone's area that it made last, 0 to 1
}

// NotUnderstood is something in a program that the proof leaves out.
type NotUnderstood struct {
	Line        int    `json:"line"`
	Text        string `json:"text"`
	Consequence string `json:"consequence"`
}

// FirstCut is how a tool meets the blank: the largest engagement in the first
// two diameters of path.
type FirstCut struct {
	Tool    int     `json:"tool"`
	Line    int     `json:"line"`
	DepthMM float64 `json:"depth_mm"` // along the axis
	WidthMM float64 `json:"width_mm"` // across the feed
	// NominalDepthMM and NominalWidthMM are the same on a blank without what the
	// saw left over.
	NominalDepthMM float64    `json:"nominal_depth_mm"`
	NominalWidthMM float64    `json:"nominal_width_mm"`
	AtMM           [3]float64 `json:"at_mm"`
	// ForceN is the mean cutting force of a tooth (Kienzle), where the material
	// and the feed are known.
	ForceN *Estimate `json:"force_n,omitempty"`
}

// ProofRegion is a connected stretch of cutting with one tool.
type ProofRegion struct {
	Tool      int     `json:"tool"`
	FirstLine int     `json:"first_line"`
	LastLine  int     `json:"last_line"`
	Blocks    int     `json:"blocks"`
	FeedMM    float64 `json:"feed_length_mm"`
	Feed      float64 `json:"feed_mm_min"` // that covers most of its length
	Box       Span    `json:"box_mm"`
	// Passes are the sets of parallel passes in it: one, or two where they cross.
	Passes []PassSet `json:"passes"`
}

// PassSet is passes side by side.
type PassSet struct {
	DirectionDeg float64 `json:"direction_deg"` // from the program's X, 0 to 180
	// SpacingMM is the distance between neighbours, square to the passes and up
	// the slope.
	SpacingMM Quantiles `json:"spacing_mm"`
	// CuspUM is what that spacing leaves on a flat, by the closed form; 0 for a
	// flat end.
	CuspUM float64 `json:"cusp_um"`
}

// Facets are the chords that a path is made of: the straight cuts that meet at
// a small angle, with corners and straight runs left out.
type Facets struct {
	Chords   int       `json:"chords"`
	LengthMM Quantiles `json:"length_mm"`
	TurnDeg  Quantiles `json:"turn_deg"`
	// Visible is true where the turn is more than a bright face hides: 0.06°
	// (1 mrad) at a pitch of 0.1 to 3 mm.
	Visible bool `json:"visible"`
	Corners int  `json:"corners"` // turns past 15°
}

// Severity says what a finding asks for.
type Severity string

// The severities, worst first.
const (
	Wrong Severity = "wrong" // do not run it like this
	Check Severity = "check" // look before running it
	Note  Severity = "note"  // good to know
)

// Finding is one thing that the proof found.
type Finding struct {
	Severity Severity `json:"severity"`
	Line     int      `json:"line"` // of the program; 0 for none
	Kind     string   `json:"kind"`
	Says     string   `json:"says"` // one sentence
	Try      string   `json:"try"`
}

// Agrees reports whether nothing wrong was found.
func (p *Proof) Agrees() bool {
	for _, f := range p.Findings {
		if f.Severity == Wrong {
			return false
		}
	}
	return true
}
