package promise

import (
	"fmt"
	"slices"
	"time"

	"fettle"
)

// clockwork is the shop minute by minute, without any of the room's own reckoning: the
// truth that the tests compare with.
type clockwork struct {
	from               int
	open, run          []bool
	person, mill       []bool // free
	vessel             [][]bool
	load, look, unload int
	openings           []int
}

// newClockwork reads the calendar by asking for each minute what a clock on the wall
// shows, up to a day after a job is said to be ready.
func newClockwork(in Input, p *fettle.Promise) *clockwork {
	zone, err := time.LoadLocation(in.Rates.Calendar.Zone)
	if err != nil {
		panic(err)
	}
	cal := in.Rates.Calendar
	isClosed := func(day string) bool {
		return slices.ContainsFunc(cal.Closed, func(c string) bool { return c == day || len(c) > 10 && c[:10] <= day && day <= c[11:] })
	}
	type day struct {
		working     bool
		first, last int
		of          [][2]int
	}
	known := map[int64]*day{} // by days since 1970
	works := func(n int64) *day {
		if d := known[n]; d != nil {
			return d
		}
		d := &day{first: 1e6}
		known[n] = d
		date := time.Unix(n*86400, 0).UTC()
		for _, w := range cal.Week {
			if w.Day != [7]string{"sun", "mon", "tue", "wed", "thu", "fri", "sat"}[date.Weekday()] || isClosed(date.Format(time.DateOnly)) {
				continue
			}
			var h [4]int
			fmt.Sscanf(w.From+" "+w.To, "%d:%d %d:%d", &h[0], &h[1], &h[2], &h[3])
			from, to := h[0]*60+h[1], h[2]*60+h[3]
			d.of = append(d.of, [2]int{from, to})
			d.working, d.first, d.last = true, min(d.first, from), max(d.last, to)
		}
		return d
	}
	c := &clockwork{from: int(in.From.Unix() / 60)}
	for m := range int(p.Safe.Sub(in.From).Minutes()) + 24*60 {
		t := in.From.Add(time.Duration(m) * time.Minute).In(zone)
		n := time.Date(t.Year(), t.Month(), t.Day(), 0, 0, 0, 0, time.UTC).Unix() / 86400
		wall := t.Hour()*60 + t.Minute()
		today := works(n)
		open := slices.ContainsFunc(today.of, func(s [2]int) bool { return s[0] <= wall && wall < s[1] })
		run := open
		switch {
		case open:
		case today.working && today.first <= wall && wall < today.last: // a break
			run = true
		default:
			// The gap that this minute lies in begins on the last working day before and
			// ends on the next one.
			before, after := n, n
			if !today.working || wall < today.first {
				for before--; !works(before).working && before > n-60; before-- {
				}
			}
			if !today.working || wall >= today.last {
				for after++; !works(after).working && after < n+60; after++ {
				}
			}
			run = cal.Nights && (cal.Weekends || after-before <= 1)
		}
		c.open, c.run = append(c.open, open), append(c.run, run)
		c.person, c.mill = append(c.person, true), append(c.mill, true)
	}
	for range in.Vessels[0].Count {
		c.vessel = append(c.vessel, slices.Repeat([]bool{true}, len(c.open)))
	}
	for _, b := range in.Booked {
		line := c.person
		switch b.Resource {
		case "mill " + in.Plan.Mill.Name:
			line = c.mill
		case "vessel " + in.Vessels[0].Name:
			line = c.vessel[b.Number]
		}
		for m := max(c.minute(b.From), 0); m < min(c.minute(b.To), len(line)); m++ {
			line[m] = false
		}
	}
	return c
}

// hand is when so many minutes of a person are done, one minute after the other.
func (c *clockwork) hand(t, minutes int) int {
	for ; minutes > 0; t++ {
		if c.open[t] && c.person[t] {
			minutes--
		}
	}
	return t
}

// milling is the earliest end of work on the mill that is set up at t, by trying at
// each minute to go on or to stand: every state that can be reached is kept.
func (c *clockwork) milling(t, setUp, work int, attended bool) int {
	// reached[s][w]: s minutes of set-up and w of work to come.
	table := func() [][]bool {
		out := make([][]bool, setUp+1)
		for i := range out {
			out[i] = make([]bool, work+1)
		}
		return out
	}
	now, next := table(), table()
	now[0][work] = true
	for ; t < len(c.open); t++ {
		for s := range now {
			clear(next[s])
		}
		for s := range now {
			for w, reached := range now[s] {
				switch {
				case !reached:
					continue
				case w == 0:
					return t
				case !c.mill[t]:
					next[setUp][w] = true
					continue
				case s > 0 && c.open[t] && c.person[t]:
					next[s-1][w] = true
				case s == 0 && c.open[t] && (c.person[t] || !attended):
					next[0][w-1] = true
				}
				next[s][w] = true // to stand is always possible
			}
		}
		now, next = next, now
	}
	return -1
}

// attend tells whether somebody is there for so many minutes from t on.
func (c *clockwork) attend(t, minutes int) bool {
	for k := range minutes {
		if t+k >= len(c.open) || !c.open[t+k] || !c.person[t+k] {
			return false
		}
	}
	return true
}

// load is the end of a load put into a vessel at t, with the minutes at which somebody
// is at it; false where that cannot be.
func (c *clockwork) loadAt(vessel []bool, t int) (end int, at []int, ok bool) {
	begin := t
	if !c.attend(t, c.load) {
		return 0, nil, false
	}
	visit := func(minutes int) {
		for k := range minutes {
			at = append(at, t+k)
		}
		t += minutes
	}
	visit(c.load)
	ran := 0
	for i, o := range c.openings {
		for ; ran < o; t++ {
			if t >= len(c.run) {
				return 0, nil, false
			}
			if c.run[t] {
				ran++
			}
		}
		need := c.look
		if i == len(c.openings)-1 {
			need += c.unload
		}
		for ; !c.attend(t, need); t++ {
			if t >= len(c.run) {
				return 0, nil, false
			}
		}
		visit(need)
	}
	for m := begin; m < t; m++ {
		if !vessel[m] {
			return 0, nil, false
		}
	}
	return t, at, true
}

// first is the earliest end of one load, by trying every minute at which it may be put
// in, in every vessel.
func (c *clockwork) first() int {
	best := len(c.open)
	for _, v := range c.vessel {
		for t := 0; t < best; t++ {
			if end, _, ok := c.loadAt(v, t); ok {
				best = min(best, end)
			}
		}
	}
	return best
}

// two is the earliest end of two loads in one vessel, by trying every minute for the
// first with every minute after its end for the second.
func (c *clockwork) two(until int) int {
	ends := make([]int, until)
	for t := range ends {
		ends[t] = len(c.open)
		if end, _, ok := c.loadAt(c.vessel[0], t); ok {
			ends[t] = end
		}
	}
	rest := slices.Clone(ends) // the earliest end of what is put in at t or later
	for t := until - 2; t >= 0; t-- {
		rest[t] = min(rest[t], rest[t+1])
	}
	best := len(c.open)
	for _, end := range ends {
		if end < until {
			best = min(best, rest[end])
		}
	}
	return best
}

// minute is a moment as the clockwork counts.
func (c *clockwork) minute(t time.Time) int { return int(t.Unix()/60) - c.from }

// free tells whether a booking of the job's own lies where the line was free.
func (c *clockwork) free(b fettle.Booking) bool {
	line := c.person
	switch {
	case len(b.Resource) > 4 && b.Resource[:4] == "mill":
		line = c.mill
	case len(b.Resource) > 6 && b.Resource[:6] == "vessel":
		line = c.vessel[b.Number]
	}
	for m := c.minute(b.From); m < c.minute(b.To); m++ {
		if !line[m] {
			return false
		}
		line[m] = false // and nobody else of the job's own may have it
	}
	return true
}
