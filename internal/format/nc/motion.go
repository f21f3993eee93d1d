package nc

import (
	"math"
	"strconv"
)

var nan = math.NaN()

// setMotion handles the words that say how axis words move.
func (c *control) setMotion(p plan) {
	switch {
	case p.motion >= 0:
		c.motion = p.motion / 10
		c.cycle.code = 0
	case p.cycle == 800:
		c.cycle.code = 0
	}
	if p.cycle > 0 && p.cycle != 800 {
		if c.cycle.code == 0 {
			c.cycle = cycle{initial: c.at[planeAxes[c.plane][2]]}
		}
		c.cycle.code = p.cycle
	}
}

// travel makes the move of the block.
func (c *control) travel(p plan) {
	b := &c.b
	if p.machine {
		c.toMachine()
		return
	}
	if c.cycle.code != 0 {
		c.holes(p.cycle > 0)
		return
	}
	arc := c.motion >= 2
	if b.axes == 0 && !(arc && b.has&(bCentre|bR) != 0) {
		return
	}
	if p.exact && !c.exact {
		c.exact, c.dirty = true, true
		defer func() { c.exact, c.dirty = false, true }()
	}
	if c.motion < 0 {
		c.tell(wNoMotion, 0, Unknown, theBlock, "axis words stand before any G0 or G1; they are taken as a cut in a straight line, while a control may have kept another function")
		c.motion = 1
	} else if p.cycle == 800 && p.motion < 0 {
		c.tell(wAfterCancel, 0, Plain, theBlock, "a drilling cycle is cancelled and a move made in one block, without G0 or G1; the move is taken as G%d, the last one that was called", c.motion)
	}
	if arc {
		c.round(c.motion == 3)
		return
	}
	c.straight(c.motion == 0)
}

// straight is G0 and G1.
func (c *control) straight(rapid bool) {
	to := c.target()
	kind := Cut
	if rapid {
		kind = Rapid
	}
	c.move(kind, to, -1)
}

// target is where the axis words lead, and counts them as used.
func (c *control) target() (to [3]float64) {
	b := &c.b
	to = c.at
	if c.first() {
		c.assume()
	}
	if b.bare&bAxes != 0 {
		c.bareNote(b.bare & bAxes)
	}
	for i, bit := range axisBit {
		if b.has&bit == 0 {
			continue
		}
		v := b.val['X'-'A'+i] * c.unit
		if c.incremental {
			to[i] += v
		} else {
			to[i] = v + c.shift[i]
		}
		if math.Abs(to[i]) > maxReach {
			c.tell(wBadNumber, int64(i), Broken, c.wordText('X'+byte(i)), "lies further than any machine reaches; where the tool goes is not known")
			to[i] = nan
		}
	}
	b.used |= b.has & bAxes
	if c.polar {
		for _, i := range planeAxes[c.plane][:2] {
			if b.has&axisBit[i] != 0 {
				to[i] = nan
			}
		}
	}
	return to
}

// maxReach is the furthest place that a program may name, in mm: a kilometre,
// far past any machine.
const maxReach = 1e6

// first reports whether no move with coordinates was made yet.
func (c *control) first() bool { return !c.sawInch && !c.sawMM }

// assume says what is taken for granted where the program does not say it.
func (c *control) assume() {
	if !c.unitSet {
		c.tell(wNoUnit, 0, Plain, theBlock, "no G20 or G21 stands before the first move; lengths are taken as millimetres, while a control keeps the unit it was left in")
	}
	if !c.distanceSet {
		c.tell(wNoDistance, 0, Plain, theBlock, "no G90 or G91 stands before the first move; coordinates are taken as absolute")
	}
	c.firstInch = c.mode.Inch
}

// bareNote tells once of lengths without a decimal point.
func (c *control) bareNote(letters uint32) {
	if c.told(wBare, 0) {
		return
	}
	for l := byte('A'); l <= 'Z'; l++ {
		if letters&(1<<(l-'A')) == 0 {
			continue
		}
		unit, step := "mm", "0.001"
		if c.mode.Inch {
			unit, step = "inch", "0.0001"
		}
		c.tell(wBare, 0, Plain, c.wordText(l),
			"has no decimal point and is taken in whole %s; a control that counts such numbers in its smallest step (%s %s) would go elsewhere", unit, step, unit)
		return
	}
}

// move adds a move in the work offset and takes the tool there.
func (c *control) move(kind Kind, to [3]float64, arc int32) {
	mode := c.modeNow()
	if kind == Cut || kind == Bend {
		if c.feedBy == 930 {
			mode = c.inverse(to, arc)
		} else if c.p.Modes[mode].Feed == 0 {
			c.noFeed()
		}
	}
	if c.mode.Inch {
		c.sawInch = true
	} else {
		c.sawMM = true
	}
	f := c.at
	c.moveAs(Move{From: f, To: to, Line: c.b.line, Mode: mode, Arc: arc, Kind: kind,
		Cycle: c.inCycle, Known: known(f) && known(to)})
	for i := range 3 {
		if c.b.axes&axisBit[i] != 0 || to[i] != f[i] {
			c.machine[i] = nan
		}
	}
	c.at = to
}

// moveAs adds a move as it is.
func (c *control) moveAs(m Move) {
	if len(c.p.Moves) >= c.opt.MaxMoves {
		c.err = c.fault("more than "+strconv.Itoa(c.opt.MaxMoves)+" moves come out of it", "split the program, or look for a repeat that is too large")
		return
	}
	c.grow()
	c.p.Moves = append(c.p.Moves, m)
}

// known reports whether all three coordinates are.
func known(v [3]float64) bool { return v[0] == v[0] && v[1] == v[1] && v[2] == v[2] }

// noFeed tells of a cut without a feed.
func (c *control) noFeed() {
	if c.feedBy == 950 && c.feed > 0 {
		c.tell(wPerTurn, 0, Broken, theBlock, "the feed is given per turn, but the spindle does not turn; the feed is not known")
		return
	}
	c.tell(wNoFeed, 0, Broken, theBlock, "a cut is made before any F gives its feed; the time of it cannot be told")
}

// inverse is the mode of a move under G93, where F is one over the minutes
// that the move takes.
func (c *control) inverse(to [3]float64, arc int32) int32 {
	m := c.fullMode()
	length := dist(c.at, to)
	if arc >= 0 {
		length = arcLength(&c.p.Arcs[arc], c.at, to)
	}
	m.Feed = 0
	if c.b.has&bF == 0 {
		c.tell(wInverse, 0, Broken, theBlock, "under G93 every cut needs its own F; this one has none, and its time is not known")
	} else if m.Feed = c.feed * length; math.IsNaN(m.Feed) {
		m.Feed = 0
	}
	return c.modeOf(m)
}

// grow makes room for all moves at once when it can be seen how many there
// will be: it spares copying them over and over.
func (c *control) grow() {
	n := len(c.p.Moves)
	if n < cap(c.p.Moves) || n < 4096 || len(c.frames) > 0 || c.marks != nil {
		return
	}
	will := float64(n)*float64(len(c.data))/float64(c.pos)*1.02 + 1024
	if will > float64(n)*1.25 {
		moves := make([]Move, n, int(min(will, float64(c.opt.MaxMoves))))
		copy(moves, c.p.Moves)
		c.p.Moves = moves
	}
}

func dist(a, b [3]float64) float64 {
	return math.Hypot(math.Hypot(b[0]-a[0], b[1]-a[1]), b[2]-a[2])
}
