package words

import (
	"fmt"
	"math"
	"strings"

	"fettle"
	"fettle/internal/output/draw"
)

// Jaw says a pocket in soft jaws: whether it fits, goes in and holds, how to mount
// and cut it, what is left to bear on, and where else was tried.
func Jaw(pk fettle.JawPocket, pair fettle.Jaws, sys fettle.System) string {
	var p page
	p.say("", "%s: a pocket for %s in %s (%s, %s).", strings.ToUpper(pk.Name), pk.Part, lowerStart(pair.Title), pair.Name, pair.Metal)
	p.head("In short")
	for _, s := range jawAnswer(pk, sys) {
		p.item("%s", s)
	}
	section(&p, "What to watch", pk.Warnings, func(w string) string { return sentence(sys.Reword(w)) })
	for _, c := range pk.Cautions {
		p.item("CAUTION: %s Read on: %s.", sentence(sys.Reword(c.Says)), strings.TrimSuffix(c.Defer, "."))
	}

	p.head("What to do")
	for _, s := range jawDo(pk, pair, sys) {
		p.item("%s", s)
	}
	jawLevels(&p, pk, sys)
	p.head("What the part bears on")
	for i, b := range pk.Bearings {
		p.item("%s", bearing(i, b, sys))
	}
	section(&p, "Metal left", bothAlike(pk.Room), func(r fettle.JawRoom) string { return jawRoom(r, pk.Pose, sys) })
	if h := pk.Holding; h != nil {
		holding(&p, *h, sys)
	}
	jawTried(&p, pk, sys)
	p.WriteByte('\n')
	p.say("", "A computed holding force is advice, never permission: pull at the part by hand before the spindle turns, and begin shallow.")
	return p.String()
}

// lowerStart lowers the first letter of a title that stands inside a sentence, but
// not that of a name or a number.
func lowerStart(s string) string {
	first, _, _ := strings.Cut(s, " ")
	if first == "" || first == strings.ToUpper(first) || strings.ContainsAny(first, "0123456789") {
		return s
	}
	return strings.ToLower(s[:1]) + s[1:]
}

// jawAnswer is the answer: does it fit, does it go in, will it hold.
func jawAnswer(pk fettle.JawPocket, sys fettle.System) []string {
	var out []string
	var bad []string
	for _, r := range bothAlike(pk.Room) {
		if !r.OK {
			bad = append(bad, roomLeft(r, pk.Pose, sys))
		}
	}
	if len(bad) == 0 {
		out = append(out, sentence(fmt.Sprintf("It fits what is left of %s: %s", pk.Pair, mounted(pk.Pose))))
	} else {
		out = append(out, fmt.Sprintf("Do not cut it like this: %s.", list(bad)))
	}
	if pk.LoadsClear {
		out = append(out, sentence("The part goes in from above and touches nothing but its pocket"))
	} else {
		out = append(out, "The part does not go in freely from above: "+stop(sys.Reword(pk.Loads)))
	}
	h := pk.Holding
	switch {
	case h == nil:
		out = append(out, "Whether it holds was not worked out: no cut was given.")
	case h.OK && h.Factor.Low < h.Wanted:
		out = append(out, fmt.Sprintf("By the numbers it likely holds against %s, but not surely: %s times what pulls, and %s is wanted.", sys.Reword(cutName(h.Cut)), range2(h.Factor), two(h.Wanted)))
	case h.OK:
		out = append(out, fmt.Sprintf("By the numbers it holds against %s: at the least %s times what pulls, and %s is wanted.", sys.Reword(cutName(h.Cut)), range2(h.Factor), two(h.Wanted)))
	default:
		out = append(out, fmt.Sprintf("By the numbers it does not hold well enough against %s: %s times what pulls, and %s is wanted. Take less at a time, grip deeper, or find a place with more to bear on.", sys.Reword(cutName(h.Cut)), range2(h.Factor), two(h.Wanted)))
	}
	return out
}

// mounted says how both jaws are mounted.
func mounted(pose fettle.PocketPose) string {
	if pose.Swapped {
		return fmt.Sprintf("the jaws change places, the moving jaw in the fixed place %s, the fixed jaw in the moving place %s", pose.Fixed, pose.Moving)
	}
	if pose.Fixed == pose.Moving {
		return fmt.Sprintf("both jaws mounted %s", pose.Fixed)
	}
	return fmt.Sprintf("the fixed jaw mounted %s, the moving jaw %s", pose.Fixed, pose.Moving)
}

// jawDo is the work in its order.
func jawDo(pk fettle.JawPocket, pair fettle.Jaws, sys fettle.System) []string {
	lo, hi := draw.PocketWalls(pk)
	half := pair.WidthMM / 2
	out := []string{
		sentence(fmt.Sprintf("Mount %s: %s. Clean behind them, and look for chips and burrs where they seat", pair.Name, mounted(pk.Pose))),
		sentence(fmt.Sprintf("Clamp a spacer below the pocket so that the faces stand %s apart, as hard as the part will be clamped", sys.Length(pk.Pose.GapMM))),
		"Set X zero in the middle of the jaws' length, Y zero in the middle of the gap, Z zero on their top.",
	}
	if lo[0] < hi[0] {
		out = append(out,
			fmt.Sprintf("Along the jaws the pocket begins %s from their left end and ends %s from it: X %s to %s, its middle %s.",
				sys.Length(half+lo[0]), sys.Length(half+hi[0]), number(lo[0], sys), sys.Length(hi[0]), aside((lo[0]+hi[0])/2, "the jaws' middle", "right", "left", sys)),
			fmt.Sprintf("Across, it reaches %s into the fixed jaw and %s into the moving one: Y %s to %s from the middle of the gap.",
				sys.Length(max(0, hi[1]-pk.Pose.GapMM/2)), sys.Length(max(0, -lo[1]-pk.Pose.GapMM/2)), number(lo[1], sys), sys.Length(hi[1])))
	}
	cutter := pk.Cutter
	if cutter == "" {
		cutter = "a flat cutter"
	}
	cut := fmt.Sprintf("Cut it with %s, %s across, to %s at the deepest; %s of room is left all round the part.", cutter, sys.Length(pk.CutterMM), sys.Length(pk.DepthMM), sys.Length(pk.ClearanceMM))
	if !pk.Stepped {
		cut += " Its floor is curved: take it from the STL file, for which the levels below are only the outlines."
	}
	out = append(out, cut)
	if n := len(pk.Reliefs); n > 0 {
		out = append(out, reliefs(pk.Reliefs, sys))
	}
	out = append(out, fmt.Sprintf("Take the spacer out, break the pocket's edges, and lay the part in with the model's %s down%s, %s deep below the jaws' top.",
		axisOf(pk.Pose.Down), turned(pk.Pose.TurnDeg), sys.Length(pk.Pose.GripMM)))
	switch s := pk.Stop; {
	case s.Says == "":
	case strings.HasPrefix(s.Says, "push"):
		out = append(out, sentence(sys.Reword(s.Says)))
	default:
		out = append(out, fmt.Sprintf("Push the part %s before the vise is closed: %s", towards(s.Towards), stop(sys.Reword(s.Says))))
	}
	return out
}

// aside says how far and to which side of something a place is.
func aside(v float64, of, plus, minus string, sys fettle.System) string {
	switch {
	case math.Abs(v) < 0.005:
		return "in " + of
	case v > 0:
		return fmt.Sprintf("%s to the %s of %s", sys.Length(v), plus, of)
	}
	return fmt.Sprintf("%s to the %s of %s", sys.Length(-v), minus, of)
}

// axisOf names a direction of the model.
func axisOf(d [3]float64) string {
	for k, name := range []string{"X", "Y", "Z"} {
		switch {
		case d[k] > 0.9999:
			return "+" + name + " side"
		case d[k] < -0.9999:
			return "−" + name + " side"
		}
	}
	return fmt.Sprintf("direction (%.3f, %.3f, %.3f)", d[0], d[1], d[2])
}

func turned(deg float64) string {
	switch {
	case math.Abs(deg) < 0.05:
		return ""
	case deg < 0:
		return fmt.Sprintf(", turned %s° clockwise as seen from above", two(-deg))
	}
	return fmt.Sprintf(", turned %s° anticlockwise as seen from above", two(deg))
}

// towards says a direction in plan as one who stands before the vise would.
func towards(d [2]float64) string {
	var parts []string
	if l := math.Hypot(d[0], d[1]); l > 0 {
		switch x := d[0] / l; {
		case x > 0.26:
			parts = append(parts, "to the right")
		case x < -0.26:
			parts = append(parts, "to the left")
		}
		switch y := d[1] / l; {
		case y > 0.26:
			parts = append(parts, "against the fixed jaw")
		case y < -0.26:
			parts = append(parts, "against the moving jaw")
		}
	}
	if len(parts) == 0 {
		return "against its stop"
	}
	return strings.Join(parts, " and ")
}

// reliefs says the corner reliefs, alike ones together.
func reliefs(rs []fettle.PocketRelief, sys fettle.System) string {
	least, most := math.Inf(1), 0.0
	for _, r := range rs {
		least, most = min(least, r.RadiusMM), max(most, r.RadiusMM)
	}
	verb := "are"
	if len(rs) == 1 {
		verb = "is"
	}
	return sentence(fmt.Sprintf("%s %s cut past the outline with radius %s, because the part's are tighter than the cutter; the outline has them", sentenceCount(len(rs), "corner"), verb, between(least, most, sys.Length)))
}
