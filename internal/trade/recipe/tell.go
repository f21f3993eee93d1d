package recipe

import (
	"fmt"
	"math"

	"fettle"
	"fettle/internal/trade/tumble"
)

// tell fills in a step with the charge that stands for the recipe's.
func (m *mapper) tell(s fettle.RecipeStep, c match, theirs tumble.Process, ends, start float64, out *fettle.MappedStep) {
	key := "tumble " + c.media.Name + " in " + c.vessel.Name
	m.use(out, m.mediaStand(s, c), key, rankCharge, "")
	m.use(out, m.vesselStand(s, c), key, rankCharge, "")
	now := c.hours
	out.HoursNow = &now
	if was := s.Charge.Hours; was.Value > 0 {
		out.HoursWas = &was
	}
	m.tellHours(c, theirs, ends, start, out)
	m.tellLoad(s, c, out)
}

// tellHours says where the hours come from, and what else changes with them.
func (m *mapper) tellHours(c match, theirs tumble.Process, ends, start float64, out *fettle.MappedStep) {
	say := func(f string, args ...any) { out.Says = append(out.Says, fmt.Sprintf(f, args...)) }
	if c.same {
		if out.HoursWas != nil {
			say("It runs as long as there.")
		}
		return
	}
	t, o := theirs.TimeConstantH, c.ours.TimeConstantH
	if start > 0 && start < c.ours.LimitRaUM.Value && c.ours.RoughenH.Value > 0 {
		t, o = theirs.RoughenH, c.ours.RoughenH
	}
	from := ""
	if start > 0 && c.ends > 0 && c.ends != start {
		from = fmt.Sprintf(" from Ra %s to %s", fettle.Metric.Height(start), fettle.Metric.Height(c.ends))
	}
	if out.HoursWas != nil {
		say("It takes %s%s here and took %s there: the time constant is %.2g h here (%s) and %.2g h there.", span(c.hours), from, span(*out.HoursWas), o.Value, o.Basis, t.Value)
	} else {
		say("It takes %s%s here; the recipe does not say how long it took there.", span(c.hours), from)
	}
	if c.ends > ends*1.02 && ends > 0 {
		say("It ends at about Ra %s in place of %s, for it tends to %s.", fettle.Metric.Height(c.ends), fettle.Metric.Height(ends), fettle.Metric.Height(c.ours.LimitRaUM.Value))
	}
	if out.HoursWas != nil {
		there := theirs.RemovalUMH.Value * out.HoursWas.Value
		here := c.ours.RemovalUMH.Value * c.hours.Value
		const worthAWord = 1 // µm
		if r := here / there; (r > 1.25 || r < 0.8) && math.Max(here, there) > worthAWord {
			say("In that time it takes about %s off an open face in place of %s: look whether burrs and older marks are gone, and leave on as much as the plan of the part says.", fettle.Metric.Fine(here), fettle.Metric.Fine(there))
		}
	}
	const threeNights = 72
	if c.hours.Value > threeNights {
		say("That is longer than three days and nights: look for a faster vessel.")
	}
}

// tellLoad says how the lot goes into the vessel.
func (m *mapper) tellLoad(s fettle.RecipeStep, c match, out *fettle.MappedStep) {
	say := func(f string, args ...any) { out.Says = append(out.Says, fmt.Sprintf(f, args...)) }
	if c.made == nil {
		if c.vat != 0 {
			say("How many pieces go into a load is for the plan of the part to say: the recipe does not tell their size.")
		}
		return
	}
	now, was := c.made, s.Charge
	if now.Loads != was.Loads || now.PartsPerLoad != was.PartsPerLoad {
		say("For a lot of %d there are %d loads of at most %d here in place of %d of at most %d, %s in all.", m.r.Lot, now.Loads, now.PartsPerLoad, was.Loads, was.PartsPerLoad, hoursText(c.clock()))
	}
	if now.RPM > 0 && math.Abs(now.RPM-was.RPM) > 0.5 {
		if now.CriticalRPM > 0 {
			say("The barrel turns at %.0f rpm, %.0f %% of its critical speed, Froude number %.2g; there it was %.0f rpm.", now.RPM, 100*now.RPM/now.CriticalRPM, now.Froude, was.RPM)
		} else {
			say("It turns at %.0f rpm; there it was %.0f rpm.", now.RPM, was.RPM)
		}
	}
	if now.Apart != "" && now.Apart != was.Apart {
		say("Keep the parts apart: %s.", now.Apart)
	}
}

// mediaStand says what other media change, in the recipe's own vessel, by the laws of
// the room tumble.
func (m *mapper) mediaStand(s fettle.RecipeStep, c match) fettle.Stand {
	was, now := *s.Media, c.media
	if c.kin == 0 {
		u := stand(fettle.KeptMedia, was.Name, now.Name, fettle.SameThing, sameThing(was.Name, now.Name))
		if a, b := tumble.ShareNow(was), tumble.ShareNow(now); math.Abs(a-b) > 0.02 {
			u.Says += fmt.Sprintf(" They are worn to %.0f %% of their new size here and were at %.0f %% there.", 100*b, 100*a)
		}
		return u
	}
	a, b := tumble.ProcessOf(was, *s.Vessel, m.mat), tumble.ProcessOf(now, *s.Vessel, m.mat)
	says := fmt.Sprintf("%s in place of %s: %.2f times the time constant, limit Ra %s in place of %s, %.2f times the removal.",
		described(now), described(was), b.TimeConstantH.Value/a.TimeConstantH.Value,
		fettle.Metric.Height(b.LimitRaUM.Value), fettle.Metric.Height(a.LimitRaUM.Value), b.RemovalUMH.Value/a.RemovalUMH.Value)
	small := func(x fettle.Media) float64 { return math.Min(x.SizeMM[0], x.SizeMM[1]) * tumble.ShareNow(x) }
	switch r := small(now) / small(was); {
	case r > 1+alike:
		says += fmt.Sprintf(" They are %.2g times as thick and do not get into every corner and opening that the others did.", r)
	case r < 1-alike:
		says += fmt.Sprintf(" They are %.2g times as thick and go into openings that the others stayed out of: the plan of the part says whether they jam.", r)
	}
	if now.Shape != was.Shape && now.Shape.Pointed() != was.Shape.Pointed() {
		if now.Shape.Pointed() {
			says += " Their points get farther into corners."
		} else {
			says += " Without points they get less far into corners."
		}
	}
	return stand(fettle.KeptMedia, was.Name, now.Name, fettle.CloseKin, says)
}

// vesselStand says what another vessel changes with the same media.
func (m *mapper) vesselStand(s fettle.RecipeStep, c match) fettle.Stand {
	was, now := *s.Vessel, c.vessel
	if c.vat == 0 {
		return stand(fettle.KeptVessel, was.Name, now.Name, fettle.SameThing, sameThing(was.Name, now.Name))
	}
	a, b := tumble.ProcessOf(*s.Media, was, m.mat), tumble.ProcessOf(*s.Media, now, m.mat)
	says := fmt.Sprintf("A %s of %s in place of a %s of %s; with these media it works %.2g times as fast.",
		now.Kind, fettle.Metric.Liquid(now.VolumeL), was.Kind, fettle.Metric.Liquid(was.VolumeL), a.TimeConstantH.Value/b.TimeConstantH.Value)
	if now.Kind != was.Kind {
		switch fettle.Rotary {
		case was.Kind:
			says += " It forgives minutes where a rotary barrel forgives hours: look sooner and oftener."
		case now.Kind:
			says += " It forgives hours where the other forgave minutes."
		}
	}
	return stand(fettle.KeptVessel, was.Name, now.Name, fettle.CloseKin, says)
}
