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
func jawLevels(p *page, pk fettle.JawPocket, sys fettle.System) {
	if len(pk.Levels) == 0 {
		return
	}
	p.head("Levels, from the top down")
	rows := [][]string{{"depth", "area", "for"}}
	levels := pk.Levels
	if len(levels) > fewLevels {
		levels = levels[:fewLevels-2]
	}
	row := func(l fettle.PocketLevel) {
		rows = append(rows, []string{sys.Length(l.DepthMM), sys.Area(l.AreaMM2), l.Says})
	}
	for _, l := range levels {
		row(l)
	}
	if n := len(pk.Levels) - len(levels); n > 0 {
		rows = append(rows, []string{"...", "", fmt.Sprintf("%d more between", n-1)})
		row(pk.Levels[len(pk.Levels)-1])
	}
	p.columns(rows)
	p.item("%s of metal is taken out of both jaws together.", sys.Volume(pk.TakenMM3))
}

// jawPlace names a place in the vise.
func jawPlace(i int) string {
	if i == 0 {
		return "fixed jaw"
	}
	return "moving jaw"
}

// bearing says what one jaw bears on.
func bearing(i int, b fettle.Bearing, sys fettle.System) string {
	if b.AreaMM2 <= 0 {
		return fmt.Sprintf("The %s bears on nothing.", jawPlace(i))
	}
	s := fmt.Sprintf("The %s bears on %s, %s along it and %s high, about X %s, Z %s, with %s MPa",
		jawPlace(i), sys.Area(b.AreaMM2), sys.Length(b.WideMM), sys.Length(b.HighMM), number(plainZero(b.Centre[0]), sys), sys.Length(plainZero(b.Centre[2])), two(b.PressureMPa))
	if b.LostMM2 > 0.005*b.AreaMM2 {
		s += fmt.Sprintf("; %s more of the part would bear, but the jaw is cut away or relieved there", sys.Area(b.LostMM2))
	}
	return s + "."
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
func roomLeft(r fettle.JawRoom, pose fettle.PocketPose, sys fettle.System) string {
	where := ""
	switch {
	case r.Jaw == 0:
		where = ", in both jaws"
	case r.Jaw != fettle.FixedJaw && r.Jaw != fettle.MovingJaw:
	case pose.Swapped:
		where = ", in the jaw in the " + strings.TrimSuffix(jawPlace(2-r.Jaw), " jaw") + " place"
	default:
		where = ", in the " + jawPlace(r.Jaw-1)
	}
	if r.MM < 0 {
		return fmt.Sprintf("it cuts %s into %s%s", sys.Length(-r.MM), r.To, where)
	}
	return fmt.Sprintf("%s is left to %s%s; %s is wanted", sys.Length(r.MM), r.To, where, sys.Length(r.WantsMM))
}

func jawRoom(r fettle.JawRoom, pose fettle.PocketPose, sys fettle.System) string {
	s := sentence(roomLeft(r, pose, sys))
	if r.OK {
		return s
	}
	return "TOO LITTLE: " + s
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
func holding(p *page, h fettle.Holding, sys fettle.System) {
	p.head("Will it hold? Advice, never permission")
	c := h.Cut
	with := " with " + c.Cutter
	if strings.Contains(cutName(c), c.Cutter) {
		with = ""
	}
	p.item("Against %s%s (%s across, %d flutes): %s deep, %s wide, %s a tooth, %s above the jaws' top.", sys.Reword(cutName(c)), with, sys.Length(c.DiameterMM), c.Flutes,
		sys.Length(c.DepthMM), sys.Length(c.WideMM), sys.Small(c.FeedMM), sys.Length(c.AboveMM))
	p.item("The cutter pushes with %s in the plane of the table and lifts with %s (%s).", measure(h.ForceN, "N"), measure(h.LiftN, "N"), h.ForceN.Basis)
	for i, w := range h.Ways {
		mark := ""
		if i == 0 {
			mark = ", the likeliest to come loose"
		}
		if math.IsInf(w.Factor.Value, 0) || w.Pulls.Value == 0 {
			p.item("%s: nothing pulls this way. %s", sentenceStart(w.Name), sentence(sys.Reword(w.Says)))
			continue
		}
		p.item("%s: holds %s times what pulls%s; %s against %s. %s", sentenceStart(w.Name), range2(w.Factor), mark, measure(w.Holds, w.Unit), measure(w.Pulls, w.Unit), sentence(sys.Reword(w.Says)))
	}
	p.item("At the least %s times, where %s is wanted (%s). %s", range2(h.Factor), two(h.Wanted), h.Factor.Basis, sentence(sys.Reword(h.Says)))
	for _, a := range h.Assumes {
		p.item("Taken for granted: %s", stop(sys.Reword(a)))
	}
}

// fewTried is how many other places are told.
const fewTried = 6

// jawTried says where else was tried.
func jawTried(p *page, pk fettle.JawPocket, sys fettle.System) {
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
			p.item("and %d more, with less to bear on.", len(others)-fewTried)
			break
		}
		verdict := "would do"
		if !t.OK {
			verdict = "will not do"
		}
		where := ""
		if t.SupportMM2 > 0 {
			where = fmt.Sprintf(" at %s along the jaws the lesser side bears on %s;", sys.Length(t.Pose.ShiftMM), sys.Area(t.SupportMM2))
		}
		if t.Says != "" {
			verdict += ": " + sys.Reword(t.Says)
		}
		p.item("%s, %s:%s %s", t.Pair, mounted(t.Pose), where, stop(verdict))
	}
}
