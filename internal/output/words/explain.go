package words

import (
	"fmt"
	"strings"

	"fettle"
)

// Explain says how each predicted number of a plan came about: its law and where
// that is from, what went into it with unit and basis, and how much of its
// interval each input is answerable for.
func (l Voice) Explain(pl fettle.Plan) string {
	v := l.in(pl.Brief.Display)
	p := v.page()
	p.say("", "%s.", v.planTitle(pl))
	p.say("", "How its numbers came about. Each stands as its median with its 10 and 90 %% bounds; the share before an input is the part of the number's doubt that it alone brings.")
	step := -1
	for _, a := range pl.Accounts {
		if a.Step != step && a.Step < len(pl.Route) {
			step = a.Step
			p.head("Step %d: %s", step+1, plain(pl.Route[step].Name))
		}
		p.account(a)
	}
	if len(pl.Accounts) == 0 {
		p.item("Nothing in this plan is predicted from a law.")
	}
	if v.System == fettle.Inch {
		p.say("", "Laws are written in micrometres, hours and minutes.")
	}
	return p.String()
}

// account says one number.
func (p *page) account(a fettle.Account) {
	v := p.v
	of, _, _ := strings.Cut(a.Of, " of step ")
	p.say("  ", "%s: %s; %s.", v.Start(of), strings.Replace(v.quantity(a.Value, unitOf(a)), " Ra", "", 1), plain(a.Value.Basis))
	p.text("    "+v.Say("Law:")+" ", a.Law)
	if a.Source != "" {
		p.text("    "+v.Say("From:")+" ", v.Stop(a.Source))
	}
	small := 0
	for _, in := range a.Inputs {
		if in.Share < smallShare {
			small++
			continue
		}
		p.say(fmt.Sprintf("    %3.0f %%  ", 100*in.Share), "%s: %s; %s", in.Name, v.quantity(in.Value, in.Unit), in.Value.Basis)
	}
	switch {
	case len(a.Inputs) == 0:
		p.say("    ", "Nothing in it is uncertain.")
	case small > 0:
		p.text("    ", v.Count(small, "1 other input brings less than 1 %%.", "%d other inputs bring less than 1 %% each."))
	}
}

// smallShare is the share of the doubt below which an input is only counted.
const smallShare = 0.005

// unitOf is the unit of an account's number: that of a texture where it is one.
func unitOf(a fettle.Account) string {
	if a.Unit == "µm" && strings.HasPrefix(a.Of, "Ra") {
		return "µm Ra"
	}
	return a.Unit
}

// quantity shows a number with its interval in the units that a person reads it
// in.
func (v voice) quantity(e fettle.Estimate, unit string) string {
	show := func(n float64) string { return strings.TrimSpace(two(n) + " " + unit) }
	switch unit {
	case "×":
		show = func(n float64) string { return "× " + two(n) }
	case "h":
		show = func(h float64) string { return fettle.Minutes(60 * h) }
	case "min":
		show = fettle.Minutes
	case "µm Ra":
		show = func(n float64) string { return v.Height(n) + " Ra" }
	case "µm":
		show = v.Fine
	case "µm/h", "µm/min":
		per := strings.TrimPrefix(unit, "µm")
		show = func(n float64) string { return v.Fine(n) + per }
	}
	if e.Low == e.High {
		return show(e.Value)
	}
	lo, hi := show(e.Low), show(e.High)
	for _, tail := range []string{" Ra", "/h", "/min"} {
		lo, hi = strings.TrimSuffix(lo, tail), strings.TrimSuffix(hi, tail)
	}
	return fmt.Sprintf("%s (%s)", show(e.Value), ends(strings.TrimPrefix(lo, "× "), strings.TrimPrefix(hi, "× ")))
}
