package nc

import "strconv"

// once does what a G word that acts in its own block alone makes of the other
// words.
func (c *control) once(p plan) {
	b := &c.b
	switch p.once {
	case 40:
		c.pause()
	case 100:
		c.register()
		b.used = b.has
	case 280, 300:
		b.used |= b.has & bP
		c.home(p.once)
	case 520:
		c.shiftLocal()
	case 920:
		c.presetHere()
	case 921:
		c.preset = [3]float64{}
		c.reshift()
	default:
		c.strange(p.once)
		c.lose(b.axes)
	}
}

// seconds is a time given as P, X or U: whole numbers of P are milliseconds,
// all else is seconds.
func (c *control) seconds(letter byte) float64 {
	b := &c.b
	bit := uint32(1) << (letter - 'A')
	v, _ := b.read(bit, letter)
	how := "seconds"
	if letter == 'P' {
		how = "seconds, for its decimal point"
		if b.bare&bit != 0 || v == 0 {
			how = "milliseconds, having no decimal point"
			v /= 1000
		}
	}
	if !(v >= 0) {
		c.tell(wDwell, 0, Broken, c.wordText(letter), "the time of a dwell is not known; it is taken as none")
		return 0
	}
	c.tell(wDwell, int64(letter), Plain, c.wordText(letter), "a dwell; %c is taken as %s", letter, how)
	return v
}

// pause is G4.
func (c *control) pause() {
	b := &c.b
	for _, l := range []byte("PXUF") {
		if b.has&(1<<(l-'A')) != 0 {
			c.dwell(c.seconds(l))
			return
		}
	}
	if b.has&bS != 0 && c.mode.Turning != 0 {
		// Turns of the spindle; S was taken for its speed, which it is not.
		c.tell(wDwell, 'S', Broken, c.wordText('S'), "a dwell counted in turns of the spindle is not followed, and S may have been taken for a speed")
		return
	}
	c.tell(wDwell, 1, Unknown, theBlock, "a dwell without a time; it is taken as none")
}

// dwell adds a stop of some seconds.
func (c *control) dwell(s float64) {
	c.moveAs(Move{From: c.at, To: c.at, Seconds: s, Line: c.b.line, Mode: c.modeNow(), Arc: -1, Kind: Dwell, Cycle: c.inCycle, Known: known(c.at)})
}

// register is G10, which writes into the control's stores.
func (c *control) register() {
	b := &c.b
	l, _ := whole(b.val['L'-'A'])
	n, _ := whole(b.val['P'-'A'])
	if b.has&bL == 0 {
		l = -1
	}
	switch l {
	case 2, 20:
		name := "the base offset or the one in force"
		if l == 20 || n > 6 {
			name = "G54.1 P" + strconv.FormatInt(n, 10)
		} else if n >= 1 {
			name = "G" + strconv.FormatInt(53+n, 10)
		}
		c.tell(wRegister, l<<32|n, Unknown, theBlock, "the program itself writes into offset %s: what was set up there by hand is overwritten, and the control keeps the new values afterwards", name)
		if l == 20 || n < 1 || n > 6 || name == c.mode.Offset || c.mode.Offset == "" {
			c.lose(b.axes)
		}
	case 1, 10, 11, 12, 13:
		c.tell(wRegister, l<<32, Unknown, theBlock, "the program itself writes into the tool's length or radius: what was measured and set by hand is overwritten")
		c.lose(bZ)
	default:
		c.tell(wRegister, l<<32, Unknown, theBlock, "the program writes into the control's own settings; what changes by it is not followed")
		c.lose(b.axes)
	}
}

// home is G28 and G30: to the reference point by way of a point that the axis
// words name.
func (c *control) home(code int32) {
	b := &c.b
	axes := b.axes
	if axes == 0 {
		axes = bAxes
		c.tell(wHome, 1, Plain, theBlock, "goes to the reference point without naming axes; all of them are taken to go")
	} else {
		to := c.target()
		still := c.incremental
		for i, bit := range axisBit {
			if axes&bit != 0 && b.val['X'-'A'+i] != 0 {
				still = false
			}
		}
		if !still {
			if !c.incremental {
				c.tell(wHome, 0, Plain, theBlock, "under G90 the way to the reference point leads through the point that the axis words name, in the work offset")
			}
			c.move(Rapid, to, -1)
		}
	}
	to := c.machine
	for i, bit := range axisBit {
		if axes&bit != 0 {
			to[i] = nan
		}
	}
	c.moveMachine(Rapid, to, axes, true)
}

// moveMachine makes a move in machine coordinates. Where its axes stand in the
// work offset afterwards is not known.
func (c *control) moveMachine(kind Kind, to [3]float64, axes uint32, home bool) {
	m := c.fullMode()
	m.Offset = "G53"
	from := c.machine
	c.moveAs(Move{From: from, To: to, Line: c.b.line, Mode: c.modeOf(m), Arc: -1, Kind: kind,
		Known: known(from) && known(to), Home: home})
	c.machine = to
	for i, bit := range axisBit {
		if axes&bit != 0 {
			c.at[i] = nan
		}
	}
}

// toMachine is a move under G53.
func (c *control) toMachine() {
	b := &c.b
	if b.axes == 0 {
		return
	}
	if c.incremental || c.motion > 1 || c.cycle.code != 0 {
		c.tell(wMachine, 0, Broken, theBlock, "G53 does not go with G91, arcs or cycles; where the tool goes is not known")
		c.lose(b.axes)
		b.used |= b.axes
		return
	}
	to := c.machine
	for i, bit := range axisBit {
		if v, ok := b.read(bit, 'X'+byte(i)); ok {
			to[i] = v * c.unit
		}
	}
	if b.bare&b.axes != 0 {
		c.bareNote(b.bare & b.axes)
	}
	kind := Rapid
	if c.motion == 1 {
		kind = Cut
	}
	c.moveMachine(kind, to, b.axes, false)
}

// shiftLocal is G52.
func (c *control) shiftLocal() {
	b := &c.b
	for i, bit := range axisBit {
		if v, ok := b.read(bit, 'X'+byte(i)); ok {
			c.local[i] = v * c.unit
			if v != 0 {
				c.tell(wShift, 0, Plain, theBlock, "shifts the zero of the work offset; the moves are given in the offset without the shift")
			}
		}
	}
	c.reshift()
}

func (c *control) reshift() {
	for i := range c.shift {
		c.shift[i] = c.local[i] + c.preset[i]
	}
}

// presetHere is G92: the place where the tool stands gets new coordinates.
func (c *control) presetHere() {
	b := &c.b
	if b.axes == 0 {
		c.tell(wPreset, 1, Unknown, theBlock, "G92 without axis words sets a limit or clears a shift; it is not followed")
		b.used = b.has
		return
	}
	c.tell(wPreset, 0, Broken, theBlock, "G92 counts from where the tool happens to stand, and its shift outlives the program on many controls; every offset after it is moved by it")
	sure := true
	for i, bit := range axisBit {
		sure = sure && (b.axes&bit == 0 || c.at[i] == c.at[i])
	}
	if !sure {
		// Coordinates from here on are those of a zero of their own.
		c.mode.Offset, c.dirty = "G92", true
		c.local, c.preset = [3]float64{}, [3]float64{}
		c.at = [3]float64{nan, nan, nan}
	}
	for i, bit := range axisBit {
		v, ok := b.read(bit, 'X'+byte(i))
		switch {
		case !ok:
		case sure:
			c.preset[i] = c.at[i] - v*c.unit - c.local[i]
		default:
			c.at[i] = v * c.unit
		}
	}
	c.reshift()
}
