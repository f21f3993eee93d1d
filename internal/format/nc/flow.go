package nc

import (
	"math"
	"strconv"
)

// jump is where a block goes on when its words are done.
type jump uint8

const (
	stay     jump = iota
	toLabel       // GOTO
	pastEnd       // WHILE whose condition is not met
	backToDo      // END
)

// loop is a WHILE or DO that has been entered.
type loop struct {
	n     int64
	pos   int // of its block
	line  int32
	depth int // of the subprogram it stands in
}

// maxLoops is how many loops may be open at once.
const maxLoops = 100

// keyword handles a run of letters: the words that steer a program, or text
// that is no word at all. ok is false where single letters may be meant.
func (c *control) keyword(p int) (next int, ok bool) {
	d := c.data
	end := p
	for end < len(d) && end < p+80 && d[end]|0x20-'a' < 26 {
		end++
	}
	switch {
	case c.spelt(p, "if"):
		return c.branch(p), true
	case c.spelt(p, "goto"):
		return c.goTo(p), true
	case c.spelt(p, "while"):
		return c.while(p), true
	case c.spelt(p, "do"):
		return c.do(p, p), true
	case c.spelt(p, "end"):
		n, q, ok := c.count(p + 3)
		if !ok {
			return c.text(p), true
		}
		c.good++
		c.b.jump, c.b.to = backToDo, n
		return q, true
	case end-p >= 3:
		return c.text(p), true
	}
	return p, false
}

// text names letters that are no words, and passes over the block.
func (c *control) text(p int) int {
	c.odd++
	c.b.strange = true
	end := p
	var key int64
	for end < len(c.data) && end < p+12 && c.data[end]|0x20-'a' < 26 {
		key = key<<5 | int64(c.data[end]|0x20-'a')
		end++
	}
	// The key is the word itself, whatever its numbers: one note for each.
	c.tell(wText, key, Unknown, theBlock, "is not made of words with a letter and a number; it is not understood, and the rest of the block is not read")
	return lineEnd(c.data, p)
}

// count reads the number of a label or loop.
func (c *control) count(p int) (n int64, q int, ok bool) {
	v, q, how := c.value(p)
	c.expects = 0
	if how == noNumber {
		return 0, q, false
	}
	n, ok = whole(v)
	return n, q, ok
}

// branch handles IF, from its I on.
func (c *control) branch(p int) int {
	v, q, ok := c.bracket(p + 2)
	c.expects = 0
	if !ok {
		return c.text(p)
	}
	c.begun = true
	c.good++
	q = c.blanks(q)
	met := c.met(v, p)
	switch {
	case c.spelt(q, "goto"):
		if !met {
			return lineEnd(c.data, q)
		}
		return c.goTo(q)
	case c.spelt(q, "then"):
		if !met {
			return lineEnd(c.data, q)
		}
		return q + 4
	}
	return c.text(p)
}

// met says whether a condition is met.
func (c *control) met(v float64, p int) bool {
	v = zeroed(v)
	if math.IsNaN(v) {
		c.tell(wCondition, int64(p), Broken, c.rest(p), "the condition hangs on a value that is not known; it is taken as not met, and the control may go the other way")
		return false
	}
	return v != 0
}

// goTo handles GOTO.
func (c *control) goTo(p int) int {
	n, q, ok := c.count(p + 4)
	if !ok {
		c.odd++
		c.tell(wLabel, -1, Broken, c.rest(p), "the block it jumps to is not known; the program is read on from the next block")
		return lineEnd(c.data, q)
	}
	c.good++
	c.b.jump, c.b.to = toLabel, n
	return q
}

// while handles WHILE with its condition.
func (c *control) while(p int) int {
	v, q, ok := c.bracket(p + 5)
	c.expects = 0
	if !ok {
		return c.text(p)
	}
	q = c.blanks(q)
	if !c.spelt(q, "do") {
		return c.text(p)
	}
	if c.met(v, p) {
		return c.do(q, p)
	}
	n, r, ok := c.count(q + 2)
	if !ok {
		return c.text(p)
	}
	c.good++
	c.b.jump, c.b.to = pastEnd, n
	return r
}

// do enters the loop whose DO stands at q.
func (c *control) do(q, p int) int {
	n, r, ok := c.count(q + 2)
	if !ok {
		return c.text(p)
	}
	c.good++
	c.dropLoop(n)
	if len(c.loops) == maxLoops {
		c.err = c.fault("more than "+strconv.Itoa(maxLoops)+" loops stand in each other", "check the program's loops")
		return r
	}
	c.loops = append(c.loops, loop{n, c.b.start, c.b.line, len(c.frames)})
	return r
}

// dropLoop forgets a loop that is open already, and those inside it; it was
// left by a jump.
func (c *control) dropLoop(n int64) {
	for i, l := range c.loops {
		if l.depth == len(c.frames) && l.n == n {
			c.loops = c.loops[:i]
			return
		}
	}
}

// leap makes the jump of the present block.
func (c *control) leap() {
	b := &c.b
	switch b.jump {
	case toLabel:
		m, ok := c.index().label(b.to, b.start, true)
		if !ok {
			c.tell(wLabel, b.to, Broken, theBlock, "no block N%d stands in this program; a control stops here with an alarm, and nothing after it is read", b.to)
			c.done = true
			return
		}
		c.pos, c.line = int(m.off), m.line
	case pastEnd:
		m, ok := c.index().end(b.to, b.start)
		if !ok {
			c.tell(wLoop, b.to, Broken, theBlock, "no END%d closes this loop; a control stops here with an alarm, and nothing after it is read", b.to)
			c.done = true
			return
		}
		c.dropLoop(b.to)
		c.pos = nextLine(c.data, lineEnd(c.data, int(m.off)))
		c.line = m.line + 1
	case backToDo:
		for i := len(c.loops) - 1; i >= 0; i-- {
			if l := c.loops[i]; l.n == b.to && l.depth == len(c.frames) {
				c.loops = c.loops[:i]
				c.pos, c.line = l.pos, l.line
				return
			}
		}
		c.tell(wLoop, b.to, Broken, theBlock, "END%d closes no loop that is open; the program is read on", b.to)
	}
}
