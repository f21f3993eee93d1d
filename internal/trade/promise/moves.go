package promise

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"fettle"
)

const (
	leastMove = 4 * 60 // minutes by which a move must move the day to be told
	mostMoves = 6
	mostJobs  = 12 // of other jobs that are tried without
)

// moves tries what would make it sooner or later.
func (s *shop) moves(ctx context.Context, base *schedule) ([]fettle.Move, error) {
	out := []fettle.Move{}
	try := func(what string, change func(*shop)) error {
		t := *s
		change(&t)
		c, err := t.best(ctx, uppers)
		if ctx.Err() != nil {
			return ctx.Err()
		}
		if err != nil {
			return nil // it would never be ready so: nothing to offer
		}
		gain := base.end - c.end
		if gain > -leastMove && gain < leastMove {
			return nil
		}
		word := "sooner"
		if gain < 0 {
			word = "later"
		}
		d := math.Abs(float64(gain)) / (24 * 60)
		by := strings.Replace(fmt.Sprintf("%.1f days", d), ".0", "", 1)
		if d < 1 {
			by = took(max(gain, -gain))
		} else if by == "1 days" {
			by = "1 day"
		}
		out = append(out, fettle.Move{What: what, Ready: s.at(c.end), Days: float64(gain) / (24 * 60),
			Says: fmt.Sprintf("With %s it is ready on %s, %s %s.", what, s.when(c.end), by, word)})
		return nil
	}
	for _, m := range s.tries(base) {
		if err := try(m.what, m.change); err != nil {
			return nil, err
		}
	}
	size := func(m fettle.Move) float64 { return math.Abs(m.Days) }
	slices.SortStableFunc(out, func(a, b fettle.Move) int { return cmp.Compare(size(b), size(a)) })
	out = out[:min(len(out), mostMoves)]
	slices.SortStableFunc(out, func(a, b fettle.Move) int { return cmp.Compare(b.Days, a.Days) })
	return out, nil
}

type change struct {
	what   string // after "with"
	change func(*shop)
}

func (s *shop) tries(base *schedule) []change {
	var out []change
	seen := map[int]bool{}
	for _, p := range base.placed {
		if v := p.vessel; p.kind == charges && !seen[v] {
			seen[v] = true
			out = append(out, change{"one more " + s.vessels[v].title, func(t *shop) {
				t.vessels = slices.Clone(t.vessels)
				t.vessels[v].lines = append(slices.Clone(t.vessels[v].lines), nil)
			}})
		}
	}
	hours := func(change func(*fettle.Hours)) func(*shop) {
		return func(t *shop) {
			change(&t.hours)
			t.takeHours()
		}
	}
	if len(seen) > 0 {
		if s.hours.Nights {
			out = append(out, change{"nothing running at night", hours(func(h *fettle.Hours) { h.Nights, h.Weekends = false, false })})
		} else {
			out = append(out, change{"barrels and bowls running on at night", hours(func(h *fettle.Hours) { h.Nights = true })})
		}
		if !s.hours.Weekends {
			out = append(out, change{"barrels and bowls running on through nights and days without work", hours(func(h *fettle.Hours) { h.Nights, h.Weekends = true, true })})
		}
	}
	if day := saturday(s.hours); day != nil {
		out = append(out, change{"work on Saturdays", hours(func(h *fettle.Hours) { h.Week[time.Saturday] = day })})
	}
	for _, who := range s.inTheWay(base) {
		l := s.labels[who]
		out = append(out, change{l.told() + " out of the way", func(t *shop) {
			t.in.Booked = slices.DeleteFunc(slices.Clone(t.in.Booked), func(b fettle.Booking) bool {
				return b.Job == l.job && (l.job != "" || b.Title == l.title)
			})
			t.takeLines()
		}})
	}
	if s.lot > 1 && !s.half {
		out = append(out, change{"half of the lot", func(t *shop) { t.half = true }})
	}
	return append(out, change{"a start one day later", func(t *shop) {
		t.from = ceilMinute(t.at(t.from).AddDate(0, 0, 1))
		t.takeHours()
	}})
}

// saturday is the work of a Saturday as that of the last working day before it; nil
// where Saturday is one already.
func saturday(h fettle.Hours) []fettle.Stretch {
	if len(h.Week[time.Saturday]) > 0 {
		return nil
	}
	for d := time.Friday; d >= time.Sunday; d-- {
		if len(h.Week[d]) > 0 {
			return h.Week[d]
		}
	}
	return nil
}

// inTheWay are the other jobs that have anything of what the lot needs before it is
// ready, those with the most first.
func (s *shop) inTheWay(base *schedule) []int32 {
	minutes := make([]int, len(s.labels))
	count := func(l line) {
		for _, b := range l {
			if b.from < base.end {
				minutes[b.who] += min(b.to, base.end) - b.from
			}
		}
	}
	count(s.person)
	usesMill, used := false, map[int]bool{}
	for _, p := range base.placed {
		usesMill = usesMill || p.kind == byMill || p.kind == settles
		if p.kind == charges && !used[p.vessel] {
			used[p.vessel] = true
			for _, l := range s.vessels[p.vessel].lines {
				count(l)
			}
		}
	}
	if usesMill {
		count(s.mill)
	}
	var out []int32
	for i, m := range minutes {
		if i > 0 && m > 0 && !s.labels[i].shelf {
			out = append(out, int32(i))
		}
	}
	slices.SortStableFunc(out, func(a, b int32) int { return minutes[b] - minutes[a] })
	return out[:min(len(out), mostJobs)]
}
