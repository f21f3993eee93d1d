package words

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"fettle"
)

// ways lays the ways to the finish side by side, and says what the search proves
// and which rules were set aside.
func ways(p *page, pl fettle.Plan) {
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
		p.item("One route has %s: %s.", list(titles(rows[0].aims)), strings.Join(rows[0].steps, "; "))
	} else {
		table := [][]string{{"", "a piece", "person", "machines", "ready", "right first time"}}
		for _, r := range rows {
			o := r.offer
			table = append(table, []string{labels(r.aims), o.Each.Value.String(), short(o.AttendedH.Value), short(o.AloneH.Value),
				short(o.ReadyH.Value), fmt.Sprintf("%.0f in 100", 100*o.Chance)})
		}
		p.columns(table)
		if countsRounds(rows) {
			p.item("Money and hours are those of one round; the ways are chosen with the rounds counted in that have to be done again.")
		}
		for i, r := range rows {
			if i > 0 && slices.Equal(r.steps, rows[i-1].steps) {
				continue
			}
			also := ""
			aims := slices.Clone(r.aims)
			for _, q := range rows[i+1:] {
				if !slices.Equal(q.steps, r.steps) {
					break
				}
				aims, also = append(aims, q.aims...), " (with other stepovers or hours)"
			}
			p.item("%s%s: %s.", sentenceStart(list(words(aims))), also, strings.Join(r.steps, "; "))
		}
		p.item("The route below is the one for %s. Steps are named as --keep, --drop and --replace know them.", titleOf(aimed(pl)))
	}
	if t := proof(pl); t != "" {
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
		p.item("Rules set aside: %s.", list(aside))
	}
	if !pl.Meets && len(closed) > 0 {
		p.item("Rules of the trade that closed ways: %s; --set-aside tries without one.", list(closed))
	}
	if a := doubt(pl); a != "" {
		p.item("%s", a)
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

// proof says how good the route is among all that there are.
func proof(pl fettle.Plan) string {
	s := pl.Search
	switch {
	case s.Ways == 0:
		return ""
	case s.Proved && pl.Meets:
		return fmt.Sprintf("No other route over this shelf does better under the rules of the trade: %s part-routes were worked out.", thousands(s.Ways))
	case s.Within > 0 && s.Within < 1 && pl.Meets:
		return fmt.Sprintf("The search was stopped after %s part-routes; a route that was not looked at could be at most %.0f %% better.", thousands(s.Ways), math.Ceil(100*s.Within))
	}
	return fmt.Sprintf("%s part-routes were worked out.", thousands(s.Ways))
}

// thousands is a whole number with its thousands set apart.
func thousands(n int) string {
	s := fmt.Sprint(n)
	for i := len(s) - 3; i > 0; i -= 3 {
		s = s[:i] + "," + s[i:]
	}
	return s
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

// words are aims as a person types them.
func words(aims []fettle.Aim) []string {
	var out []string
	for _, a := range aims {
		out = append(out, string(a))
	}
	return out
}

// labels are aims as the name of a row.
func labels(aims []fettle.Aim) string { return strings.Join(words(aims), ", ") }

// titleOf is an aim in a sentence.
func titleOf(a fettle.Aim) string {
	switch a {
	case fettle.Soonest:
		return "the soonest day"
	case fettle.Surest:
		return "the surest look"
	}
	return "the least money"
}

func titles(aims []fettle.Aim) []string {
	var out []string
	for _, a := range aims {
		out = append(out, titleOf(a))
	}
	return out
}

// otherLooks are the finishes next to the one that was asked for.
func otherLooks(p *page, pl fettle.Plan) {
	first := true
	for _, o := range pl.Offers {
		if o.Asked {
			continue
		}
		if first {
			p.head("Other finishes for the same part")
			first = false
		}
		p.item("%s: %s a piece, %s attended, %s alone, ready %s. %s", o.Title, o.Each, span(o.AttendedH), span(o.AloneH), clock(o.ReadyH), sentence(o.Says))
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
	share := "Nearly all"
	if in.Share < 0.9 {
		share = fmt.Sprintf("%.0f %%", 100*in.Share)
	}
	return fmt.Sprintf("%s of the doubt about the last Ra comes from one number: %s (%s). Measure that first.", share, in.Name, in.Value.Basis)
}
