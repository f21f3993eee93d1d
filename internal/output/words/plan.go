package words

import (
	"fmt"
	"sort"
	"strings"

	"fettle"
)

// Plan says a plan: the answer, what to watch, the route step by step, the
// money and the cautions.
func Plan(pl fettle.Plan) string {
	sys := pl.Brief.Display
	var p page
	p.say("", "%s: %s, %s, %s.", strings.ToUpper(pl.Title), pl.Material.Title, strings.ToLower(pl.Look.Title), count(pl.Brief.Lot, "piece"))
	s := pl.Survey
	p.say("", "%s: %s × %s × %s, %s, %s.", s.File, number(s.SizeMM[0], sys), number(s.SizeMM[1], sys), sys.Length(s.SizeMM[2]),
		sys.Mass(s.VolumeMM3/1000*pl.Material.Density), bodies(s))

	p.head("In short")
	p.item("%s", sentence(pl.Verdict))
	p.item("A piece %s; the lot %s.", pl.Price.Each, pl.Price.Price)
	p.item("The lot takes %s of a person and %s of machines on their own.", span(pl.Price.AttendedH), span(pl.Price.AloneH))
	p.item("%s", sentence(pl.Stock.Says))

	section(&p, "What to watch", pl.Warnings, sentence)
	section(&p, "Openings", s.Openings, func(o fettle.Opening) string { return opening(o, sys) })

	p.head("Route")
	for i, st := range pl.Route {
		step(&p, i+1, st, sys)
	}
	if n := len(pl.LeftOut); n > 0 {
		p.head("Left out")
		p.item("%s", leftOut(pl.LeftOut))
	}
	allowance(&p, pl, sys)
	if len(pl.Charges) > 0 {
		section(&p, "To close or cover before the charge", toClose(pl), sentence)
	}
	price(&p, pl.Price)
	ways(&p, pl)
	if len(pl.Offers) > 1 {
		p.head("Other finishes for the same part")
		for _, o := range pl.Offers {
			if !o.Asked {
				p.item("%s: %s a piece, %s attended, %s alone. %s", o.Title, o.Each, span(o.AttendedH), span(o.AloneH), sentence(o.Says))
			}
		}
	}
	p.head("Cautions")
	for _, c := range pl.Cautions {
		p.item("%s Read on: %s.", sentence(c.Says), c.Defer)
	}
	p.say("", "Intervals run from 10 %% to 90 %%. Until this shop's log has runs in it, most numbers here are starting guesses; plan.json names the basis of each.")
	return p.String()
}

// toClose is what plugs and masks are proposed for media that run.
func toClose(pl fettle.Plan) []string {
	var out []string
	for _, g := range pl.Plugs[:min(1, len(pl.Plugs))] {
		out = append(out, pl.Brief.Display.Reword(g.Says))
	}
	for _, m := range pl.Masks {
		out = append(out, pl.Brief.Display.Reword(m.Place+": "+m.Says))
	}
	return out
}

// step says one step with what it is expected to leave.
func step(p *page, n int, st fettle.Step, sys fettle.System) {
	p.say(fmt.Sprintf("%3d. ", n), "%s.", strings.TrimSuffix(st.Name, "."))
	const in = "     "
	p.say(in, "%s", sentence(st.Do))
	if c := st.Charge; c != nil {
		p.say(in, "%s", chargeLine(*c, sys))
		if len(c.Leaves) > 0 {
			p.say(in, "Not reached: %s", sentence(sys.Reword(c.Leaves[0].Says)))
		}
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
		p.say(in, "Leaves Ra %s; %s.", sys.Range(st.RaUM), marksLeft(st.Marks, sys))
	}
	if st.Look != "" {
		p.say(in, "Look for: %s", stop(st.Look))
	}
	for _, w := range st.Why[:min(len(st.Why), mostReasons)] {
		p.say(in, "Why: %s", stop(w))
	}
	if st.Caution != "" {
		p.say(in, "CAUTION: %s", stop(st.Caution))
	}
}

// mostReasons keeps a page of words a page; plan.json and the traveler have all
// of them.
const mostReasons = 2

// changes reports whether a step leaves another surface than it found.
func changes(k fettle.StepKind) bool {
	return k == fettle.StepSurface || k == fettle.StepRub || k == fettle.StepTumble || k == fettle.StepBuff
}

// leftOut says how much of the shelf may not be used, with the first reasons.
func leftOut(why []string) string {
	if len(why) == 1 {
		return sentence(why[0])
	}
	t := fmt.Sprintf("%d things on the shelf may not be used on this part (plan.json has all of them). ", len(why))
	for i, w := range why[:min(2, len(why))] {
		if i > 0 {
			t += " "
		}
		t += sentence(w)
	}
	return t
}

// chargeLine is a charge in numbers.
func chargeLine(c fettle.Charge, sys fettle.System) string {
	t := fmt.Sprintf("%s of %s in the %s, filled to %.0f %%: %s of media (%s)",
		sentenceCount(c.Loads, "load"), count(c.PartsPerLoad, "piece"), c.Vessel, c.FillShare*100, sys.Liquid(c.MediaL), sys.Mass(c.MediaKg*1000))
	if c.WaterL.Value > 0 {
		t += fmt.Sprintf(", water %s (%s–%s)", sys.Liquid(c.WaterL.Value), sys.Liquid(c.WaterL.Low), sys.Liquid(c.WaterL.High))
		if c.WaterLevel != "" {
			t += ", " + strings.TrimSuffix(c.WaterLevel, ".")
		}
	}
	if c.CompoundML.Value > 0 {
		t += fmt.Sprintf(", %.0f ml (%.0f–%.0f) of %s", c.CompoundML.Value, c.CompoundML.Low, c.CompoundML.High, c.Compound)
	}
	if c.RPM > 0 {
		t += fmt.Sprintf(", %.0f rpm (%.0f %% of critical %.0f)", c.RPM, 100*c.RPM/c.CriticalRPM, c.CriticalRPM)
	}
	t += "; run " + span(c.Hours)
	if c.VentEveryH > 0 {
		t += fmt.Sprintf(", open to vent every %s", fettle.Minutes(c.VentEveryH*60))
	}
	if c.ChangeLiquidH > 0 && c.Hours.High > c.ChangeLiquidH {
		t += fmt.Sprintf(", fresh liquid every %s", fettle.Minutes(c.ChangeLiquidH*60))
	}
	return t + "."
}

func marksLeft(ms []fettle.Mark, sys fettle.System) string {
	var t []string
	for _, m := range ms {
		if m.Seen.P < speakOf && m.Says == "" {
			continue
		}
		says := fmt.Sprintf("%s %s apart %s, %s of height, found by %.0f in 100", m.Cause, sys.Small(m.WavelengthMM), m.Lay, sys.Height(m.HeightUM.Value*m.Left), 100*m.Seen.P)
		if m.Says != "" {
			says += " (" + m.Says + ")"
		}
		t = append(t, says)
	}
	if len(t) == 0 {
		return "no older mark is expected to show"
	}
	return "still there: " + strings.Join(t, "; ")
}

// speakOf is the chance of being found from which a mark is spoken of.
const speakOf = 0.05

// ways lays the three ways to the finish side by side, and says what the search
// proves and which rules were set aside.
func ways(p *page, pl fettle.Plan) {
	p.head("Three ways to this finish")
	for _, o := range pl.Offers {
		if o.Asked {
			p.item("%s", sentence(o.Says))
		}
	}
	switch s := pl.Search; {
	case s.Proved:
		p.item("%s were worked out; no other route over this shelf does better under the rules of the trade.", count(s.Ways, "part-route"))
	case s.Ways > 0:
		p.item("%s were worked out before the search was stopped; a route that was not looked at could be at most %.0f %% better.", count(s.Ways, "part-route"), 100*s.Within)
	}
	var aside []string
	for _, r := range pl.Rules {
		if r.SetAside {
			aside = append(aside, r.ID)
		}
	}
	if len(aside) > 0 {
		p.item("Set aside: %s.", list(aside))
	}
	if a := doubt(pl); a != "" {
		p.item("%s", a)
	}
}

// doubt names what the largest part of the interval of the last Ra comes from.
func doubt(pl fettle.Plan) string {
	var last *fettle.Account
	for i := range pl.Accounts {
		if a := &pl.Accounts[i]; strings.HasPrefix(a.Of, "Ra") && len(a.Inputs) > 0 {
			last = a
		}
	}
	if last == nil || last.Inputs[0].Share < 0.2 {
		return ""
	}
	in := last.Inputs[0]
	return fmt.Sprintf("Most of the doubt about the last Ra, %.0f %%, is the %s (%s): measure that first.", 100*in.Share, in.Name, in.Value.Basis)
}

// allowance says what to leave on each zone.
func allowance(p *page, pl fettle.Plan, sys fettle.System) {
	p.head("Leave on before finishing")
	ids := make([]string, 0, len(pl.AllowanceUM))
	for id := range pl.AllowanceUM {
		ids = append(ids, id)
	}
	sort.Strings(ids)
	var t []string
	var none []string
	for _, id := range ids {
		e := pl.AllowanceUM[id]
		if e.High == 0 {
			none = append(none, id)
			continue
		}
		t = append(t, fmt.Sprintf("%s %s (%s–%s)", id, sys.Fine(e.Value), sys.Fine(e.Low), sys.Fine(e.High)))
	}
	if len(none) > 0 {
		t = append(t, "nothing on "+list(none))
	}
	p.item("%s.", strings.Join(t, "; "))
}

// price says the lines of a price.
func price(p *page, pr fettle.Price) {
	p.head(fmt.Sprintf("Price of %s", count(pr.Lot, "piece")))
	for _, l := range pr.Lines {
		p.say("  - ", "%s: %s, %s.", l.Name, l.Cost.Value, l.Says)
	}
	p.item("cost %s; price with margin %s; a piece %s.", pr.Cost, pr.Price, pr.Each)
}

// Others says, in a paragraph each, plans that stand beside the main one.
func Others(plans []*fettle.Plan) string {
	var p page
	for _, pl := range plans {
		p.head(fmt.Sprintf("%s: %s, %s, %s", strings.ToUpper(pl.Title), pl.Material.Title, strings.ToLower(pl.Look.Title), count(pl.Brief.Lot, "piece")))
		p.item("%s", sentence(pl.Verdict))
		var names []string
		for _, st := range pl.Route {
			names = append(names, st.Name)
		}
		p.item("Route: %s.", strings.Join(names, "; "))
		p.item("A piece %s; the lot takes %s of a person and %s of machines on their own.", pl.Price.Each, span(pl.Price.AttendedH), span(pl.Price.AloneH))
		for _, w := range pl.Warnings[:min(2, len(pl.Warnings))] {
			p.item("%s", sentence(w))
		}
	}
	return p.String()
}

// minutes shows an estimate in minutes with its interval.
func minutes(e fettle.Estimate) string {
	if e.Low == e.High {
		return fettle.Minutes(e.Value)
	}
	return fmt.Sprintf("%s (%s–%s)", fettle.Minutes(e.Value), fettle.Minutes(e.Low), fettle.Minutes(e.High))
}

// span shows an estimate in hours with its interval.
func span(hours fettle.Estimate) string { return minutes(hours.Scale(60)) }
