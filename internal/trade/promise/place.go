package promise

import (
	"context"
	"slices"

	"fettle"
)

// schedule is the ops on the calendar.
type schedule struct {
	*shop
	ops    []op
	placed []placed
	end    int
	// What the shop's lines become with the job's own work in them, vessels by kind and
	// number.
	person  line
	vessels [][]line
	// side is how many vessels of each kind may be used.
	side []int
	// setUp is when the mill was last the job's; it is before the set-up that it never
	// was.
	setUp int
	again int // minutes to set up again
}

// placed is an op with its times.
type placed struct {
	*op
	ready    int // when it could have begun, had all been free
	from, to int
	person   []span
	mill     []span
	resets   []int // when the mill was set up again
	runs     []charge
}

// charge is one load in one vessel.
type charge struct {
	number   int // of the vessel
	from, to int // taken
	loaded   int // when it begins to run
	looks    []int
	looked   []int // when each look is over
	due      []int // when each look was due
	done     int   // when it had run its time
	out      int   // when it is unloaded, up to to
}

// mostWays bounds how many choices of vessels side by side are tried.
const mostWays = 24

// best is the schedule of one world that is ready first. With several vessels side by
// side it is made once for each number of them that may be used: what can be done with
// two can be done where there are three.
func (s *shop) best(ctx context.Context, w world) (*schedule, error) {
	c, err := s.within(ctx, w)
	if fettle.CodeOf(err) == fettle.No && !s.far {
		s.far = true
		s.takeHours()
		c, err = s.within(ctx, w)
	}
	return c, err
}

// within is best as far as the calendar is laid out.
func (s *shop) within(ctx context.Context, w world) (*schedule, error) {
	ops, notes, err := s.ops(w)
	if err != nil {
		return nil, err
	}
	s.notes = notes
	most := make([]int, len(s.vessels))
	for _, o := range ops {
		if o.kind == charges {
			most[o.vessel] = max(most[o.vessel], min(o.loads, len(s.vessels[o.vessel].lines)))
		}
	}
	ways := 1
	for _, n := range most {
		ways *= max(n, 1)
	}
	var best *schedule
	var bestErr error
	for way := range min(ways, mostWays) {
		side, rest := make([]int, len(most)), way
		for i, n := range most {
			n = max(n, 1)
			side[i] = n - rest%n // all of them first
			rest /= n
			if n == 1 || side[i] == n {
				side[i] = len(s.vessels[i].lines) // a single load takes any
			}
		}
		c, err := s.schedule(ctx, ops, side)
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		if err == nil && (best == nil || c.end < best.end) {
			best = c
		}
		if way == 0 {
			bestErr = err
		}
	}
	if best == nil {
		return nil, bestErr
	}
	return best, nil
}

// schedule places all ops.
func (s *shop) schedule(ctx context.Context, ops []op, side []int) (*schedule, error) {
	c := &schedule{shop: s, ops: ops, side: side, person: slices.Clone(s.person), setUp: -never}
	for _, v := range s.vessels {
		c.vessels = append(c.vessels, slices.Clone(v.lines)) // a line is copied when it is written to
	}
	for _, o := range ops {
		if o.kind != settles {
			continue
		}
		c.again = o.attended
		if one := s.hand(s.in.Rates.SetupMin.Value); one > 0 {
			c.again = min(c.again, one) // of several set-ups the one that was interrupted
		}
	}
	t := s.from
	for i := range ops {
		p := placed{op: &ops[i], ready: t, from: never}
		switch p.kind {
		case charges:
			if err := c.placeLoads(ctx, &p); err != nil {
				return nil, err
			}
		case settles:
			c.placeSetUp(&p)
		case byMill:
			c.placeMill(&p)
		default:
			c.placeHand(&p)
		}
		if p.to >= s.horizon() {
			return nil, s.tooLong(p.name)
		}
		t = p.to
		c.placed = append(c.placed, p)
	}
	c.end = t
	return c, nil
}

func (s *shop) horizon() int {
	if s.far {
		return ceilMinute(s.at(s.from).AddDate(horizonYears, 0, 0))
	}
	return s.from + nearDays*24*60
}

func (s *shop) tooLong(name string) error {
	return fettle.Errorf(fettle.No, "the lot would not be ready within %d years: it gets no further than %q; try a smaller lot, more vessels or longer hours", horizonYears, name)
}

// placeHand is work of a person, and time that the lot then stands by itself.
func (c *schedule) placeHand(p *placed) {
	pieces, left := c.cut(p.ready, p.attended, never, c.person)
	if left > 0 {
		p.to = never
		return
	}
	p.person = pieces
	p.from, p.to = p.ready, p.ready
	if len(pieces) > 0 {
		p.from, p.to = pieces[0].from, pieces[len(pieces)-1].to
	}
	p.to += p.alone
}

// placeSetUp sets the mill up: closing time may cut it, another job on the mill not.
func (c *schedule) placeSetUp(p *placed) {
	p.person = c.whole(p.ready, p.attended)
	if p.mill = p.person; p.mill == nil {
		p.to = never
		return
	}
	p.from, p.to = p.person[0].from, p.person[len(p.person)-1].to
	c.setUp = p.to
}

// whole is work of person and mill between two other jobs on the mill; nil for never.
func (c *schedule) whole(t, minutes int) []span {
	for t < never {
		j := c.mill.next(t)
		until := never
		if j < len(c.mill) {
			if c.mill[j].from <= t {
				t = c.mill[j].to
				continue
			}
			until = c.mill[j].from
		}
		pieces, left := c.cut(t, minutes, until, c.person)
		if left == 0 {
			return pieces
		}
		if until == never {
			return nil
		}
		t = until
	}
	return nil
}

// restless is how many minutes a mill must run by itself for a person to begin
// anything else meanwhile.
const restless = 20

// placeMill is work of the mill. Where it wants a person every few minutes the person
// stays; else it has one at each visit. After another job the mill is set up again.
func (c *schedule) placeMill(p *placed) {
	t := p.ready
	piece := func(minutes int, attended bool) {
		for minutes > 0 && t < never {
			until, j := never, c.mill.next(t)
			if j < len(c.mill) {
				if c.mill[j].from <= t {
					t = c.mill[j].to
					continue
				}
				until = c.mill[j].from
			}
			start, set := t, []span(nil)
			if c.setUp > -never && c.mill.next(c.setUp) < j {
				left := 0
				if set, left = c.cut(t, c.again, until, c.person); left > 0 {
					t = until
					continue
				}
				if len(set) > 0 {
					start = set[len(set)-1].to
				}
			}
			lines := []line{c.person}
			if !attended {
				lines = nil
			}
			pieces, left := c.cut(start, minutes, until, lines...)
			if len(pieces) == 0 {
				t = until
				continue
			}
			if set != nil {
				p.resets = append(p.resets, set[0].from)
				p.person, p.mill = append(p.person, set...), append(p.mill, set...)
			}
			p.mill = append(p.mill, pieces...)
			if attended {
				p.person = append(p.person, pieces...)
			}
			minutes = left
			if t = pieces[len(pieces)-1].to; c.setUp > -never {
				c.setUp = t
			}
		}
	}
	switch n := p.visits; {
	case p.attended == 0:
		piece(p.alone, false)
	case n <= 1 || p.alone/n < restless:
		piece(p.attended+p.alone, true)
	default:
		part := func(m, k int) int { return m*(k+1)/n - m*k/n }
		for k := range n {
			piece(part(p.attended, k), true)
			piece(part(p.alone, k), false)
		}
	}
	if p.to = t; t < never {
		p.from = p.mill[0].from
	}
}
