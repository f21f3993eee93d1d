package part21

import (
	"bytes"
	"iter"

	"fettle/internal/format/intake"
)

// form is how a parameter is written (clause 6.3 and the mapping of EXPRESS
// types).
type form uint8

const (
	unclear     form = iota // nothing that the standard knows
	omitted                 // $
	derived                 // *
	number                  // an integer or a real
	text                    // 'a string', raw is without its quotes
	enumeration             // .WORD., raw is without its points
	hexadecimal             // "hex digits", raw is without its quotes
	reference               // #12
	list                    // (a,b), raw is without its brackets
	typed                   // LENGTH_MEASURE(2.), raw is without its brackets
	resource                // <a URI>, raw is without its brackets (edition 3)
)

// value is one parameter.
type value struct {
	form form
	name []byte // the keyword of a typed one
	raw  []byte
}

// cursor walks over the parameters between two brackets. What it walks over has
// gone through [reader.body]: brackets match and quotes close.
type cursor struct {
	d []byte
	i int
}

// next is the next parameter; false after the last one.
func (c *cursor) next() (v value, ok bool) {
	c.i, _ = blank(c.d, c.i)
	if c.i >= len(c.d) {
		return value{}, false
	}
	if c.d[c.i] == ',' {
		// Between two commas there should be a dollar sign.
		c.i++
		return value{form: omitted}, true
	}
	v = c.value()
	// To the comma, over whatever else is there.
	for {
		c.i, _ = blank(c.d, c.i)
		if c.i >= len(c.d) {
			return v, true
		}
		if c.d[c.i] == ',' {
			c.i++
			return v, true
		}
		v.form = unclear
		c.i = after(c.d, c.i)
	}
}

// value reads the parameter at the present place, where there is one.
func (c *cursor) value() value {
	from := c.i
	b := c.d[from]
	c.i = after(c.d, from)
	all := c.d[from:c.i]
	inner := func(n int) []byte { return all[min(n, len(all)):max(n, len(all)-1)] }
	switch {
	case b == '$':
		return value{form: omitted}
	case b == '*':
		return value{form: derived}
	case b == '\'':
		return value{form: text, raw: inner(1)}
	case b == '"':
		return value{form: hexadecimal, raw: inner(1)}
	case b == '(':
		return value{form: list, raw: inner(1)}
	case b == '<':
		return value{form: resource, raw: inner(1)}
	case b == '.' && len(all) > 2 && all[len(all)-1] == '.':
		return value{form: enumeration, raw: inner(1)}
	case b == '#' && len(all) > 1:
		return value{form: reference, raw: all[1:]}
	case b >= '0' && b <= '9' || b == '-' || b == '+' || b == '.' && len(all) > 1 && all[1]-'0' < 10:
		return value{form: number, raw: all}
	case inKeyword(b):
		at, _ := blank(c.d, c.i)
		if at < len(c.d) && c.d[at] == '(' {
			c.i = after(c.d, at)
			return value{form: typed, name: all, raw: c.d[at+1 : max(at+1, c.i-1)]}
		}
	}
	return value{}
}

// after is the place after the token or the whole list at i.
func after(d []byte, i int) int {
	switch b := d[i]; b {
	case '\'':
		for {
			j := bytes.IndexByte(d[i+1:], '\'')
			if j < 0 {
				return len(d)
			}
			i += j + 2
			if i >= len(d) || d[i] != '\'' {
				return i
			}
		}
	case '"', '<':
		if b == '<' {
			b = '>'
		}
		j := bytes.IndexByte(d[i+1:], b)
		if j < 0 {
			return len(d)
		}
		return i + j + 2
	case '(':
		depth := 0
		for i < len(d) {
			switch plain[d[i]] {
			case quote:
				i = after(d, i)
				continue
			case slash:
				j, _ := blank(d, i)
				i = max(j, i+1)
				continue
			case opens:
				depth++
			case shuts:
				if depth--; depth == 0 {
					return i + 1
				}
			}
			i++
		}
		return i
	}
	// A word, a number, a reference.
	for i++; i < len(d); i++ {
		if b := d[i]; !inKeyword(b) && b != '.' && b != '+' && b != '-' {
			break
		}
	}
	return i
}

// each walks over parameters.
func each(raw []byte) iter.Seq[value] {
	return func(yield func(value) bool) {
		for c := (cursor{d: raw}); ; {
			v, ok := c.next()
			if !ok || !yield(v) {
				return
			}
		}
	}
}

// leaf is the value inside typed ones; EXPRESS nests few of them.
func (v value) leaf() value {
	for range intake.MaxDepth {
		if v.form != typed {
			break
		}
		c := cursor{d: v.raw}
		v, _ = c.next()
	}
	return v
}

// float is a number, bare or typed.
func (v value) float() (float64, bool) {
	if v = v.leaf(); v.form != number {
		return 0, false
	}
	return intake.ParseFloat(v.raw)
}

// str is a string, bare or typed, as text; empty for anything else.
func (v value) str() string {
	if v = v.leaf(); v.form != text {
		return ""
	}
	return tidy(decode(v.raw))
}
