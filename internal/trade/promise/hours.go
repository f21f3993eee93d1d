package promise

import (
	"time"

	"fettle"
)

// span is a stretch of minutes, to not in it.
type span struct{ from, to int }

// spans are when somebody is in and when a vessel may run, from one moment to the day
// of another, rising and apart. Over a break in a day a vessel always runs on; from one
// working day to the next at night, and over days without work, as the calendar says.
func spans(h fettle.Hours, from, to int) (open, run []span) {
	dayOf := func(minute int) time.Time {
		t := time.Unix(int64(minute)*60, 0).In(h.Zone)
		return time.Date(t.Year(), t.Month(), t.Day(), 0, 0, 0, 0, time.UTC)
	}
	end := dayOf(to)
	add := func(to []span, s span) []span {
		if s.from = max(s.from, from); s.from >= s.to {
			return to
		}
		if n := len(to); n > 0 && to[n-1].to >= s.from {
			to[n-1].to = max(to[n-1].to, s.to)
			return to
		}
		return append(to, s)
	}
	var worked time.Time // the last day with work
	closed := 0          // when it ended
	for day := dayOf(from); !day.After(end); day = day.AddDate(0, 0, 1) {
		today := h.Day(day)
		for i, w := range today {
			s := span{floorMinute(h.At(day, w.From)), floorMinute(h.At(day, w.To))}
			open = add(open, s)
			switch {
			case i > 0:
				run = add(run, span{closed, s.from})
			case worked.IsZero():
			case h.Nights && (h.Weekends || worked.AddDate(0, 0, 1).Equal(day)):
				run = add(run, span{closed, s.from})
			}
			run = add(run, s)
			closed = s.to
		}
		if len(today) > 0 {
			worked = day
		}
	}
	return open, run
}

// longest is how many minutes the longest of some spans has.
func longest(of []span) int {
	n := 0
	for _, s := range of {
		n = max(n, s.to-s.from)
	}
	return n
}

// never is the moment that does not come before the horizon.
const never = int(^uint(0)>>1) / 4

// later is the index of the first span that ends after t.
func later(of []span, t int) int {
	lo, hi := 0, len(of)
	for lo < hi {
		if mid := (lo + hi) / 2; of[mid].to > t {
			hi = mid
		} else {
			lo = mid + 1
		}
	}
	return lo
}

// runFor is when a vessel that is let run at t has run for so many minutes.
func (s *shop) runFor(t, minutes int) int {
	if minutes <= 0 || t >= never {
		return t
	}
	i := later(s.run, t)
	if i == len(s.run) {
		return never
	}
	target := s.ran[i] + max(t-s.run[i].from, 0) + minutes
	lo, hi := i, len(s.run) // the last span that has no more than the target before it
	for hi-lo > 1 {
		if mid := (lo + hi) / 2; s.ran[mid] < target {
			lo = mid
		} else {
			hi = mid
		}
	}
	if end := s.run[lo].from + target - s.ran[lo]; end <= s.run[lo].to {
		return end
	}
	return never
}
