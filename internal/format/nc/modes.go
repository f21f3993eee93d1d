package nc

import "strconv"

// plan is what the G words of one block ask for, by group; -1 where a group
// has no word.
type plan struct {
	motion, cycle, plane, unit, distance, centre, feedBy, offset, length, level int32
	once                                                                        int32 // G4, G10, G28, G30, G52, G65 or G92: what the axis words belong to
	machine                                                                     bool  // G53
	exact                                                                       bool  // G9
}

var noPlan = plan{-1, -1, -1, -1, -1, -1, -1, -1, -1, -1, -1, false, false}

// group is the place of a G word in the plan; nil for a word that stands in none.
func (p *plan) group(code int32) *int32 {
	switch code {
	case 0, 10, 20, 30:
		return &p.motion
	case 730, 740, 760, 800, 810, 820, 830, 840, 850, 860, 870, 880, 890:
		return &p.cycle
	case 170, 180, 190:
		return &p.plane
	case 200, 210, 700, 710:
		return &p.unit
	case 900, 910:
		return &p.distance
	case 901, 911:
		return &p.centre
	case 930, 940, 950:
		return &p.feedBy
	case 540, 541, 550, 560, 570, 580, 590, 591, 592, 593, 1540:
		return &p.offset
	case 430, 440, 490:
		return &p.length
	case 980, 990:
		return &p.level
	case 40, 100, 280, 300, 520, 650, 920, 921, 922, 923:
		return &p.once
	}
	return nil
}

// sort puts the G words of the block into a plan, and names those that are not
// followed.
func (c *control) sort() plan {
	p := noPlan
	b := &c.b
	for _, code := range b.g[:b.gn] {
		if g := p.group(code); g != nil {
			if *g >= 0 && *g != code {
				c.tell(wConflict, int64(*g)<<32|int64(code), Unknown, codeText('G', *g)+" "+codeText('G', code),
					"two functions of one group stand in one block; the last one counts, and a control may stop with an alarm")
			}
			*g = code
			continue
		}
		switch code {
		case 90:
			p.exact = true
		case 530:
			p.machine = true
		case 610, 640:
			c.exact, c.dirty = code == 610, true
			if p, ok := b.read(bP, 'P'); ok && p > 0 && code == 640 {
				c.tell(wUnknownG, 640, Unknown, "G64 "+c.wordText('P'), "corners may be rounded by up to this much; they are read as sharp")
			}
			b.used |= bQ & b.has
		case 150, 160:
			c.polar = code == 160
			if c.polar {
				c.unknownG(code, false)
			}
		case 400, 500, 501, 670, 690, 970:
			// Cancels something that is not followed either; the start of it was named.
		case 410, 420:
			c.unknownG(code, false)
			b.used |= b.has & (bD | bH)
		case 434, 435:
			c.unknownG(code, false)
			b.used |= b.has & bH
		default:
			c.strange(code)
		}
	}
	return p
}

// strange names a G word whose block cannot be followed.
func (c *control) strange(code int32) {
	c.unknownG(code, c.b.has&bAxes != 0)
	if s, ok := saidG[code]; ok && s.weight != Broken {
		c.b.murky = true
		return
	}
	c.b.strange = true
}

// exec does what the present block says, in the order that controls keep:
// units and feed, spindle, tool, plane and offsets, then the move, then what
// comes after it (ISO 6983-1 has M5, M9 and the stops take effect when the
// block's move is done).
func (c *control) exec() {
	b := &c.b
	c.begun = true
	b.axes = b.has & bAxes
	if b.gn|b.mn == 0 && b.has&^bAxes == 0 && b.jump == stay && !b.strange && c.cycle.code == 0 && c.motion == 1 && !c.polar {
		if b.has != 0 {
			c.straight(false)
		}
		return
	}
	p := c.sort()
	if p.once == 650 {
		c.macro()
		return
	}
	if p.unit >= 0 {
		c.setUnit(p.unit == 200 || p.unit == 700)
	}
	c.setFeed(p)
	c.before()
	c.set(p)
	switch {
	case b.strange && b.axes != 0:
		c.lose(b.axes)
		b.used = b.has
	case p.once >= 0:
		c.once(p)
	}
	c.setMotion(p)
	if !b.strange && p.once < 0 {
		c.travel(p)
	}
	c.after()
	c.unused()
	if b.jump != stay && !c.done {
		c.leap()
	}
}

// lose marks axes as standing where the program does not say.
func (c *control) lose(axes uint32) {
	for i, bit := range axisBit {
		if axes&bit != 0 {
			c.at[i], c.machine[i] = nan, nan
		}
	}
}

// setUnit handles G20 and G21, and G70 and G71 as the standard has them.
func (c *control) setUnit(inch bool) {
	c.unit, c.unitSet = 1, true
	if inch {
		c.unit = 25.4
	}
	if c.mode.Inch != inch {
		c.mode.Inch, c.dirty = inch, true
		if c.sawInch || c.sawMM {
			c.tell(wMixed, 0, Plain, theBlock, "the unit changes in the middle of the program; lengths are read in the unit that is in force")
		}
	}
}

// setFeed handles G93 to G95 and F.
func (c *control) setFeed(p plan) {
	b := &c.b
	by := p.feedBy
	if by >= 0 && by != c.feedMode() {
		c.feedBy, c.feed, c.dirty = by, 0, true
		c.mode.PerTurn = by == 950
	}
	if b.has&bF == 0 || p.once == 40 {
		return
	}
	f, _ := b.read(bF, 'F')
	if c.feedMode() != 930 {
		f *= c.unit
	}
	if !(f >= 0) {
		c.tell(wNoFeed, 1, Broken, c.wordText('F'), "the feed is not known; the time cannot be told")
		f = 0
	}
	if f != c.feed {
		c.feed, c.dirty = f, true
	}
}

// feedMode is how F is meant; per minute unless said otherwise.
func (c *control) feedMode() int32 {
	if c.feedBy == 0 {
		return 940
	}
	return c.feedBy
}

// set handles the words that stay in force and move nothing.
func (c *control) set(p plan) {
	b := &c.b
	switch p.plane {
	case 170:
		c.plane = XY
	case 180:
		c.plane = ZX
	case 190:
		c.plane = YZ
	}
	if p.distance >= 0 {
		c.incremental, c.distanceSet = p.distance == 910, true
	}
	if p.centre >= 0 {
		c.absCentre = p.centre == 901
	}
	if p.level >= 0 {
		c.toInitial = p.level == 980
	}
	if p.offset >= 0 {
		c.setOffset(p)
	}
	c.setLength(p)
	if b.has&(bA|bB|bC) != 0 && p.once != 40 {
		for _, l := range []byte("ABC") {
			if _, ok := b.read(1<<(l-'A'), l); ok {
				c.tell(wRotary, int64(l), Broken, c.wordText(l), "%c turns the part or the head; the moves are read as if it stood still, so nothing that follows from them is sure", l)
			}
		}
	}
	for _, l := range []byte("UVW") {
		if bit := uint32(1) << (l - 'A'); b.has&bit != 0 && p.once != 40 {
			b.used |= bit
			c.tell(wRotary, int64(l), Broken, c.wordText(l), "%c moves a second axis beside the first, or moves by steps; it is not followed", l)
		}
	}
}

// setOffset handles G54 to G59 and the further offsets.
func (c *control) setOffset(p plan) {
	b := &c.b
	name := codeText('G', p.offset)
	wants := p.offset == 541 || p.offset == 1540
	if b.has&bP != 0 && (wants || p.offset == 540 && b.mn == 0 && p.once < 0 && p.cycle < 0 && c.cycle.code == 0) {
		v, _ := b.read(bP, 'P')
		if n, ok := whole(v); ok {
			if p.offset == 540 {
				name = "G54.1"
			}
			name += " P" + strconv.FormatInt(n, 10)
			wants = false
		}
	}
	if wants {
		c.tell(wOffsetMissing, 0, Broken, theBlock, "an offset is called without its number; which one is in force is not known")
	}
	if name == c.mode.Offset {
		return
	}
	// Where the tool stands in the new offset, the program does not say.
	c.mode.Offset, c.dirty = name, true
	c.at = [3]float64{nan, nan, nan}
}

// setLength handles G43, G44, G49 and H.
func (c *control) setLength(p plan) {
	b := &c.b
	h, given := b.val['H'-'A'], b.has&bH != 0
	was := c.mode.Length
	switch {
	case p.length == 490:
		c.lengthOn, c.mode.Length = false, 0
		b.used |= b.has & bH
	case p.length >= 0 || c.lengthOn && given:
		c.lengthOn = true
		b.used |= b.has & bH
		if n, ok := whole(h); given && ok && n >= 0 && n < 1e9 {
			c.length = int(n)
		} else if given || c.length == 0 {
			c.length = c.mode.Tool
			c.tell(wLengthMissing, 0, Unknown, theBlock, "the tool's length is called without the number of its register; it is taken as the tool's own number")
		}
		c.mode.Length = c.length
		if p.length == 440 {
			c.tell(wLength, 0, Unknown, "G44", "the length is taken away instead of added; the moves are read as those of the tip, which holds only when the register holds a length below zero")
		}
	}
	if c.mode.Length != was {
		// The tip is now counted from another length.
		c.at[2], c.dirty = nan, true
	}
}

// unused names words that did nothing.
func (c *control) unused() {
	b := &c.b
	left := b.has &^ b.used
	if left == 0 || b.strange || b.murky {
		return
	}
	for l := byte('A'); l <= 'Z'; l++ {
		if left&(1<<(l-'A')) != 0 && !c.told(wUnusedWord, int64(l)) {
			c.tell(wUnusedWord, int64(l), Unknown, c.wordText(l), "%c has no meaning in its block (%s); it is left out", l, c.blockText())
		}
	}
}
