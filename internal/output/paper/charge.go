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
	cells, cols := chargeCells(*c, t.sys), 6
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
		{"Water:", c.WaterLevel}, {"Compound:", howCompound(*c)}, {"Keep apart:", apart}, {"On the way:", passes(c.HoursTo)}, {"It could also run:", tones(*c, t.sys)},
	} {
		if l.says != "" {
			items = append(append(items, gap(1)), lead(l.label, sentence(t.sys.Reword(l.says)), w, bodySize)...)
		}
	}
	items = append(append(items, gap(1.5)), looks(c.LooksH, w)...)
	if says := t.sys.Reword(staysAsCut(*c)); says != "" {
		items = append(append(items, gap(1)), lead("Not reached:", says, w, bodySize)...)
	}
	for _, st := range t.plan.Route[:i] {
		if st.Kind == fettle.StepTumble {
			return items // what to cover stands at the first charge
		}
	}
	return append(items, t.covers(w)...)
}

// spareLooks are boxes for looks after the last that was planned: a charge may
// run on.
const spareLooks = 2

// looks are boxes to tick at each look, with room for the time by the clock and
// what was seen or measured.
func looks(at []float64, w float64) []item {
	cells := []cell{{label: "Started at"}}
	for _, h := range at {
		cells = append(cells, cell{label: "Look after " + hours(h), tick: true})
	}
	for range spareLooks {
		cells = append(cells, cell{label: "Look after", tick: true})
	}
	cells = append(cells, cell{label: "Stopped at"})
	n := 4
	if len(cells)%4 != 0 && (len(cells)+4)/5 <= (len(cells)+3)/4 {
		n = 5
	}
	return append(prose("At each look: tick, write the time, and what is seen or measured.", w, noteSize, false), grid(cells, n, w)...)
}

// passes says when a charge passes which looks, and which finer ones it does not
// get to; empty where it passes none.
func passes(hs []fettle.LookHours) string {
	var got, never []string
	for _, h := range hs {
		switch {
		case !h.Never:
			got = append(got, fmt.Sprintf("%s after %s (%s)", h.Look, hours(h.Hours.Value), between(hours(h.Hours.Low), hours(h.Hours.High))))
			never = nil // what comes before it on the shelf is rougher
		case len(got) > 0:
			never = append(never, h.Look)
		}
	}
	if len(got) == 0 {
		return ""
	}
	s := strings.Join(got, ", ")
	if len(never) > 0 {
		s += "; not as far as " + strings.Join(never, " or ")
	}
	return s
}

// tones say what more or less liquid would do.
func tones(c fettle.Charge, sys fettle.System) string {
	var says []string
	for _, o := range c.Tones {
		s := first(string(o.Tone), "as usual") + ": water " + sys.Liquid(o.WaterL.Value) + ", compound " + sys.Dose(o.CompoundML.Value) + ", " + hours(o.Hours.Value)
		if o.Tone != fettle.ToneUsual && o.Says != "" {
			s += " (" + strings.TrimSuffix(o.Says, ".") + ")"
		}
		says = append(says, s)
	}
	return strings.Join(says, "; ")
}

// staysAsCut names the places that the media of a charge do not reach.
func staysAsCut(c fettle.Charge) string {
	var says []string
	for _, l := range c.Leaves[:min(3, len(c.Leaves))] {
		says = append(says, sentence(l.Says))
	}
	return strings.Join(says, " ")
}

// covers names what to mask before a charge.
func (t *traveler) covers(w float64) []item {
	var says []string
	for _, m := range t.plan.Masks {
		says = append(says, t.sys.Reword(m.Place+": "+sentence(m.Says)))
	}
	if len(says) == 0 {
		return nil
	}
	return append([]item{gap(1)}, lead("Cover if it must stay:", strings.Join(says, " "), w, noteSize)...)
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
func chargeCells(c fettle.Charge, sys fettle.System) []cell {
	cells := []cell{
		{label: "Vessel", value: first(c.Vessel, "not said"), span: 2},
		{label: "Media", value: first(c.Media, "not said"), span: 2},
		{label: "Loads", value: fmt.Sprintf("%d × %s", max(1, c.Loads), count(c.PartsPerLoad, "part", "parts")), note: lastLoad(c), span: 2},
		{label: "Media in", value: sys.Liquid(c.MediaL), note: sys.Mass(1000 * c.MediaKg)},
		{label: "Fill", value: percent(c.FillShare), note: "of the vessel"},
		{label: "Media to parts", value: fmt.Sprintf("%.0f : 1", c.MediaToParts), note: "by volume"},
	}
	add := func(label string, e fettle.Estimate, show func(float64) string) {
		if k, ok := estimate(label, e, show); ok {
			cells = append(cells, k)
		}
	}
	add("Water", c.WaterL, sys.Liquid)
	add(capital(compound(c)), c.CompoundML, sys.Dose)
	if c.RPM > 0 {
		k := cell{label: "Speed", value: fmt.Sprintf("%.0f rpm", c.RPM)}
		if c.CriticalRPM > 0 {
			k.note = percent(c.RPM/c.CriticalRPM) + " of critical"
		}
		cells = append(cells, k)
	}
	add("Run for", c.Hours, hours)
	for _, k := range []struct {
		label string
		h     float64
	}{{"Open to vent every", c.VentEveryH}, {"Fresh liquid every", c.ChangeLiquidH}} {
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
		says = append(says, fmt.Sprintf("%s (%s chance with %s media)", o, j.Chance.Word, first(string(j.State), "such")))
	}
	return append([]item{gap(1)}, lead("Media may jam in:", sentence(strings.Join(says, ", ")+"; count the openings clear after every load"), w, bodySize)...)
}

// lastLoad says how many pieces the last load holds where it is another number.
func lastLoad(c fettle.Charge) string {
	if c.Loads > 1 && c.LastLoadParts > 0 && c.LastLoadParts != c.PartsPerLoad {
		return fmt.Sprintf("%d in the last", c.LastLoadParts)
	}
	return ""
}

// compound is what the liquid is called, without how it is let in, which stands
// beside the water.
func compound(c fettle.Charge) string {
	if utf8.RuneCountInString(c.Compound) <= shortName {
		return first(c.Compound, "Compound")
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
