package promise

import "slices"

// label says who has a resource: the index 0 of a shop's labels is the job itself.
type label struct {
	job, title string
	shelf      bool // the shelf says that it is taken
}

// busy is a stretch that a resource is taken.
type busy struct {
	from, to int
	who      int32 // of the shop's labels
}

// line is what a resource is taken by, rising and apart.
type line []busy

// newLine sorts what is booked. Where bookings overlap, the later one has what is left
// of it.
func newLine(taken []busy) line {
	slices.SortStableFunc(taken, func(a, b busy) int {
		if a.from != b.from {
			return a.from - b.from
		}
		return b.to - a.to
	})
	var out line
	for _, b := range taken {
		if n := len(out); n > 0 {
			b.from = max(b.from, out[n-1].to)
		}
		if b.from < b.to {
			out = append(out, b)
		}
	}
	return out
}

// next is the index of the first piece that ends after t.
func (l line) next(t int) int {
	lo, hi := 0, len(l)
	if hi > 0 && l[hi-1].to <= t {
		return hi // the usual case: work comes after work
	}
	for lo < hi {
		if mid := (lo + hi) / 2; l[mid].to > t {
			hi = mid
		} else {
			lo = mid + 1
		}
	}
	return lo
}

// take puts a piece of the job's own in. It must be free.
func (l line) take(from, to int) line {
	i := l.next(from)
	if i < len(l) && l[i].from < to {
		panic("promise: taken twice")
	}
	return slices.Insert(l, i, busy{from, to, 0})
}

// fit is the first moment from t on at which somebody is in and all lines are free for
// so many minutes without a break.
func (s *shop) fit(t, minutes int, lines ...line) int {
	for i := later(s.open, t); i < len(s.open); {
		t = max(t, s.open[i].from)
		if t+minutes > s.open[i].to {
			i++
			continue
		}
		free := true
		for _, l := range lines {
			if j := l.next(t); j < len(l) && l[j].from < t+minutes {
				t, free = l[j].to, false
			}
		}
		if free {
			return t
		}
		for i < len(s.open) && s.open[i].to <= t {
			i++
		}
	}
	return never
}

// cut does so many minutes of work from t on whenever somebody is in and all lines are
// free, up to a moment at which it must be done or broken off. It returns the pieces
// and the minutes that are left.
func (s *shop) cut(t, minutes, until int, lines ...line) (pieces []span, left int) {
	for i := later(s.open, t); i < len(s.open) && minutes > 0; {
		if t = max(t, s.open[i].from); t >= until {
			break
		}
		end, free := min(s.open[i].to, t+minutes, until), true
		for _, l := range lines {
			if j := l.next(t); j < len(l) {
				if l[j].from <= t {
					t, free = l[j].to, false
					break
				}
				end = min(end, l[j].from)
			}
		}
		if free {
			if n := len(pieces); n > 0 && pieces[n-1].to == t {
				pieces[n-1].to = end
			} else {
				pieces = append(pieces, span{t, end})
			}
			minutes -= end - t
			t = end
		}
		for i < len(s.open) && s.open[i].to <= t {
			i++
		}
	}
	return pieces, minutes
}
