package fettle

// CutterShape is the form of a cutter's end.
type CutterShape string

// The shapes.
const (
	Ball CutterShape = "ball"
	Bull CutterShape = "bull"
	Flat CutterShape = "flat"
)

// Cutter is a tool that may take the last pass.
type Cutter struct {
	Name       string      `json:"name"` // "ball-6": what a user types
	Title      string      `json:"title"`
	Shape      CutterShape `json:"shape"`
	DiameterMM float64     `json:"diameter_mm"`
	CornerMM   float64     `json:"corner_radius_mm"` // ball: half the diameter
	Flutes     int         `json:"flutes"`
	ReachMM    float64     `json:"reach_mm"` // below the holder
	FluteMM    float64     `json:"flute_length_mm"`
	Price      Estimate    `json:"price"`
	LifeH      Estimate    `json:"life_h"` // of finishing in mild steel
	UsedH      float64     `json:"used_h,omitempty"`
	Basis      string      `json:"basis"`
}

// NoseMM is the radius that forms the cusps.
func (c Cutter) NoseMM() float64 {
	if c.Shape == Ball {
		return c.DiameterMM / 2
	}
	return c.CornerMM
}

// Machine is a mill.
type Machine struct {
	Name         string     `json:"name"`
	Title        string     `json:"title"`
	TravelMM     [3]float64 `json:"travel_mm"`
	MaxRPM       float64    `json:"max_rpm"`
	MaxFeedMMMin float64    `json:"max_feed_mm_min"`
	AccelXY      Estimate   `json:"accel_xy_m_s2"`
	AccelZ       Estimate   `json:"accel_z_m_s2"`
	BlocksPerS   Estimate   `json:"blocks_per_s"`
	RatePerH     Estimate   `json:"rate_per_h"`
	Basis        string     `json:"basis"`
}
