package nc

import "strconv"

// before handles S, T and the M words that act before the move of their block.
func (c *control) before() {
	b := &c.b
	if s, ok := b.read(bS, 'S'); ok {
		if !(s >= 0) {
			s = 0
		}
		c.speed, c.dirty = s, true
	}
	if t, ok := b.read(bT, 'T'); ok {
		if n, ok := whole(t); ok && n >= 0 && n < 1e9 {
			c.nextTool = int(n)
			if c.toolAt.line == 0 {
				c.toolAt = spot{b.start, b.line}
			}
		} else {
			c.tell(wTool, 0, Broken, c.wordText('T'), "the number of the tool is not known")
			c.nextTool = 0
		}
	}
	for _, m := range b.m[:b.mn] {
		switch m {
		case 6:
			c.change()
		case 3, 4, 13, 14:
			c.mode.Turning, c.dirty = 1, true
			if m == 4 || m == 14 {
				c.mode.Turning = -1
			}
			if m > 4 {
				c.mode.Coolant = true
			}
			c.event(SpindleOn, c.speed)
		case 7, 8:
			c.mode.Coolant, c.dirty = true, true
		case 5, 9, 0, 1, 2, 30, 60, 98, 97, 99, 198:
			// after the move
		case 19:
			b.used |= b.has & (bP | bR) // the spindle stops at an angle; nothing moves
		case 29, 48, 49:
			// Tapping in step with the spindle, and whether the override may be turned:
			// no move, and no other path.
		default:
			b.murky = true // what its other words mean is not known either
			c.tell(wUnknownM, int64(m), Unknown, "M"+strconv.Itoa(int(m)), "M%d is not understood: it is a function of this machine, or calls a program that is stored in the control; what it does is missing", m)
		}
	}
}

// change is M6.
func (c *control) change() {
	if c.nextTool == 0 {
		c.tell(wTool, 1, Broken, theBlock, "the tool is changed, but no T says which one comes")
	}
	c.mode.Tool, c.dirty = c.nextTool, true
	c.mode.Turning = 0
	// The machine goes to its place of change, and the new tool has another
	// length.
	c.at[2], c.machine[2] = nan, nan
	c.event(ToolChange, float64(c.nextTool))
}

// after handles the M words that act when the move of their block is done.
func (c *control) after() {
	b := &c.b
	for _, m := range b.m[:b.mn] {
		switch m {
		case 5:
			c.mode.Turning, c.dirty = 0, true
			c.event(SpindleOff, 0)
		case 9:
			c.mode.Coolant, c.dirty = false, true
		case 0:
			c.event(Stop, 0)
		case 60:
			c.event(Stop, 0)
			c.tell(wUnknownM, 60, Unknown, "M60", "M60 changes the pallet on most machines: another part may lie under the spindle afterwards")
		case 1:
			c.event(OptionalStop, 0)
		case 2, 30:
			c.event(End, 0)
			c.done = true
			return
		}
	}
	for _, m := range b.m[:b.mn] {
		switch m {
		case 98, 97:
			c.call(m)
			return
		case 99:
			c.giveBackTo()
			return
		case 198:
			b.used |= b.has & (bP | bL)
			c.missing("a program that is stored elsewhere is called (" + c.blockText() + ")")
			return
		}
	}
}

// event notes something that happens between moves.
func (c *control) event(what What, value float64) {
	if len(c.p.Order) >= c.opt.MaxMoves {
		c.err = c.fault("more than "+strconv.Itoa(c.opt.MaxMoves)+" stops and changes come out of it", "look for a repeat that is too large")
		return
	}
	c.p.Order = append(c.p.Order, Event{Line: int(c.b.line), Before: len(c.p.Moves), What: what, Value: value})
}

// modeNow is the index of what is in force now.
func (c *control) modeNow() int32 {
	if c.dirty {
		c.current = c.modeOf(c.fullMode())
		c.dirty = false
	}
	return c.current
}

// fullMode is what is in force, with the feed and the speed worked out.
func (c *control) fullMode() Mode {
	m := c.mode
	m.Exact = c.exact
	if m.Turning != 0 {
		m.Speed = c.speed
	}
	m.Feed = c.feed
	if m.PerTurn {
		m.Feed = c.feed * m.Speed
	}
	return m
}

// modeOf is the index of a mode; each distinct one is kept once.
func (c *control) modeOf(m Mode) int32 {
	i, ok := c.modes[m]
	if !ok {
		i = int32(len(c.p.Modes))
		c.modes[m] = i
		c.p.Modes = append(c.p.Modes, m)
	}
	return i
}
