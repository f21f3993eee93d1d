package jam

import (
	"fmt"
	"math"

	"fettle"
	"fettle/internal/shape/convex"
	"fettle/internal/shape/field"
	"fettle/internal/trade/tumble"
)

// verdict is what one size of piece does at an opening.
type verdict struct {
	enters fettle.Entry
	p      float64
	ratio  float64
	why    string
}

// byPoses puts what a search over poses finds in place of what calipers said,
// where a search can be made.
func (k kind) byPoses(o fettle.Opening, f *field.Field, j *[3]fettle.Jam) {
	full := k.sizeFor(o)
	if k.Shape == fettle.Sphere {
		k.spheres(o, f, j)
		return
	}
	fresh, ok := k.at(o, f, full)
	if !ok {
		return
	}
	now := fresh
	left, end := tumble.ShareNow(k.Media), k.WornShare()
	if left < 1 {
		if now, ok = k.at(o, f, left*full); !ok {
			return
		}
	}
	worst, fit := fresh, 0.0
	for _, share := range []float64{(1 + end) / 2, end} {
		v, ok := k.at(o, f, share*full)
		if !ok {
			break // worn so thin that the grid does not show it, or the pocket is deep for it
		}
		if v.enters != fettle.CannotEnter && fit == 0 {
			fit = share
		}
		if v.p > worst.p || worst.enters == fettle.CannotEnter && v.enters != fettle.CannotEnter {
			worst = v
		}
	}
	var hours, hoursNow *fettle.Estimate
	if fresh.enters == fettle.CannotEnter && fit > 0 {
		fit, worst = k.firstFit(o, f, full, fit, worst)
		hours, hoursNow = hoursToFit(k.Media, fit, 1), hoursToFit(k.Media, fit, left)
		// The rule of the shop is to sieve them out in time; what is left is the risk
		// that one is missed. Where they are nearly there when new, one is.
		if fit <= outside {
			worst.p = math.Min(worst.p, kept)
		}
		worst.why = fmt.Sprintf("new they cannot enter the %s, worn to %.0f %% of their size they can: sieve them out before, after about %.0f h in a bowl; %s",
			nameOf(o), 100*fit, tumble.MediaHours(fit, k.WearBowlPctH).Value, worst.why)
	}
	for i, v := range []verdict{fresh, now, worst} {
		j[i].Enters, j[i].Ratio, j[i].Chance, j[i].Why = v.enters, v.ratio, fettle.ChanceOf(v.p), v.why
		j[i].HoursToFit = []*fettle.Estimate{hours, hoursNow, hours}[i]
	}
}

// firstFit narrows down the share of the new size at which a piece first enters,
// between fit, where it does, and new, where it does not.
func (k kind) firstFit(o fettle.Opening, f *field.Field, full, fit float64, at verdict) (float64, verdict) {
	lo, hi := fit, 1.0
	for range 4 {
		mid := (lo + hi) / 2
		v, ok := k.at(o, f, mid*full)
		if !ok || v.enters == fettle.CannotEnter {
			hi = mid
			continue
		}
		lo = mid
		if v.p > at.p {
			at = v
		}
	}
	return lo, at
}

// sizeFor is the scale of the body at which the media are worst for an opening
// when new: 1 but for grains, of which there are all sizes between the sieves.
func (k kind) sizeFor(o fettle.Opening) float64 {
	if k.Shape != fettle.Grain {
		return 1
	}
	a, b := math.Min(k.SizeMM[0], k.SizeMM[1]), math.Max(k.SizeMM[0], k.SizeMM[1])
	return math.Min(math.Max(0.97*o.WidthMM, a), b) / k.calipers[1]
}

// spheres adds to the bands what the field knows of a place behind the mouth
// that holds a ball.
func (k kind) spheres(o fettle.Opening, f *field.Field, j *[3]fettle.Jam) {
	for i, share := range []float64{1, tumble.ShareNow(k.Media), k.WornShare()} {
		if j[i].Enters == fettle.CannotEnter {
			continue
		}
		seen, ok := k.search(o, f, share)
		if !ok || seen.trap < noise {
			continue
		}
		p := jamTop * seen.trap
		if p > j[i].Chance.P {
			j[i].Why = trapWords(k.sizeWords(share), o)
		}
		j[i].Enters = fettle.CanBeHeld
		j[i].Chance = fettle.ChanceOf(1 - (1-p)*(1-j[i].Chance.P))
	}
}

// noise is the share of poses below which a finding is the lattice's and not the
// opening's.
const noise = 0.05

// shallowFor is the depth of a blind opening, in least calipers, up to which it
// is a dent rather than a place to be in; then bands know what there is to know.
const shallowFor = 0.75

// roomy is a piece's largest caliper, as a share of the clear width, up to which
// it can turn as it likes in an opening.
const roomy = 0.95

// search walks one size in; false where none can be made: for a piece too thin
// for the grid, for a pocket out of which it stands by a quarter and more, for an
// opening of which too little is known; nor for a groove, which has no mouth along
// its axis.
func (k kind) search(o fettle.Opening, f *field.Field, scale float64) (found, bool) {
	least := scale * k.calipers[0]
	if least < leastCells*f.Cell || !o.Through && o.DepthMM < shallowFor*least || o.Form == "groove" {
		return found{}, false
	}
	body, turns, sizes := k.body.Scaled(scale), k.turns, k.shadows
	if largest := scale * k.calipers[2]; largest < roomy*o.WidthMM {
		// It turns freely in there: what holds a ball as large holds it, what does not
		// does not.
		body = convex.Sphere(largest)
		turns = body.Turns(1)
		sizes = k.ball
	}
	where, ok := siteOf(f, o, body, 2*body.InRadius(), len(turns.List))
	if !ok {
		return found{}, false
	}
	frame := convex.Turn{X: where.u, Y: where.v, Z: where.axis}
	list := make([]convex.Turn, len(turns.List))
	for i, t := range turns.List {
		list[i] = t.Then(frame)
	}
	turns.List = list
	s := search{site: where, probe: body.Probe(math.Max(f.Cell, least/3)), turns: turns, sizes: sizes, scale: scale, slot: mouths(o)[0].slot, round: o.Kind == fettle.Hole || o.Form == "keyhole", width: o.WidthMM}
	return s.run(), true
}

// at judges one size.
func (k kind) at(o fettle.Opening, f *field.Field, scale float64) (verdict, bool) {
	least, size := scale*k.calipers[0], k.sizeWords(scale)
	gate := gateOf(o)
	widest := gate
	if o.Form != "countersunk" { // which lets go what sits in its mouth
		widest = math.Max(widest, o.WidestMM)
		for _, w := range o.Profile {
			widest = math.Max(widest, w.WidthMM)
		}
	}
	switch {
	case !(o.WidthMM > 0):
		return verdict{}, false
	case widest < least:
		return k.kept(o, gate/least, size), true
	case o.WidthMM > wideFor*scale*k.calipers[2]:
		return verdict{fettle.PassesFree, 0, o.WidthMM / least,
			fmt.Sprintf("the %s of %.3g mm is more than five times as wide as pieces of %s are long", nameOf(o), o.WidthMM, size)}, true
	}
	seen, ok := k.search(o, f, scale)
	switch {
	case !ok:
		return verdict{}, false
	case !seen.enters:
		return k.kept(o, math.Min(gate/least, justUnder), size), true
	}
	return k.weigh(o, seen, scale), true
}

const (
	wideFor   = 5.0    // times the longest caliper: comfortable
	justUnder = 0.9999 // a ratio for what goes through by its least caliper but not as it is
)

// kept is the verdict on a piece that stays outside.
func (k kind) kept(o fettle.Opening, ratio float64, size string) verdict {
	v := verdict{fettle.CannotEnter, 0, ratio, fmt.Sprintf("pieces of %s cannot enter the %s of %.3g mm however they turn", size, nameOf(o), o.WidthMM)}
	if k.Shape.Pointed() {
		v.p = tip
		v.why += "; a point may stick in its mouth"
	}
	if p := chanceAt(ratio, false); ratio < justUnder && p > v.p {
		v.p = p
		v.why = fmt.Sprintf("pieces of %s hardly enter the %s of %.3g mm, but a chipped one does and stays", size, nameOf(o), gateOf(o))
	}
	return v
}

// weigh turns what was seen of one piece, and the laws for several, into a
// chance. A piece stays because it just fits, because it is caught behind the
// mouth, because it locks across, or because two or three hold each other: taken
// as independent. That poses held turn into pieces held in the same share is a
// starting guess.
func (k kind) weigh(o fettle.Opening, seen found, scale float64) verdict {
	size, name := k.sizeWords(scale), nameOf(o)
	v := verdict{enters: fettle.PassesFree, ratio: seen.loose}
	reasons := []struct {
		p    float64
		why  string
		held bool
	}{
		{seen.fit, fitWords(size, name, seen), seen.fit > jamTop/4},
		{jamTop * seen.trap, trapWords(size, o), seen.trap >= noise},
		{jamTop * seen.lock, fmt.Sprintf("a piece of %s can lock across the %s of %.3g mm", size, name, o.WidthMM), seen.lock >= noise},
		{k.bridge(o, scale), fmt.Sprintf("two or three pieces of %s can wedge each other in the %s of %.3g mm", size, name, o.WidthMM), false},
	}
	free, best := 1.0, 0.0
	for _, r := range reasons {
		free *= 1 - r.p
		if r.held {
			v.enters = fettle.CanBeHeld
		}
		if r.p > best {
			best, v.why = r.p, r.why
		}
	}
	v.p = 1 - free
	if v.p < 0.005 {
		v.why = fmt.Sprintf("pieces of %s go into the %s of %.3g mm and leave it again", size, name, o.WidthMM)
	}
	return v
}

func fitWords(size, name string, seen found) string {
	if seen.play > justFits {
		return fmt.Sprintf("a piece of %s has little play in the %s of %.3g mm and may stay", size, name, seen.tight)
	}
	return fmt.Sprintf("a piece of %s just goes into the %s of %.3g mm and stays", size, name, seen.tight)
}

func trapWords(size string, o fettle.Opening) string {
	return fmt.Sprintf("a piece of %s gets into the %s and cannot come straight out of it: it is wider behind its mouth of %.3g mm", size, nameOf(o), o.WidthMM)
}

// bridge is the chance that two or three pieces hold each other: that of spheres
// as wide as two pieces are on the mean, over pairs that lie as they fall, long
// ways across more rarely. What a single piece does on its own is left out.
func (k kind) bridge(o fettle.Opening, scale float64) float64 {
	worst, n := 0.0, float64(len(k.ferets))
	for _, h := range mouths(o) {
		sum := 0.0
		for _, a := range k.ferets {
			for _, b := range k.ferets {
				ratio := h.width / (scale * (a + b) / 2)
				sum += k.lies(a) * k.lies(b) * (1 - alone(ratio)) * chanceAt(ratio, h.slot)
			}
		}
		worst = math.Max(worst, sum/(n*n))
	}
	return worst
}

// lies is how readily a piece lies with a width across: one that is long turns
// lengthwise and slides.
func (k kind) lies(width float64) float64 {
	if width > 1.5*k.calipers[0] {
		return crosswise
	}
	return 1
}

// gateOf is the width that keeps a piece out: that of a keyhole's round end, else
// the narrowest.
func gateOf(o fettle.Opening) float64 {
	if o.Form == "keyhole" {
		return math.Max(o.WidthMM, o.WidestMM)
	}
	return o.WidthMM
}

func nameOf(o fettle.Opening) string {
	if o.Form == "keyhole" {
		return "keyhole"
	}
	return mouths(o)[0].name
}

// sizeWords is a size as a shop says it.
func (k kind) sizeWords(scale float64) string {
	switch k.Shape {
	case fettle.Sphere, fettle.Tetra:
		return fmt.Sprintf("%.3g mm", scale*k.SizeMM[0])
	case fettle.Grain:
		return fmt.Sprintf("%.3g mm", scale*k.calipers[1])
	}
	return fmt.Sprintf("%.3g × %.3g mm", scale*k.SizeMM[0], scale*k.SizeMM[1])
}
