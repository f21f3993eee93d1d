package words

import (
	"fmt"
	"sort"
	"strings"

	"fettle"
)

// Plan says a plan: the answer, the ways to it side by side, what to watch, the
// route step by step, the money and the cautions.
func Plan(pl fettle.Plan) string {
	sys := pl.Brief.Display
	var p page
	title(&p, pl)
	s := pl.Survey
	p.say("", "%s: %s × %s × %s, %s, %s.", s.File, number(s.SizeMM[0], sys), number(s.SizeMM[1], sys), sys.Length(s.SizeMM[2]),
		sys.Mass(s.VolumeMM3/1000*pl.Material.Density), bodies(s))

	p.head("In short")
	p.item("%s", sentence(answer(pl)))
	p.item("A piece %s; the lot %s.", pl.Price.Each, pl.Price.Price)
	p.item("The lot takes %s of a person and %s of machines on their own.", span(pl.Price.AttendedH), span(pl.Price.AloneH))
	if pl.ReadyH.Value > 0 {
		p.item("Ready %s by the clock after the first step of the route is begun.", clock(pl.ReadyH))
	}
	p.item("%s", sentence(pl.Stock.Says))
	section(&p, "What is missing", pl.Missing, sentence)
	ways(&p, pl)

	section(&p, "What to watch", pl.Warnings, sentence)
	section(&p, "Things to make first", pl.Solids, func(v fettle.Solid) string { return v.File + ": " + sentence(sys.Reword(v.Says)) })
	section(&p, "Openings", s.Openings, func(o fettle.Opening) string { return opening(o, sys) })

	route(&p, pl)
	if n := len(pl.LeftOut); n > 0 {
		p.head("Left out")
		p.item("%s", leftOut(pl.LeftOut))
	}
	allowance(&p, pl, sys)
	if len(pl.Charges) > 0 {
		section(&p, "To close or cover before the charge", toClose(pl), sentence)
	}
	price(&p, pl.Price)
	otherLooks(&p, pl)
	p.head("Cautions")
	for _, c := range pl.Cautions {
		p.item("%s Read on: %s.", sentence(c.Says), c.Defer)
	}
	p.say("", "Intervals run from 10 %% to 90 %%. %s", rests(pl))
	return p.String()
}

// title names the job.
func title(p *page, pl fettle.Plan) {
	p.say("", "%s: %s, %s, %s.", strings.ToUpper(pl.Title), pl.Material.Title, strings.ToLower(pl.Look.Title), count(pl.Brief.Lot, "piece"))
}

// answer is the verdict without what is missing, which has a section of its own.
func answer(pl fettle.Plan) string {
	return strings.TrimSuffix(pl.Verdict, "; "+strings.Join(pl.Missing, "; "))
}

// clock shows an estimate in hours by the clock, in days where it is many.
func clock(e fettle.Estimate) string {
	if e.Value < 48 {
		return "about " + span(e)
	}
	return fmt.Sprintf("about %s days (%s)", two(e.Value/24), ends(two(e.Low/24), two(e.High/24)))
}

// rests says whose numbers a plan is made of.
func rests(pl fettle.Plan) string {
	own, all := map[string]bool{}, map[string]bool{}
	for _, a := range pl.Accounts {
		for _, in := range a.Inputs {
			all[in.Name] = true
			if strings.Contains(in.Value.Basis, "shop log") {
				own[in.Name] = true
			}
		}
	}
	if len(own) == 0 {
		return "Until this shop's log has runs in it, most numbers here are starting guesses; plan.json names the basis of each."
	}
	return fmt.Sprintf("This shop's log bears on %d of the %d uncertain numbers behind this plan; plan.json names the basis of each.", len(own), len(all))
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
		t = append(t, fmt.Sprintf("%s %s (%s)", id, sys.Fine(e.Value), ends(sys.Fine(e.Low), sys.Fine(e.High))))
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
		p.say("  - ", "%s: %s, %s.", sentenceStart(l.Name), l.Cost.Value, l.Says)
	}
	p.item("Cost %s; price with margin %s; a piece %s.", pr.Cost, pr.Price, pr.Each)
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
	return fmt.Sprintf("%s (%s)", fettle.Minutes(e.Value), ends(fettle.Minutes(e.Low), fettle.Minutes(e.High)))
}

// ends joins the two ends of an interval, and names the unit once where both
// have the same.
func ends(lo, hi string) string {
	low, unit, _ := strings.Cut(lo, " ")
	if _, same, _ := strings.Cut(hi, " "); same == unit && !strings.ContainsAny(unit, "0123456789") {
		lo = low
	}
	return lo + "–" + hi
}

// span shows an estimate in hours with its interval.
func span(hours fettle.Estimate) string { return minutes(hours.Scale(60)) }
