package words

import (
	"fmt"
	"strings"

	"fettle"
)

// Explain says how each predicted number of a plan came about: its law and where
// that is from, what went into it with unit and basis, and how much of its
// interval each input is answerable for.
func Explain(pl fettle.Plan) string {
	sys := pl.Brief.Display
	var p page
	title(&p, pl)
	p.say("", "How its numbers came about. Each stands as its median with its 10 and 90 %% bounds; the share before an input is the part of the number's doubt that it alone brings.")
	step := -1
	for _, a := range pl.Accounts {
		if a.Step != step && a.Step < len(pl.Route) {
			step = a.Step
			p.head(fmt.Sprintf("Step %d: %s", step+1, strings.TrimSuffix(pl.Route[step].Name, ".")))
		}
		account(&p, a, sys)
	}
	if len(pl.Accounts) == 0 {
		p.item("Nothing in this plan is predicted from a law.")
	}
	if sys == fettle.Inch {
		p.say("", "Laws are written in micrometres, hours and minutes.")
	}
	return p.String()
}

// account says one number.
func account(p *page, a fettle.Account, sys fettle.System) {
	of, _, _ := strings.Cut(a.Of, " of step ")
	p.say("  ", "%s: %s; %s.", sentenceStart(of), strings.Replace(quantity(a.Value, unitOf(a), sys), " Ra", "", 1), strings.TrimSuffix(a.Value.Basis, "."))
	p.say("    Law: ", "%s", a.Law)
	if a.Source != "" {
		p.say("    From: ", "%s", stop(a.Source))
	}
	small := 0
	for _, in := range a.Inputs {
		if in.Share < smallShare {
			small++
			continue
		}
		p.say(fmt.Sprintf("    %3.0f %%  ", 100*in.Share), "%s: %s; %s", in.Name, quantity(in.Value, in.Unit, sys), in.Value.Basis)
	}
	switch {
	case len(a.Inputs) == 0:
		p.say("    ", "Nothing in it is uncertain.")
	case small > 0:
		p.say("    ", "%s bring less than 1 %% each.", count(small, "other input"))
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
func quantity(e fettle.Estimate, unit string, sys fettle.System) string {
	show := func(v float64) string { return strings.TrimSpace(two(v) + " " + unit) }
	switch unit {
	case "×":
		show = func(v float64) string { return "× " + two(v) }
	case "h":
		show = func(h float64) string { return fettle.Minutes(60 * h) }
	case "min":
		show = fettle.Minutes
	case "µm Ra":
		show = func(v float64) string { return sys.Height(v) + " Ra" }
	case "µm":
		show = sys.Fine
	case "µm/h", "µm/min":
		per := strings.TrimPrefix(unit, "µm")
		show = func(v float64) string { return sys.Fine(v) + per }
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
