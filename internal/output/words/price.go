package words

import (
	"slices"

	"fettle"
)

// price says the lines of a price, apart what is paid once and what for every piece,
// what it comes to, and what other lots would cost.
func (p *page) price(pr fettle.Price) {
	if len(pr.Lines) == 0 {
		return
	}
	v := p.v
	p.title(v.Count(pr.Lot, "Price of 1 piece", "Price of %d pieces"))
	once, each := v.linesOf(pr, true), v.linesOf(pr, false)
	switch {
	case len(once.lines) == 0: // a plan that was kept before they were told apart
		p.priceLines("  - ", each.lines)
	default:
		p.item("Paid once, for a lot of any size: %s, which is %s on each piece.", once.sum, once.perPiece)
		p.priceLines("      ", once.lines)
		p.item("Paid for every piece: %s, which is %s a piece.", each.sum, each.perPiece)
		p.priceLines("      ", each.lines)
	}
	p.item("The lot costs %s to make; the price with margin is %s, or %s a piece.", pr.Cost, pr.Price, pr.Each)
	if d := pr.Dearest; d != nil {
		p.item("%s", v.dearest(*d))
	}
	if pr.Bottleneck.Says != "" {
		p.item("The lot waits longest for %s", v.Stop(pr.Bottleneck.Says))
	}
	if pr.Rounding != "" {
		p.item("%s", v.Sentence(pr.Rounding))
	}
	p.ladder(pr)
}

// priced are lines of one kind with their sum, as printed.
type priced struct {
	lines         []fettle.PriceLine
	sum, perPiece fettle.Money
}

func (v voice) linesOf(pr fettle.Price, once bool) priced {
	var out priced
	for _, l := range pr.Lines {
		if l.Once == once {
			out.lines = append(out.lines, l)
			out.sum = out.sum.Plus(l.Cost.Value)
		}
	}
	if out.sum.Currency == "" {
		out.sum.Currency = pr.Cost.Value.Currency
	}
	out.perPiece = fettle.Money{Minor: perPiece(out.sum.Minor, int64(max(1, pr.Lot))), Currency: out.sum.Currency}
	return out
}

// perPiece is an amount over a lot, halves away from zero.
func perPiece(minor, lot int64) int64 {
	if minor < 0 {
		return -perPiece(-minor, lot)
	}
	return (2*minor + lot) / (2 * lot)
}

func (p *page) priceLines(lead string, lines []fettle.PriceLine) {
	v := p.v
	for _, l := range lines {
		if l.Says == "" {
			p.say(lead, "%s: %s.", v.Start(l.Name), l.Cost.Value)
		} else {
			p.say(lead, "%s: %s, %s.", v.Start(l.Name), l.Cost.Value, plain(l.Says))
		}
	}
}

// dearest says which choice makes the price.
func (v voice) dearest(d fettle.Dearest) string {
	if d.Says != "" {
		return v.Sentence(d.Says)
	}
	return v.Say("What costs most is %s: %s of the price of a piece, which is %.0f %% of it and %.0f %% of all finishing.", d.Step, d.Each, 100*d.Share, 100*d.FinishShare)
}

// ladder says what other lots by the same route would cost, and what each would wait
// for.
func (p *page) ladder(pr fettle.Price) {
	if len(pr.Ladder) == 0 {
		return
	}
	v := p.v
	rungs := slices.Clone(pr.Ladder)
	if !slices.ContainsFunc(rungs, func(r fettle.LotPrice) bool { return r.Lot == pr.Lot }) {
		at, _ := slices.BinarySearchFunc(rungs, pr.Lot, func(r fettle.LotPrice, lot int) int { return r.Lot - lot })
		rungs = slices.Insert(rungs, at, pr.LotPrice)
	}
	p.head("Other lots by the same route")
	rows := [][]string{{v.Say("pieces"), v.Say("a piece"), v.Say("the lot"), v.Say("waits longest for"), v.Say("working days")}}
	for _, r := range rungs {
		days := ""
		if r.Bottleneck.Days > 0 {
			days = two(r.Bottleneck.Days)
		}
		lot := thousands(r.Lot)
		if r.Lot == pr.Lot {
			lot = v.Say("%s (this lot)", lot)
		}
		rows = append(rows, []string{lot, r.Each.Value.String(), r.Price.Value.String(), v.waitsFor(r.Bottleneck), days})
	}
	p.columns(rows)
	p.item("The days are those that the slowest of person, mill and vessels takes for the lot by itself; a promise counts in the rest and what else is in the shop.")
}

// waitsFor names what a lot waits for longest.
func (v voice) waitsFor(b fettle.Bottleneck) string {
	switch {
	case b.Kind == "person":
		return v.Say("a person")
	case b.Name != "":
		return b.Name
	case b.Kind == "mill":
		return v.Say("the mill")
	}
	return b.Kind
}

// Offers says what was offered to a customer: each finish with its price, its time and
// other lots, and what was answered.
func (l Voice) Offers(o fettle.Proposal, sys fettle.System) string {
	v := l.in(sys)
	p := v.page()
	switch {
	case o.Sent == "":
		p.say("", "This offer was not sent yet.")
	case o.Until != "":
		p.say("", "Offer sent on %s; it holds until %s.", o.Sent, o.Until)
	default:
		p.say("", "Offer sent on %s.", o.Sent)
	}
	switch a := o.Answer; {
	case a == nil:
		p.say("", "There is no answer yet.")
	case a.Accepted:
		p.say("", "The customer chose %s on %s.", a.Look, a.Day)
	default:
		p.say("", "The customer declined on %s.", a.Day)
	}
	if a := o.Answer; a != nil && a.Words != "" {
		p.say("", "In the customer's words: %s", v.Stop(a.Words))
	}
	for _, f := range o.Offers {
		title := f.Title
		if f.Asked {
			title = v.Say("%s, as asked for", title)
		}
		p.title(title)
		p.item("A piece costs %s.", f.Each)
		p.item("%s", v.takes(f.AttendedH, f.AloneH))
		if f.ReadyH.Value > 0 {
			p.item("It is ready %s after it is begun.", v.clock(f.ReadyH))
		}
		if f.RaUM.Value > 0 {
			p.item("It should come out at Ra %s; it comes out right the first time in %.0f lots of 100.", v.Range(f.RaUM), 100*f.Chance)
		}
		for _, r := range f.Ladder {
			if r.Lot == 1 {
				p.item("One piece by itself costs %s.", r.Price.Value)
			} else {
				p.item("A lot of %s costs %s, or %s a piece.", v.pieces(r.Lot), r.Price.Value, r.Each.Value)
			}
		}
		if f.Says != "" {
			p.item("%s", v.reworded(f.Says))
		}
	}
	if o.Words != "" {
		p.head("What was written with it")
		p.item("%s", v.Stop(o.Words))
	}
	return p.String()
}
