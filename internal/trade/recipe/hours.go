package recipe

import (
	"fmt"
	"math"
	"strconv"

	"fettle"
	"fettle/internal/trade/tumble"
)

// The planner's own: a charge is run to within 8 % of its limit at the most, and 0.35
// of a time constant at the least, until its texture lies evenly (docs/physics.md, The
// marks of a face, and What a charge does).
const (
	nearLimit = 1.08
	evenShare = 0.35
)

// lawHours is how long a process takes to bring a face from one Ra to another, both
// µm, by R(t) = RL + (R0 − RL)·e^(−t/T) (F. Hashimoto, CIRP Annals 45 (1996) 303; form
// from memory): T·ln((R0 − RL)/(R − RL)), with R no nearer to RL than nearLimit, and no less than
// evenShare of T. ends is the Ra that it stops at. Where no start or no end is known
// it is one T, so that ratios can still be told.
func lawHours(p tumble.Process, start, target float64) (hours fettle.Estimate, ends float64) {
	if !(start > 0) || !(target > 0) {
		return p.TimeConstantH, target
	}
	rl := p.LimitRaUM.Value
	ends = math.Max(target, rl*nearLimit)
	if start < rl { // these media roughen
		ends = math.Min(target, rl/nearLimit)
	}
	even := p.TimeConstantH.Scale(evenShare)
	if start < rl && p.RoughenH.Value > 0 {
		even = p.RoughenH.Scale(evenShare)
	}
	if (ends < start) != (rl < start) { // it is there already
		return even, start
	}
	hours = p.HoursTo(start, ends)
	if !hours.Valid() || hours.Value < even.Value {
		return even, ends
	}
	return hours, ends
}

// hoursHere is how long a charge that took was there takes here. A charge is planned in
// many worlds, with burrs, older marks and evenness in it, and all of that takes a
// share of the time constant or goes with removal, which runs against it; so it is
// multiplied by what the law of roughness takes here over what it takes there:
//
//	hours here = hours there · law(ours) / law(theirs)
//
// Of its interval, what their process was answerable for goes and what ours is comes,
// as log-normal sides that add in squares.
func hoursHere(was, theirs, ours fettle.Estimate) fettle.Estimate {
	v := was.Value * ours.Value / theirs.Value
	side := func(was, theirs, ours float64) float64 {
		return math.Exp(math.Sqrt(math.Max(was*was-theirs*theirs, 0) + ours*ours))
	}
	down := side(math.Log(was.Value/was.Low), math.Log(theirs.Value/theirs.Low), math.Log(ours.Value/ours.Low))
	up := side(math.Log(was.High/was.Value), math.Log(theirs.High/theirs.Value), math.Log(ours.High/ours.Value))
	return fettle.Guess(v, v/down, v*up, ours.Basis)
}

// rounded is hours to three figures, as they are pinned in a brief.
func rounded(h float64) float64 { return figures(h, 3) }

// figures rounds a positive number to so many of them.
func figures(v float64, n int) float64 {
	if !(v > 0) {
		return 0
	}
	r, _ := strconv.ParseFloat(strconv.FormatFloat(v, 'e', n-1, 64), 64)
	return r
}

// span shows hours with their interval: "4.0 h (2.1–7.5)".
func span(e fettle.Estimate) string {
	return fmt.Sprintf("%s h (%s–%s)", plain(e.Value), plain(e.Low), plain(e.High))
}

func hoursText(h float64) string { return plain(h) + " h" }

// plain is a number to two figures, without an exponent.
func plain(v float64) string {
	if v >= 10 {
		return strconv.FormatFloat(math.Round(v), 'f', 0, 64)
	}
	return strconv.FormatFloat(figures(v, 2), 'f', -1, 64)
}
