package words

import (
	"fmt"
	"math"
	"strings"

	"fettle"
)

// fewLevels is how many levels of a pocket are told one by one: the stairs of a
// curved floor are many.
const fewLevels = 8

// jawLevels lists the levels from the top down.
func (p *page) jawLevels(pk fettle.JawPocket) {
	v := p.v
	if len(pk.Levels) == 0 {
		return
	}
	p.head("Levels, from the top down")
	rows := [][]string{{v.Say("depth"), v.Say("area"), v.Say("for")}}
	levels := pk.Levels
	if len(levels) > fewLevels {
		levels = levels[:fewLevels-2]
	}
	row := func(l fettle.PocketLevel) {
		rows = append(rows, []string{v.Length(l.DepthMM), v.Area(l.AreaMM2), v.Reword(l.Says)})
	}
	for _, l := range levels {
		row(l)
	}
	if n := len(pk.Levels) - len(levels); n > 0 {
		rows = append(rows, []string{"...", "", v.Count(n-1, "1 more between", "%d more between")})
		row(pk.Levels[len(pk.Levels)-1])
	}
	p.columns(rows)
	p.item("%s of metal is taken out of both jaws together.", v.Volume(pk.TakenMM3))
}

// bearing says what one jaw bears on.
func (v voice) bearing(i int, b fettle.Bearing) string {
	if b.AreaMM2 <= 0 {
		if i == 0 {
			return v.Say("The fixed jaw bears on nothing.")
		}
		return v.Say("The moving jaw bears on nothing.")
	}
	area, wide, high, x, z, p := v.Area(b.AreaMM2), v.Length(b.WideMM), v.Length(b.HighMM), v.number(plainZero(b.Centre[0])), v.Length(plainZero(b.Centre[2])), two(b.PressureMPa)
	s := v.Say("The moving jaw bears on %s, %s along it and %s high, about X %s, Z %s, with %s MPa", area, wide, high, x, z, p)
	if i == 0 {
		s = v.Say("The fixed jaw bears on %s, %s along it and %s high, about X %s, Z %s, with %s MPa", area, wide, high, x, z, p)
	}
	if b.LostMM2 > 0.005*b.AreaMM2 {
		s = v.Say("%s; %s more of the part would bear, but the jaw is cut away or relieved there", s, v.Area(b.LostMM2))
	}
	return v.Stop(s)
}

// plainZero is a length without the sign of a zero that rounding leaves.
func plainZero(mm float64) float64 {
	if math.Abs(mm) < 0.005 {
		return 0
	}
	return mm
}

// bothAlike are rooms with those that read alike in both jaws told once, without a
// jaw.
func bothAlike(list []fettle.JawRoom) []fettle.JawRoom {
	var out []fettle.JawRoom
next:
	for _, r := range list {
		for i, o := range out {
			if o.Jaw != 0 && o.Jaw != r.Jaw && o.To == r.To && o.OK == r.OK && o.WantsMM == r.WantsMM && math.Abs(o.MM-r.MM) < 0.005 {
				out[i].Jaw = 0
				continue next
			}
		}
		out = append(out, r)
	}
	return out
}

// roomLeft says how much is left to one thing.
func (v voice) roomLeft(r fettle.JawRoom, pose fettle.PocketPose) string {
	to := v.roomTo(r, pose)
	if r.MM < 0 {
		return v.Say("it cuts %s into %s", v.Length(-r.MM), to)
	}
	return v.Say("%s is left to %s; %s is wanted", v.Length(r.MM), to, v.Length(r.WantsMM))
}

// roomTo names a thing with the jaw that it is in. Jaws that change places are named
// by the place.
func (v voice) roomTo(r fettle.JawRoom, pose fettle.PocketPose) string {
	fixed := r.Jaw == fettle.FixedJaw
	switch {
	case r.Jaw == 0:
		return v.Say("%s, in both jaws", r.To)
	case !fixed && r.Jaw != fettle.MovingJaw:
		return r.To
	case pose.Swapped && fixed:
		return v.Say("%s, in the jaw in the moving place", r.To)
	case pose.Swapped:
		return v.Say("%s, in the jaw in the fixed place", r.To)
	case fixed:
		return v.Say("%s, in the fixed jaw", r.To)
	}
	return v.Say("%s, in the moving jaw", r.To)
}

func (v voice) jawRoom(r fettle.JawRoom, pose fettle.PocketPose) string {
	s := v.Sentence(v.roomLeft(r, pose))
	if r.OK {
		return s
	}
	return v.Say("TOO LITTLE: %s", s)
}

// cutName names a cut that a part is held against.
func cutName(c fettle.Cut) string {
	if c.Says != "" {
		return c.Says
	}
	return c.Cutter
}

// range2 is a ratio with its interval.
func range2(e fettle.Estimate) string {
	if e.Low == e.High {
		return two(e.Value)
	}
	return fmt.Sprintf("%s (%s–%s)", two(e.Value), two(e.Low), two(e.High))
}

// measure is a force in N or a moment in N·m with its interval. A moment kept in
// newton millimetres is told in newton metres, in both systems.
func measure(e fettle.Estimate, unit string) string {
	if unit == "N·mm" {
		e, unit = e.Scale(1e-3), "N·m"
	}
	s := two(e.Value) + " " + unit
	if e.Low != e.High {
		s += fmt.Sprintf(" (%s–%s)", two(e.Low), two(e.High))
	}
	return s
}

// holding says whether the jaws will hold, each way with its factor.
func (p *page) holding(h fettle.Holding) {
	v := p.v
	p.head("Will it hold? Advice, never permission")
	c := h.Cut
	name, across, deep, wide, tooth, above := v.Reword(cutName(c)), v.Length(c.DiameterMM), v.Length(c.DepthMM), v.Length(c.WideMM), v.Small(c.FeedMM), v.Length(c.AboveMM)
	if !strings.Contains(cutName(c), c.Cutter) {
		name = v.Say("%s with %s", name, c.Cutter)
	}
	p.item("%s", v.Count(c.Flutes, "Against %[2]s (%[3]s across, 1 flute): %[4]s deep, %[5]s wide, %[6]s a tooth, %[7]s above the jaws' top.",
		"Against %[2]s (%[3]s across, %[1]d flutes): %[4]s deep, %[5]s wide, %[6]s a tooth, %[7]s above the jaws' top.", name, across, deep, wide, tooth, above))
	p.item("The cutter pushes with %s in the plane of the table and lifts with %s (%s).", measure(h.ForceN, "N"), measure(h.LiftN, "N"), h.ForceN.Basis)
	for i, w := range h.Ways {
		way, says, holds, pulls := v.Start(w.Name), v.reworded(w.Says), measure(w.Holds, w.Unit), measure(w.Pulls, w.Unit)
		switch {
		case math.IsInf(w.Factor.Value, 0) || w.Pulls.Value == 0:
			p.item("%s: nothing pulls this way. %s", way, says)
		case i == 0:
			p.item("%s: holds %s times what pulls, the likeliest to come loose; %s against %s. %s", way, range2(w.Factor), holds, pulls, says)
		default:
			p.item("%s: holds %s times what pulls; %s against %s. %s", way, range2(w.Factor), holds, pulls, says)
		}
	}
	p.item("At the least %s times, where %s is wanted (%s). %s", range2(h.Factor), two(h.Wanted), h.Factor.Basis, v.reworded(h.Says))
	for _, a := range h.Assumes {
		p.item("Taken for granted: %s", v.Stop(v.Reword(a)))
	}
}

// fewTried is how many other places are told.
const fewTried = 6

// jawTried says where else was tried.
func (p *page) jawTried(pk fettle.JawPocket) {
	v := p.v
	var others []fettle.JawTried
	for _, t := range pk.Tried {
		if t.Pair == pk.Pair && t.Pose == pk.Pose {
			continue
		}
		others = append(others, t)
	}
	if len(others) == 0 {
		return
	}
	p.head("Where else was tried, best first")
	for i, t := range others {
		if i == fewTried && len(others) > fewTried+1 {
			p.item("%s", v.Count(len(others)-fewTried, "and 1 more, with less to bear on.", "and %d more, with less to bear on."))
			break
		}
		p.item("%s", v.Stop(v.tried(t)))
	}
}

// tried says one place that was tried.
func (v voice) tried(t fettle.JawTried) string {
	verdict := v.Say("would do")
	if !t.OK {
		verdict = v.Say("will not do")
	}
	if t.Says != "" {
		verdict = v.Say("%s: %s", verdict, v.Reword(t.Says))
	}
	if t.SupportMM2 > 0 {
		return v.Say("%s, %s: at %s along the jaws the lesser side bears on %s; %s", t.Pair, v.mounted(t.Pose), v.Length(t.Pose.ShiftMM), v.Area(t.SupportMM2), verdict)
	}
	return v.Say("%s, %s: %s", t.Pair, v.mounted(t.Pose), verdict)
}
