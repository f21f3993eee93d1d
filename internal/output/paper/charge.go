package paper

import (
	"fmt"
	"strings"
	"unicode/utf8"

	"fettle"
)

// chargeText is the charge of step i, across the whole width; empty for a step
// without one.
func (t *traveler) chargeText(i int) []item {
	c := t.chargeOf(i)
	if c == nil {
		return nil
	}
	w := t.sheet.width()
	cells, cols := t.chargeCells(*c), 6
	if len(cells) == 3+7 { // seven numbers under the three names
		cols, cells[0].span = 7, 3
	}
	items := append([]item{gap(1.5)}, grid(cells, cols, w)...)
	items = append(items, t.jams(*c, w)...)
	apart := c.Apart
	if strings.Contains(strings.ToLower(t.plan.Route[i].Do), strings.ToLower(strings.TrimSuffix(apart, "."))) {
		apart = "" // said above
	}
	for _, l := range []struct{ label, says string }{
		{t.say("Water:"), t.told(c.WaterLevel)}, {t.say("Compound:"), t.told(howCompound(*c))}, {t.say("Keep apart:"), t.told(apart)},
		{t.say("On the way:"), t.passes(c.HoursTo)}, {t.say("It could also run:"), t.tones(*c)},
	} {
		if l.says != "" {
			items = append(append(items, gap(1)), lead(l.label, l.says, w, bodySize)...)
		}
	}
	items = append(append(items, gap(1.5)), t.looks(i, *c, w)...)
	if says := t.staysAsCut(*c); says != "" {
		items = append(append(items, gap(1)), lead(t.say("Not reached:"), says, w, bodySize)...)
	}
	for _, st := range t.plan.Route[:i] {
		if st.Kind == fettle.StepTumble {
			return items // what to cover stands at the first charge
		}
	}
	return append(items, t.covers(w)...)
}

// passes says when a charge passes which looks, and which finer ones it does not
// get to; empty where it passes none.
func (t *traveler) passes(hs []fettle.LookHours) string {
	var got, never []string
	for _, h := range hs {
		switch {
		case !h.Never:
			got = append(got, t.say("%s after %s", h.Look, ranged(h.Hours, hours)))
			never = nil // what comes before it on the shelf is rougher
		case len(got) > 0:
			never = append(never, h.Look)
		}
	}
	switch {
	case len(got) == 0:
		return ""
	case len(never) > 0:
		return t.tongue.Start(t.say("%s; not as far as %s.", t.tongue.List(got), t.tongue.Either(never)))
	}
	return t.tongue.Sentence(t.tongue.List(got))
}

// tones say what more or less liquid would do.
func (t *traveler) tones(c fettle.Charge) string {
	var says []string
	for _, o := range c.Tones {
		s := t.say("%s: water %s, compound %s, %s", t.word(string(o.Tone)), t.sys.Liquid(o.WaterL.Value), t.sys.Dose(o.CompoundML.Value), hours(o.Hours.Value))
		if o.Tone != fettle.ToneUsual && o.Says != "" {
			s += " (" + t.reword(strings.TrimSuffix(o.Says, ".")) + ")"
		}
		says = append(says, s)
	}
	return t.tongue.Sentence(points(says))
}

// staysAsCut names the places that the media of a charge do not reach.
func (t *traveler) staysAsCut(c fettle.Charge) string {
	var says []string
	for _, l := range c.Leaves[:min(3, len(c.Leaves))] {
		says = append(says, t.told(l.Says))
	}
	return strings.Join(says, " ")
}

// covers names what to mask before a charge.
func (t *traveler) covers(w float64) []item {
	var says []string
	for _, m := range t.plan.Masks {
		says = append(says, m.Place+": "+t.told(m.Says))
	}
	if len(says) == 0 {
		return nil
	}
	return append([]item{gap(1)}, lead(t.say("Cover if it must stay:"), strings.Join(says, " "), w, noteSize)...)
}

// chargeOf is the charge of step i, from the step or from the plan's list.
func (t *traveler) chargeOf(i int) *fettle.Charge {
	st := t.plan.Route[i]
	if st.Charge != nil {
		return st.Charge
	}
	if st.Kind != fettle.StepTumble {
		return nil
	}
	for k := range t.plan.Charges {
		if t.plan.Charges[k].Step == i {
			return &t.plan.Charges[k]
		}
	}
	return nil
}

// chargeCells are the numbers of a charge.
func (t *traveler) chargeCells(c fettle.Charge) []cell {
	sys := t.sys
	cells := []cell{
		{label: t.say("Vessel"), value: first(c.Vessel, t.say("not said")), span: 2},
		{label: t.say("Media"), value: first(c.Media, t.say("not said")), span: 2},
		{label: t.say("Loads"), value: t.count(c.PartsPerLoad, "%[2]d × %[1]d part", "%[2]d × %[1]d parts", max(1, c.Loads)), note: t.lastLoad(c), span: 2},
		{label: t.say("Media in"), value: sys.Liquid(c.MediaL), note: sys.Mass(1000 * c.MediaKg)},
		{label: t.say("Fill"), value: percent(c.FillShare), note: t.say("of the vessel")},
		{label: t.say("Media to parts"), value: fmt.Sprintf("%.0f : 1", c.MediaToParts), note: t.say("by volume")},
	}
	add := func(label string, e fettle.Estimate, show func(float64) string) {
		if k, ok := estimate(label, e, show); ok {
			cells = append(cells, k)
		}
	}
	add(t.say("Water"), c.WaterL, sys.Liquid)
	add(capital(t.compound(c)), c.CompoundML, sys.Dose)
	if c.RPM > 0 {
		k := cell{label: t.say("Speed"), value: fmt.Sprintf("%.0f rpm", c.RPM)}
		if c.CriticalRPM > 0 {
			k.note = t.say("%s of critical", percent(c.RPM/c.CriticalRPM))
		}
		cells = append(cells, k)
	}
	add(t.say("Run for"), c.Hours, hours)
	for _, k := range []struct {
		label string
		h     float64
	}{{t.say("Open to vent every"), c.VentEveryH}, {t.say("Fresh liquid every"), c.ChangeLiquidH}} {
		if k.h > 0 && finite(k.h) && c.Hours.High > k.h {
			cells = append(cells, cell{label: k.label, value: hours(k.h)})
		}
	}
	return cells
}

// jams names openings in which media may lodge, each once at its worst.
func (t *traveler) jams(c fettle.Charge, w float64) []item {
	worst := map[string]fettle.Jam{}
	var order []string
	for _, j := range c.Jams {
		if j.Chance.P < 0.01 {
			continue
		}
		old, ok := worst[j.Opening]
		if !ok {
			order = append(order, j.Opening)
		}
		if !ok || j.Chance.P > old.Chance.P {
			worst[j.Opening] = j
		}
	}
	if len(order) == 0 {
		return nil
	}
	var says []string
	for _, o := range order {
		j := worst[o]
		says = append(says, t.say("%s (%s chance with %s media)", o, t.word(j.Chance.Word), t.word(first(string(j.State), string(fettle.New)))))
	}
	count := t.say("Count the openings clear after every load.")
	return append([]item{gap(1)}, lead(t.say("Media may jam in:"), t.tongue.Sentence(strings.Join(says, ", "))+" "+count, w, bodySize)...)
}

// lastLoad says how many pieces the last load holds where it is another number.
func (t *traveler) lastLoad(c fettle.Charge) string {
	if c.Loads > 1 && c.LastLoadParts > 0 && c.LastLoadParts != c.PartsPerLoad {
		return t.say("%d in the last", c.LastLoadParts)
	}
	return ""
}

// compound is what the liquid is called, without how it is let in, which stands
// beside the water.
func (t *traveler) compound(c fettle.Charge) string {
	if utf8.RuneCountInString(c.Compound) <= shortName {
		return first(c.Compound, t.say("Compound"))
	}
	s, _, _ := strings.Cut(c.Compound, ",")
	return s
}

// shortName is how many letters of a name fit a cell's label.
const shortName = 30

// howCompound is what else there is to say of the compound; that it runs with the
// water stands there.
func howCompound(c fettle.Charge) string {
	_, how, ok := strings.Cut(c.Compound, ",")
	if ok && utf8.RuneCountInString(c.Compound) > shortName && !strings.Contains(how, "let through") {
		return strings.TrimSpace(how)
	}
	return ""
}
