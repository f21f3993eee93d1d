package words

import (
	"math"
	"slices"
	"strings"

	"fettle"
)

// ways lays the ways to the finish side by side, and says what the search proves
// and which rules were set aside.
func (p *page) ways(pl fettle.Plan) {
	v := p.v
	rows := wayRows(pl.Offers)
	if len(rows) == 0 {
		return
	}
	if pl.Meets {
		p.head("Three ways to this finish")
	} else {
		p.head("Three ways that come near")
	}
	if len(rows) == 1 {
		p.item("One route has %s: %s.", v.List(v.titles(rows[0].aims)), clauses(rows[0].steps...))
	} else {
		p.waysTable(rows)
		p.item("The route below is the one for %s. Steps are named as the options --keep, --drop and --replace take them.", v.titleOf(aimed(pl)))
	}
	if t := v.searched(pl); t != "" {
		p.item("%s", t)
	}
	var aside, closed []string
	for _, r := range pl.Rules {
		switch {
		case r.SetAside:
			aside = append(aside, r.ID)
		case r.Cut > 0:
			closed = append(closed, r.ID)
		}
	}
	if len(aside) > 0 {
		p.item("Rules set aside: %s.", v.List(aside))
	}
	if !pl.Meets && len(closed) > 0 {
		p.item("Rules of the trade that closed ways: %s; the option --set-aside tries without one.", v.List(closed))
	}
	if a := v.doubt(pl); a != "" {
		p.item("%s", a)
	}
}

// waysTable is one line for each way, and below it their steps.
func (p *page) waysTable(rows []wayRow) {
	v := p.v
	table := [][]string{{"", v.Say("a piece"), v.Say("person"), v.Say("machines"), v.Say("ready"), v.Say("right first time")}}
	for _, r := range rows {
		o := r.offer
		table = append(table, []string{commas(v.aims(r.aims)...), o.Each.Value.String(), short(o.AttendedH.Value), short(o.AloneH.Value),
			short(o.ReadyH.Value), v.Say("%.0f in 100", 100*o.Chance)})
	}
	p.columns(table)
	if countsRounds(rows) {
		p.item("Money and hours are those of one round; the ways are chosen with the rounds counted in that have to be done again.")
	}
	for i, r := range rows {
		if i > 0 && slices.Equal(r.steps, rows[i-1].steps) {
			continue
		}
		aims := slices.Clone(r.aims)
		for _, q := range rows[i+1:] {
			if !slices.Equal(q.steps, r.steps) {
				break
			}
			aims = append(aims, q.aims...)
		}
		names := v.Start(v.List(v.aims(aims)))
		if len(aims) > len(r.aims) {
			p.item("%s (with other stepovers or hours): %s.", names, clauses(r.steps...))
		} else {
			p.item("%s: %s.", names, clauses(r.steps...))
		}
	}
}

// countsRounds reports whether a way is not what it was chosen for at first sight:
// one that fails less often can be the sooner and the cheaper in the end.
func countsRounds(rows []wayRow) bool {
	for _, r := range rows {
		for _, q := range rows {
			cheaper, sooner := q.offer.Each.Value.Minor < r.offer.Each.Value.Minor, q.offer.ReadyH.Value < r.offer.ReadyH.Value
			if slices.Contains(r.aims, fettle.LeastMoney) && cheaper || slices.Contains(r.aims, fettle.Soonest) && sooner {
				return true
			}
		}
	}
	return false
}

// searched says how good the route is among all that there are.
func (v voice) searched(pl fettle.Plan) string {
	s := pl.Search
	switch {
	case s.Ways == 0:
		return ""
	case s.Proved && pl.Meets:
		return v.Say("No other route over this shelf does better under the rules of the trade: %s beginnings of routes were worked out to be sure of it.", thousands(s.Ways))
	case s.Within > 0 && s.Within < 1 && pl.Meets:
		return v.Say("The search was stopped after %s beginnings of routes; a route that was not looked at could be at most %.0f %% better.", thousands(s.Ways), math.Ceil(100*s.Within))
	}
	return v.Say("%s beginnings of routes were worked out.", thousands(s.Ways))
}

// short shows hours so that several can be compared at a glance.
func short(h float64) string {
	if h < 1 {
		return fettle.Minutes(60 * h)
	}
	return two(h) + " h"
}

// wayRow is one line of the ways side by side: what it is best at, and its steps
// each once.
type wayRow struct {
	aims  []fettle.Aim
	offer fettle.Offer
	steps []string
}

// wayRows puts ways that a shop would not tell apart in one row.
func wayRows(offers []fettle.Offer) []wayRow {
	var rows []wayRow
	for _, o := range offers {
		if !o.Asked {
			continue
		}
		steps := once(o.Steps)
		at := slices.IndexFunc(rows, func(r wayRow) bool { return slices.Equal(r.steps, steps) && alike(r.offer, o) })
		if at < 0 {
			rows = append(rows, wayRow{[]fettle.Aim{o.Aim}, o, steps})
			continue
		}
		rows[at].aims = append(rows[at].aims, o.Aim)
	}
	return rows
}

// alike reports whether two ways cost, last and succeed about the same: to 1 % of
// money and time and to one lot in a hundred.
func alike(a, b fettle.Offer) bool {
	near := func(x, y float64) bool { return math.Abs(x-y) <= 0.01*math.Max(math.Abs(x), math.Abs(y)) }
	return near(a.Each.Value.Major(), b.Each.Value.Major()) && near(a.ReadyH.Value, b.ReadyH.Value) && math.Abs(a.Chance-b.Chance) <= 0.01
}

// once drops steps that stand in a list before: two sides cut with one cutter.
func once(steps []string) []string {
	var out []string
	for _, s := range steps {
		if !slices.Contains(out, s) {
			out = append(out, s)
		}
	}
	return out
}

// aimed is what the plan was chosen for.
func aimed(pl fettle.Plan) fettle.Aim {
	if pl.Brief.Aim == "" {
		return fettle.LeastMoney
	}
	return pl.Brief.Aim
}

// aims are aims as the names of rows.
func (v voice) aims(aims []fettle.Aim) []string {
	var out []string
	for _, a := range aims {
		switch a {
		case fettle.LeastMoney:
			out = append(out, v.Say("least money"))
		case fettle.Soonest:
			out = append(out, v.Say("soonest"))
		case fettle.Surest:
			out = append(out, v.Say("surest"))
		default:
			out = append(out, string(a))
		}
	}
	return out
}

// titleOf is an aim in a sentence.
func (v voice) titleOf(a fettle.Aim) string {
	switch a {
	case fettle.Soonest:
		return v.Say("the soonest day")
	case fettle.Surest:
		return v.Say("the surest look")
	}
	return v.Say("the least money")
}

func (v voice) titles(aims []fettle.Aim) []string {
	var out []string
	for _, a := range aims {
		out = append(out, v.titleOf(a))
	}
	return out
}

// otherLooks are the finishes next to the one that was asked for.
func (p *page) otherLooks(pl fettle.Plan) {
	v := p.v
	first := true
	for _, o := range pl.Offers {
		if o.Asked {
			continue
		}
		if first {
			p.head("Other finishes for the same part")
			first = false
		}
		ready := ""
		if o.ReadyH.Value > 0 {
			ready = v.Say("It is ready %s after it is begun.", v.clock(o.ReadyH))
		}
		p.item("%s", sentences(v.Say("%s costs %s a piece.", o.Title, o.Each), v.takes(o.AttendedH, o.AloneH), ready, v.Sentence(o.Says)))
	}
}

// doubt names what the largest part of the interval of the last Ra comes from.
func (v voice) doubt(pl fettle.Plan) string {
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
	if in.Share < 0.9 {
		return v.Say("%.0f %% of the doubt about the last Ra comes from one number: %s (%s). Measure that first.", 100*in.Share, in.Name, in.Value.Basis)
	}
	return v.Say("Nearly all of the doubt about the last Ra comes from one number: %s (%s). Measure that first.", in.Name, in.Value.Basis)
}
