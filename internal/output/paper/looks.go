package paper

import (
	"fmt"
	"time"

	"fettle"
)

// spareLooks are boxes for looks after the last that was planned: a charge may
// run on.
const spareLooks = 2

// mostLoads is how many loads have a line of their own; more are a matter for further
// sheets.
const mostLoads = 24

// looks are boxes to tick at each look of the charge of step i, with room for the time
// by the clock and what was seen or measured: for one load large ones, for more a line
// a load.
func (t *traveler) looks(i int, c fettle.Charge, w float64) []item {
	d, planned := t.dueOf(i)
	if c.Loads > 1 {
		return t.loadLines(c, d, w)
	}
	started := cell{label: t.say("Started at")}
	var at []time.Time // by the calendar
	if planned {
		started.note = t.moment(d.loads[0].From)
		at = d.loads[0].Looks
	}
	cells := []cell{started}
	for k, h := range c.LooksH {
		look := cell{label: t.say("Look after %s", hours(h)), tick: true}
		if k < len(at) {
			look.note = t.lookAt(at[k], d.loads[0].From)
		}
		cells = append(cells, look)
	}
	for range spareLooks {
		cells = append(cells, cell{label: t.say("Look after"), tick: true})
	}
	cells = append(cells, cell{label: t.say("Stopped at")})
	n := 4
	if len(cells)%4 != 0 && (len(cells)+4)/5 <= (len(cells)+3)/4 {
		n = 5
	}
	return append(prose(t.say("At each look: tick, write the time, and what is seen or measured."), w, noteSize, false), grid(cells, n, w)...)
}

// lineLooks is how many looks find room in a line.
const lineLooks = 5

// loadLines is a line for each load.
func (t *traveler) loadLines(c fettle.Charge, d due, w float64) []item {
	head := []string{t.say("Load"), t.say("Pieces"), t.say("Started at")}
	shares := []float64{0.8, 0.8, 1.7}
	for _, h := range c.LooksH[:min(lineLooks, len(c.LooksH))] {
		head, shares = append(head, t.say("after %s", hours(h))), append(shares, 1)
	}
	head = append(head, t.say("Later looks"), t.say("Stopped at"), t.say("Openings clear"))
	shares = append(shares, 1.2, 1.1, 1.1)
	var rows [][]string
	for k := range min(c.Loads, mostLoads) {
		pieces := c.PartsPerLoad
		if k == c.Loads-1 && c.LastLoadParts > 0 {
			pieces = c.LastLoadParts
		}
		row := make([]string, len(head))
		row[0], row[1] = fmt.Sprint(k+1), fmt.Sprint(pieces)
		for _, l := range d.loads {
			if l.Load == k+1 {
				row[2] = t.say("planned %s", t.moment(l.From))
			}
		}
		rows = append(rows, row)
	}
	top, body := table(head, rows, shares, w)
	items := prose(t.say("A line for each load. At each look write the time, and what is seen or measured."), w, noteSize, false)
	items = append(append(items, top), body...)
	if more := c.Loads - mostLoads; more > 0 {
		items = append(append(items, gap(0.8)), prose(t.count(more, "%d more load: print this page again.", "%d more loads: print this page again."), w, bodySize, false)...)
	}
	return items
}
