package promise

import (
	"context"
	"slices"

	"fettle"
)

// placeLoads places the loads of a charge one by one, each in the vessel out of which
// it comes first.
func (c *schedule) placeLoads(ctx context.Context, p *placed) error {
	if most := longest(c.open); max(p.load, p.unload+p.look) > most {
		return fettle.Errorf(fettle.No, "loading or unloading %q takes %s without a break, and nobody is in for so long; give the calendar a longer stretch", p.name, fettle.Minutes(float64(max(p.load, p.unload+p.look))))
	}
	c.vessels[p.vessel] = slices.Clone(c.vessels[p.vessel])
	lines := c.vessels[p.vessel]
	for n := range lines {
		lines[n] = slices.Clone(lines[n])
	}
	// Lines only fill up and loads are alike: before the last start that was found in a
	// vessel none will be.
	starts := slices.Repeat([]int{p.ready}, len(lines))
	for k := range p.loads {
		if k%64 == 0 && ctx.Err() != nil {
			return ctx.Err()
		}
		best := charge{to: never}
		for n := range min(c.side[p.vessel], len(lines)) {
			r := c.place(p, starts[n], lines[n])
			if starts[n] = r.from; r.to < best.to {
				best = r
				best.number = n
			}
		}
		if best.to >= never {
			return c.tooLong(p.name)
		}
		lines[best.number] = lines[best.number].take(best.from, best.to)
		c.person = c.person.take(best.from, best.loaded)
		for i, at := range best.looks {
			c.person = c.person.take(at, best.looked[i])
		}
		c.person = c.person.take(best.out, best.to)
		p.runs = append(p.runs, best)
		p.from, p.to = min(p.from, best.from), max(p.to, best.to)
	}
	return nil
}

// place is the first run of a load from t on in a vessel that fits between what the
// vessel is taken by.
func (c *schedule) place(p *placed, t int, vessel line) charge {
	for {
		t = c.fit(t, p.load, c.person, vessel)
		if t >= never {
			return charge{from: never, to: never}
		}
		r := c.runAt(p, t)
		j := vessel.next(t)
		if j == len(vessel) || r.to <= vessel[j].from {
			return r
		}
		// It would be in the way of what comes next. To begin sooner does not help,
		// that was tried; to begin later ends later.
		t = vessel[j].to
	}
}

// runAt is the run of a load that is put in at t.
func (c *schedule) runAt(p *placed, t int) charge {
	r := charge{from: t, loaded: t + p.load}
	x, ran := r.loaded, 0
	for _, m := range p.openings[:len(p.openings)-1] {
		x = c.runFor(x, m-ran)
		ran = m
		at := c.fit(x, p.look, c.person)
		if at >= never {
			r.to = never
			return r
		}
		r.due, r.looks, r.looked = append(r.due, x), append(r.looks, at), append(r.looked, at+p.look)
		x = at + p.look
	}
	r.done = c.runFor(x, p.openings[len(p.openings)-1]-ran)
	if r.out = c.fit(r.done, p.unload+p.look, c.person); r.out >= never {
		r.to = never
		return r
	}
	r.to = r.out + p.unload + p.look
	return r
}
