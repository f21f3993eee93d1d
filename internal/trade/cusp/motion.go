package cusp

import "math"

// MoveSeconds is the time of a straight move of length mm that starts and ends
// at rest, with a feed in mm/min and an acceleration in mm/s²: a trapezoid of
// speed, or a triangle where the move is too short to reach its feed. An
// acceleration of 0 means none is needed. A length of 0 takes no time.
func MoveSeconds(length, feed, accel float64) float64 {
	if length <= 0 {
		return 0
	}
	v := feed / 60
	switch {
	case accel <= 0 || math.IsInf(accel, 1):
		return length / v
	case length >= v*v/accel:
		return length/v + v/accel
	}
	return 2 * math.Sqrt(length/accel)
}

// CornerFeed is the greatest feed in mm/min through a corner that turns by turn
// radians, when the control may cut it by deviation mm and the axes can
// accelerate at accel mm/s². The path through the corner is the arc that touches
// both legs and passes the corner at that distance; its radius is
// deviation·cos(turn/2)/(1 − cos(turn/2)). A straight path has no limit, a
// reversal stops.
func CornerFeed(turn, deviation, accel float64) float64 {
	turn = math.Abs(turn)
	if turn >= math.Pi {
		return 0
	}
	away := versine(turn / 2)
	if away == 0 {
		return math.Inf(1)
	}
	return 60 * math.Sqrt(accel*deviation*math.Cos(turn/2)/away)
}

// CurveFeed is the feed in mm/min that a path of radius rho mm can be followed
// with, at most feed: the axes must accelerate at v²/rho towards its centre, and
// the control must swallow a chord of length mm in each of its blocks. A radius
// of 0 or a rate of 0 means that limit does not apply.
func CurveFeed(feed, rho, accel, chord, blocksPerS float64) float64 {
	if rho > 0 && accel > 0 {
		feed = math.Min(feed, 60*math.Sqrt(accel*rho))
	}
	if chord > 0 && blocksPerS > 0 {
		feed = math.Min(feed, 60*chord*blocksPerS)
	}
	return feed
}

// SlopeAccel is the acceleration in mm/s² along a path that climbs at slope
// radians, for axes with the two given limits: the first of them that is spent.
func SlopeAccel(xy, z, slope float64) float64 {
	a := math.Inf(1)
	if c := math.Cos(slope); c > 1e-9 && xy > 0 {
		a = xy / c
	}
	if s := math.Sin(slope); s > 1e-9 && z > 0 {
		a = math.Min(a, z/s)
	}
	return a
}
