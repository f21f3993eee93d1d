package words

import (
	"sort"
	"strings"

	"fettle"
)

// Plan says a plan: the answer, the ways to it side by side, what to watch, the
// route step by step, the money and the cautions.
func (l Voice) Plan(pl fettle.Plan) string {
	v := l.in(pl.Brief.Display)
	p := v.page()
	s := pl.Survey
	p.say("", "%s.", v.planTitle(pl))
	p.say("", "%s: %s, %s, %s.", s.File, v.box(s.SizeMM), v.Mass(s.VolumeMM3/1000*pl.Material.Density), v.bodies(s))

	p.head("In short")
	p.item("%s", v.Sentence(answer(pl)))
	p.item("A piece costs %s, the lot %s.", pl.Price.Each, pl.Price.Price)
	p.item("%s", v.takes(pl.Price.AttendedH, pl.Price.AloneH))
	if pl.ReadyH.Value > 0 {
		p.item("It is ready %s by the clock after the first step of the route is begun.", v.clock(pl.ReadyH))
	}
	if pl.Stock.Says != "" {
		p.item("%s", v.Sentence(pl.Stock.Says))
	}
	section(p, "What is missing", pl.Missing, v.Sentence)
	p.ways(pl)

	section(p, "What to watch", pl.Warnings, v.Sentence)
	section(p, "Things to make first", pl.Solids, func(s fettle.Solid) string { return v.Say("%s: %s", s.File, v.reworded(s.Says)) })
	section(p, "Openings", s.Openings, v.opening)

	p.route(pl)
	if n := len(pl.LeftOut); n > 0 {
		p.head("Left out")
		p.item("%s", v.leftOut(pl.LeftOut))
	}
	p.allowance(pl)
	if len(pl.Charges) > 0 {
		section(p, "To close or cover before the charge", v.toClose(pl), v.Sentence)
	}
	p.price(pl.Price)
	p.otherLooks(pl)
	section(p, "Cautions", pl.Cautions, func(c fettle.Caution) string {
		return v.Say("%s Read on: %s.", v.Sentence(c.Says), plain(c.Defer))
	})
	p.text("", sentences(v.Say("Numbers in brackets are bounds: in one case of ten the truth lies below the first, in one of ten above the second."), v.rests(pl)))
	return p.String()
}

// planTitle names the job.
func (v voice) planTitle(pl fettle.Plan) string {
	return v.Say("%s: %s, %s, %s", strings.ToUpper(pl.Title), pl.Material.Title, strings.ToLower(pl.Look.Title), v.pieces(pl.Brief.Lot))
}

// answer is the verdict without what is missing, which has a section of its own.
func answer(pl fettle.Plan) string {
	return strings.TrimSuffix(pl.Verdict, "; "+strings.Join(pl.Missing, "; "))
}

// takes says how long a person and machines are at a lot.
func (v voice) takes(attended, alone fettle.Estimate) string {
	switch {
	case alone.Value <= 0:
		return v.Say("The lot takes %s of a person's time.", span(attended))
	case attended.Value <= 0:
		return v.Say("The lot takes %s of machines that run on their own.", span(alone))
	}
	return v.Say("The lot takes %s of a person's time and %s of machines that run on their own.", span(attended), span(alone))
}

// clock shows an estimate in hours by the clock, in days where it is many.
func (v voice) clock(e fettle.Estimate) string {
	if e.Value < 48 {
		return v.Say("about %s", span(e))
	}
	return v.Say("about %s days (%s)", two(e.Value/24), ends(two(e.Low/24), two(e.High/24)))
}

// rests says whose numbers a plan is made of.
func (v voice) rests(pl fettle.Plan) string {
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
		return v.Say("Until this shop's log has runs in it, most numbers here are starting guesses; plan.json names the basis of each.")
	}
	return v.Say("This shop's log bears on %d of the %d uncertain numbers behind this plan; plan.json names the basis of each.", len(own), len(all))
}

// toClose is what plugs and masks are proposed for media that run.
func (v voice) toClose(pl fettle.Plan) []string {
	var out []string
	for _, g := range pl.Plugs[:min(1, len(pl.Plugs))] {
		out = append(out, v.Reword(g.Says))
	}
	for _, m := range pl.Masks {
		out = append(out, v.Say("%s: %s", m.Place, v.Reword(m.Says)))
	}
	return out
}

// leftOut says how much of the shelf may not be used, with the first reasons.
func (v voice) leftOut(why []string) string {
	if len(why) == 1 {
		return v.Sentence(why[0])
	}
	t := []string{v.Count(len(why), "One thing on the shelf may not be used on this part (plan.json names it).", "%d things on the shelf may not be used on this part (plan.json names all of them).")}
	for _, w := range why[:min(2, len(why))] {
		t = append(t, v.Sentence(w))
	}
	return sentences(t...)
}

// allowance says what to leave on each zone.
func (p *page) allowance(pl fettle.Plan) {
	if len(pl.AllowanceUM) == 0 {
		return
	}
	v := p.v
	ids := make([]string, 0, len(pl.AllowanceUM))
	for id := range pl.AllowanceUM {
		ids = append(ids, id)
	}
	sort.Strings(ids)
	var some, none []string
	for _, id := range ids {
		e := pl.AllowanceUM[id]
		if e.High == 0 {
			none = append(none, id)
			continue
		}
		some = append(some, v.Say("%s %s (%s)", id, v.Fine(e.Value), ends(v.Fine(e.Low), v.Fine(e.High))))
	}
	p.head("Leave on before finishing")
	if len(some) > 0 {
		p.item("Finishing takes this much off each face, so leave it on: %s.", clauses(some...))
	}
	if len(none) > 0 {
		p.item("Leave nothing on %s.", v.List(none))
	}
}

// Others says, in a paragraph each, plans that stand beside the main one.
func (l Voice) Others(plans []*fettle.Plan) string {
	p := l.in("").page()
	for _, pl := range plans {
		v := l.in(pl.Brief.Display)
		p.title(v.planTitle(*pl))
		p.item("%s", v.Sentence(pl.Verdict))
		var names []string
		for _, st := range pl.Route {
			names = append(names, st.Name)
		}
		p.item("Route: %s.", clauses(names...))
		p.item("A piece costs %s, the lot %s.", pl.Price.Each, pl.Price.Price)
		p.item("%s", v.takes(pl.Price.AttendedH, pl.Price.AloneH))
		for _, w := range pl.Warnings[:min(2, len(pl.Warnings))] {
			p.item("%s", v.Sentence(w))
		}
	}
	return p.String()
}
