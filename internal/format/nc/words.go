package nc

import (
	"math"

	"fettle/internal/format/intake"
)

// have says what number follows a letter.
type have uint8

const (
	noNumber    have = iota
	bareNumber       // without a decimal point
	pointNumber      // with one, or worked out
)

// tens are the powers of ten that a float64 holds exactly.
var tens = [19]float64{1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18}

// number reads a number with sign and decimal point, but no exponent: E is a
// letter of its own. It is rounded once and so correctly: an exact integer
// over an exact power of ten.
func number(d []byte, p int) (v float64, q int, how have) {
	from := p
	neg := false
	if p < len(d) && (d[p] == '-' || d[p] == '+') {
		neg = d[p] == '-'
		p++
	}
	var mant uint64
	first := p
	for p < len(d) && d[p]-'0' < 10 {
		mant = mant*10 + uint64(d[p]-'0')
		p++
	}
	digits := p - first
	places := 0
	how = bareNumber
	if p < len(d) && d[p] == '.' {
		p++
		first = p
		for p < len(d) && d[p]-'0' < 10 {
			mant = mant*10 + uint64(d[p]-'0')
			p++
		}
		places = p - first
		digits += places
		how = pointNumber
	}
	if digits == 0 {
		return 0, from, noNumber
	}
	if digits > 18 || mant >= 1<<53 {
		v, _ = intake.ParseFloat(d[from:p])
		return v, p, how
	}
	v = float64(mant)
	if places > 0 {
		v /= tens[places]
	}
	if neg {
		v = -v
	}
	return v, p, how
}

// slowWord reads a word that is not a letter with its number at once: blanks
// between, parameters, key words, or mistakes.
func (c *control) slowWord(p int, empty bool) int {
	d := c.data
	l := d[p] | 0x20 - 'a'
	q := p + 1
	if q < len(d) && d[q]|0x20-'a' < 26 {
		if next, ok := c.keyword(p); ok {
			return next
		}
	}
	v, q, how := c.value(q)
	if c.expects = 0; how == noNumber {
		c.odd++
		if q < len(d) && d[q] == '<' && l == 'o'-'a' {
			return c.namedProgram(p, empty)
		}
		c.b.from[l] = uint32(p)
		c.tell(wNoNumber, int64(l), Broken, c.span(p, q), "%c is not followed by a number; its value is not known", l+'A')
		v, how = math.NaN(), pointNumber
		if l == 'g'-'a' || l == 'm'-'a' || l == 'o'-'a' || l == 'n'-'a' {
			c.b.strange = true
			return q
		}
	}
	// What cannot belong to a number must not follow one.
	if q < len(d) && (d[q] == '.' || d[q]-'0' < 10 || d[q] == ',' && q+1 < len(d) && d[q+1]-'0' < 10) {
		says := "more stands in the number than a number can hold; its value is not known"
		if d[q] == ',' {
			says = "a comma stands where the decimal point should; the value is not known"
		}
		for q < len(d) && (d[q] == '.' || d[q] == ',' || d[q]-'0' < 10) {
			q++
		}
		c.odd++
		c.tell(wBadNumber, int64(l), Broken, c.span(p, q), "%s", says)
		v, how = math.NaN(), pointNumber
	}
	switch {
	case math.IsInf(v, 0): // an empty parameter: the word is as if it were not there
	case l == 'n'-'a':
	case l == 'o'-'a':
		return c.number(p, q, v)
	default:
		c.put(l, p, v, how)
	}
	return q
}

// namedProgram handles O<name>.
func (c *control) namedProgram(p int, empty bool) int {
	end := lineEnd(c.data, p)
	if !c.begun && empty {
		q := p
		for q < end && c.data[q] != '>' {
			q++
		}
		if q < end {
			rest := c.blanks(q + 1)
			if rest == end || c.data[rest] == '(' || c.data[rest] == ';' {
				c.begun = true
				c.odd--
				if c.p.Number == "" {
					c.p.Number = c.span(p, q+1)
				}
				return rest
			}
		}
	}
	c.b.strange = true
	c.tell(wMacro, 'o', Broken, theBlock, "subprograms and loops by name are not followed; what they do is missing")
	return end
}

// blanks is the first byte at or after p that is no blank.
func (c *control) blanks(p int) int {
	for p < len(c.data) && blank[c.data[p]] {
		p++
	}
	return p
}

// value reads the value of a word: a number, perhaps with blanks in it, or a
// parameter or expression with a sign. An empty parameter comes back as null.
// Where there is none, q is where it should stand.
func (c *control) value(p int) (v float64, q int, how have) {
	d := c.data
	p = c.blanks(p)
	q = p
	neg := false
	if q < len(d) && (d[q] == '-' || d[q] == '+') {
		neg = d[q] == '-'
		q = c.blanks(q + 1)
	}
	if q < len(d) && (d[q] == '#' || d[q] == '[') {
		v, q, ok := c.primary(q)
		if !ok {
			c.badExpression(p)
			return math.NaN(), lineEnd(d, q), pointNumber
		}
		if neg && v != null {
			v = -v
		}
		return v, q, pointNumber
	}
	// A control passes over blanks, so digits that blanks part are one number.
	var buf [48]byte
	n, joined := 0, false
	how = bareNumber
	for ; q < len(d) && n < len(buf); q++ {
		if blank[d[q]] {
			r := c.blanks(q)
			if n == 0 || r == len(d) || d[r]-'0' >= 10 && (d[r] != '.' || how == pointNumber) {
				break
			}
			joined = true
			q = r
		}
		if d[q] == '.' && how == bareNumber {
			how = pointNumber
		} else if d[q]-'0' >= 10 {
			break
		}
		buf[n] = d[q]
		n++
	}
	if n == 1 && buf[0] == '.' {
		n = 0
	}
	if n == 0 {
		return 0, q, noNumber
	}
	if joined {
		c.tell(wJoined, 0, Plain, c.span(p-1, q), "blanks stand inside a number; they are passed over, as the standard has it, and the digits make one number")
	}
	v, _ = intake.ParseFloat(buf[:n])
	if neg {
		v = -v
	}
	return v, q, how
}
