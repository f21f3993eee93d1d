package price

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"fettle"
)

// who spends a term's time.
type who int

const (
	nobody who = iota // metal, media, paper
	person            // attended
	alone             // a machine on its own
	beside            // a machine while somebody stands at it
)

// term is a quantity at a rate: what a line is a sum of, and how its sentence says so.
type term struct {
	qty  fettle.Estimate
	unit string // "min" is paid by the hour
	of   string // "of a person"
	rate fettle.Estimate
	per  string // "an hour"
	who  who
	mill bool // it takes up the mill, as also a person does who loads it
}

func (t term) money() fettle.Estimate {
	q := t.qty
	if t.unit == "min" {
		q = q.Scale(1.0 / 60)
	}
	if q.Value == 0 || t.rate.Value == 0 {
		return fettle.Estimate{}
	}
	return q.Times(t.rate)
}

// says is "120 min of the mill at USD 30 an hour".
func (t term) says(currency string) string {
	return fmt.Sprintf("%s %s%s at %s %s %s", num(t.qty.Value), t.unit, lead(t.of), currency, num(t.rate.Value), t.per)
}

// lead puts a space before words that are there.
func lead(s string) string {
	if s == "" {
		return ""
	}
	return " " + s
}

// num writes a number to five figures without those that say nothing, so that a line
// can be worked out again by hand.
func num(v float64) string {
	const figures = 5
	digits := figures
	if v != 0 {
		digits = max(0, figures-1-int(math.Floor(math.Log10(math.Abs(v)))))
	}
	s := strconv.FormatFloat(v, 'f', min(digits, 9), 64)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	return s
}

// line is a line in the making.
type line struct {
	fettle.PriceLine
	mill fettle.Estimate // minutes that the mill is taken up
}

// lineOf adds a line that sums terms, rounded once. why comes after them; a line
// without any terms is left out.
func (s *sheet) lineOf(key, name string, once bool, terms []term, why ...string) {
	l := line{PriceLine: fettle.PriceLine{Key: key, Name: name, Once: once}}
	var sum fettle.Estimate
	var said []string
	for _, t := range terms {
		if t.qty.Value == 0 || t.rate.Value == 0 && t.who == nobody {
			continue
		}
		sum = sum.Plus(t.money())
		said = append(said, t.says(s.Rates.Currency))
		switch t.who {
		case person:
			l.AttendedMin = l.AttendedMin.Plus(t.qty)
		case alone:
			l.AloneMin = l.AloneMin.Plus(t.qty)
		}
		if t.mill {
			l.mill = l.mill.Plus(t.qty)
		}
	}
	if len(said) == 0 {
		return
	}
	l.Cost = fettle.CostOf(sum, s.Rates.Currency)
	l.Says = strings.Join(said, ", ")
	for _, w := range why {
		if w != "" {
			l.Says += "; " + w
		}
	}
	s.lines = append(s.lines, l)
}
