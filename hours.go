package fettle

import (
	"fmt"
	"strings"
	"time"
)

// Stretch is a part of a day in minutes from midnight by the clock on the wall, To not
// in it.
type Stretch struct{ From, To int }

// Hours is a calendar as it is reckoned with.
type Hours struct {
	Zone *time.Location
	Week [7][]Stretch // by [time.Weekday], rising, without overlap
	// Closed are first and last days without work, both at midnight UTC.
	Closed   [][2]time.Time
	Nights   bool
	Weekends bool
	// Assumed tells that no week was given and the usual one is taken.
	Assumed bool
}

// weekdays as calendars write them, by [time.Weekday].
var weekdays = [7]string{"sun", "mon", "tue", "wed", "thu", "fri", "sat"}

// longestClosed bounds a span of closed days: what is longer is a slip of the pen.
const longestClosed = 5 * 366

// Usual is the calendar with what it leaves out: without a week, Monday to Friday from
// 08:00 to 16:00 with vessels that run through nights and not over weekends. The zone
// and the closed days are kept.
func (c Calendar) Usual() Calendar {
	if len(c.Week) > 0 {
		return c
	}
	c.Nights, c.Weekends = true, false
	for _, d := range weekdays[1:6] {
		c.Week = append(c.Week, WorkDay{Day: d, From: "08:00", To: "16:00"})
	}
	return c
}

// Validate checks days, clocks, zone and closed spans.
func (c Calendar) Validate() error {
	_, err := c.Hours()
	return err
}

// Hours reads the calendar. The error is Invalid and says which part of it cannot be
// read.
func (c Calendar) Hours() (Hours, error) {
	h := Hours{Assumed: len(c.Week) == 0}
	var err error
	if h.Zone, err = time.LoadLocation(c.Zone); err != nil || c.Zone == "Local" {
		return Hours{}, Errorf(Invalid, "calendar: the time zone %q is not known; give an IANA name, for example Europe/Berlin, or leave it out for UTC", c.Zone)
	}
	c = c.Usual()
	h.Nights, h.Weekends = c.Nights, c.Nights && c.Weekends
	for _, w := range c.Week {
		day, err := weekday(w.Day)
		if err != nil {
			return Hours{}, err
		}
		s := Stretch{clock(w.From), clock(w.To)}
		switch {
		case s.From < 0 || s.To < 0:
			return Hours{}, Errorf(Invalid, "calendar: %s is from %q to %q; give both as hours and minutes, for example 08:00 and 16:30", w.Day, w.From, w.To)
		case s.From >= s.To:
			return Hours{}, Errorf(Invalid, "calendar: %s ends at %s, not after it begins at %s; write work past midnight as two days, the first to 24:00", w.Day, w.To, w.From)
		}
		if h.Week[day], err = within(h.Week[day], s); err != nil {
			return Hours{}, Errorf(Invalid, "calendar: %s from %s to %s overlaps another stretch of that day; make them one", w.Day, w.From, w.To)
		}
	}
	for _, c := range c.Closed {
		span, err := days(c)
		if err != nil {
			return Hours{}, err
		}
		h.Closed = append(h.Closed, span)
	}
	return h, nil
}

// Day is when somebody is in on a day, given by midnight UTC.
func (h Hours) Day(day time.Time) []Stretch {
	for _, c := range h.Closed {
		if !day.Before(c[0]) && !day.After(c[1]) {
			return nil
		}
	}
	return h.Week[day.Weekday()]
}

// LongestDayMin is how many minutes somebody is in on the longest day of the week.
func (h Hours) LongestDayMin() int {
	longest := 0
	for _, day := range h.Week {
		sum := 0
		for _, s := range day {
			sum += s.To - s.From
		}
		longest = max(longest, sum)
	}
	return longest
}

// At is the moment at which a clock on the wall shows so many minutes past midnight of
// a day, given by midnight UTC. Where clocks are put back and show it twice it is the
// first time; where they are put forward past it, the moment they are.
func (h Hours) At(day time.Time, minutes int) time.Time {
	wall := day.Add(time.Duration(minutes) * time.Minute)
	offset := func(t time.Time) time.Duration {
		_, s := t.In(h.Zone).Zone()
		return time.Duration(s) * time.Second
	}
	before, after := offset(wall.Add(-24*time.Hour)), offset(wall.Add(24*time.Hour))
	a, b := wall.Add(-before), wall.Add(-after)
	switch {
	case offset(a) == before: // before the change, or no change at all
		return a.In(h.Zone)
	case offset(b) == after:
		return b.In(h.Zone)
	}
	change, _ := a.In(h.Zone).ZoneBounds()
	return change.In(h.Zone)
}

// within sets a stretch among those of a day.
func within(day []Stretch, s Stretch) ([]Stretch, error) {
	at := 0
	for i, d := range day {
		if s.From < d.To && d.From < s.To {
			return nil, fmt.Errorf("overlap")
		}
		if d.From < s.From {
			at = i + 1
		}
	}
	out := append([]Stretch{}, day[:at]...)
	return append(append(out, s), day[at:]...), nil
}

func weekday(name string) (time.Weekday, error) {
	for i, w := range weekdays {
		if strings.EqualFold(name, w) {
			return time.Weekday(i), nil
		}
	}
	return 0, Errorf(Invalid, "calendar: the day %q is not known; write mon, tue, wed, thu, fri, sat or sun", name)
}

// clock reads "08:00" as minutes, "24:00" as the end of a day; -1 for what is none.
func clock(s string) int {
	if s == "24:00" {
		return 24 * 60
	}
	t, err := time.Parse("15:04", s)
	if err != nil {
		return -1
	}
	return t.Hour()*60 + t.Minute()
}

// days reads a day or a span of days.
func days(s string) ([2]time.Time, error) {
	first, last, isSpan := strings.Cut(s, "/")
	if !isSpan {
		last = first
	}
	a, errA := time.Parse(time.DateOnly, first)
	b, errB := time.Parse(time.DateOnly, last)
	switch {
	case errA != nil || errB != nil:
		return [2]time.Time{}, Errorf(Invalid, "calendar: closed %q is neither a day as 2026-12-25 nor a span as 2026-12-24/2027-01-02", s)
	case b.Before(a):
		return [2]time.Time{}, Errorf(Invalid, "calendar: closed %q ends before it begins; put the earlier day first", s)
	case b.Sub(a) > longestClosed*24*time.Hour:
		return [2]time.Time{}, Errorf(Invalid, "calendar: closed %q is longer than five years; check the years", s)
	}
	return [2]time.Time{a, b}, nil
}
