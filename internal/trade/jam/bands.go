// Package jam judges which media lodge in which opening, and how likely.
//
// [Judge] weighs every opening against every kind of media: spheres by bands of
// clear width over size, other shapes by walking a convex body of their size
// through the void, pose by pose. [Any] and [Plugs] draw from the judgements what a
// part as a whole needs. All are pure functions of their arguments.
package jam

import (
	"fmt"
	"math"

	"fettle"
	"fettle/internal/trade/tumble"
)

// RingBridge is the clear width of a bore, over the size of equal spheres, at
// which n of them bridge it in a ring: 1 + 1/sin(π/n); one sphere bridges a bore
// of its own size. It is 0 for n < 1.
func RingBridge(n int) float64 {
	switch {
	case n < 1:
		return 0
	case n == 1:
		return 1
	}
	return 1 + 1/math.Sin(math.Pi/float64(n))
}

// PairLocks is the least clear width over size at which two spheres, wedged
// side by side between walls with friction mu, hold themselves:
// 1 + cos(2·atan mu). They do so up to 2.
func PairLocks(mu float64) float64 { return 1 + math.Cos(2*math.Atan(mu)) }

// Where clear width over the size of a piece stands.
const (
	outside   = 1 / 1.2  // a piece 1.2 times the opening cannot enter
	retireAt  = 1.05     // of the opening: discard it before it can
	ringsEnd  = 3.0      // six in a ring; wider and no flat bridge stands
	pairsEnd  = 2.0      // in a slot, two side by side
	justFits  = 1.1      // a piece so near the opening's size stays on its own
	friction  = 0.4      // of media on metal, wet; a guess
	crosswise = 0.4      // how much rarer a piece lies with its longer way across
	shallow   = 0.5      // of the chance, where a blind opening is just half a piece deep
	tip       = 0.02     // chance that a point wedges in a mouth it cannot enter
	kept      = 0.02     // chance that a piece due to be retired slips through
	jamTop    = 0.8      // chance for a piece that just goes in
	jamHole   = 7.9      // decay in the cube of the ratio: 3 % at 3
	jamSlot   = 3.0 / 2. // decay in its square: 10 % at 2
)

// RetireMM is the size at which media must be sieved out so that none can enter
// an opening of that clear width.
func RetireMM(widthMM float64) float64 { return retireAt * widthMM }

// chanceAt is the chance that an opening holds a piece at the end of a charge,
// for clear width over size. Between walls clogging falls off exponentially with
// the width to the power of the dimension and has no sharp end (C. C. Thomas and
// D. J. Durian, Phys. Rev. Lett. 114 (2015) 178001, abstract); how high it
// starts and how fast it falls here are starting guesses.
func chanceAt(ratio float64, slot bool) float64 {
	switch {
	case ratio < outside:
		return 0
	case ratio < 1:
		// Too big by less than a fifth: a chipped or worn one of the lot goes in.
		return jamTop * (ratio - outside) / (1 - outside) * 0.25
	case slot:
		return jamTop * math.Exp(-(ratio*ratio-1)/jamSlot)
	}
	return jamTop * math.Exp(-(ratio*ratio*ratio-1)/jamHole)
}

// Calipers are the widths of a label that decide whether a piece of that shape
// and size goes in somewhere, smallest first; [convex.Body.Calipers] measures the
// shape itself. Media wear alike on all of them.
func Calipers(m fettle.Media) []float64 {
	a, b := m.SizeMM[0], m.SizeMM[1]
	switch m.Shape {
	case fettle.Sphere:
		return []float64{a}
	case fettle.Triangle:
		return sorted(b, a*math.Sqrt(3)/2) // thickness, height of the triangle
	}
	return sorted(a, b)
}

func sorted(a, b float64) []float64 {
	if a == b {
		return []float64{a}
	}
	return []float64{math.Min(a, b), math.Max(a, b)}
}

// Jams judges every opening by bands and calipers alone, without a search: three
// judgements for each, as new, as they are now, and on their way to being worn
// out, in the order of the openings. A keyhole is judged by its narrow slot and
// by its round end.
func Jams(openings []fettle.Opening, m fettle.Media) []fettle.Jam {
	out := make([]fettle.Jam, 0, 3*len(openings))
	for _, o := range openings {
		j := byBands(o, m)
		out = append(out, j[:]...)
	}
	return out
}

// byBands judges one opening in the three states.
func byBands(o fettle.Opening, m fettle.Media) [3]fettle.Jam {
	now := scaled(m, tumble.ShareNow(m))
	out := [3]fettle.Jam{judge(o, m, false), judge(o, now, false), judge(o, m, true)}
	for i, s := range []fettle.State{fettle.New, fettle.Now, fettle.Worn} {
		out[i].Opening, out[i].Media, out[i].State = o.ID, m.Name, s
	}
	fit := math.Max(o.WidthMM, o.WidestMM) / Calipers(m)[0] // share of the new size that goes in
	out[0].HoursToFit, out[2].HoursToFit = hoursToFit(m, fit, 1), hoursToFit(m, fit, 1)
	out[1].HoursToFit = hoursToFit(m, fit, tumble.ShareNow(m))
	return out
}

// scaled is the media worn to a share of its size.
func scaled(m fettle.Media, k float64) fettle.Media {
	m.SizeMM[0], m.SizeMM[1] = k*m.SizeMM[0], k*m.SizeMM[1]
	return m
}

// hoursToFit is how long media at a share now of their new size run in a bowl
// until they are down to the share at which they enter; nil where they are
// already, never come there, or are discarded before.
func hoursToFit(m fettle.Media, fit, now float64) *fettle.Estimate {
	if !(fit > 0) || fit >= now || fit < m.WornShare() || !(m.WearBowlPctH.Low > 0) {
		return nil
	}
	// Size falls by the same length in every hour (see [tumble.MediaHours]).
	h := tumble.MediaHours(1-(now-fit), m.WearBowlPctH)
	return &h
}

// mouth is one clear width of an opening.
type mouth struct {
	width float64
	slot  bool
	name  string
}

func mouths(o fettle.Opening) []mouth {
	// A slot nearly as wide as long catches like a hole.
	slot := o.Kind == fettle.Slot || o.Kind == fettle.Pocket && o.LengthMM > 1.5*o.WidthMM
	name := "hole"
	switch {
	case o.Kind == fettle.Pocket:
		name = "pocket"
	case slot:
		name = "slot"
	}
	ms := []mouth{{o.WidthMM, slot, name}}
	if o.Form == "keyhole" && o.WidestMM > o.WidthMM {
		ms = append(ms, mouth{o.WidestMM, false, "round end"})
	}
	return ms
}

// judge finds the worst of the mouths and calipers.
func judge(o fettle.Opening, m fettle.Media, worn bool) fettle.Jam {
	var worst fettle.Jam
	worst.Chance.P = -1
	for _, h := range mouths(o) {
		if !(h.width > 0) {
			continue
		}
		for i, c := range Calipers(m) {
			lo, hi := h.width/c, h.width/c
			if worn {
				hi /= m.WornShare()
			}
			if m.Shape == fettle.Grain {
				// Every size between the sieves is there, whichever caliper is asked.
				lo, hi = h.width/math.Max(m.SizeMM[0], m.SizeMM[1]), h.width/math.Min(m.SizeMM[0], m.SizeMM[1])
			}
			j := judgeCaliper(o, m, h, lo, hi, i > 0 && m.Shape != fettle.Grain, worn)
			if j.Chance.P > worst.Chance.P {
				worst = j
			}
		}
	}
	if worst.Chance.P < 0 {
		worst.Why = "its clear width is not known"
	}
	worst.Chance = fettle.ChanceOf(math.Max(worst.Chance.P, 0))
	worst.Enters = enters(o, m, worst.Ratio, worn)
	return worst
}

// enters says what one piece can do by its least width against the widest of
// the mouth, without a search.
func enters(o fettle.Opening, m fettle.Media, ratio float64, worn bool) fettle.Entry {
	least := Calipers(m)[0]
	if worn {
		least *= m.WornShare()
	}
	switch {
	case math.Max(o.WidthMM, o.WidestMM) < least || !(o.WidthMM > 0):
		return fettle.CannotEnter
	case ratio <= justFits:
		return fettle.CanBeHeld
	}
	return fettle.PassesFree
}

// judgeCaliper judges one caliper whose ratios run from lo to hi as it wears,
// or as a sieve let them through.
func judgeCaliper(o fettle.Opening, m fettle.Media, h mouth, lo, hi float64, across, worn bool) fettle.Jam {
	worst := math.Min(math.Max(1, lo), hi) // the chance peaks where a piece just goes in
	p := chanceAt(worst, h.slot)
	size := h.width / worst
	j := fettle.Jam{Ratio: worst}
	end, most := ringsEnd, "six can bridge it in a ring"
	if h.slot {
		end, most = pairsEnd, "two can wedge side by side"
	}
	switch {
	case worst < outside:
		j.Why = fmt.Sprintf("at %.3g mm and more they cannot enter the %s of %.3g mm", size, h.name, h.width)
		if !across && m.Shape.Pointed() {
			p = tip
			j.Why += "; a point may stick in its mouth"
		}
	case worn && lo <= outside && m.Shape != fettle.Grain:
		// New, they cannot enter. The rule of the shop is to sieve them out in
		// time; what is left is the risk that one is missed.
		p = math.Min(p, kept)
		j.Why = fmt.Sprintf("new they cannot enter the %s of %.3g mm, worn they can: sieve them out at %.3g mm, after about %.0f h in a bowl",
			h.name, h.width, RetireMM(h.width), tumble.MediaHours(RetireMM(h.width)*lo/h.width, m.WearBowlPctH).Value)
	case worst < 1:
		j.Why = fmt.Sprintf("at %.3g mm they hardly enter the %s of %.3g mm, but a chipped one does and stays", size, h.name, h.width)
	case worst <= justFits:
		j.Why = fmt.Sprintf("a piece of %.3g mm just goes into the %s of %.3g mm and stays", size, h.name, h.width)
	case worst <= end:
		j.Why = fmt.Sprintf("the %s of %.3g mm is %.2g pieces of %.3g mm wide: %s", h.name, h.width, worst, size, bridge(worst, h.slot, most))
	case worst <= 5:
		j.Why = fmt.Sprintf("the %s of %.3g mm is %.2g pieces of %.3g mm wide: too wide for a flat bridge, seldom for a heap", h.name, h.width, worst, size)
	default:
		j.Why = fmt.Sprintf("the %s of %.3g mm is more than five pieces of %.3g mm wide", h.name, h.width, size)
	}
	if across && worst >= outside {
		p *= crosswise
		j.Why += ", lengthwise"
	}
	// A piece that stands more than half out of a blind opening meets its rim
	// below its own widest part, which pushes it out again.
	if up := 2 * o.DepthMM / size; !o.Through && up > 0 && up < 1 && worst >= outside {
		p *= shallow * up * up
		j.Why += "; it is shallow and lets them go again"
	}
	j.Chance.P = p
	return j
}

// bridge names how many pieces hold each other at a ratio.
func bridge(ratio float64, slot bool, most string) string {
	if ratio <= RingBridge(2) {
		if ratio >= PairLocks(friction) {
			return "two lock side by side"
		}
		return "one wedges beside another"
	}
	if slot {
		return most
	}
	for n := 3; n <= 6; n++ {
		if ratio <= RingBridge(n) {
			return fmt.Sprintf("%d can bridge it in a ring", n)
		}
	}
	return most
}
