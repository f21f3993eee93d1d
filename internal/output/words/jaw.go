package words

import (
	"math"
	"strings"

	"fettle"
	"fettle/internal/output/draw"
)

// Jaw says a pocket in soft jaws: whether it fits, goes in and holds, how to mount
// and cut it, what is left to bear on, and where else was tried.
func (l Voice) Jaw(pk fettle.JawPocket, pair fettle.Jaws, sys fettle.System) string {
	v := l.in(sys)
	p := v.page()
	p.say("", "%s: a pocket for %s in %s (%s, %s).", strings.ToUpper(pk.Name), pk.Part, lowerStart(pair.Title), pair.Name, pair.Metal)
	section(p, "In short", v.jawAnswer(pk), said)
	section(p, "What to watch", pk.Warnings, v.reworded)
	for _, c := range pk.Cautions {
		p.item("CAUTION: %s Read on: %s.", v.reworded(c.Says), plain(c.Defer))
	}

	section(p, "What to do", v.jawDo(pk, pair), said)
	p.jawLevels(pk)
	p.head("What the part bears on")
	for i, b := range pk.Bearings {
		p.item("%s", v.bearing(i, b))
	}
	section(p, "Metal left", bothAlike(pk.Room), func(r fettle.JawRoom) string { return v.jawRoom(r, pk.Pose) })
	if h := pk.Holding; h != nil {
		p.holding(*h)
	}
	p.jawTried(pk)
	p.WriteByte('\n')
	p.say("", "A computed holding force is advice, never permission: pull at the part by hand before the spindle turns, and begin shallow.")
	return p.String()
}

// said is a sentence as it is.
func said(s string) string { return s }

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
func (v voice) jawAnswer(pk fettle.JawPocket) []string {
	var out []string
	var bad []string
	for _, r := range bothAlike(pk.Room) {
		if !r.OK {
			bad = append(bad, v.roomLeft(r, pk.Pose))
		}
	}
	if len(bad) == 0 {
		out = append(out, v.Stop(v.Say("It fits what is left of %s: %s", pk.Pair, v.mounted(pk.Pose))))
	} else {
		out = append(out, v.Say("Do not cut it like this: %s.", v.List(bad)))
	}
	if pk.LoadsClear {
		out = append(out, v.Say("The part goes in from above and touches nothing but its pocket."))
	} else {
		out = append(out, v.Say("The part does not go in freely from above: %s", v.Stop(v.Reword(pk.Loads))))
	}
	h := pk.Holding
	if h == nil {
		return append(out, v.Say("Whether it holds was not worked out: no cut was given."))
	}
	cut, factor, wanted := v.Reword(cutName(h.Cut)), range2(h.Factor), two(h.Wanted)
	switch {
	case h.OK && h.Factor.Low < h.Wanted:
		out = append(out, v.Say("By the numbers it likely holds against %s, but not surely: %s times what pulls, and %s is wanted.", cut, factor, wanted))
	case h.OK:
		out = append(out, v.Say("By the numbers it holds against %s: at the least %s times what pulls, and %s is wanted.", cut, factor, wanted))
	default:
		out = append(out, v.Say("By the numbers it does not hold well enough against %s: %s times what pulls, and %s is wanted. Take less at a time, grip deeper, or find a place with more to bear on.", cut, factor, wanted))
	}
	return out
}

// mounted says how both jaws are mounted.
func (v voice) mounted(pose fettle.PocketPose) string {
	if pose.Swapped {
		return v.Say("the jaws change places, the moving jaw in the fixed place %s, the fixed jaw in the moving place %s", pose.Fixed, pose.Moving)
	}
	if pose.Fixed == pose.Moving {
		return v.Say("both jaws mounted %s", pose.Fixed)
	}
	return v.Say("the fixed jaw mounted %s, the moving jaw %s", pose.Fixed, pose.Moving)
}

// jawDo is the work in its order.
func (v voice) jawDo(pk fettle.JawPocket, pair fettle.Jaws) []string {
	lo, hi := draw.PocketWalls(pk)
	half := pair.WidthMM / 2
	out := []string{
		v.Say("Mount %s: %s. Clean behind them, and look for chips and burrs where they seat.", pair.Name, v.mounted(pk.Pose)),
		v.Say("Clamp a spacer below the pocket so that the faces stand %s apart, as hard as the part will be clamped.", v.Length(pk.Pose.GapMM)),
		v.Say("Set X zero in the middle of the jaws' length, Y zero in the middle of the gap, Z zero on their top."),
	}
	if lo[0] < hi[0] {
		out = append(out,
			v.Say("Along the jaws the pocket begins %s from their left end and ends %s from it: X %s to %s, its middle %s.",
				v.Length(half+lo[0]), v.Length(half+hi[0]), v.number(lo[0]), v.Length(hi[0]), v.aside((lo[0]+hi[0])/2)),
			v.Say("Across, it reaches %s into the fixed jaw and %s into the moving one: Y %s to %s from the middle of the gap.",
				v.Length(max(0, hi[1]-pk.Pose.GapMM/2)), v.Length(max(0, -lo[1]-pk.Pose.GapMM/2)), v.number(lo[1]), v.Length(hi[1])))
	}
	cutter := pk.Cutter
	if cutter == "" {
		cutter = v.Say("a flat cutter")
	}
	curved := ""
	if !pk.Stepped {
		curved = v.Say("Its floor is curved: take it from the STL file, for which the levels below are only the outlines.")
	}
	out = append(out, sentences(v.Say("Cut it with %s, %s across, to %s at the deepest; %s of room is left all round the part.", cutter, v.Length(pk.CutterMM), v.Length(pk.DepthMM), v.Length(pk.ClearanceMM)), curved))
	if n := len(pk.Reliefs); n > 0 {
		out = append(out, v.reliefs(pk.Reliefs))
	}
	out = append(out, v.laidIn(pk))
	switch s := pk.Stop; {
	case s.Says == "":
	case strings.HasPrefix(s.Says, "push"):
		out = append(out, v.reworded(s.Says))
	default:
		out = append(out, v.Say("Push the part %s before the vise is closed: %s", v.towards(s.Towards), v.Stop(v.Reword(s.Says))))
	}
	return out
}

// aside says how far and to which side of the jaws' middle a place is.
func (v voice) aside(x float64) string {
	switch {
	case math.Abs(x) < 0.005:
		return v.Say("in the jaws' middle")
	case x > 0:
		return v.Say("%s to the right of the jaws' middle", v.Length(x))
	}
	return v.Say("%s to the left of the jaws' middle", v.Length(-x))
}

// laidIn says how the part is laid into its pocket.
func (v voice) laidIn(pk fettle.JawPocket) string {
	side, grip, deg := v.axisOf(pk.Pose.Down), v.Length(pk.Pose.GripMM), pk.Pose.TurnDeg
	switch {
	case math.Abs(deg) < 0.05:
		return v.Say("Take the spacer out, break the pocket's edges, and lay the part in with the model's %s down, %s deep below the jaws' top.", side, grip)
	case deg < 0:
		return v.Say("Take the spacer out, break the pocket's edges, and lay the part in with the model's %s down, turned %s° clockwise as seen from above, %s deep below the jaws' top.", side, two(-deg), grip)
	}
	return v.Say("Take the spacer out, break the pocket's edges, and lay the part in with the model's %s down, turned %s° anticlockwise as seen from above, %s deep below the jaws' top.", side, two(deg), grip)
}

// axisOf names a direction of the model.
func (v voice) axisOf(d [3]float64) string {
	for k, name := range []string{"X", "Y", "Z"} {
		switch {
		case d[k] > 0.9999:
			return v.Say("+%s side", name)
		case d[k] < -0.9999:
			return v.Say("−%s side", name)
		}
	}
	return v.Say("direction (%.3f, %.3f, %.3f)", d[0], d[1], d[2])
}

// towards says a direction in plan as one who stands before the vise would.
func (v voice) towards(d [2]float64) string {
	var parts []string
	if l := math.Hypot(d[0], d[1]); l > 0 {
		switch x := d[0] / l; {
		case x > 0.26:
			parts = append(parts, v.Say("to the right"))
		case x < -0.26:
			parts = append(parts, v.Say("to the left"))
		}
		switch y := d[1] / l; {
		case y > 0.26:
			parts = append(parts, v.Say("against the fixed jaw"))
		case y < -0.26:
			parts = append(parts, v.Say("against the moving jaw"))
		}
	}
	if len(parts) == 0 {
		return v.Say("against its stop")
	}
	return v.List(parts)
}

// reliefs says the corner reliefs, alike ones together.
func (v voice) reliefs(rs []fettle.PocketRelief) string {
	least, most := math.Inf(1), 0.0
	for _, r := range rs {
		least, most = min(least, r.RadiusMM), max(most, r.RadiusMM)
	}
	return v.Count(len(rs), "One corner is cut past the outline with radius %[2]s, because the part's are tighter than the cutter; the outline has them.",
		"%d corners are cut past the outline with radius %s, because the part's are tighter than the cutter; the outline has them.", v.between(least, most, v.Length))
}
