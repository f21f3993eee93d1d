package fettle

import (
	"math"
	"slices"
)

// Jaws is a pair of soft jaws: two blanks alike, and everything that has been
// cut in them.
//
// Each jaw has a frame of its own, fixed to its metal as it was when new and
// first mounted: X along the jaw from the middle of its width, Y from the face
// that grips (0) to its back (ThickMM), Z up from its foot (−HeightMM) to its
// top (0). In the vise the fixed jaw stands behind the opening and the moving
// jaw, turned about Z by half a turn, in front of it.
type Jaws struct {
	Name     string  `json:"name"`
	Title    string  `json:"title"`
	Metal    string  `json:"metal"`
	WidthMM  float64 `json:"width_mm"` // along the vise
	HeightMM float64 `json:"height_mm"`
	ThickMM  float64 `json:"thick_mm"`
	OpenMM   float64 `json:"open_mm"` // the vise's largest opening with them on
	// Holes are those of the mounting screws, the same in both jaws.
	Holes []JawHole `json:"holes,omitempty"`
	// ClampN is the force that the vise is closed with, Friction the share of it
	// that holds against sliding, wet with coolant.
	ClampN   Estimate `json:"clamp_n,omitzero"`
	Friction Estimate `json:"friction,omitzero"`
	// Cuts are the pockets that were cut in them, oldest first.
	Cuts  []JawCut `json:"cuts,omitempty"`
	Basis string   `json:"basis"`
}

// bad says what is wrong with a pair; empty for nothing.
func (j Jaws) bad() string {
	for _, v := range []float64{j.WidthMM, j.HeightMM, j.ThickMM} {
		if !(v > 0 && v < 1e4) {
			return "width_mm, height_mm and thick_mm must be lengths above zero"
		}
	}
	if !(j.OpenMM >= 0 && j.OpenMM < 1e4) {
		return "open_mm must be a length, or 0 where it is not known"
	}
	for _, e := range []Estimate{j.ClampN, j.Friction} {
		if e != (Estimate{}) && (!e.Valid() || e.Low <= 0) {
			return "clamp_n and friction need value, low and high above zero in order, and a basis, or are left out"
		}
	}
	for _, h := range j.Holes {
		if !(h.DiameterMM > 0) || !(h.HeadMM >= 0) || !(h.HeadDeepMM >= 0 && h.HeadDeepMM < j.ThickMM) ||
			!(math.Abs(h.XMM) <= j.WidthMM/2) || !(h.ZMM <= 0 && h.ZMM >= -j.HeightMM) {
			return "each of its holes needs a diameter, and a place on the jaw: x_mm from the middle, z_mm below the top and so below 0"
		}
	}
	for _, c := range j.Cuts {
		if c.Jaw != FixedJaw && c.Jaw != MovingJaw {
			return "cut " + c.Name + " is in neither jaw: jaw is 1 for the fixed and 2 for the moving one"
		}
		if !slices.Contains(JawTurns(), c.Pose.Fixed) || !slices.Contains(JawTurns(), c.Pose.Moving) {
			return "cut " + c.Name + " was made in jaws mounted in no way that there is: fixed_jaw and moving_jaw are as new, end for end, upside down, or upside down and end for end"
		}
		if d := c.Pose.Down; d == [3]float64{} || finiteAll(d[0], d[1], d[2], c.Pose.TurnDeg, c.Pose.GripMM, c.Pose.GapMM, c.Pose.ShiftMM, c.Pose.AcrossMM, c.ClearanceMM) != nil {
			return "cut " + c.Name + " does not say how the part lies in it: its pose needs down, and lengths that are some"
		}
		for _, s := range c.Slabs {
			if !(s.LowMM < s.HighMM && s.LowMM >= -j.HeightMM-1e-6 && s.HighMM <= 1e-6) {
				return "cut " + c.Name + " has a slab whose low_mm and high_mm are not in order between the foot and the top of the jaw"
			}
			for _, l := range s.Loops {
				for _, p := range l {
					if finiteAll(p[0], p[1]) != nil {
						return "cut " + c.Name + " has a corner that is no place"
					}
				}
			}
		}
	}
	return ""
}

// JawHole is a mounting screw's hole from face to face of a jaw.
type JawHole struct {
	XMM        float64 `json:"x_mm"`
	ZMM        float64 `json:"z_mm"` // below 0
	DiameterMM float64 `json:"diameter_mm"`
	// HeadMM and HeadDeepMM are the recess for the screw's head in the gripping
	// face; with BothFaces there is one in the back too, so that the jaw can be
	// turned about.
	HeadMM     float64 `json:"head_mm"`
	HeadDeepMM float64 `json:"head_deep_mm"`
	BothFaces  bool    `json:"both_faces"`
}

// JawTurn is how a jaw is mounted, against how it was when new.
type JawTurn string

// The turns: half turns about the jaw's three axes.
const (
	AsNew         JawTurn = "as new"
	EndForEnd     JawTurn = "end for end"                 // about Z: its back grips
	UpsideDown    JawTurn = "upside down"                 // about Y: its foot is up
	UpsideDownEnd JawTurn = "upside down and end for end" // about X: both
)

// JawTurns lists them.
func JawTurns() []JawTurn { return []JawTurn{AsNew, EndForEnd, UpsideDown, UpsideDownEnd} }

// Which jaw of a pair: by where it stood when the pair was new.
const (
	FixedJaw  = 1
	MovingJaw = 2
)

// JawCut is one pocket's half in one jaw, in the jaw's own frame.
type JawCut struct {
	Name   string `json:"name"`   // of the pocket: "escutcheon, back"
	Pocket string `json:"pocket"` // its id, the same in both jaws
	Part   string `json:"part"`
	SHA256 string `json:"sha256"` // of the model file
	Jaw    int    `json:"jaw"`    // FixedJaw or MovingJaw
	Date   string `json:"date,omitempty"`
	// Slabs are what was taken away, from the top down.
	Slabs []JawSlab `json:"slabs"`
	// Pose is how the part lies in it, ClearanceMM the room all round.
	Pose        PocketPose `json:"pose"`
	ClearanceMM float64    `json:"clearance_mm"`
}

// JawSlab is what was taken away between two heights: the plan regions, X and Y
// in mm, outlines anticlockwise and islands in them clockwise.
type JawSlab struct {
	LowMM  float64        `json:"low_mm"`
	HighMM float64        `json:"high_mm"`
	Loops  [][][2]float64 `json:"loops"`
}

// PocketPose is how a part lies in jaws.
type PocketPose struct {
	// Down is the direction of the model that looks to the vise's bed.
	Down [3]float64 `json:"down"`
	// TurnDeg turns the part about the vertical, anticlockwise as seen from above.
	TurnDeg float64 `json:"turn_deg"`
	GripMM  float64 `json:"grip_mm"` // how deep it sits below the jaws' top
	// GapMM is the distance between the jaws' faces.
	GapMM float64 `json:"gap_mm"`
	// Fixed and Moving are how the jaws are mounted; Swapped is set when each
	// stands in the other's place.
	Fixed   JawTurn `json:"fixed_jaw"`
	Moving  JawTurn `json:"moving_jaw"`
	Swapped bool    `json:"swapped,omitempty"`
	// ShiftMM is where the middle of the part's box lies along the jaws, from
	// their middle, AcrossMM across them, from the middle of the gap towards the
	// fixed jaw.
	ShiftMM  float64 `json:"shift_mm"`
	AcrossMM float64 `json:"across_mm"`
}
