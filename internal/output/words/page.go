// Package words turns a survey or a plan into a page of plain English that a
// machinist can act on without opening any other file.
//
// The answer comes first, then what to watch, then the work in order. Lines
// are wrapped for a terminal 80 columns wide.
package words

import (
	"fmt"
	"strings"
	"unicode/utf8"
)

const columns = 78

// page collects wrapped lines.
type page struct{ strings.Builder }

// head starts a section.
func (p *page) head(title string) {
	if p.Len() > 0 {
		p.WriteByte('\n')
	}
	p.WriteString(title)
	p.WriteByte('\n')
}

// say writes one paragraph, its first line behind lead and the others indented
// as far.
func (p *page) say(lead, format string, args ...any) {
	text := fmt.Sprintf(format, args...)
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

// item writes a paragraph as one of a list.
func (p *page) item(format string, args ...any) { p.say("  - ", format, args...) }

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

// list joins words as English does: "a, b and c".
func list(words []string) string {
	switch len(words) {
	case 0:
		return "none"
	case 1:
		return words[0]
	}
	return strings.Join(words[:len(words)-1], ", ") + " and " + words[len(words)-1]
}

// count says a number with its noun: "1 hole", "3 holes", "no holes".
func count(n int, noun string) string {
	switch n {
	case 0:
		return "no " + plural(noun)
	case 1:
		return "1 " + noun
	}
	return fmt.Sprintf("%d %s", n, plural(noun))
}

// sentenceCount is count at the start of a sentence: "One load", "3 loads".
func sentenceCount(n int, noun string) string {
	if n == 1 {
		return "One " + noun
	}
	return count(n, noun)
}

func plural(noun string) string {
	if strings.HasSuffix(noun, "y") {
		return strings.TrimSuffix(noun, "y") + "ies"
	}
	if strings.HasSuffix(noun, "ch") || strings.HasSuffix(noun, "s") {
		return noun + "es"
	}
	return noun + "s"
}

// stop gives a clause its full stop.
func stop(s string) string {
	s = strings.TrimSpace(s)
	if s != "" && !strings.ContainsAny(s[len(s)-1:], ".!?:") {
		s += "."
	}
	return s
}

// sentence gives a text its capital and its full stop.
func sentence(s string) string { return stop(sentenceStart(strings.TrimSpace(s))) }

// sentenceStart gives a text its capital; a name such as slot-1 keeps its spelling.
func sentenceStart(s string) string {
	first, _, _ := strings.Cut(s, " ")
	if s == "" || strings.ContainsAny(first, "0123456789") {
		return s
	}
	r, n := utf8.DecodeRuneInString(s)
	return strings.ToUpper(string(r)) + s[n:]
}
