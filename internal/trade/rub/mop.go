package rub

import (
	"math"

	"fettle"
)

// MopLimit is the roughness that a mop tends to on a metal, Ra in µm: soft metals
// end rougher than steel, hardened ones finer, as under a grit.
func MopLimit(m fettle.Mop, c fettle.HardnessClass) fettle.Estimate {
	return m.LimitRaUM.Scale(Depth(c))
}

// MopMinutes are the minutes at one piece in which a mop brings a face from one Ra
// to another where it tends to limit, all in µm: the distance to the limit falls
// exponentially, as in [MopRemoved]'s time. 0 for a face that is there already,
// +Inf for one that it never comes to. A median; the mop's own MinPer100CM2 has
// the interval.
func MopMinutes(f Face, m fettle.Mop, from, to, limit float64) float64 {
	switch {
	case from <= to:
		return 0
	case to <= limit:
		return math.Inf(1)
	}
	return m.MinPer100CM2.Value * f.scale() * math.Log((from-limit)/(to-limit))
}

// MopRemoved is the mean thickness that a mop takes off a face in so many minutes
// at one piece, µm.
func MopRemoved(f Face, m fettle.Mop, minutes float64) float64 {
	return m.CutUMMin.Value * minutes / f.scale()
}

// edgeLengthMM is how far from a sharp edge cloth under pressure still bears harder
// than on the face: it wraps round the edge, so that a mop rounds edges sooner than
// media do, for which a third of it is taken. A starting guess.
const edgeLengthMM = 1.0

// MopEdge is the radius of an edge, µm, that had one of radiusUM when a mop took
// removedUM off the face beside it: recession h gives a sharp edge √(4hL), and
// recessions add.
func MopEdge(radiusUM, removedUM float64) float64 {
	return math.Sqrt(radiusUM*radiusUM + 4*removedUM*edgeLengthMM*1000)
}

// A wheel of 100 mm rolls in hollows down to its own radius; in tighter ones its
// edge folds in, down to a fold that cloth does not go below.
const (
	wheelMM = 50.0
	foldMM  = 5.0
	// hollowShare is the share of a face with hollows that lies in the tightest of
	// them: a starting guess.
	hollowShare = 0.2
)

// MopReach is the share of a face, 0 to 1, that a wheel gets to when its tightest
// hollow has the radius given, mm; 0 for a face without hollows. Inside corners
// are left as they were by any wheel and are the caller's to take off.
func MopReach(concaveRadiusMM float64) float64 {
	if concaveRadiusMM <= 0 || concaveRadiusMM >= wheelMM {
		return 1
	}
	in := math.Max(0, (concaveRadiusMM-foldMM)/(wheelMM-foldMM))
	return 1 - hollowShare*(1-in)
}
