// Package tumble knows what a barrel or bowl of media does to a part: how
// rough it leaves it and when, what it takes off faces and edges, and how a
// charge is made up.
//
// [ProcessOf] joins media, vessel and metal into a [Process], whose methods
// answer for hours and micrometres with their intervals, and [Process.Toned] runs it
// wetter or drier; [Rates] are the same laws in plain numbers. [Plan] makes up the
// charge. All are pure functions of their arguments.
//
// The laws are published (F. Hashimoto, CIRP Annals 45 (1996) 303; the form
// from memory): roughness runs exponentially towards a limit that belongs to
// the process and not to the start, and removal becomes linear. Their constants
// are not published for the barrels of a small shop: those here are starting
// guesses, a factor of two to three wide, until the shop's log replaces them. A
// single surface in a controlled bowl followed the exponential to 6 % (Alcaraz
// et al., J. Manuf. Mater. Process. 3 (2019) 27, abstract), so the form can be
// trusted further than the numbers.
package tumble

import (
	"fmt"
	"math"

	"fettle"
)

// Process is one kind of media in one vessel on one metal.
type Process struct {
	// TimeConstantH is T in R(t) = RL + (R0 − RL)·e^(−t/T), hours.
	TimeConstantH fettle.Estimate
	// RoughenH takes its place where the surface is finer than the limit, hours;
	// unset, the law uses T, the published form.
	RoughenH fettle.Estimate
	// LimitRaUM is RL, the Ra that a surface tends to from either side.
	LimitRaUM fettle.Estimate
	// RemovalUMH is Ms, the steady removal of an open flat face, µm an hour.
	RemovalUMH fettle.Estimate
	// TransientUM is Mt, what comes off early and once. No prior is known, so
	// ProcessOf leaves it 0.
	TransientUM float64
}

// In general ceramic media, wet, in a vibratory bowl: time constant in hours
// and removal of an open flat face in µm an hour. Starting guesses.
var classes = map[fettle.HardnessClass]struct{ hours, umPerH [3]float64 }{
	fettle.ClassAluminium: {[3]float64{0.4, 0.2, 1}, [3]float64{6, 2, 15}},
	fettle.ClassBrass:     {[3]float64{0.5, 0.22, 1.3}, [3]float64{5, 1.5, 12}},
	fettle.ClassMildSteel: {[3]float64{1.2, 0.5, 3}, [3]float64{2.5, 0.8, 7}},
	fettle.ClassStainless: {[3]float64{1.5, 0.6, 4}, [3]float64{2, 0.6, 6}},
	fettle.ClassTitanium:  {[3]float64{1.5, 0.6, 4}, [3]float64{2, 0.6, 6}},
	fettle.ClassHardened:  {[3]float64{2.5, 1, 7}, [3]float64{1.2, 0.35, 4}},
}

// leastRaSpread is the narrowest side of an interval of Ra, as a logarithm: a
// regression from a controlled rig was worth 18 % (Coatings 15 (2025) 286,
// conclusions), and no guess knows better.
var leastRaSpread = math.Log(1.18)

// Narrowest spread that a guess may claim, as the standard deviation of the
// natural logarithm: lots differ by half of it on their own.
const (
	rateSD  = 0.7
	limitSD = 0.35
)

// roughenShare is the time constant with which a face finer than the limit takes
// on the pattern of the media, as a share of that of levelling. To level a face its
// peaks must come off; to cover it with dents every place must be hit about once,
// which is much sooner. Common practice anchors it: light plastic in a rotary barrel
// makes a fine-sanded face even in one to two hours, the time to take its
// scratches off, and brings the same look back onto a polished part in about 20
// minutes. A starting guess.
var roughenShare = fettle.Guess(0.1, 0.04, 0.25, fettle.BasisGuess)

// How much of a vessel's speed-up counts. Cutting gains all of it; burnishing
// and dry polishing are nearly as quick in a slow barrel (2 h against 0.75 h and
// 12 h against 8 h in starting guesses of stages), which these exponents of the
// factor of five between barrel and bowl reproduce.
const (
	burnishShare = 0.6
	dryShare     = 0.25
)

// ProcessOf is the starting guess for media in a vessel on a metal. A metal of
// an unknown class is treated as stainless, the slow side of the common ones.
func ProcessOf(m fettle.Media, v fettle.Vessel, mat fettle.Material) Process {
	c, ok := classes[mat.Class]
	if !ok {
		c = classes[fettle.ClassStainless]
	}
	t := fettle.Guess(c.hours[0], c.hours[1], c.hours[2], fettle.BasisGuess)
	rate := fettle.Guess(c.umPerH[0], c.umPerH[1], c.umPerH[2], fettle.BasisGuess)
	speed := v.Speedup
	switch {
	case m.Dry:
		speed = power(speed, dryShare)
	case m.Kind == fettle.Steel || m.Kind == fettle.Porcelain:
		speed = power(speed, burnishShare)
	}
	limit := m.LimitRaUM
	switch mat.Class {
	case fettle.ClassAluminium, fettle.ClassBrass:
		limit = limit.Scale(1.3)
	case fettle.ClassHardened:
		limit = limit.Scale(0.8)
	}
	size := sizeFactor(m)
	t = atLeast(t.Times(m.TimeFactor).Over(speed), rateSD)
	return Process{
		TimeConstantH: t,
		RoughenH:      t.Times(roughenShare),
		LimitRaUM:     atLeast(limit.Scale(math.Pow(size, limitBySize)), limitSD),
		RemovalUMH:    atLeast(rate.Times(m.CutFactor).Times(speed).Scale(math.Pow(size, removalBySize)), rateSD),
	}
}

func power(e fettle.Estimate, n float64) fettle.Estimate {
	return fettle.Estimate{Value: math.Pow(e.Value, n), Low: math.Pow(e.Low, n), High: math.Pow(e.High, n), Basis: e.Basis}
}

// atLeast widens a positive estimate to no less than the given spread on
// either side.
func atLeast(e fettle.Estimate, sd float64) fettle.Estimate {
	w := fettle.LogNormal(e.Value, sd, e.Basis)
	e.Low, e.High = math.Min(e.Low, w.Low), math.Max(e.High, w.High)
	return e
}

// Rates are the medians of the process.
func (p Process) Rates() Rates {
	return Rates{T: p.TimeConstantH.Value, Roughen: p.RoughenH.Value, RL: p.LimitRaUM.Value, Ms: p.RemovalUMH.Value, Mt: p.TransientUM}
}

// timeFrom is the time constant that a surface of Ra start runs on.
func (p Process) timeFrom(start float64) fettle.Estimate {
	if start < p.LimitRaUM.Value && p.RoughenH.Value > 0 {
		return p.RoughenH
	}
	return p.TimeConstantH
}

// Ra is the roughness after hours.Value by the clock, from a surface of Ra
// start. The interval comes from the start, the limit and the time constant;
// that of hours is left out, because hours that were estimated from the same
// time constant are wrong together with it.
func (p Process) Ra(start, hours fettle.Estimate) fettle.Estimate {
	h := hours.Value
	if h <= 0 {
		return start
	}
	law := func(r0, rl, t, rough float64) float64 {
		return Rates{T: t, Roughen: rough, RL: rl}.Ra(r0, h)
	}
	r0, rl, t, ro := start, p.LimitRaUM, p.TimeConstantH, p.RoughenH
	v := law(r0.Value, rl.Value, t.Value, ro.Value)
	var up, down float64
	widen := func(a, b float64) {
		lo, hi := math.Min(a, b), math.Max(a, b)
		if lo > 0 && lo < v {
			down = math.Hypot(down, math.Log(v/lo))
		}
		if hi > v {
			up = math.Hypot(up, math.Log(hi/v))
		}
	}
	widen(law(r0.Low, rl.Value, t.Value, ro.Value), law(r0.High, rl.Value, t.Value, ro.Value))
	widen(law(r0.Value, rl.Low, t.Value, ro.Value), law(r0.Value, rl.High, t.Value, ro.Value))
	widen(law(r0.Value, rl.Value, t.Low, ro.Low), law(r0.Value, rl.Value, t.High, ro.High))
	down, up = math.Max(down, leastRaSpread), math.Max(up, leastRaSpread)
	return fettle.Guess(v, v*math.Exp(-down), v*math.Exp(up), p.TimeConstantH.Basis)
}

// Reaches reports whether the process can bring a surface of Ra start to
// target, both µm, and when not, in a clause what to do about it. A surface that
// is finer than its target and stays so counts as there.
func (p Process) Reaches(start, target float64) (bool, string) {
	limit := p.LimitRaUM.Value
	switch {
	case target == start || target > math.Max(start, limit):
		return true, ""
	case target < start && target <= limit:
		if start < limit {
			return false, fmt.Sprintf("Ra %.2g µm is never reached: these media roughen a surface of %.2g µm towards %.2g µm; change the media", target, start, limit)
		}
		return false, fmt.Sprintf("Ra %.2g µm is never reached: these media tend to %.2g µm; change the media", target, limit)
	case target == limit:
		return false, fmt.Sprintf("Ra %.2g µm is the limit of these media and is only approached; change the media", target)
	}
	return true, ""
}

// mostTimeConstants bounds the upper end of an estimate of hours: after three
// time constants 95 % of the way is done and waiting longer is no plan.
const mostTimeConstants = 3

// HoursTo is the time from one Ra to another, both µm, in either direction; 0
// where the surface is there already, as Reaches means it. A target at or beyond
// the limit is never reached: then all three numbers are +Inf, the estimate is
// not Valid, and its basis says what to do.
func (p Process) HoursTo(start, target float64) fettle.Estimate {
	limit, t := p.LimitRaUM, p.timeFrom(start)
	if ok, why := p.Reaches(start, target); !ok {
		return fettle.Exactly(math.Inf(1), why)
	}
	if start == target || target > math.Max(start, limit.Value) {
		return fettle.Exactly(0, t.Basis)
	}
	// In time constants, for a limit l; a limit past the target counts as nearly
	// reached.
	path := func(l float64) float64 {
		x := (start - l) / (target - l)
		if !(x > 1) {
			return mostTimeConstants
		}
		return math.Min(math.Log(x), mostTimeConstants)
	}
	median := Rates{T: 1, RL: limit.Value}.HoursTo(start, target)
	a, b := path(limit.Low), path(limit.High)
	x := fettle.Guess(median, math.Min(median, math.Min(a, b)), math.Max(median, math.Max(a, b)), t.Basis)
	return t.Times(x)
}

// Removed is what hours.Value take off an open flat face, µm: Ms·t +
// Mt·(1 − e^(−t/T)). As in Ra, the interval of the hours is left out.
func (p Process) Removed(hours fettle.Estimate) fettle.Estimate {
	r := p.Rates()
	steady := r
	steady.Mt = 0
	took := p.RemovalUMH.Scale(math.Max(hours.Value, 0))
	return took.Plus(fettle.Exactly(r.Removed(hours.Value)-steady.Removed(hours.Value), took.Basis))
}

// HoursToRemove is the time to take um off an open flat face; 0 for nothing.
func (p Process) HoursToRemove(um float64) fettle.Estimate {
	if um <= 0 {
		return fettle.Exactly(0, p.RemovalUMH.Basis)
	}
	if !(p.RemovalUMH.Value > 0) {
		return fettle.Exactly(p.Rates().HoursToRemove(um), p.RemovalUMH.Basis)
	}
	steady := fettle.Exactly(um, p.RemovalUMH.Basis).Over(p.RemovalUMH)
	return steady.Scale(p.Rates().HoursToRemove(um) / steady.Value)
}

// edgeBand is how far a rounded edge may be from EdgeRadius either way.
const edgeBand = 2.5

// edgeReachMM is the distance from an edge within which media bear on it
// harder than on the face: 0.3 mm, between 0.1 and 0.5.
const edgeReachMM = 0.3

// EdgeRadius is the radius in µm of an outside edge when its faces have receded
// by um: √(4·h·L) with L = 0.3 mm. A starting guess: no series of edge radii
// could be found in print.
func EdgeRadius(um float64) float64 {
	return math.Sqrt(4 * math.Max(um, 0) * edgeReachMM * 1000)
}

// Edge is EdgeRadius with its interval, from the recession of the faces.
func (p Process) Edge(took fettle.Estimate) fettle.Estimate {
	return fettle.Guess(EdgeRadius(took.Value), EdgeRadius(took.Low)/edgeBand, EdgeRadius(took.High)*edgeBand, fettle.BasisGuess)
}

// RecessShare is how fast recesses are worked, against open faces, where how
// openly they lie is not known.
func RecessShare() fettle.Estimate { return fettle.Guess(0.3, 0.1, 0.7, fettle.BasisGuess) }

// MediaHours are the hours until a piece has worn to a share of its new size, from the
// share of weight lost in an hour when new, in per cent. The loss goes with the
// surface, so size falls linearly: 3·(1 − share)/rate.
func MediaHours(share float64, wearPctH fettle.Estimate) fettle.Estimate {
	if share >= 1 {
		return fettle.Exactly(0, wearPctH.Basis)
	}
	e := fettle.Exactly(300*(1-math.Max(share, 0)), wearPctH.Basis)
	return e.Over(wearPctH)
}

// SizeAfter is the share of its new size that a piece has after some hours;
// 0 when nothing is left.
func SizeAfter(hours, wearPctH float64) float64 {
	return math.Max(0, 1-hours*wearPctH/300)
}
