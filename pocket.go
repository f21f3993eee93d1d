package fettle

// JawPocket is a pocket in soft jaws for one side of a part: what to cut, where on
// which pair, what is left to bear on, and whether it will hold.
//
// Lengths in the vise's frame: X along the jaws from their middle, Y across from
// the middle of the gap towards the fixed jaw, Z up from the jaws' top.
type JawPocket struct {
	ID     string     `json:"id"`
	Name   string     `json:"name"`
	Part   string     `json:"part"`
	SHA256 string     `json:"sha256"`
	Pair   string     `json:"pair"`
	Pose   PocketPose `json:"pose"`
	// ClearanceMM is the room left all round between the part as drawn and the jaws
	// as cut.
	ClearanceMM float64 `json:"clearance_mm"`
	Cutter      string  `json:"cutter"`
	CutterMM    float64 `json:"cutter_mm"`
	// GrooveCutter cuts the relief for the burr where another one must; empty where
	// there is no relief.
	GrooveCutter string `json:"groove_cutter,omitempty"`
	// Stepped is true where the gripped part has upright walls and level floors
	// only: then the levels are the whole pocket. Otherwise its floor is curved and
	// the STL files have it.
	Stepped bool          `json:"stepped"`
	Levels  []PocketLevel `json:"levels"` // from the top down
	DepthMM float64       `json:"depth_mm"`
	// Reliefs are corners cut past the part's outline because the cutter is round.
	Reliefs []PocketRelief `json:"reliefs"`
	// Stop is the face that settles the part along the jaws.
	Stop PocketStop `json:"stop"`
	// Bearings are what each jaw bears on: the fixed one first.
	Bearings [2]Bearing `json:"bearings"`
	// Room is what is left to what must not be cut, the least of each.
	Room []JawRoom `json:"room"`
	// Tried are the best places in each way of mounting each pair, best first.
	Tried   []JawTried `json:"tried"`
	Holding *Holding   `json:"holding,omitempty"`
	// LoadsClear is whether the part goes in from above and touches nothing but its
	// pocket.
	LoadsClear bool      `json:"loads_clear"`
	Loads      string    `json:"loads"`
	Warnings   []string  `json:"warnings"`
	Cautions   []Caution `json:"cautions"`
	Fit        PocketFit `json:"fit"`
	// TakenMM3 is what is cut away from both jaws.
	TakenMM3 float64 `json:"taken_mm3"`
}

// PocketLevel is one depth of a pocket with what is open at it.
type PocketLevel struct {
	DepthMM float64 `json:"depth_mm"` // below the jaws' top
	Relief  bool    `json:"relief"`   // for the burr, beside what the part needs
	Says    string  `json:"says"`     // in a sentence
	AreaMM2 float64 `json:"area_mm2"`
	// Edges are the outlines in the vise's frame, island by island, lines and true
	// arcs.
	Edges [][]PlanEdge `json:"edges"`
}

// PlanEdge is a line, or an arc where RadiusMM is above 0, in plan.
type PlanEdge struct {
	From     [2]float64 `json:"from_mm"`
	To       [2]float64 `json:"to_mm"`
	Centre   [2]float64 `json:"centre_mm,omitzero"`
	RadiusMM float64    `json:"radius_mm,omitempty"`
	// Left is true for an arc that runs anticlockwise.
	Left bool `json:"left,omitempty"`
}

// PocketRelief is one corner relief.
type PocketRelief struct {
	At       [2]float64 `json:"at_mm"` // the cutter's centre at its deepest
	RadiusMM float64    `json:"radius_mm"`
	// InsideDeg is the angle of the corner, as of one between straight walls that the
	// cutter would leave as much in.
	InsideDeg float64 `json:"inside_deg"`
}

// PocketStop is where the part is settled along the jaws.
type PocketStop struct {
	Jaw     int        `json:"jaw"`
	At      [3]float64 `json:"at_mm"`
	Towards [2]float64 `json:"towards"` // push the part this way
	AreaMM2 float64    `json:"area_mm2"`
	Says    string     `json:"says"`
}

// Bearing is where one jaw bears on a part.
type Bearing struct {
	Jaw int `json:"jaw"`
	// AreaMM2 is the area square to the clamping force; LostMM2 what the part offers
	// besides, where the jaw is cut away already or relieved.
	AreaMM2 float64    `json:"area_mm2"`
	LostMM2 float64    `json:"lost_mm2"`
	Centre  [3]float64 `json:"centre_mm"`
	// WideMM and HighMM are its extent along X and Z.
	WideMM float64 `json:"wide_mm"`
	HighMM float64 `json:"high_mm"`
	// ReachMM is the mean distance of the bearing from its centre, by area: the arm
	// of friction against turning about the clamping axis.
	ReachMM float64 `json:"reach_mm"`
	// PressureMPa is the clamping force over the area.
	PressureMPa float64 `json:"pressure_mpa"`
}

// JawRoom is how much metal is left between a pocket and something else.
type JawRoom struct {
	To      string  `json:"to"` // "the end of the jaw", "mounting hole 2", "pocket \"knob, stem\""
	Jaw     int     `json:"jaw"`
	MM      float64 `json:"mm"` // below 0: cut into
	WantsMM float64 `json:"wants_mm"`
	OK      bool    `json:"ok"`
}

// JawTried is the best place found in one way of mounting one pair.
type JawTried struct {
	Pair string     `json:"pair"`
	Pose PocketPose `json:"pose"`
	// SupportMM2 is the lesser of the two bearings.
	SupportMM2 float64 `json:"support_mm2"`
	OK         bool    `json:"ok"`
	Says       string  `json:"says"`
}

// Cut is a cut that a part is held against.
type Cut struct {
	Cutter     string  `json:"cutter"`
	DiameterMM float64 `json:"diameter_mm"`
	Flutes     int     `json:"flutes"`
	HelixDeg   float64 `json:"helix_deg"`
	DepthMM    float64 `json:"depth_mm"` // along the cutter's axis
	WideMM     float64 `json:"wide_mm"`  // across the feed
	FeedMM     float64 `json:"feed_per_tooth_mm"`
	// AboveMM is how high above the jaws' top the cut is.
	AboveMM float64 `json:"above_mm"`
	Says    string  `json:"says"`
}

// Holding is whether jaws will hold a part against a cut. It is advice, never
// permission.
type Holding struct {
	Cut    Cut      `json:"cut"`
	ForceN Estimate `json:"force_n"` // in the plane of the table, all teeth that cut
	LiftN  Estimate `json:"lift_n"`  // along the cutter's axis
	// Ways are the ways in which it may come loose, the likeliest first.
	Ways []HoldingWay `json:"ways"`
	// Factor is the least of the ways': what holds over what pulls.
	Factor  Estimate `json:"factor"`
	Wanted  float64  `json:"wanted"`
	OK      bool     `json:"ok"`
	Assumes []string `json:"assumes"`
	Says    string   `json:"says"`
}

// HoldingWay is one way of coming loose.
type HoldingWay struct {
	Name   string   `json:"name"`   // "slides along the jaws", "lifts", "turns about the clamping axis", "tips over the jaws' edge"
	Pulls  Estimate `json:"pulls"`  // N, or N·mm
	Holds  Estimate `json:"holds"`  // the same
	Unit   string   `json:"unit"`   // "N" or "N·mm"
	Factor Estimate `json:"factor"` // holds over pulls
	Says   string   `json:"says"`
}
