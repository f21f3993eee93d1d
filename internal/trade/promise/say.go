package promise

import (
	"fmt"
	"strings"

	"fettle"
)

// when is a minute as it is told: "Mon 30 Nov 08:00", with the year where it is not
// that in which work begins.
func (s *shop) when(minute int) string {
	t := s.at(minute)
	if t.Year() != s.at(s.from).Year() {
		return t.Format("Mon 2 Jan 2006 15:04")
	}
	return t.Format("Mon 2 Jan 15:04")
}

// until is when seen from a moment: only the clock where it is the same day.
func (s *shop) until(from, to int) string {
	a, b := s.at(from), s.at(to)
	if a.YearDay() == b.YearDay() && a.Year() == b.Year() {
		return b.Format("15:04")
	}
	return s.when(to)
}

func took(minutes int) string { return fettle.Minutes(float64(minutes)) }

// told is the name of a job in a sentence.
func (l label) told() string {
	switch {
	case l.title != "":
		return "“" + l.title + "”"
	case l.job != "":
		return "job " + l.job
	}
	return "another job"
}

// block is what kept an op from beginning, up to a moment.
type block struct {
	from, to int
	says     string // with the moment left out: "nobody is in"
	closed   bool
}

// resourceLine is a line with what it is called.
type resourceLine struct {
	line  line
	title string
	own   func(at int) string // what of the job itself has it
}

// blocks are what stood in the way between two moments, by time. Work begins at the
// second, so that something of it ends there.
func (s *shop) blocks(from, to int, lines []resourceLine) []block {
	const most = 8
	var out []block
	for x := to; x > from && len(out) < most; {
		b := block{from: -never, to: x}
		back := from // the latest end of anything before x, if nothing holds x-1
		for _, l := range lines {
			j := l.line.next(x - 1)
			if j < len(l.line) && l.line[j].from <= x-1 {
				p := l.line[j]
				switch who := s.labels[p.who]; {
				case who.shelf:
					b.says = l.title + " is taken, as the shelf says,"
				case p.who == 0:
					b.says = l.own(x - 1)
				case l.title == "the person":
					b.says = "the person is busy with " + who.told()
				default:
					b.says = l.title + " is taken by " + who.told()
				}
				b.from = p.from
				break
			}
			if j > 0 {
				back = max(back, l.line[j-1].to)
			}
		}
		if b.says == "" {
			i := later(s.open, x-1)
			closed := from
			if i > 0 {
				closed = s.open[i-1].to
			}
			if i == len(s.open) || s.open[i].from > x-1 {
				b.says, b.closed, b.from = "nobody is in", true, closed
			} else {
				back = max(back, closed)
			}
		}
		if b.says == "" { // free, and too short
			x = back
			continue
		}
		x = max(b.from, from)
		if n := len(out); n > 0 && out[n-1].says == b.says {
			continue // the same, further back
		}
		out = append(out, b)
	}
	for i, j := 0, len(out)-1; i < j; i, j = i+1, j-1 {
		out[i], out[j] = out[j], out[i]
	}
	return out
}

// foreign reports whether anything but closing time stands among blocks.
func foreign(bs []block) bool {
	for _, b := range bs {
		if !b.closed {
			return true
		}
	}
	return false
}

// because joins blocks to the reason why something begins at a moment: "nobody is in
// until then". Closing times are told only where they come last.
func (s *shop) because(bs []block, begins int) string {
	var parts []string
	for i, b := range bs {
		switch {
		case b.closed && i < len(bs)-1:
		case b.to == begins:
			parts = append(parts, b.says+" until then")
		default:
			parts = append(parts, b.says+" until "+s.when(b.to))
		}
	}
	return and(parts[max(len(parts)-mostReasons, 0):])
}

// mostReasons is how many are told of one wait, the last of them.
const mostReasons = 3

// and joins words to a list.
func and(words []string) string {
	if n := len(words); n > 1 {
		return strings.Join(words[:n-1], ", ") + " and " + words[n-1]
	}
	return strings.Join(words, "")
}

// waits is the sentence for an op that could begin at one moment and does at another.
func (s *shop) waits(ready, from int, after string, bs []block) string {
	if why := s.because(bs, from); from > ready && why != "" {
		return fmt.Sprintf("It waits until %s, because %s.", s.when(from), why)
	}
	if after == "" {
		return "It begins at once."
	}
	return fmt.Sprintf("It begins as soon as “%s” is done.", after)
}
