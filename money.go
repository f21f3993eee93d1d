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

// Amount rounds a number of major units to the nearest minor unit, halves away
// from zero.
func Amount(major float64, currency string) Money {
	return Money{int64(math.Round(major * 100)), currency}
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
func (m Money) Major() float64 { return float64(m.Minor) / 100 }

// String shows the amount as "USD 1,234.50".
func (m Money) String() string {
	v, sign := m.Minor, ""
	if v < 0 {
		v, sign = -v, "-"
	}
	whole := fmt.Sprint(v / 100)
	var b strings.Builder
	for i, r := range whole {
		if i > 0 && (len(whole)-i)%3 == 0 {
			b.WriteByte(',')
		}
		b.WriteRune(r)
	}
	return fmt.Sprintf("%s %s%s.%02d", m.Currency, sign, b.String(), v%100)
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
