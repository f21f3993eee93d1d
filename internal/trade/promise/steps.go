package promise

import (
	"fmt"
	"slices"
	"time"

	"fettle"
)

// resource is what an op is told under.
func (c *schedule) resource(p *placed) string {
	switch p.kind {
	case charges:
		return "vessel " + c.shop.vessels[p.vessel].name
	case byMill, settles:
		return "mill " + c.millName
	}
	return "person"
}

// steps are the pieces of work by when they begin.
func (c *schedule) steps() []fettle.PromiseStep {
	out := []fettle.PromiseStep{}
	for i := range c.placed {
		p := &c.placed[i]
		s := fettle.PromiseStep{Step: p.step, Key: p.key, Name: p.name, Resource: c.resource(p), From: c.at(p.from), To: c.at(p.to), Looks: []time.Time{}}
		if p.kind != charges {
			s.Waits = c.waitsOf(p)
			out = append(out, s)
			continue
		}
		first := len(out)
		for k, r := range p.runs {
			s.Number, s.Load, s.From, s.To, s.Looks = r.number, k+1, c.at(r.from), c.at(r.to), []time.Time{}
			for _, l := range r.looks {
				s.Looks = append(s.Looks, c.at(l))
			}
			s.Waits = c.loadWaits(p, k)
			out = append(out, s)
		}
		slices.SortStableFunc(out[first:], func(a, b fettle.PromiseStep) int { return a.From.Compare(b.From) })
	}
	return out
}

// bookings are what the schedule takes, by when it does.
func (c *schedule) bookings() []fettle.Booking {
	out := []fettle.Booking{}
	add := func(resource string, number int, s span, what string, args ...any) {
		out = append(out, fettle.Booking{Job: c.in.Job, Title: c.in.Title, Resource: resource, Number: number,
			From: c.at(s.from), To: c.at(s.to), What: fmt.Sprintf(what, args...)})
	}
	for i := range c.placed {
		p := &c.placed[i]
		for _, s := range joined(p.person) {
			add("person", 0, s, "%s", p.name)
		}
		for _, s := range joined(p.mill) {
			add(c.resource(p), 0, s, "%s", p.name)
		}
		for k, r := range p.runs {
			add(c.resource(p), r.number, span{r.from, r.to}, "%s, load %d of %d", p.name, k+1, p.loads)
			add("person", 0, span{r.from, r.loaded}, "%s: put load %d of %d in", p.name, k+1, p.loads)
			for j, at := range r.looks {
				add("person", 0, span{at, r.looked[j]}, "%s: look at load %d of %d", p.name, k+1, p.loads)
			}
			add("person", 0, span{r.out, r.to}, "%s: look and take load %d of %d out", p.name, k+1, p.loads)
		}
	}
	slices.SortStableFunc(out, func(a, b fettle.Booking) int { return a.From.Compare(b.From) })
	return out
}

// joined are rising spans with those that touch made one.
func joined(of []span) []span {
	var out []span
	for _, s := range of {
		if n := len(out); n > 0 && out[n-1].to == s.from {
			out[n-1].to = s.to
			continue
		}
		out = append(out, s)
	}
	return out
}
