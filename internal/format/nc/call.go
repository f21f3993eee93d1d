package nc

import "strconv"

// frame is a subprogram that is being run.
type frame struct {
	pos, sub   int // where the caller goes on, and where the subprogram begins
	line, subL int32
	left       int64        // runs still to make, this one included
	locals     *[34]float64 // of the caller, where the call has its own
	args       *[34]float64 // to begin each repeat with
}

// call is M98, which calls a program of the same file by its number, and M97,
// which calls a block by its number.
func (c *control) call(m int32) {
	b := &c.b
	v, given := b.read(bP, 'P')
	n, ok := whole(v)
	times := int64(1)
	if l, has := b.read(bL, 'L'); has {
		t, isWhole := whole(l)
		if !isWhole || t < 0 {
			c.tell(wRepeat, 1, Broken, theBlock, "the number of repeats is not known; it is taken as one")
			t = 1
		}
		times = t
	}
	if !given || !ok {
		c.missing("the subprogram is not called by a number (" + c.blockText() + ")")
		return
	}
	if m == 97 {
		to, ok := c.index().label(n, b.start, false)
		if !ok {
			c.missing("no block N" + strconv.FormatInt(n, 10) + " stands in this file")
			return
		}
		c.enter(to, times, nil)
		return
	}
	to, ok := c.index().program(n)
	if !ok && n > 9999 {
		// The older form: repeats, then four digits of the number.
		if to, ok = c.index().program(n % 10_000); ok && b.has&bL == 0 {
			times = n / 10_000
		}
		n %= 10_000
	}
	if !ok {
		c.missing("the subprogram O" + strconv.FormatInt(n, 10) + " does not stand in this file")
		return
	}
	c.enter(to, times, nil)
}

// missing tells of a call that cannot be followed. The tool may be anywhere
// after it.
func (c *control) missing(what string) {
	c.tell(wCall, int64(c.b.start), Broken, theBlock, "%s; what it does is missing, and where the tool stands after it is not known", what)
	c.lose(bAxes)
}

// enter begins a subprogram.
func (c *control) enter(to mark, times int64, args *[34]float64) {
	if times <= 0 {
		return
	}
	if len(c.frames) >= MaxDepth {
		c.err = c.fault("subprograms call each other more than "+strconv.Itoa(MaxDepth)+" deep", "look for one that calls itself")
		return
	}
	if c.called == nil {
		c.called = map[uint32]bool{}
	}
	c.called[to.off] = true
	f := frame{pos: c.pos, line: c.line, sub: int(to.off), subL: to.line, left: times}
	if args != nil {
		f.locals, f.args = c.locals, args
		own := *args
		c.locals = &own
	}
	c.frames = append(c.frames, f)
	c.goSub(&f)
}

// goSub goes to the beginning of a subprogram, whose number may stand there
// once more.
func (c *control) goSub(f *frame) {
	c.pos, c.line = f.sub, f.subL
	c.begun = false
}

// giveBack ends one run of a subprogram.
func (c *control) giveBack() {
	f := &c.frames[len(c.frames)-1]
	for len(c.loops) > 0 && c.loops[len(c.loops)-1].depth >= len(c.frames) {
		c.loops = c.loops[:len(c.loops)-1]
	}
	if f.left--; f.left > 0 {
		if f.args != nil {
			*c.locals = *f.args
		}
		c.goSub(f)
		return
	}
	if f.args != nil {
		c.locals = f.locals
	}
	c.pos, c.line, c.begun = f.pos, f.line, true
	c.frames = c.frames[:len(c.frames)-1]
}

// giveBackTo is M99, with P for the block of the caller to go on with.
func (c *control) giveBackTo() {
	b := &c.b
	v, given := b.read(bP, 'P')
	b.used |= b.has & bL
	if len(c.frames) == 0 {
		if given {
			if n, ok := whole(v); ok {
				if m, found := c.index().label(n, b.start, true); !found || int(m.off) > b.start {
					b.jump, b.to = toLabel, n
					return
				}
			}
		}
		c.tell(wRestart, 0, Plain, theBlock, "M99 in the main program starts it over, or goes back in it, without end; it is read once")
		c.event(End, 0)
		c.done = true
		return
	}
	if given {
		c.frames[len(c.frames)-1].left = 1
	}
	c.giveBack()
	if given {
		n, ok := whole(v)
		to, found := c.index().label(n, max(0, c.pos-1), true)
		if !ok || !found {
			c.tell(wLabel, n, Broken, theBlock, "the block to return to does not stand in the calling program; it is read on behind the call")
			return
		}
		c.pos, c.line = int(to.off), to.line
	}
}

// argument is the parameter that each letter of a macro call sets, 0 for none.
var argument = func() (t [26]int8) {
	for i, l := range "ABCIJKDEFGH" {
		t[l-'A'] = int8(i + 1)
	}
	for l := 'M'; l <= 'Z'; l++ {
		t[l-'A'] = int8(l - 'A' + 1)
	}
	for _, l := range "GLMNOP" {
		t[l-'A'] = 0
	}
	return t
}()

// macro is G65: a subprogram with parameters of its own, followed when it
// stands in the same file and is called with one word for each letter.
func (c *control) macro() {
	b := &c.b
	b.used = b.has
	n, ok := whole(b.val['P'-'A'])
	if b.has&bP == 0 || !ok {
		c.missing("the macro is not called by a number (" + c.blockText() + ")")
		return
	}
	to, ok := c.index().program(n)
	if !ok {
		c.missing("the macro O" + strconv.FormatInt(n, 10) + " does not stand in this file")
		return
	}
	for k, bit := range centreBit {
		if b.has&bit != 0 && b.words[k] > 1 {
			c.missing("the macro is called with several sets of I, J and K, which are not followed")
			return
		}
	}
	args := newLocals()
	for l, k := range argument {
		if k > 0 && b.has&(1<<l) != 0 {
			args[k] = b.val[l]
		}
	}
	times := int64(1)
	if b.has&bL != 0 {
		if t, ok := whole(b.val['L'-'A']); ok && t >= 0 {
			times = t
		}
	}
	c.enter(to, times, args)
}

// trailing looks at what stands behind the place where the program ended.
func (c *control) trailing() {
	d := c.data
	p, line := c.pos, c.line
	for p < len(d) {
		q := opening(d, p)
		end := lineEnd(d, q)
		if q < end && d[q] != '%' && d[q] != ';' {
			c.b.start, c.b.line = p, line
			if d[q]|0x20 == 'o' || d[q] == ':' || c.marks != nil {
				c.uncalled(p)
				return
			}
			c.tell(wTrailing, 0, Plain, theBlock, "the text from here on stands behind the end of the program and is not run")
			return
		}
		p = nextLine(d, end)
		line++
	}
}

// uncalled tells of a further program that nothing called.
func (c *control) uncalled(from int) {
	for _, m := range c.index().programs {
		if int(m.off) >= from && !c.called[m.off] {
			c.b.start, c.b.line = int(m.off), m.line
			if _, restarts := c.known[noteKey{wRestart, 0}]; restarts {
				c.tell(wUncalled, 1, Broken, theBlock, "the first program of the file ends like a subprogram, with M99, and this one is not run; put the main program first if it is this one")
				return
			}
			c.tell(wUncalled, 0, Plain, theBlock, "a further program stands here that the first one never calls; it is not run")
			return
		}
	}
}
