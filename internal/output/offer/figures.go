package offer

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"fettle"
	"fettle/internal/output/tongue"
)

// amount shows money with its currency: "USD 1,234.50", "JPY 7,200".
func amount(m fettle.Money) string { return clean(m.String()) }

// bare is an amount without its currency.
func bare(m fettle.Money) string {
	return strings.TrimSpace(strings.TrimPrefix(amount(m), clean(m.Currency)))
}

// number shows a count with its thousands apart.
func number(n int64) string {
	s := strconv.FormatInt(n, 10)
	for i := len(s) - 3; i > 0; i -= 3 {
		s = s[:i] + "," + s[i:]
	}
	return s
}

// size shows the part's box: "68.0 × 42.0 × 7.0 mm", "2.68 × 1.65 × 0.28 in".
func size(sys fettle.System, mm [3]float64) string {
	k, digits, unit := 1.0, 1, "mm"
	if sys == fettle.Inch {
		k, digits, unit = 1/fettle.MMPerInch, 2, "in"
	}
	var parts []string
	for _, v := range mm {
		parts = append(parts, strconv.FormatFloat(v*k, 'f', digits, 64))
	}
	return strings.Join(parts, " × ") + " " + unit
}

// lengthRange shows a length in mm with its interval: "0.10 mm (0.05–0.20)".
func lengthRange(sys fettle.System, e fettle.Estimate) string {
	bare := func(mm float64) string { s, _, _ := strings.Cut(sys.Length(mm), " "); return s }
	return fmt.Sprintf("%s (%s–%s)", sys.Length(e.Value), bare(e.Low), bare(e.High))
}

// dateOf reads an RFC 3339 full-date, or the day of a time.
func dateOf(s string) (time.Time, bool) {
	if d, err := time.Parse(time.DateOnly, s); err == nil {
		return d, true
	}
	d, err := time.Parse(time.RFC3339, s)
	return d, err == nil
}

// day writes a full-date as people do; empty stays empty.
func day(t *tongue.Tongue, date string) string {
	d, ok := dateOf(date)
	if !ok {
		return ""
	}
	n, y := d.Day(), d.Year()
	switch d.Month() {
	case time.January:
		return t.Say("%d January %d", n, y)
	case time.February:
		return t.Say("%d February %d", n, y)
	case time.March:
		return t.Say("%d March %d", n, y)
	case time.April:
		return t.Say("%d April %d", n, y)
	case time.May:
		return t.Say("%d May %d", n, y)
	case time.June:
		return t.Say("%d June %d", n, y)
	case time.July:
		return t.Say("%d July %d", n, y)
	case time.August:
		return t.Say("%d August %d", n, y)
	case time.September:
		return t.Say("%d September %d", n, y)
	case time.October:
		return t.Say("%d October %d", n, y)
	case time.November:
		return t.Say("%d November %d", n, y)
	}
	return t.Say("%d December %d", n, y)
}

// ladder is the table of prices by lot; nil where there is no lot but the one offered.
func (v *view) ladder() {
	s, t := v.sheet, v.t
	lots := []int{s.Lot}
	for _, c := range s.Choices {
		for _, r := range c.Ladder {
			lots = append(lots, r.Lot)
		}
	}
	slices.SortFunc(lots, cmp.Compare)
	if lots = slices.Compact(lots); len(lots) < 2 {
		return
	}
	currency := ""
	p := &prices{Head: t.Say("Other numbers of pieces"), LotHead: t.Say("Pieces")}
	for _, lot := range lots {
		row := priceRow{Lot: number(int64(lot)), Asked: lot == s.Lot}
		if row.Asked {
			row.Note = t.Say("this offer")
		}
		for i := range s.Choices {
			each, price := rung(&s.Choices[i], lot, s.Lot)
			cell := fact{"–", ""}
			if each.Minor != 0 {
				currency, cell.Label = each.Currency, bare(each)
				if lot > 1 && price.Minor != 0 {
					cell.Value = t.Say("%s in all", bare(price))
				}
			}
			row.Cells = append(row.Cells, cell)
		}
		p.Rows = append(p.Rows, row)
	}
	if currency == "" {
		return
	}
	for _, c := range v.Choices {
		p.Choices = append(p.Choices, fact{c.Letter, c.Title})
	}
	p.Caption = t.Say("%s for a piece, and for all of them.", clean(currency))
	v.Prices = p
}

// rung is what a choice asks for a lot; for the lot of the offer, what the offer says.
func rung(c *Choice, lot, asked int) (each, price fettle.Money) {
	if lot == asked {
		return c.Each.Value, c.Price.Value
	}
	for _, r := range c.Ladder {
		if r.Lot == lot {
			return r.Each.Value, r.Price.Value
		}
	}
	return fettle.Money{}, fettle.Money{}
}
