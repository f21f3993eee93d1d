// Package ical writes appointments as an iCalendar file (RFC 5545), as calendars on
// telephones and desks read it.
package ical

import (
	"fmt"
	"io"
	"strings"
	"time"
	"unicode/utf8"

	"fettle"
)

// Event is one appointment.
type Event struct {
	// UID tells the event from all others and stays the same when it is written anew.
	UID         string
	Summary     string
	Description string
	Location    string
	From, To    time.Time
	// AllDay makes it the days from From's to To's, both in it, by the clock of their
	// own zones. A To before From stands for one day.
	AllDay bool
	// AlarmBefore is how long before its begin a reader is to be told; nil for no alarm.
	AlarmBefore *time.Duration
}

// Write writes a calendar of events. made is when it was made. Seconds that are not
// whole are cut off. The error is that of w, or Invalid for an event that has no UID or
// ends before it begins.
func Write(w io.Writer, name string, made time.Time, events []Event) error {
	var b strings.Builder
	line := func(key, value string) { b.WriteString(fold(key + ":" + value)) }
	line("BEGIN", "VCALENDAR")
	line("VERSION", "2.0")
	line("PRODID", "-//Fettle//EN")
	line("CALSCALE", "GREGORIAN")
	line("METHOD", "PUBLISH")
	if name != "" {
		line("X-WR-CALNAME", text(name)) // not of the RFC; most readers show it
	}
	for i, e := range events {
		switch {
		case e.UID == "":
			return fettle.Errorf(fettle.Invalid, "event %d (%q) has no UID; give each its own", i+1, e.Summary)
		case !e.AllDay && e.To.Before(e.From):
			return fettle.Errorf(fettle.Invalid, "event %q ends before it begins; put From first", e.Summary)
		}
		line("BEGIN", "VEVENT")
		line("UID", text(e.UID))
		line("DTSTAMP", utc(made))
		if e.AllDay {
			last := e.To
			if last.Before(e.From) {
				last = e.From
			}
			line("DTSTART;VALUE=DATE", e.From.Format(dateForm))
			line("DTEND;VALUE=DATE", last.AddDate(0, 0, 1).Format(dateForm)) // not in it: 3.6.1
		} else {
			line("DTSTART", utc(e.From))
			if e.To.Truncate(time.Second).After(e.From.Truncate(time.Second)) {
				line("DTEND", utc(e.To)) // must be later: 3.8.2.2; without it the event is a moment
			}
		}
		line("SUMMARY", text(e.Summary))
		if e.Description != "" {
			line("DESCRIPTION", text(e.Description))
		}
		if e.Location != "" {
			line("LOCATION", text(e.Location))
		}
		if e.AllDay {
			line("TRANSP", "TRANSPARENT") // a day to remember takes no time
		}
		if e.AlarmBefore != nil {
			line("BEGIN", "VALARM")
			line("ACTION", "DISPLAY")
			line("TRIGGER", trigger(*e.AlarmBefore))
			line("DESCRIPTION", text(e.Summary))
			line("END", "VALARM")
		}
		line("END", "VEVENT")
	}
	line("END", "VCALENDAR")
	_, err := io.WriteString(w, b.String())
	return err
}

const dateForm = "20060102"

func utc(t time.Time) string { return t.UTC().Format("20060102T150405Z") }

// trigger is a duration before the begin (3.3.6, 3.8.6.3): "-PT15M", "PT0S" at it.
func trigger(before time.Duration) string {
	s := int64(before / time.Second)
	sign := "-"
	switch {
	case s == 0:
		return "PT0S"
	case s < 0:
		sign, s = "", -s
	}
	out := sign + "P"
	if d := s / 86400; d > 0 {
		out += fmt.Sprintf("%dD", d)
		s %= 86400
		if s == 0 {
			return out
		}
	}
	// Hours, minutes and seconds stand without a gap between: 3.3.6 knows no PT1H5S.
	h, m, s := s/3600, s/60%60, s%60
	out += "T"
	if h > 0 {
		out += fmt.Sprintf("%dH", h)
	}
	if m > 0 || h > 0 && s > 0 {
		out += fmt.Sprintf("%dM", m)
	}
	if s > 0 {
		out += fmt.Sprintf("%dS", s)
	}
	return out
}

// text escapes a value of type TEXT (3.3.11). Control characters that it may not hold
// are left out, and bytes that are not UTF-8 become U+FFFD.
func text(s string) string {
	s = strings.ReplaceAll(strings.ToValidUTF8(s, "\uFFFD"), "\r\n", "\n")
	var b strings.Builder
	for _, r := range s {
		switch {
		case r == '\\' || r == ';' || r == ',':
			b.WriteByte('\\')
			b.WriteRune(r)
		case r == '\n' || r == '\r':
			b.WriteString(`\n`)
		case r < ' ' && r != '\t' || r == 0x7f:
		default:
			b.WriteRune(r)
		}
	}
	return b.String()
}

// octets is how long a line may be without its break (3.1).
const octets = 75

// fold ends a content line, broken so that no part is longer than 75 octets and no
// character is cut (3.1). What goes on begins with a space.
func fold(line string) string {
	var b strings.Builder
	n := 0
	for i := 0; i < len(line); {
		_, size := utf8.DecodeRuneInString(line[i:])
		if n+size > octets {
			b.WriteString("\r\n ")
			n = 1
		}
		b.WriteString(line[i : i+size])
		n += size
		i += size
	}
	b.WriteString("\r\n")
	return b.String()
}
