package fettle

import (
	"fmt"
	"math"
	"strings"
)

// Money is an amount in minor units (cents), so that sums of lines equal their
// total.
type Money struct {
	Minor    int64  `json:"minor"`
	Currency string `json:"currency"` // ISO 4217
}

// MinorDigits is how many decimal digits a currency's minor unit has (ISO 4217): 2
// where the table does not say otherwise.
func MinorDigits(currency string) int {
	switch currency {
	case "BIF", "CLP", "DJF", "GNF", "ISK", "JPY", "KMF", "KRW", "PYG", "RWF", "UGX", "UYI", "VND", "VUV", "XAF", "XOF", "XPF":
		return 0
	case "BHD", "IQD", "JOD", "KWD", "LYD", "OMR", "TND":
		return 3
	case "CLF", "UYW":
		return 4
	}
	return 2
}

// perMajor is how many minor units a major one has.
func perMajor(currency string) int64 {
	n := int64(1)
	for range MinorDigits(currency) {
		n *= 10
	}
	return n
}

// mostMinor is the largest amount that is told apart from its neighbours; what is
// beyond it is no price of any lot.
const mostMinor = 1 << 53

// Amount rounds a number of major units to the nearest minor unit, halves away from
// zero. A sum of products that ends on half a unit by hand may come out a hair under
// it in binary; it counts as the half that it stands for.
func Amount(major float64, currency string) Money {
	v := major * float64(perMajor(currency))
	v = math.Round(v + math.Copysign(math.Max(1e-9, 1e-15*math.Abs(v)), v))
	return Money{int64(math.Max(-mostMinor, math.Min(mostMinor, v))), currency}
}

// RoundingOf says how amounts of a currency are rounded.
func RoundingOf(currency string) string {
	return fmt.Sprintf("each line is rounded once, to %s, halves away from zero; the cost is the sum of the lines as they stand here", Money{1, currency})
}

// Plus adds amounts of one currency; mixing currencies is a programmer's
// mistake and panics.
func (m Money) Plus(n Money) Money {
	if m.Currency == "" {
		m.Currency = n.Currency
	}
	if n.Currency != "" && m.Currency != n.Currency {
		panic("fettle: sum of two currencies")
	}
	m.Minor += n.Minor
	return m
}

// Major is the amount in major units, for arithmetic that is rounded later.
func (m Money) Major() float64 { return float64(m.Minor) / float64(perMajor(m.Currency)) }

// String shows the amount as "USD 1,234.50", "JPY 1,235" or "KWD 1.234".
func (m Money) String() string {
	v, sign := m.Minor, ""
	if v < 0 {
		v, sign = -v, "-"
	}
	per := perMajor(m.Currency)
	whole := fmt.Sprint(v / per)
	var b strings.Builder
	for i, r := range whole {
		if i > 0 && (len(whole)-i)%3 == 0 {
			b.WriteByte(',')
		}
		b.WriteRune(r)
	}
	if digits := MinorDigits(m.Currency); digits > 0 {
		fmt.Fprintf(&b, ".%0*d", digits, v%per)
	}
	return m.Currency + " " + sign + b.String()
}

// Cost is an amount with its interval, all in one currency.
type Cost struct {
	Value Money  `json:"value"`
	Low   Money  `json:"low"`
	High  Money  `json:"high"`
	Basis string `json:"basis"`
}

// CostOf rounds an estimate in major units.
func CostOf(e Estimate, currency string) Cost {
	return Cost{Amount(e.Value, currency), Amount(e.Low, currency), Amount(e.High, currency), e.Basis}
}

// Plus adds bound to bound.
func (c Cost) Plus(d Cost) Cost {
	if c.Basis == "" {
		c.Basis = d.Basis
	}
	return Cost{c.Value.Plus(d.Value), c.Low.Plus(d.Low), c.High.Plus(d.High), c.Basis}
}

// String shows "USD 12.40 (8.10–19.00)".
func (c Cost) String() string {
	bare := func(m Money) string { return strings.TrimSpace(strings.TrimPrefix(m.String(), m.Currency)) }
	return fmt.Sprintf("%s (%s–%s)", c.Value, bare(c.Low), bare(c.High))
}
