package paper

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"fettle"
)

// finite reports whether a number can be printed.
func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

// given reports whether an estimate says anything.
func given(e fettle.Estimate) bool {
	return finite(e.Value) && finite(e.Low) && finite(e.High) && (e.Value != 0 || e.High != 0)
}

// estimate is a cell for a predicted number: the value, and its range as a
// note. The value and the range are written by show.
func estimate(label string, e fettle.Estimate, show func(float64) string) (cell, bool) {
	if !given(e) {
		return cell{}, false
	}
	c := cell{label: label, value: show(e.Value)}
	if e.Low != e.High {
		c.note = "(" + between(show(e.Low), show(e.High)) + ")"
	}
	return c, true
}

// between joins the two ends of a range and names the unit once where both have
// the same.
func between(lo, hi string) string {
	low, unit, _ := strings.Cut(lo, " ")
	if _, same, _ := strings.Cut(hi, " "); same == unit && !strings.ContainsAny(unit, "0123456789") {
		lo = low
	}
	return lo + "–" + hi
}

// sentence gives a clause a capital and a full stop.
func sentence(s string) string {
	s = strings.TrimSpace(s)
	if s == "" {
		return ""
	}
	s = capital(s)
	if last, _ := utf8.DecodeLastRuneInString(s); !strings.ContainsRune(".!?:", last) {
		s += "."
	}
	return s
}

// capital raises the first letter, but not that of a name from the shelf or
// the survey such as "hole-1".
func capital(s string) string {
	word, _, _ := strings.Cut(s, " ")
	if s == "" || strings.ContainsAny(word, "0123456789") {
		return s
	}
	r, n := utf8.DecodeRuneInString(s)
	return string(unicode.ToUpper(r)) + s[n:]
}

// first gives s, or other when s is empty.
func first(s, other string) string {
	if strings.TrimSpace(s) == "" {
		return other
	}
	return s
}

// exact shows a length with one digit more than System.Length, for sizes from
// which allowances of a few micrometres are told.
func exact(sys fettle.System, mm float64) string {
	if sys == fettle.Inch {
		return strconv.FormatFloat(mm/fettle.MMPerInch, 'f', 4, 64) + " in"
	}
	return strconv.FormatFloat(mm, 'f', 3, 64) + " mm"
}

// readout shows a coordinate as a readout does, with its sign.
func readout(sys fettle.System, mm float64) string {
	digits := 2
	if sys == fettle.Inch {
		mm, digits = mm/fettle.MMPerInch, 3
	}
	s := strconv.FormatFloat(math.Abs(mm), 'f', digits, 64)
	switch {
	case mm == 0:
		return s
	case mm < 0:
		return "−" + s
	}
	return "+" + s
}

func percent(share float64) string { return fmt.Sprintf("%.0f %%", 100*share) }

func hours(h float64) string { return fettle.Minutes(60 * h) }
