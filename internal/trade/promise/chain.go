package promise

import (
	"fmt"
	"slices"
	"strings"
)

// linesOf are what an op needs, as they are told.
func (c *schedule) linesOf(p *placed, number int) []resourceLine {
	own := func(at int) string { return c.ownAt(p, at) }
	person := resourceLine{c.person, "the person", own}
	switch p.kind {
	case charges:
		title := "the " + c.shop.vessels[p.vessel].title
		if n := len(c.shop.vessels[p.vessel].lines); n > 1 {
			title = fmt.Sprintf("%s no. %d", title, number+1)
		}
		v := resourceLine{c.vessels[p.vessel][number], title, own}
		return []resourceLine{v, person}
	case byMill, settles:
		return []resourceLine{{c.mill, "the mill", own}, person}
	}
	return []resourceLine{person}
}

// ownAt is what of a charge itself has the person or a vessel.
func (c *schedule) ownAt(p *placed, at int) string {
	for k, r := range p.runs {
		if at >= r.from && at < r.to {
			return fmt.Sprintf("load %d is not out", k+1)
		}
	}
	return "the step before is not done"
}

func (c *schedule) after(p *placed) string {
	for i := range c.placed {
		if &c.placed[i] == p && i > 0 {
			return c.placed[i-1].name
		}
	}
	return ""
}

func (c *schedule) waitsOf(p *placed) string {
	return c.waits(p.ready, p.from, c.after(p), c.blocks(p.ready, p.from, c.linesOf(p, 0)))
}

func (c *schedule) loadWaits(p *placed, k int) string {
	r := p.runs[k]
	ready, after := p.ready, c.after(p)
	if j := p.before(k); j >= 0 {
		ready, after = p.runs[j].to, fmt.Sprintf("load %d", j+1)
	}
	return c.waits(ready, r.from, after, c.blocks(ready, r.from, c.linesOf(p, r.number)))
}

// before is the load that was in the vessel of load k before it; -1 for none.
func (p *placed) before(k int) int {
	best := -1
	for j, r := range p.runs {
		if r.number == p.runs[k].number && r.to <= p.runs[k].from && (best < 0 || r.to > p.runs[best].to) {
			best = j
		}
	}
	return best
}

// chain tells what decides the day, first to last. Every step is in it, because each
// waits for the whole lot of the one before; of a charge with several loads only those
// that the last one out waits for.
func (c *schedule) chain() []string {
	out := []string{}
	var row []*placed // steps that follow one another without anything in between
	flush := func() {
		if len(row) > 0 {
			out = append(out, c.tellRow(row))
		}
		row = nil
	}
	for i := range c.placed {
		p := &c.placed[i]
		if p.kind == charges {
			flush()
			out = append(out, c.tellCharge(p)...)
			continue
		}
		bs := c.blocks(p.ready, p.from, c.linesOf(p, 0))
		if foreign(bs) {
			flush()
			out = append(out, fmt.Sprintf("%s waits until %s, because %s.", quoted(p.name), c.when(p.from), c.because(bs, p.from)))
		} else if len(bs) > 0 && len(row) == 0 {
			out = append(out, fmt.Sprintf("%s begins when somebody is in, on %s.", quoted(p.name), c.when(p.from)))
		}
		row = append(row, p)
		if more := c.meanwhile(p); more != "" || len(p.resets) > 0 {
			flush()
			out = append(out, strings.TrimSpace(more))
		}
	}
	flush()
	return slices.DeleteFunc(out, func(s string) bool { return s == "" })
}

// tellRow tells steps that follow one another.
func (c *schedule) tellRow(row []*placed) string {
	first, last := row[0], row[len(row)-1]
	var names []string
	minutes := 0
	for _, p := range row {
		names = append(names, quoted(p.name)) // a name may hold commas of its own
		minutes += p.attended + p.alone
	}
	span := fmt.Sprintf("from %s to %s", c.when(first.from), c.until(first.from, last.to))
	switch n := len(row); {
	case n == 1:
		return fmt.Sprintf("%s takes %s, %s.", names[0], took(minutes), span)
	case n <= mostNames:
		return fmt.Sprintf("%s follow one another, %s of work, %s.", and(names), took(minutes), span)
	default:
		return fmt.Sprintf("%d steps follow one another, the first %s and the last %s, %s of work, %s.", n, names[0], names[n-1], took(minutes), span)
	}
}

// mostNames is how many steps in a row are told by name.
const mostNames = 4

func quoted(name string) string { return "“" + name + "”" }

// meanwhile tells which other jobs cut a step.
func (c *schedule) meanwhile(p *placed) string {
	type share struct {
		who     int32
		minutes int
	}
	var shares []share
	lines := []line{c.person}
	if p.kind != byHand {
		lines = append(lines, c.mill)
	}
	for _, l := range lines {
		for j := l.next(p.from); j < len(l) && l[j].from < p.to; j++ {
			if l[j].who == 0 {
				continue
			}
			m := c.openIn(max(l[j].from, p.from), min(l[j].to, p.to))
			k := slices.IndexFunc(shares, func(s share) bool { return s.who == l[j].who })
			if k < 0 {
				k, shares = len(shares), append(shares, share{who: l[j].who})
			}
			shares[k].minutes += m
		}
	}
	slices.SortStableFunc(shares, func(a, b share) int { return b.minutes - a.minutes })
	var parts, says []string
	for i, s := range shares {
		if i == mostReasons || s.minutes == 0 {
			break
		}
		parts = append(parts, c.labels[s.who].told()+" for "+took(s.minutes))
	}
	if len(parts) > 0 {
		says = append(says, fmt.Sprintf("In between, others come first: %s.", and(parts)))
	}
	if n := len(p.resets); n == 1 {
		j := c.mill.next(p.resets[0]) - 1 // there is one, or nothing would be set up again
		says = append(says, fmt.Sprintf("The mill is set up again after %s, on %s.", c.labels[c.mill[j].who].told(), c.when(p.resets[0])))
	} else if n > 1 {
		says = append(says, fmt.Sprintf("The mill is set up again %d times after other jobs.", n))
	}
	return strings.Join(says, " ")
}

// openIn is how many minutes of a stretch somebody is in.
func (s *shop) openIn(from, to int) int {
	sum := 0
	for i := later(s.open, from); i < len(s.open) && s.open[i].from < to; i++ {
		sum += min(s.open[i].to, to) - max(s.open[i].from, from)
	}
	return sum
}

// tellCharge tells the loads that the last one out waits for.
func (c *schedule) tellCharge(p *placed) []string {
	last := 0
	for k, r := range p.runs {
		if r.to > p.runs[last].to {
			last = k
		}
	}
	row := []int{last}
	for k := p.before(last); k >= 0; k = p.before(k) {
		row = append(row, k)
	}
	slices.Reverse(row)
	title := c.shop.vessels[p.vessel].title
	if n := len(c.vessels[p.vessel]); n > 1 {
		title = fmt.Sprintf("%s no. %d", title, p.runs[last].number+1)
	}
	var out []string
	if len(row) > 2 {
		first := p.runs[row[0]]
		if bs := c.blocks(p.ready, first.from, c.linesOf(p, first.number)); len(bs) > 0 {
			out = append(out, fmt.Sprintf("The first load of “%s” waits until %s, because %s.", p.name, c.when(first.from), c.because(bs, first.from)))
		}
		out = append(out, fmt.Sprintf("The %s takes %d of the %d loads one after the other, each running %s, from %s to %s.",
			title, len(row), p.loads, took(p.minutes()), c.when(first.from), c.when(p.runs[last].to)))
		row = row[len(row)-1:]
	}
	for _, k := range row {
		out = append(out, c.tellLoad(p, k, title)...)
	}
	return out
}

// minutes are how long a charge runs.
func (o *op) minutes() int { return o.openings[len(o.openings)-1] }

// tellLoad tells one load: what it waits for, how long it runs, what stops it, and who
// keeps it waiting in the end.
func (c *schedule) tellLoad(p *placed, k int, title string) []string {
	r := p.runs[k]
	name := "The charge"
	if p.loads > 1 {
		name = fmt.Sprintf("Load %d of %d", k+1, p.loads)
	}
	ready := p.ready
	if j := p.before(k); j >= 0 {
		ready = p.runs[j].to
	}
	goes := fmt.Sprintf("%s of “%s” goes into the %s on %s", name, p.name, title, c.when(r.from))
	if bs := c.blocks(ready, r.from, c.linesOf(p, r.number)); len(bs) > 0 {
		goes += ", because " + c.because(bs, r.from)
	}
	runs := "It runs " + took(p.minutes())
	alone, stood := c.unattended(r)
	if alone > 0 {
		runs += fmt.Sprintf(", %s of it while nobody is in,", took(alone))
	}
	out := []string{goes + ".", fmt.Sprintf("%s and is done on %s.", runs, c.when(r.done))}
	stops, wait, at := 0, 0, 0
	for i, due := range r.due {
		if w := r.looks[i] - due; w > 0 {
			if stops++; w > wait {
				wait, at = w, i
			}
		}
	}
	if wait >= leastTold {
		says := fmt.Sprintf("Its timer stops it on %s until somebody looks into it on %s", c.when(r.due[at]), c.when(r.looks[at]))
		if stops > 1 {
			says += fmt.Sprintf(", the longest of %d such stops", stops)
		}
		out = append(out, says+".")
	}
	if stood.to-stood.from >= leastTold {
		out = append(out, fmt.Sprintf("It stands from %s to %s, because nothing may run then.", c.when(stood.from), c.when(stood.to)))
	}
	if r.out > r.done {
		if bs := c.blocks(r.done, r.out, c.linesOf(p, r.number)[1:]); len(bs) > 0 {
			out = append(out, fmt.Sprintf("It is taken out on %s, because %s.", c.when(r.out), c.because(bs, r.out)))
		}
	}
	return out
}

// leastTold is the shortest stop of a charge that is worth a sentence, in minutes.
const leastTold = 30

// unattended is how long a load runs while nobody is in, and the longest it stands
// because nothing may run.
func (c *schedule) unattended(r charge) (alone int, stood span) {
	t := r.loaded
	leg := func(to int) {
		for i := later(c.run, t); t < to; i++ {
			from, end := to, to
			if i < len(c.run) {
				from, end = min(max(c.run[i].from, t), to), min(c.run[i].to, to)
			}
			if from-t > stood.to-stood.from {
				stood = span{t, from}
			}
			alone += end - from - c.openIn(from, end)
			t = end
		}
	}
	for i, due := range r.due {
		leg(due)
		t = r.looked[i]
	}
	leg(r.done)
	return alone, stood
}
