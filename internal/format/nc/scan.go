package nc

import (
	"math"

	"fettle/internal/format/intake"
)

// scan reads the next block that holds anything into c.b, and steps behind it.
// It is false at the end of the text.
func (c *control) scan() bool {
	b := &c.b
	b.has, b.bare, b.used, b.gn, b.mn = 0, 0, 0, 0, 0
	b.jump, b.over, b.strange, b.murky = stay, false, false, false
	d, p := c.data, c.pos
	b.start, b.line = p, c.line
	c.fresh = c.fresh[:0]
	empty := true
	for p < len(d) {
		ch := d[p]
		if l := ch | 0x20 - 'a'; l < 26 {
			// The plain word first: a letter, its number at once, and then something
			// that cannot belong to that number.
			v, q, how := number(d, p+1)
			if how == noNumber || q < len(d) && !closes[d[q]] && !(d[q] == ' ' && q+1 < len(d) && closes[d[q+1]]) {
				p = c.slowWord(p, empty)
				empty = false
				if b.over {
					c.pos = b.start
					return true
				}
				continue
			}
			if l == 'n'-'a' {
				empty = false
				p = q
				continue
			}
			if l == 'o'-'a' {
				if p = c.number(p, q, v); b.over {
					c.pos = b.start
					return true
				}
				empty = false
				continue
			}
			empty = false
			c.put(l, p, v, how)
			p = q
			continue
		}
		switch {
		case blank[ch]:
			p++
		case ch == '\n' || ch == '\r':
			p++
			if ch == '\r' && p < len(d) && d[p] == '\n' {
				p++
			}
			c.line++
			if !empty {
				c.pos = p
				return true
			}
			b.start, b.line = p, c.line
		default:
			if ch == '%' && empty {
				b.over = true
				c.pos = b.start
				return true
			}
			if ch == ':' && empty {
				if v, q, how := number(d, p+1); how != noNumber {
					if p = c.number(p, q, v); b.over {
						c.pos = b.start
						return true
					}
					empty = false
					continue
				}
			}
			q, something := c.sign(p, empty)
			p = q
			empty = empty && !something
		}
	}
	c.pos = p
	return !empty
}

// put keeps a word of the block.
func (c *control) put(l byte, p int, v float64, how have) {
	b := &c.b
	switch l {
	case 'g' - 'a', 'm' - 'a':
		c.code(l, p, v)
		return
	}
	bit := uint32(1) << l
	if b.has&bit != 0 {
		if bit&bCentre != 0 {
			b.words[l-('i'-'a')]++
		}
		c.tell(wTwice, int64(l), Unknown, theBlock, "a letter stands twice in one block; the last one counts, and a control may stop with an alarm")
	} else if bit&bCentre != 0 {
		b.words[l-('i'-'a')] = 1
	}
	b.has |= bit
	if how == bareNumber && v != 0 {
		b.bare |= bit
	} else {
		b.bare &^= bit
	}
	b.val[l] = v
	b.from[l] = uint32(p)
	if bit&bAxes != 0 {
		c.good++
	}
}

// code keeps a G or M word.
func (c *control) code(l byte, p int, v float64) {
	b := &c.b
	letter := l + 'A'
	tenths := math.Round(v * 10)
	if !(tenths >= 0 && tenths < 1e8) || math.Abs(v*10-tenths) > 1e-6 || letter == 'M' && math.Mod(tenths, 10) != 0 {
		c.odd++
		b.strange = true
		c.tell(wBadNumber, int64(letter), Broken, c.span(p, wordEnd(c.data, p)), "%c is not followed by the number of a function; the word is left out", letter)
		return
	}
	c.good++
	switch {
	case letter == 'G' && b.gn < maxWords:
		b.g[b.gn] = int32(tenths)
		b.gn++
	case letter == 'M' && b.mn < maxWords:
		b.m[b.mn] = int32(tenths / 10)
		b.mn++
	default:
		b.strange = true
		c.tell(wManyWords, 0, Broken, theBlock, "one block holds more than %d words of one letter; those past it are left out", maxWords)
	}
}

// number handles the number of a program, which names this one or begins the
// next.
func (c *control) number(p, q int, v float64) int {
	if c.begun {
		c.b.over = true
		return p
	}
	c.begun = true
	if c.p.Number == "" && len(c.frames) == 0 {
		s := p + 1
		for s < q && c.data[s]-'0' >= 10 {
			s++
		}
		c.p.Number = "O" + intake.Printable(c.data[s:q])
	}
	return q
}

// sign handles a byte that begins no word: a comment, the skip mark, a
// parameter, or one that does not belong. something says that the block is not
// empty for it.
func (c *control) sign(p int, empty bool) (next int, something bool) {
	d := c.data
	switch ch := d[p]; ch {
	case '(':
		return c.comment(p), false
	case ';':
		end := lineEnd(d, p)
		c.title(p+1, end)
		return end, false
	case '/':
		return c.skip(p), true
	case '#':
		return c.assign(p), true
	case ',':
		if q := p + 1; q < len(d) && d[q]|0x20-'a' < 26 {
			_, end, how := number(d, q+1)
			if how != noNumber {
				c.odd++
				c.tell(wComma, int64(d[q]|0x20), Broken, c.span(p, end), "rounds or breaks the corner between two moves; the corner is read as sharp")
				return end, true
			}
		}
	}
	c.odd++
	q := p + 1
	for q < len(d) && d[q] >= 0x80 && d[q] < 0xc0 { // the rest of a letter in UTF-8
		q++
	}
	// One odd byte after another is one oddity: a long line of them costs no more
	// than its length.
	for q < len(d) && d[q] == d[p] {
		q++
	}
	c.tell(wOddChar, int64(d[p]), Unknown, theBlock, "a sign that does not belong in a program is left out; a control may stop here, or read the block otherwise")
	return q, true
}

// comment steps over a comment in brackets, which ends at the line's end at
// the latest.
func (c *control) comment(p int) int {
	d := c.data
	depth := 0
	for q := p; q < len(d); q++ {
		switch d[q] {
		case '(':
			depth++
			if depth == 2 {
				c.tell(wNested, 0, Plain, theBlock, "a comment stands inside a comment; it is read to the last bracket, while some controls end it at the first")
			}
		case ')':
			if depth--; depth == 0 {
				c.title(p+1, q)
				return q + 1
			}
		case '\n', '\r':
			c.openComment(p, q)
			return q
		}
	}
	c.openComment(p, len(d))
	return len(d)
}

func (c *control) openComment(p, q int) {
	c.title(p+1, q)
	c.tell(wComment, 0, Plain, theBlock, "a comment is not closed; it is read to the end of its line, while some controls read on to the next bracket")
}

// title keeps the first comment.
func (c *control) title(p, q int) {
	if c.p.Title == "" {
		c.p.Title = c.span(p, q)
	}
}

// skip handles the block skip mark.
func (c *control) skip(p int) int {
	p++
	if c.opt.Skip {
		c.tell(wSkip, 0, Plain, theBlock, "begins with the skip mark, and the block skip switch is on: it is left out")
		return lineEnd(c.data, p)
	}
	c.tell(wSkip, 0, Plain, theBlock, "begins with the skip mark, and the block skip switch is off: it is run")
	if p < len(c.data) && c.data[p]-'1' < 9 {
		p++ // the number of the switch
	}
	return p
}
