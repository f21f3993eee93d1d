package paper

import (
	"time"

	"fettle"
)

// due is when a step is on the calendar.
type due struct {
	from, to time.Time
	loads    []fettle.PromiseStep // by when they begin
}

// dueOf is when step i is due; false without a promise that names it.
func (t *traveler) dueOf(i int) (due, bool) {
	var d due
	if t.opt.Promise == nil {
		return d, false
	}
	for _, s := range t.opt.Promise.Steps {
		if s.Step != i {
			continue
		}
		if len(d.loads) == 0 || s.From.Before(d.from) {
			d.from = s.From
		}
		if s.To.After(d.to) {
			d.to = s.To
		}
		d.loads = append(d.loads, s)
	}
	return d, len(d.loads) > 0
}

// dueCells say when a step begins and when it is to be done: one cell where that is
// the same day.
func (t *traveler) dueCells(i int) []cell {
	d, ok := t.dueOf(i)
	if !ok {
		return nil
	}
	begins, from := t.clock(d.from)
	done, to := t.clock(d.to)
	if from == to {
		return []cell{{label: t.say("Due"), value: begins + "–" + done, note: from}}
	}
	return []cell{{label: t.say("Begins"), value: begins, note: from}, {label: t.say("To be done by"), value: done, note: to}}
}

// lookAt is when a look is due: the hour, and the day where it is not that on which
// the load was begun.
func (t *traveler) lookAt(at, begun time.Time) string {
	hour, day := t.clock(at)
	if _, same := t.clock(begun); day == same {
		return hour
	}
	return day + " " + hour
}
