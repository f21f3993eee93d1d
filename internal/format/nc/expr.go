package nc

import (
	"math"
	"slices"
	"strconv"
)

// null is the value of an empty parameter: a word that has it is as if it were
// not there, and in arithmetic it counts as zero. No arithmetic yields it: what
// goes past all bounds becomes NaN, a value that is not known.
var null = math.Inf(1)

// maxExpression is how deep brackets may stand in brackets.
const maxExpression = 32

func (c *control) badExpression(p int) {
	c.odd++
	c.tell(wExpression, 0, Broken, c.rest(p), "the expression cannot be worked out; its value is not known, and the rest of the block is not read")
}

// zeroed is a value as arithmetic takes it.
func zeroed(v float64) float64 {
	if v == null {
		return 0
	}
	return v
}

// result is a value as arithmetic gives it.
func result(v float64) float64 {
	if math.IsInf(v, 0) {
		return math.NaN()
	}
	return v
}

// expression works out comparisons, sums and products from p on; ok is false
// where the text does not hold one.
func (c *control) expression(p int) (v float64, q int, ok bool) {
	if v, q, ok = c.sum(p); !ok {
		return
	}
	for {
		op, r := c.operator(q, "eq", "ne", "gt", "lt", "ge", "le")
		if op < 0 {
			return v, q, true
		}
		w, s, good := c.sum(r)
		if !good {
			return 0, s, false
		}
		v, q = compare(op, v, w), s
	}
}

// compare is 1 or 0, or NaN where a value is not known. Only EQ and NE tell an
// empty parameter from zero. Controls hold eight or nine figures, so values
// that agree to nine count as equal; steps of 0.1 add up to 1.
func compare(op int, a, b float64) float64 {
	if a == null || b == null {
		switch op {
		case 0:
			return truth(a == b)
		case 1:
			return truth(a != b)
		}
	}
	a, b = zeroed(a), zeroed(b)
	if a != a || b != b {
		return math.NaN()
	}
	same := math.Abs(a-b) <= 1e-9*max(1, math.Abs(a), math.Abs(b))
	return truth([6]bool{same, !same, a > b && !same, a < b && !same, a > b || same, a < b || same}[op])
}

func truth(b bool) float64 {
	if b {
		return 1
	}
	return 0
}

func (c *control) sum(p int) (v float64, q int, ok bool) {
	if v, q, ok = c.product(p); !ok {
		return
	}
	for {
		op, r := c.operator(q, "+", "-", "or", "xor")
		if op < 0 {
			return v, q, true
		}
		w, s, good := c.product(r)
		if !good {
			return 0, s, false
		}
		v, w, q = zeroed(v), zeroed(w), s
		switch op {
		case 0:
			v = result(v + w)
		case 1:
			v = result(v - w)
		default:
			v = bits(op, v, w)
		}
	}
}

// bits joins two integers bit by bit; conditions, which are 1 and 0, with them.
func bits(op int, v, w float64) float64 {
	a, okA := whole(v)
	b, okB := whole(w)
	if !okA || !okB {
		return math.NaN()
	}
	switch op {
	case 2:
		return float64(a | b)
	case 3:
		return float64(a ^ b)
	}
	return float64(a & b)
}

func (c *control) product(p int) (v float64, q int, ok bool) {
	if v, q, ok = c.power(p); !ok {
		return
	}
	for {
		op, r := c.operator(q, "*", "/", "mod", "and")
		if op < 0 {
			return v, q, true
		}
		w, s, good := c.power(r)
		if !good {
			return 0, s, false
		}
		v, w, q = zeroed(v), zeroed(w), s
		switch op {
		case 0:
			v = result(v * w)
		case 1:
			v = result(v / w)
		case 2:
			v = math.Mod(v, w)
		default:
			v = bits(-1, v, w)
		}
	}
}

func (c *control) power(p int) (v float64, q int, ok bool) {
	if v, q, ok = c.primary(p); !ok {
		return
	}
	for {
		op, r := c.operator(q, "**")
		if op < 0 {
			return v, q, true
		}
		w, s, good := c.primary(r)
		if !good {
			return 0, s, false
		}
		v, q = result(math.Pow(zeroed(v), zeroed(w))), s
	}
}

// operator is which of some operators stands at p, and where what follows it
// begins; -1 for none.
func (c *control) operator(p int, list ...string) (int, int) {
	p = c.blanks(p)
	for i, op := range list {
		if c.spelt(p, op) {
			return i, p + len(op)
		}
	}
	return -1, p
}

// spelt reports whether a lower-case word or sign stands at p, in any case.
func (c *control) spelt(p int, want string) bool {
	d := c.data
	if p+len(want) > len(d) {
		return false
	}
	for i := range len(want) {
		ch := d[p+i]
		if ch >= 'A' && ch <= 'Z' {
			ch |= 0x20
		}
		if ch != want[i] {
			return false
		}
	}
	return true
}

// primary is a number, a parameter, a function, or an expression in brackets.
func (c *control) primary(p int) (v float64, q int, ok bool) {
	d := c.data
	p = c.blanks(p)
	if c.expects >= maxExpression || p == len(d) {
		return 0, p, false
	}
	c.expects++
	defer func() { c.expects-- }()
	switch ch := d[p]; {
	case ch == '+' || ch == '-':
		v, q, ok = c.primary(p + 1)
		if ch == '-' {
			v = -zeroed(v)
		}
		return v, q, ok
	case ch == '[':
		return c.bracket(p)
	case ch == '#':
		return c.parameter(p)
	case ch-'0' < 10 || ch == '.':
		v, q, how := number(d, p)
		return v, q, how != noNumber
	}
	return c.function(p)
}

// bracket is an expression in square brackets.
func (c *control) bracket(p int) (v float64, q int, ok bool) {
	if p = c.blanks(p); p == len(c.data) || c.data[p] != '[' {
		return 0, p, false
	}
	if v, q, ok = c.expression(p + 1); !ok {
		return
	}
	if q = c.blanks(q); q == len(c.data) || c.data[q] != ']' {
		return 0, q, false
	}
	return v, q + 1, true
}

const degree = math.Pi / 180

// functions are those that controls share. Angles are in degrees.
var functions = []struct {
	name string
	of   func(float64) float64
}{
	{"asin", func(v float64) float64 { return math.Asin(v) / degree }},
	{"acos", func(v float64) float64 { return math.Acos(v) / degree }},
	{"atan", func(v float64) float64 { return math.Atan(v) / degree }},
	{"sin", func(v float64) float64 { return math.Sin(v * degree) }},
	{"cos", func(v float64) float64 { return math.Cos(v * degree) }},
	{"tan", func(v float64) float64 { return math.Tan(v * degree) }},
	{"sqrt", math.Sqrt},
	{"abs", math.Abs},
	{"round", math.Round},
	{"fix", func(v float64) float64 { return math.Trunc(v + math.Copysign(1e-9, v)) }},
	{"fup", func(v float64) float64 { return math.Copysign(math.Ceil(math.Abs(v)-1e-9), v) }},
	{"exp", math.Exp},
	{"ln", math.Log},
}

func (c *control) function(p int) (v float64, q int, ok bool) {
	for _, f := range functions {
		if !c.spelt(p, f.name) {
			continue
		}
		if v, q, ok = c.bracket(p + len(f.name)); !ok {
			return
		}
		v = zeroed(v)
		if f.name == "atan" {
			if op, r := c.operator(q, "/"); op == 0 && c.spelt(c.blanks(r), "[") {
				w, s, good := c.bracket(r)
				if !good {
					return 0, s, false
				}
				return result(math.Atan2(v, zeroed(w)) / degree), s, true
			}
		}
		return result(f.of(v)), q, true
	}
	return 0, p, false
}

// place reads what stands behind # up to the number of a parameter, or its
// name.
func (c *control) place(p int) (n int64, name string, q int, ok bool) {
	d := c.data
	q = c.blanks(p + 1)
	if q < len(d) && d[q] == '<' {
		for r := q + 1; r < len(d) && r < q+80 && d[r] > ' '; r++ {
			if d[r] == '>' {
				return 0, lower(d[q+1 : r]), r + 1, true
			}
		}
		return 0, "", q, false
	}
	if q == len(d) || d[q]|0x20-'a' < 26 || d[q] == '-' || d[q] == '+' {
		return 0, "", q, false
	}
	v, q, ok := c.primary(q)
	if !ok {
		return 0, "", q, false
	}
	n, isWhole := whole(zeroed(v))
	if !isWhole || n < 0 || n > maxParameter {
		n = maxParameter + 1 // one that has no value
	}
	return n, "", q, true
}

// maxParameter is the highest number a parameter may have.
const maxParameter = 99_999

func lower(s []byte) string {
	t := make([]byte, len(s))
	for i, ch := range s {
		if ch >= 'A' && ch <= 'Z' {
			ch |= 0x20
		}
		t[i] = ch
	}
	return string(t)
}

// parameter is the value of a parameter.
func (c *control) parameter(p int) (float64, int, bool) {
	n, name, q, ok := c.place(p)
	if !ok {
		return 0, q, false
	}
	if name != "" {
		v, set := c.names[name]
		if !set {
			c.tell(wParameter, -1, Broken, c.span(p, q), "the program reads a value by name that it never set; it is not known")
			return math.NaN(), q, true
		}
		return v, q, true
	}
	if slices.Contains(c.fresh, n) {
		c.tell(wParameterSame, n, Unknown, theBlock, "#%d is set and read in one block; it is read as just set, while some controls set parameters when the whole block has been read", n)
	}
	switch {
	case n == 0:
		return null, q, true
	case n < int64(len(c.locals)):
		return c.locals[n], q, true
	}
	if v, set := c.params[n]; set {
		return v, q, true
	}
	text := "#" + strconv.FormatInt(n, 10)
	switch {
	case n > maxParameter:
		c.tell(wParameter, n, Broken, c.span(p, q), "there is no parameter of this number; its value is not known")
	case n >= 1000:
		c.tell(wParameter, n, Broken, text, "%s is a value of the control itself, which the program does not hold; what depends on it is not known", text)
	case n >= 500:
		c.tell(wParameter, n, Broken, text, "%s keeps what was last stored in it, also with the power off; the program does not set it, and what depends on it is not known", text)
	default:
		c.tell(wParameter, n, Broken, text, "%s is read before the program sets it; it is taken as empty, as after power on, but an earlier program may have left a value in it", text)
		return null, q, true
	}
	return math.NaN(), q, true
}

// assign reads a parameter that is set, from its # on.
func (c *control) assign(p int) int {
	n, name, q, ok := c.place(p)
	c.begun = true
	if ok {
		if q = c.blanks(q); q == len(c.data) || c.data[q] != '=' {
			ok = false
		}
	}
	var v float64
	if ok {
		v, q, ok = c.expression(q + 1)
	}
	c.expects = 0
	if !ok {
		c.badExpression(p)
		return lineEnd(c.data, q)
	}
	switch {
	case name != "":
		if c.names == nil {
			c.names = map[string]float64{}
		}
		c.names[name] = v
		return q
	case n > 0 && n < int64(len(c.locals)):
		c.locals[n] = v
		c.setNow(n)
		return q
	case n == 0 || n > maxParameter:
		c.tell(wParameterSet, n, Broken, c.span(p, q), "there is no such parameter to set; the block does nothing here, and stops a control")
		return q
	}
	if c.params == nil {
		c.params = map[int64]float64{}
	}
	c.params[n] = v
	c.setNow(n)
	text := "#" + strconv.FormatInt(n, 10)
	switch {
	case n == 3000:
		c.tell(wMessage, n, Broken, theBlock, "the program stops itself with an alarm here; nothing after it is run")
		c.done = true
	case n == 3006:
		c.event(Stop, 0)
	case n >= 1000:
		c.tell(wParameterSet, n, Unknown, c.span(p, q), "%s is a value of the control itself; setting it may move an offset, which is not followed", text)
	}
	return q
}

// setNow remembers what the present block has set; a few are enough to tell.
func (c *control) setNow(n int64) {
	if len(c.fresh) < 8 {
		c.fresh = append(c.fresh, n)
	}
}

// newLocals are the parameters of one call, all empty; the first is #0.
func newLocals() *[34]float64 {
	l := new([34]float64)
	for i := range l {
		l[i] = null
	}
	return l
}
