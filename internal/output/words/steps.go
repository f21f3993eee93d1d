package words

import (
	"fmt"
	"strings"

	"fettle"
)

// route says the steps in order. What an earlier step on the same zone has left is
// told apart from what a step makes itself.
func route(p *page, pl fettle.Plan) {
	p.head("Route")
	known := map[[2]string]bool{}
	caution := map[string]int{}
	for i, st := range pl.Route {
		step(p, i+1, st, pl.Brief.Display, known, caution)
	}
}

// step says one step with what it is expected to leave. known are the marks by
// zone and cause that stood before it, caution the steps at which a caution was
// first given.
func step(p *page, n int, st fettle.Step, sys fettle.System, known map[[2]string]bool, caution map[string]int) {
	p.say(fmt.Sprintf("%3d. ", n), "%s.", strings.TrimSuffix(st.Name, "."))
	const in = "     "
	p.say(in, "%s", sentence(st.Do))
	if c := st.Charge; c != nil {
		for _, t := range chargeLines(*c, sys) {
			p.say(in, "%s", t)
		}
	}
	if b := st.Buff; b != nil && b.OpenShare < 0.995 {
		p.say(in, "The wheel gets to %.0f %% of the face; the rest stays as it is, or is polished by hand.", 100*b.OpenShare)
	}
	var t []string
	if st.MinutesAttended.Value > 0 {
		t = append(t, minutes(st.MinutesAttended)+" at it")
	}
	if st.MinutesAlone.Value > 0 {
		t = append(t, minutes(st.MinutesAlone)+" on its own")
	}
	if st.Cost.Value.Minor > 0 {
		t = append(t, st.Cost.String())
	}
	if len(t) > 0 {
		p.say(in, "For the lot: %s.", strings.Join(t, "; "))
	}
	if changes(st.Kind) {
		p.say(in, "Leaves Ra %s. %s", sys.Range(st.RaUM), marksLeft(st.Marks, known, sys))
	}
	for _, m := range st.Marks {
		known[[2]string{m.Zone, m.Cause}] = true
	}
	if st.Look != "" {
		p.say(in, "Look for: %s", stop(st.Look))
	}
	for _, w := range st.Why[:min(len(st.Why), mostReasons)] {
		p.say(in, "Why: %s", stop(w))
	}
	if st.Caution == "" {
		return
	}
	if first, ok := caution[st.Caution]; ok {
		p.say(in, "CAUTION: as beside step %d, all of it.", first)
		return
	}
	caution[st.Caution] = n
	p.say(in, "CAUTION: %s", stop(st.Caution))
}

// mostReasons keeps a page of words a page; plan.json and the traveler have all
// of them.
const mostReasons = 2

// changes reports whether a step leaves another surface than it found.
func changes(k fettle.StepKind) bool {
	return k == fettle.StepSurface || k == fettle.StepRub || k == fettle.StepTumble || k == fettle.StepBuff
}

// chargeLines are a charge in numbers: what to fill in, how long it runs, when it
// passes which look, what else could be had of it, and what it does not reach.
func chargeLines(c fettle.Charge, sys fettle.System) []string {
	fill := fmt.Sprintf("Fill the %s to %.0f %%: %s of media (%s)", c.Vessel, c.FillShare*100, sys.Liquid(c.MediaL), sys.Mass(c.MediaKg*1000))
	if c.Loads > 1 {
		fill = strings.Replace(fill, ":", " for each load:", 1)
	}
	if c.WaterL.Value > 0 {
		fill += fmt.Sprintf("; water %s (%s)", sys.Liquid(c.WaterL.Value), ends(sys.Liquid(c.WaterL.Low), sys.Liquid(c.WaterL.High)))
		if c.WaterLevel != "" {
			fill += ", " + sys.Reword(strings.TrimSuffix(c.WaterLevel, "."))
		}
	}
	if c.CompoundML.Value > 0 {
		what, _, _ := strings.Cut(c.Compound, ", let through")
		fill += fmt.Sprintf("; %s (%s) of %s", sys.Dose(c.CompoundML.Value), ends(sys.Dose(c.CompoundML.Low), sys.Dose(c.CompoundML.High)), what)
	}
	run := "Run " + span(c.Hours)
	if c.RPM > 0 {
		run += fmt.Sprintf(" at %.0f rpm", c.RPM)
	}
	if c.RPM > 0 && c.CriticalRPM > 0 {
		run += fmt.Sprintf(" (%.0f %% of critical %.0f)", 100*c.RPM/c.CriticalRPM, c.CriticalRPM)
	}
	if c.VentEveryH > 0 && c.Hours.High > c.VentEveryH {
		run += fmt.Sprintf(", open to vent every %s", fettle.Minutes(c.VentEveryH*60))
	}
	if c.ChangeLiquidH > 0 && c.Hours.High > c.ChangeLiquidH {
		run += fmt.Sprintf(", fresh liquid every %s", fettle.Minutes(c.ChangeLiquidH*60))
	}
	out := []string{fill + ".", run + "."}
	if t := passes(c.HoursTo); t != "" {
		out = append(out, t)
	}
	if t := otherTones(c, sys); t != "" {
		out = append(out, t)
	}
	if len(c.Leaves) > 0 {
		out = append(out, "Not reached: "+sentence(sys.Reword(c.Leaves[0].Says)))
	}
	return out
}

// passes says in one line when a charge passes which looks, and which finer ones
// it does not get to; empty where it passes none.
func passes(hs []fettle.LookHours) string {
	var got, never []string
	for _, h := range hs {
		switch {
		case !h.Never:
			got = append(got, h.Look+" after "+span(h.Hours))
			never = nil // what comes before it on the shelf is rougher
		case len(got) > 0:
			never = append(never, h.Look)
		}
	}
	if len(got) == 0 {
		return ""
	}
	t := "From this face it passes " + list(got)
	if len(never) > 0 {
		t += "; it does not get to " + strings.Join(never, " or ")
	}
	return t + "."
}

// otherTones says in one line what more or less liquid would do.
func otherTones(c fettle.Charge, sys fettle.System) string {
	var t []string
	for _, o := range c.Tones {
		name := string(o.Tone)
		if o.Tone == fettle.ToneUsual {
			name = "as usual"
		}
		t = append(t, fmt.Sprintf("%s with water %s and compound %s, in %s",
			name, sys.Liquid(o.WaterL.Value), sys.Dose(o.CompoundML.Value), fettle.Minutes(60*o.Hours.Value)))
	}
	if len(t) == 0 {
		return ""
	}
	now := ""
	if c.Tone != fettle.ToneUsual {
		now = "This runs " + string(c.Tone) + ". "
	}
	return now + "It could run " + strings.Join(t, "; ") + "."
}

// marksLeft says what is on the face after a step: its own marks, then the older
// ones that may be found.
func marksLeft(ms []fettle.Mark, known map[[2]string]bool, sys fettle.System) string {
	var own, older []string
	for _, m := range ms {
		if known[[2]string{m.Zone, m.Cause}] {
			if m.Seen.P >= speakOf || m.Says != "" {
				older = append(older, olderMark(m, sys))
			}
			continue
		}
		own = append(own, fmt.Sprintf("%s %s apart %s, %s high", m.Cause, sys.Small(m.WavelengthMM), m.Lay, sys.Height(m.HeightUM.Value*m.Left)))
	}
	var t []string
	if len(own) > 0 {
		t = append(t, "Its own marks: "+strings.Join(own, "; ")+".")
	}
	switch {
	case len(older) > 0:
		t = append(t, older...)
	case len(own) == 0 || len(own) < len(ms):
		t = append(t, "No older mark is expected to show.")
	}
	return strings.Join(t, " ")
}

// olderMark says in a sentence what is left of a mark and how often it is found.
func olderMark(m fettle.Mark, sys fettle.System) string {
	says := m.Says
	if says == "" {
		says = m.Cause + " may still show"
	}
	t := fmt.Sprintf("%s: %s apart", sentenceStart(says), sys.Small(m.WavelengthMM))
	if h := m.HeightUM.Value * m.Left; h > 0 {
		t += ", " + sys.Height(h) + " high"
	} else {
		t += ", levelled in most cases"
	}
	return t + fmt.Sprintf("; found %.0f times in 100.", 100*m.Seen.P)
}

// speakOf is the chance of being found from which a mark is spoken of.
const speakOf = 0.05
