package nc

import (
	"bytes"
	"context"
	"math"
	"strconv"

	"fettle/internal/format/intake"
)

// Limits of what is followed. A program that goes past one is refused with a
// sentence rather than cut short in silence.
const (
	MaxMoves  = 20_000_000 // written out
	MaxBlocks = 20_000_000 // run again in loops and repeats, beyond those of the text
	MaxDepth  = 16         // subprograms that call subprograms
)

// Options are the switches of the control.
type Options struct {
	Skip      bool // the block skip switch is on: blocks that begin with / are left out
	MaxMoves  int  // 0 for the constant of that name
	MaxBlocks int  // 0 for the constant of that name
}

// Read follows a program from its first block to its end with all switches
// off. Coordinates come out in mm whatever the program's unit. The error is an
// [intake.Fault] for a file that is no program, or one that does not come to
// an end within the limits; all else that is wrong stands in the notes.
func Read(data []byte) (*Program, error) { return ReadWith(context.Background(), data, Options{}) }

// ReadWith is [Read] with switches, and a context that can stop it.
func ReadWith(ctx context.Context, data []byte, o Options) (*Program, error) {
	if o.MaxMoves <= 0 {
		o.MaxMoves = MaxMoves
	}
	if o.MaxBlocks <= 0 {
		o.MaxBlocks = MaxBlocks
	}
	if err := refuse(data); err != nil {
		return nil, err
	}
	c := &control{
		ctx: ctx, data: data, opt: o, line: 1,
		p:     &Program{},
		known: map[noteKey]int{}, modes: map[Mode]int32{},
		unit: 1, motion: -1, dirty: true, toInitial: true,
		budget: o.MaxBlocks + len(data)/2,
	}
	for i := range 3 {
		c.at[i], c.machine[i] = math.NaN(), math.NaN()
	}
	c.locals = newLocals()
	c.leader()
	if err := c.run(); err != nil {
		return nil, err
	}
	c.finish()
	if c.good == 0 || c.odd > c.good {
		return nil, c.noProgram()
	}
	sortNotes(c.p.Notes)
	return c.p, nil
}

// fault is a refusal at the present block.
func (c *control) fault(what, try string) error {
	return &intake.Fault{Format: format, What: what, Where: "line " + strconv.Itoa(int(c.b.line)), Try: try}
}

const format = "NC program"

// refuse turns away what cannot be a program by its bytes alone.
func refuse(data []byte) error {
	switch {
	case len(data) > intake.MaxBytes:
		return &intake.Fault{Format: format, What: "the file is larger than 1 GiB", Try: "split the program"}
	case len(bytes.TrimLeft(data, " \t\r\n\x00")) == 0:
		return &intake.Fault{Format: format, What: "the file is empty", Try: "save the program again"}
	case bytes.HasPrefix(data, []byte("\xff\xfe")) || bytes.HasPrefix(data, []byte("\xfe\xff")):
		return &intake.Fault{Format: format, What: "the text is stored as UTF-16", Try: "save it as plain text (ASCII or UTF-8)"}
	}
	head := data[:min(len(data), 1<<16)]
	control := 0
	for _, ch := range head {
		// Blanks, line ends, the end mark of old text files, tape leader and the
		// start and stop marks of serial lines are no sign of a binary file.
		if ch < ' ' && !blank[ch] && ch != '\n' && ch != '\r' {
			control++
		}
	}
	if control*50 > len(head) {
		return &intake.Fault{Format: format, What: "the file is binary, not the text of a program", Try: "choose the program that is sent to the control"}
	}
	return nil
}

// noProgram refuses a text without words.
func (c *control) noProgram() error {
	return &intake.Fault{Format: format, What: "the text holds no program in word address format (such as G1 X10. Y5. F200)",
		Try: "choose the program that is sent to the control"}
}

// leader steps over a byte-order mark and over what stands before the first
// tape mark. A tape mark that follows blocks of a program is not its start but
// its end.
func (c *control) leader() {
	d := c.data
	if bytes.HasPrefix(d, []byte(mark8)) {
		c.pos = len(mark8)
	}
	text, textLine := -1, int32(0)
	for p, line := c.pos, int32(1); p < len(d); line++ {
		q := p
		for q < len(d) && blank[d[q]] {
			q++
		}
		end := lineEnd(d, q)
		switch {
		case q < len(d) && d[q] == '%':
			c.p.tapeName(d[q+1 : end])
			c.pos, c.line = end, line
			if text >= 0 {
				c.b.start, c.b.line = text, textLine
				c.tell(wLeader, 0, Plain, theBlock, "the text before the first tape mark is not part of the program and is not read")
			}
			return
		case q == end || d[q] == '(' || d[q] == ';':
		case begins(d, q):
			return
		case text < 0:
			text, textLine = q, line
		}
		p = nextLine(d, end)
	}
}

// tapeName takes the name that may stand behind the tape mark.
func (p *Program) tapeName(s []byte) {
	s = bytes.TrimFunc(s, func(r rune) bool { return r <= ' ' })
	if len(s) > 1 && (s[0]|0x20 == 'o' || s[0] == ':') && s[1]-'0' < 10 {
		n := 1
		for n < len(s) && s[n]-'0' < 10 {
			n++
		}
		p.Number = "O" + intake.Printable(s[1:n])
	}
}

// begins reports whether a block of a program begins at p: a letter with a
// number, a skip mark or a parameter.
func begins(d []byte, p int) bool {
	switch ch := d[p]; {
	case ch == '/' || ch == '#' || ch == ':':
		return true
	case ch|0x20-'a' >= 26:
		return false
	}
	for p++; p < len(d) && blank[d[p]]; p++ {
	}
	if p == len(d) {
		return false
	}
	ch := d[p]
	return ch-'0' < 10 || ch == '+' || ch == '-' || ch == '.' || ch == '#' || ch == '['
}

// run follows blocks until the program ends.
func (c *control) run() error {
	for !c.done {
		c.steps++
		if c.steps > c.budget {
			return c.fault("the program does not come to an end: "+strconv.Itoa(c.steps)+" blocks were run",
				"look for a loop or a repeat that never stops")
		}
		if c.steps&4095 == 0 {
			if err := c.ctx.Err(); err != nil {
				return err
			}
		}
		if !c.scan() || c.b.over {
			c.fallOff()
			continue
		}
		if c.odd > 1000 && c.odd > c.good {
			return c.noProgram()
		}
		c.last = spot{c.b.start, c.b.line}
		c.exec()
		if c.err != nil {
			return c.err
		}
	}
	return c.err
}

// fallOff is what happens where the text of the program or subprogram ends
// without a word that says so.
func (c *control) fallOff() {
	if c.last.line > 0 {
		c.b.start, c.b.line = c.last.start, c.last.line
	}
	if len(c.frames) > 0 {
		c.tell(wReturn, 0, Plain, theBlock, "the subprogram ends without M99; it is taken to return here")
		c.giveBack()
		return
	}
	c.tell(wNoEnd, 0, Plain, theBlock, "the program ends without M2 or M30; a control may stop with an alarm, or start it again")
	c.done = true
}

// finish counts the lines and looks at what stands after the end.
func (c *control) finish() {
	c.p.Lines = countLines(c.data)
	c.p.Inch = c.firstInch
	c.p.Mixed = c.sawInch && c.sawMM
	if c.nextTool != 0 && c.p.changes() == 0 {
		c.b.start, c.b.line = c.toolAt.start, c.toolAt.line
		c.tell(wNoChange, 0, Plain, "T"+strconv.Itoa(c.nextTool), "a tool is chosen, but no M6 ever puts it into the spindle; the moves are read without a tool number")
	}
	c.trailing()
}

// changes counts the tool changes.
func (p *Program) changes() (n int) {
	for _, e := range p.Order {
		if e.What == ToolChange {
			n++
		}
	}
	return n
}

// countLines counts lines that end with LF, CR or both; the last one counts
// when it holds anything.
func countLines(d []byte) int {
	n := bytes.Count(d, []byte{'\n'})
	if cr := bytes.Count(d, []byte{'\r'}); cr > 0 {
		n += cr - bytes.Count(d, []byte("\r\n"))
	}
	if len(d) > 0 && d[len(d)-1] != '\n' && d[len(d)-1] != '\r' {
		n++
	}
	return n
}

// LineText is a line of the program's text, from 1, fit to be shown: without
// control characters and cut to 80 characters. It is empty past the end.
func LineText(data []byte, line int) string {
	p := 0
	for n := 1; p < len(data); n++ {
		end := lineEnd(data, p)
		if n == line {
			s := data[p:end]
			if len(s) > 400 {
				s = s[:400]
			}
			return intake.Printable(bytes.TrimSpace(s))
		}
		p = nextLine(data, end)
	}
	return ""
}

// lineEnd is the first line end at or after p, or the end of the text.
func lineEnd(d []byte, p int) int {
	for p < len(d) && d[p] != '\n' && d[p] != '\r' {
		p++
	}
	return p
}

// nextLine steps over the line end at p.
func nextLine(d []byte, p int) int {
	if p < len(d) && d[p] == '\r' {
		p++
		if p < len(d) && d[p] == '\n' {
			p++
		}
		return p
	}
	return min(p+1, len(d))
}
