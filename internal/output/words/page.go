// Package words turns a survey, a plan or another answer into a page of plain words
// that a machinist can act on without opening any other file.
//
// The answer comes first, then what to watch, then the work in order. Lines are
// wrapped for a terminal 80 columns wide.
//
// A page is English unless a [Voice] says it in another language; [Plan] goes by the
// language of its brief.
package words

import (
	"fmt"
	"strings"
	"unicode/utf8"

	"fettle"
	"fettle/internal/output/tongue"
)

const columns = 78

// Voice says pages in one language.
type Voice struct{ t *tongue.Tongue }

// In is the voice of a language; nil stands for English.
func In(t *tongue.Tongue) Voice { return Voice{t} }

// in is the voice with the units in which numbers are read.
func (l Voice) in(sys fettle.System) voice { return voice{l.t, sys} }

// voice is a language together with the units in which numbers are read.
type voice struct {
	*tongue.Tongue
	fettle.System
}

// page begins an empty page.
func (v voice) page() *page { return &page{v: v} }

// page collects wrapped lines.
type page struct {
	strings.Builder
	v voice
}

// head starts a section; its title is a sentence of the catalog.
func (p *page) head(title string, args ...any) { p.title(p.v.Say(title, args...)) }

// title starts a section under a title that was said before.
func (p *page) title(said string) {
	if p.Len() > 0 {
		p.WriteByte('\n')
	}
	p.WriteString(said)
	p.WriteByte('\n')
}

// say writes one paragraph, its first line behind lead and the others indented as
// far. The format is a sentence of the catalog.
func (p *page) say(lead, format string, args ...any) { p.text(lead, p.v.Say(format, args...)) }

// item writes a paragraph as one of a list.
func (p *page) item(format string, args ...any) { p.say("  - ", format, args...) }

// text writes a paragraph that was said before.
func (p *page) text(lead, text string) {
	indent := strings.Repeat(" ", utf8.RuneCountInString(lead))
	line := lead
	width := utf8.RuneCountInString(line)
	empty := true
	for _, w := range strings.Fields(text) {
		n := utf8.RuneCountInString(w)
		if !empty && width+1+n > columns {
			p.WriteString(strings.TrimRight(line, " "))
			p.WriteByte('\n')
			line, width, empty = indent, utf8.RuneCountInString(indent), true
		}
		if !empty {
			line += " "
			width++
		}
		line += w
		width += n
		empty = false
	}
	p.WriteString(strings.TrimRight(line, " "))
	p.WriteByte('\n')
}

// section writes a list under a head, or nothing for an empty list.
func section[T any](p *page, title string, items []T, say func(T) string) {
	if len(items) == 0 {
		return
	}
	p.head(title)
	for _, it := range items {
		p.item("%s", say(it))
	}
}

// columns writes rows of cells one below the other.
func (p *page) columns(rows [][]string) {
	var widths []int
	for _, r := range rows {
		for i, c := range r {
			if i == len(widths) {
				widths = append(widths, 0)
			}
			widths[i] = max(widths[i], utf8.RuneCountInString(c))
		}
	}
	for _, r := range rows {
		line := "    "
		for i, c := range r {
			line += pad(c, widths[i]+2)
		}
		p.WriteString(strings.TrimRight(line, " "))
		p.WriteByte('\n')
	}
}

// pad fills a word to a width, so that what follows stands in a column.
func pad(s string, width int) string {
	if n := utf8.RuneCountInString(s); n < width {
		s += strings.Repeat(" ", width-n)
	}
	return s
}

// padLeft fills a word to a width from the left.
func padLeft(s string, width int) string {
	return strings.Repeat(" ", max(0, width-utf8.RuneCountInString(s))) + s
}

// sentences puts whole sentences behind each other; empty ones are left out.
func sentences(s ...string) string {
	var out []string
	for _, t := range s {
		if t != "" {
			out = append(out, t)
		}
	}
	return strings.Join(out, " ")
}

// clauses puts phrases that are whole in themselves behind each other.
func clauses(s ...string) string { return strings.Join(s, "; ") }

// commas is clauses for the short phrases of a line of data.
func commas(s ...string) string { return strings.Join(s, ", ") }

// plain is a clause without the full stop that it may have brought.
func plain(s string) string { return strings.TrimSuffix(strings.TrimSpace(s), ".") }

// reworded is a sentence of the trade in the units that are read.
func (v voice) reworded(s string) string { return v.Sentence(v.Reword(s)) }

// pieces is the size of a lot.
func (v voice) pieces(n int) string { return v.Count(n, "1 piece", "%d pieces") }

// number is a length without its unit, for "42.00 × 68.00 × 7.00 mm".
func (v voice) number(mm float64) string {
	s, _, _ := strings.Cut(v.Length(mm), " ")
	return s
}

// box is a size: "42.00 × 68.00 × 7.00 mm".
func (v voice) box(mm [3]float64) string {
	return fmt.Sprintf("%s × %s × %s", v.number(mm[0]), v.number(mm[1]), v.Length(mm[2]))
}

// place is a point: "X 0.00, Y 24.00, Z 5.24 mm".
func (v voice) place(p [3]float64) string {
	return fmt.Sprintf("X %s, Y %s, Z %s", v.number(plainZero(p[0])), v.number(plainZero(p[1])), v.Length(plainZero(p[2])))
}

// between says a range, or the one value that both ends are.
func (v voice) between(lo, hi float64, say func(float64) string) string {
	if a, b := say(lo), say(hi); a != b {
		return v.Say("%s to %s", a, b)
	}
	return say(lo)
}

// share is a part of one in per cent, with a decimal near the ends.
func (v voice) share(part float64) string {
	switch {
	case part >= 0.9995:
		return v.Say("all")
	case part <= 0.0005:
		return v.Say("none")
	case part > 0.98 || part < 0.02:
		return fmt.Sprintf("%.1f %%", 100*part)
	}
	return fmt.Sprintf("%.0f %%", 100*part)
}

// minutes shows an estimate in minutes with its interval.
func minutes(e fettle.Estimate) string {
	if e.Low == e.High {
		return fettle.Minutes(e.Value)
	}
	return fmt.Sprintf("%s (%s)", fettle.Minutes(e.Value), ends(fettle.Minutes(e.Low), fettle.Minutes(e.High)))
}

// span shows an estimate in hours with its interval.
func span(hours fettle.Estimate) string { return minutes(hours.Scale(60)) }

// ends joins the two ends of an interval, and names the unit once where both
// have the same.
func ends(lo, hi string) string {
	low, unit, _ := strings.Cut(lo, " ")
	if _, same, _ := strings.Cut(hi, " "); same == unit && !strings.ContainsAny(unit, "0123456789") {
		lo = low
	}
	return lo + "–" + hi
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

// thousands is a whole number with its thousands set apart.
func thousands(n int) string {
	s := fmt.Sprint(n)
	for i := len(s) - 3; i > 0; i -= 3 {
		s = s[:i] + "," + s[i:]
	}
	return s
}
