package words

import (
	"fmt"
	"strings"

	"fettle"
)

// route says the steps in order. What an earlier step on the same zone has left is
// told apart from what a step makes itself.
func (p *page) route(pl fettle.Plan) {
	p.head("Route")
	known := map[[2]string]bool{}
	caution := map[string]int{}
	for i, st := range pl.Route {
		p.step(i+1, st, known, caution)
	}
}

// step says one step with what it is expected to leave. known are the marks by
// zone and cause that stood before it, caution the steps at which a caution was
// first given.
func (p *page) step(n int, st fettle.Step, known map[[2]string]bool, caution map[string]int) {
	v := p.v
	const in = "     "
	p.text(fmt.Sprintf("%3d. ", n), v.Say("%s.", plain(st.Name)))
	p.text(in, v.Sentence(st.Do))
	if c := st.Charge; c != nil {
		for _, t := range v.chargeLines(*c) {
			p.text(in, t)
		}
	}
	if b := st.Buff; b != nil && b.OpenShare < 0.995 {
		p.say(in, "The wheel gets to %.0f %% of the face; the rest stays as it is, or is polished by hand.", 100*b.OpenShare)
	}
	if t := v.stepTakes(st); t != "" {
		p.text(in, t)
	}
	if changes(st.Kind) {
		p.text(in, sentences(v.Say("It leaves Ra %s.", v.Range(st.RaUM)), v.marksLeft(st.Marks, known)))
	}
	for _, m := range st.Marks {
		known[[2]string{m.Zone, m.Cause}] = true
	}
	if st.Look != "" {
		p.say(in, "Look for: %s", v.Stop(st.Look))
	}
	for _, w := range st.Why[:min(len(st.Why), mostReasons)] {
		p.say(in, "Why: %s", v.Stop(w))
	}
	if st.Caution == "" {
		return
	}
	if first, ok := caution[st.Caution]; ok {
		p.say(in, "CAUTION: as beside step %d, all of it.", first)
		return
	}
	caution[st.Caution] = n
	p.say(in, "CAUTION: %s", v.Stop(st.Caution))
}

// mostReasons keeps a page of words a page; plan.json and the traveler have all
// of them.
const mostReasons = 2

// stepTakes says what a step takes for the whole lot.
func (v voice) stepTakes(st fettle.Step) string {
	person, alone, cost := minutes(st.MinutesAttended), minutes(st.MinutesAlone), st.Cost.String()
	paid := st.Cost.Value.Minor > 0
	switch {
	case st.MinutesAttended.Value > 0 && st.MinutesAlone.Value > 0 && paid:
		return v.Say("The lot takes %s of a person and %s of the machine on its own, and costs %s.", person, alone, cost)
	case st.MinutesAttended.Value > 0 && st.MinutesAlone.Value > 0:
		return v.Say("The lot takes %s of a person and %s of the machine on its own.", person, alone)
	case st.MinutesAttended.Value > 0 && paid:
		return v.Say("The lot takes %s of a person, and costs %s.", person, cost)
	case st.MinutesAttended.Value > 0:
		return v.Say("The lot takes %s of a person.", person)
	case st.MinutesAlone.Value > 0 && paid:
		return v.Say("The lot takes %s of the machine on its own, and costs %s.", alone, cost)
	case st.MinutesAlone.Value > 0:
		return v.Say("The lot takes %s of the machine on its own.", alone)
	case paid:
		return v.Say("The lot costs %s.", cost)
	}
	return ""
}

// changes reports whether a step leaves another surface than it found.
func changes(k fettle.StepKind) bool {
	return k == fettle.StepSurface || k == fettle.StepRub || k == fettle.StepTumble || k == fettle.StepBuff
}

// chargeLines are a charge in numbers: what to fill in, how long it runs, when it
// passes which look, what else could be had of it, and what it does not reach.
func (v voice) chargeLines(c fettle.Charge) []string {
	out := []string{v.filled(c), v.run(c)}
	if t := v.passes(c.HoursTo); t != "" {
		out = append(out, t)
	}
	if t := v.otherTones(c); t != "" {
		out = append(out, t)
	}
	if len(c.Leaves) > 0 {
		out = append(out, v.Say("Not reached: %s", v.reworded(c.Leaves[0].Says)))
	}
	return out
}

// filled says what goes into a vessel.
func (v voice) filled(c fettle.Charge) string {
	media, kg := v.Liquid(c.MediaL), v.Mass(c.MediaKg*1000)
	fill := v.Say("Fill the %s to %.0f %% with %s of media (%s).", c.Vessel, c.FillShare*100, media, kg)
	if c.Loads > 1 {
		fill = v.Say("For each load fill the %s to %.0f %% with %s of media (%s).", c.Vessel, c.FillShare*100, media, kg)
	}
	water, dose := "", ""
	if w := c.WaterL; w.Value > 0 {
		amount := fmt.Sprintf("%s (%s)", v.Liquid(w.Value), ends(v.Liquid(w.Low), v.Liquid(w.High)))
		if c.WaterLevel != "" {
			water = v.Say("Add %s of water, %s.", amount, v.Reword(plain(c.WaterLevel)))
		} else {
			water = v.Say("Add %s of water.", amount)
		}
	}
	if d := c.CompoundML; d.Value > 0 {
		what, _, _ := strings.Cut(c.Compound, ", let through")
		dose = v.Say("Add %s (%s) of %s.", v.Dose(d.Value), ends(v.Dose(d.Low), v.Dose(d.High)), plain(what))
	}
	return sentences(fill, water, dose)
}

// run says how long a charge runs and what is done on the way.
func (v voice) run(c fettle.Charge) string {
	run := v.Say("Run it for %s.", span(c.Hours))
	switch {
	case c.RPM > 0 && c.CriticalRPM > 0:
		run = v.Say("Run it for %s at %.0f rpm, %.0f %% of the %.0f rpm at which the load would cling to the wall.", span(c.Hours), c.RPM, 100*c.RPM/c.CriticalRPM, c.CriticalRPM)
	case c.RPM > 0:
		run = v.Say("Run it for %s at %.0f rpm.", span(c.Hours), c.RPM)
	}
	vent, change := "", ""
	if c.VentEveryH > 0 && c.Hours.High > c.VentEveryH {
		vent = v.Say("Open it to vent every %s.", fettle.Minutes(c.VentEveryH*60))
	}
	if c.ChangeLiquidH > 0 && c.Hours.High > c.ChangeLiquidH {
		change = v.Say("Give it fresh liquid every %s.", fettle.Minutes(c.ChangeLiquidH*60))
	}
	return sentences(run, vent, change)
}

// passes says in one line when a charge passes which looks, and which finer ones
// it does not get to; empty where it passes none.
func (v voice) passes(hs []fettle.LookHours) string {
	var got, never []string
	for _, h := range hs {
		switch {
		case !h.Never:
			got = append(got, v.Say("%s after %s", h.Look, span(h.Hours)))
			never = nil // what comes before it on the shelf is rougher
		case len(got) > 0:
			never = append(never, h.Look)
		}
	}
	switch {
	case len(got) == 0:
		return ""
	case len(never) > 0:
		return v.Say("From this face it passes %s; it does not get to %s.", v.List(got), v.Either(never))
	}
	return v.Say("From this face it passes %s.", v.List(got))
}

// otherTones says what more or less liquid would do.
func (v voice) otherTones(c fettle.Charge) string {
	if len(c.Tones) == 0 {
		return ""
	}
	var t []string
	switch c.Tone {
	case fettle.ToneBright:
		t = append(t, v.Say("This runs brighter than usual."))
	case fettle.ToneDark:
		t = append(t, v.Say("This runs darker than usual."))
	}
	for _, o := range c.Tones {
		water, dose, hours := v.Liquid(o.WaterL.Value), v.Dose(o.CompoundML.Value), fettle.Minutes(60*o.Hours.Value)
		switch o.Tone {
		case fettle.ToneBright:
			t = append(t, v.Say("With %s of water and %s of compound it would come out brighter, in %s.", water, dose, hours))
		case fettle.ToneDark:
			t = append(t, v.Say("With %s of water and %s of compound it would come out darker, in %s.", water, dose, hours))
		default:
			t = append(t, v.Say("With %s of water and %s of compound it would come out as usual, in %s.", water, dose, hours))
		}
	}
	return sentences(t...)
}

// marksLeft says what is on the face after a step: its own marks, then the older
// ones that may be found.
func (v voice) marksLeft(ms []fettle.Mark, known map[[2]string]bool) string {
	var own, older []string
	for _, m := range ms {
		if known[[2]string{m.Zone, m.Cause}] {
			if m.Seen.P >= speakOf || m.Says != "" {
				older = append(older, v.olderMark(m))
			}
			continue
		}
		own = append(own, v.Say("%s %s apart %s, %s high", m.Cause, v.Small(m.WavelengthMM), m.Lay, v.Height(m.HeightUM.Value*m.Left)))
	}
	var t []string
	if len(own) > 0 {
		t = append(t, v.Say("Its own marks: %s.", clauses(own...)))
	}
	switch {
	case len(older) > 0:
		t = append(t, older...)
	case len(own) == 0 || len(own) < len(ms):
		t = append(t, v.Say("No older mark is expected to show."))
	}
	return sentences(t...)
}

// olderMark says in a sentence what is left of a mark and how often it is found.
func (v voice) olderMark(m fettle.Mark) string {
	says := m.Says
	if says == "" {
		says = v.Say("%s may still show", m.Cause)
	}
	says = v.Start(plain(says))
	if h := m.HeightUM.Value * m.Left; h > 0 {
		return v.Say("%s: %s apart, %s high; seen %.0f times in 100.", says, v.Small(m.WavelengthMM), v.Height(h), 100*m.Seen.P)
	}
	return v.Say("%s: %s apart, levelled in most cases; seen %.0f times in 100.", says, v.Small(m.WavelengthMM), 100*m.Seen.P)
}

// speakOf is the chance of being found from which a mark is spoken of.
const speakOf = 0.05
