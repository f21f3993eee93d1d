package words

import (
	"fmt"
	"strings"
	"unicode/utf8"

	"fettle"
)

// Learned says what a log has taught: each number before and after, by process,
// what was refused, and what to read next.
func Learned(l fettle.Learned, sys fettle.System) string {
	var p page
	p.say("", "%s with %s.", sentenceCount(l.Runs, "run"), count(l.Readings, "reading"))
	last := ""
	for _, q := range l.Parameters {
		if at := where(q); at != last {
			p.head(at)
			last = at
		}
		p.say("  "+pad(q.Name, 18)+" ", "%s, before %s; n = %d: %s.",
			interval(q.Value, q.Unit, sys), interval(q.Prior, q.Unit, sys), q.N, q.Says)
	}
	if len(l.Parameters) == 0 {
		p.say("", "Nothing in it bears on a number that is planned with.")
	} else {
		p.head("How to read this")
		p.say("  ", "Each number stands as its median with its 10 and 90 %% bounds, with the log and before it; n counts the readings that bear on it of themselves. Where n is 0 its kin have moved it.")
	}
	if len(l.Refused) > 0 {
		p.head("Refused")
		for _, s := range l.Refused {
			p.item("%s", sentence(s))
		}
	}
	if len(l.Next) > 0 {
		p.head("What to read next")
		for _, n := range l.Next {
			says := n.Says
			if n.Media != "" {
				says = n.Media + ": " + says
			}
			p.item("%s", stop(says))
		}
	}
	if len(l.Warnings) > 0 {
		p.head("Mind")
		for _, s := range l.Warnings {
			p.item("%s", sentence(s))
		}
	}
	return p.String()
}

// where is what a parameter belongs to.
func where(q fettle.Parameter) string {
	var s []string
	if q.Media == "" {
		s = append(s, "By hand")
	} else {
		s = append(s, q.Media)
	}
	if q.Vessel != "" {
		s = append(s, "in the "+q.Vessel)
	}
	if q.Class != "" {
		s = append(s, "on "+string(q.Class))
	}
	if q.Tone != "" {
		s = append(s, "run "+string(q.Tone))
	}
	return strings.Join(s, " ")
}

// interval is "0.35 µm (0.28–0.44)".
func interval(e fettle.Estimate, unit string, sys fettle.System) string {
	k := 1.0
	switch {
	case sys == fettle.Inch && strings.HasPrefix(unit, "µm"):
		k, unit = 1/0.0254, strings.Replace(unit, "µm", "µin", 1)
	case unit == "times the usual minutes":
		unit = "×"
	case unit == "share of pieces":
		k, unit = 100, "%"
	case unit == "1":
		unit = ""
	}
	mid := strings.TrimSpace(two(k*e.Value) + " " + unit)
	if e.Low == e.High {
		return mid
	}
	return mid + " (" + two(k*e.Low) + "–" + two(k*e.High) + ")"
}

// two is a number to two figures.
func two(v float64) string {
	if v >= 99.5 || v <= -99.5 {
		return fmt.Sprintf("%.0f", v)
	}
	s := fmt.Sprintf("%.2g", v)
	if strings.Contains(s, "e") {
		s = strings.TrimRight(strings.TrimRight(fmt.Sprintf("%.6f", v), "0"), ".")
		if s == "0" {
			return "0"
		}
	}
	return s
}

// pad fills a word to a width, so that what follows stands in a column.
func pad(s string, width int) string {
	if n := utf8.RuneCountInString(s); n < width {
		s += strings.Repeat(" ", width-n)
	}
	return s
}
