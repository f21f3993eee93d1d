package tumble

import (
	"math"

	"fettle"
)

// mostLooks is how often anyone opens a barrel for one load.
const mostLooks = 6

// Looks are the hours at which to look, rising. The first is early enough for
// media that work as fast as they may, and no sooner than a quarter of the way; the
// last is the expected end. Between them they grow by equal factors, because the
// hours are uncertain by a factor. A barrel forgives hours where a bowl forgives
// minutes, so it is looked into less often.
func Looks(hours fettle.Estimate, vessel fettle.VesselKind) []float64 {
	end, step := hours.Value, 1.4
	if vessel == fettle.Rotary {
		step = 1.6
	}
	first := math.Min(math.Max(end/4, hours.Low*2/3), end)
	n := 0
	if first < end {
		n = min(int(math.Ceil(math.Log(end/first)/math.Log(step)-1e-9)), mostLooks-1)
	}
	var out []float64
	for i := range n + 1 {
		h := end
		if i < n {
			h = first * math.Pow(end/first, float64(i)/float64(n))
		}
		h = byTheClock(h, vessel)
		if len(out) == 0 || h > out[len(out)-1] {
			out = append(out, h)
		}
	}
	return out
}

// byTheClock rounds hours to what anyone sets a clock to: hours from two on,
// quarters below, and in a machine that is done in minutes to five of them.
func byTheClock(h float64, vessel fettle.VesselKind) float64 {
	barrel := vessel == fettle.Rotary
	switch {
	case barrel && h >= 2, h >= 6:
		return math.Round(h)
	case barrel || h >= 0.5:
		return math.Max(math.Round(4*h)/4, 0.25)
	}
	return math.Max(math.Round(12*h)/12, 1.0/12)
}
