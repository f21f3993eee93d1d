package nc

import (
	"cmp"
	"fmt"
	"slices"

	"fettle/internal/format/intake"
)

// maxNotes is how many distinct notes are kept; a program that earns more is
// told so in one more.
const maxNotes = 400

// why is the reason of a note; together with the word it is about it makes the
// note distinct.
type why uint8

const (
	wUnknownG why = iota
	wUnknownM
	wUnusedWord
	wRotary
	wNoNumber
	wBadNumber
	wJoined
	wOddChar
	wText
	wExpression
	wComma
	wTwice
	wManyWords
	wConflict
	wSkip
	wComment
	wNested
	wBare
	wNoUnit
	wNoDistance
	wNoMotion
	wAfterCancel
	wMixed
	wDwell
	wNoFeed
	wPerTurn
	wInverse
	wArcCentre
	wArcMiss
	wArcRadius
	wArcStart
	wBothCentres
	wHome
	wMachine
	wShift
	wPreset
	wRegister
	wLength
	wLengthMissing
	wOffsetMissing
	wTool
	wNoChange
	wCycle
	wPeck
	wPeckMissing
	wRepeat
	wCall
	wMacro
	wReturn
	wRestart
	wNoEnd
	wTrailing
	wLeader
	wUncalled
	wParameter
	wParameterSet
	wParameterSame
	wCondition
	wLabel
	wLoop
	wMessage
	wMore
)

// noteKey is what makes a note distinct: the reason, and the letter, code or
// number it is about.
type noteKey struct {
	why why
	of  int64
}

// told counts one more of a note that stands already.
func (c *control) told(w why, of int64) bool {
	if i, ok := c.known[noteKey{w, of}]; ok {
		c.p.Notes[i].Count++
		return true
	}
	if len(c.p.Notes) >= maxNotes && w != wMore {
		if !c.told(wMore, 0) {
			c.tell(wMore, 0, Unknown, theBlock, "more kinds of words are not understood than can be listed; those from here on are not named one by one")
		}
		return true
	}
	return false
}

// tell adds a note about the present block, unless it stands already.
func (c *control) tell(w why, of int64, weight Weight, text, says string, args ...any) {
	if c.told(w, of) {
		return
	}
	if text == theBlock {
		text = c.blockText()
	}
	if len(args) > 0 {
		says = fmt.Sprintf(says, args...)
	}
	c.known[noteKey{w, of}] = len(c.p.Notes)
	c.p.Notes = append(c.p.Notes, Note{Line: int(c.b.line), Weight: weight, Text: text, Says: says, Count: 1})
}

// theBlock as the text of a note stands for the whole block. It is written out
// only when the note is new.
const theBlock = ""

// blockText is the present block as it stands, cut to what can be shown.
func (c *control) blockText() string { return c.rest(c.b.start) }

// rest is the present line from p on. Only so much of it is looked at as can
// be shown: a line may be a gigabyte long.
func (c *control) rest(p int) string {
	d := c.data[:min(len(c.data), p+shown)]
	return c.span(p, lineEnd(d, p))
}

// shown is how many bytes are enough for what can be shown.
const shown = 400

// wordText is a word of the present block as it stands.
func (c *control) wordText(letter byte) string {
	from := int(c.b.from[letter-'A'])
	return c.span(from, wordEnd(c.data, from))
}

// span is some text of the program, fit to be shown.
func (c *control) span(from, to int) string {
	s := c.data[from:to]
	s = s[:min(len(s), shown)]
	for len(s) > 0 && blank[s[len(s)-1]] {
		s = s[:len(s)-1]
	}
	for len(s) > 0 && blank[s[0]] {
		s = s[1:]
	}
	return intake.Printable(s)
}

// wordEnd is where the word that begins at p ends: before the next letter,
// comment or line end outside of brackets.
func wordEnd(d []byte, p int) int {
	depth := 0
	for q := p + 1; q < len(d) && q < p+200; q++ {
		switch ch := d[q]; {
		case ch == '\n' || ch == '\r' || ch == '(' || ch == ';':
			return q
		case ch == '[':
			depth++
		case ch == ']':
			depth--
			if depth <= 0 {
				return q + 1
			}
		case depth == 0 && ch|0x20-'a' < 26:
			return q
		}
	}
	return min(len(d), p+200)
}

// codeText writes a G or M word with a value in tenths.
func codeText(letter byte, tenths int32) string {
	if tenths%10 == 0 {
		return fmt.Sprintf("%c%d", letter, tenths/10)
	}
	return fmt.Sprintf("%c%d.%d", letter, tenths/10, tenths%10)
}

// sortNotes puts the worst first, then by line.
func sortNotes(notes []Note) {
	slices.SortStableFunc(notes, func(a, b Note) int {
		return cmp.Or(cmp.Compare(a.Weight, b.Weight), cmp.Compare(a.Line, b.Line))
	})
}

// unknownG names a G word that is not followed.
func (c *control) unknownG(code int32, axes bool) {
	if c.told(wUnknownG, int64(code)) {
		return
	}
	weight, says := Unknown, "is not understood; if it moves an axis or shifts the coordinates, what follows is not where it is said to be"
	if s, ok := saidG[code]; ok {
		weight, says = s.weight, s.says
	} else if axes {
		weight, says = Broken, "is not understood and has axis words with it: its move is missing, and where the tool stands after it is not known"
	}
	c.tell(wUnknownG, int64(code), weight, codeText('G', code), "%s", codeText('G', code)+" "+says)
}

// saidG says what follows from leaving out words whose meaning is known, but
// whose effect lies in the control's stores or in its own rules.
var saidG = map[int32]struct {
	weight Weight
	says   string
}{
	50:   {Unknown, "sets how closely the control follows the path; corners and short blocks may be smoothed by its own rule"},
	51:   {Unknown, "sets how closely the control follows the path; corners and short blocks may be smoothed by its own rule"},
	80:   {Unknown, "sets how closely the control follows the path; corners and short blocks may be smoothed by its own rule"},
	611:  {Unknown, "sets how closely the control follows the path; corners and short blocks may be smoothed by its own rule"},
	620:  {Unknown, "lets the control slow down in corners by its own rule; the time is not exact"},
	160:  {Broken, "gives points as radius and angle; they are not worked out, and the places it sets are not known"},
	220:  {Plain, "sets limits of travel; they are not checked here"},
	230:  {Plain, "lifts limits of travel"},
	290:  {Broken, "returns by way of a stored point; where the tool goes is not known"},
	310:  {Broken, "stops where a signal comes, such as a probe's; where the tool stands after it is not known"},
	382:  {Broken, "probes; where the tool stands after it is not known"},
	383:  {Broken, "probes; where the tool stands after it is not known"},
	410:  {Broken, "shifts the path to the left by a radius that is stored in the control and not in the program: the tool's centre is not where the words say"},
	420:  {Broken, "shifts the path to the right by a radius that is stored in the control and not in the program: the tool's centre is not where the words say"},
	434:  {Broken, "follows the tool's tip while the part turns; the moves are read as if the part stood still"},
	435:  {Broken, "follows the tool's tip while the part turns; the moves are read as if the part stood still"},
	510:  {Broken, "scales the coordinates; the moves are read as if it were not there"},
	511:  {Broken, "mirrors the coordinates; the moves are read as if it were not there"},
	660:  {Broken, "calls a macro after every move from here on; what the macro does is missing"},
	661:  {Broken, "calls a macro after every block from here on; what the macro does is missing"},
	680:  {Broken, "turns the coordinates; the moves are read as if it were not there"},
	682:  {Broken, "tilts the plane of work; the moves are read as if it were not there"},
	870:  {Broken, "bores from the back by steps that differ between controls; the hole is not written out"},
	960:  {Unknown, "ties the spindle speed to a diameter; the speed is read as turns a minute"},
	1870: {Unknown, "sets how closely the control follows the path; corners and short blocks may be smoothed by its own rule"},
}
