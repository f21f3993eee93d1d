package nc

import (
	"bytes"
	"cmp"
	"slices"
)

// index knows where programs, numbered blocks and ends of loops stand. It is
// made when the first jump or call needs it: most programs have none.
type index struct {
	programs []mark // in the order of the text
	calls    []mark // the same by number, then in the order of the text
	labels   []mark // by number, then in the order of the text
	ends     []mark // likewise
	data     int    // length of the text
}

// mark is a place in the text.
type mark struct {
	n    int32
	line int32
	off  uint32 // of the block
}

// mark8 is the byte-order mark of a text in UTF-8.
const mark8 = "\xef\xbb\xbf"

// maxMarks bounds the blocks that are remembered for jumps.
const maxMarks = 40_000_000

// index returns the index, making it at the first call.
func (c *control) index() *index {
	if c.marks == nil {
		c.marks = newIndex(c.data)
	}
	return c.marks
}

func newIndex(d []byte) *index {
	x := &index{data: len(d)}
	line := int32(0)
	p := 0
	if bytes.HasPrefix(d, []byte(mark8)) {
		p = len(mark8)
	}
	for p < len(d) {
		line++
		start := p
		q := opening(d, p)
		if q < len(d) {
			switch d[q] {
			case 'O', 'o', ':':
				if n, _, ok := natural(d, q+1); ok {
					x.programs = append(x.programs, mark{n, line, uint32(start)})
				}
			case 'N', 'n':
				n, r, ok := natural(d, q+1)
				if ok && len(x.labels) < maxMarks {
					x.labels = append(x.labels, mark{n, line, uint32(start)})
				}
				q = r
			}
			for q < len(d) && blank[d[q]] {
				q++
			}
			if q+3 < len(d) && d[q]|0x20 == 'e' && d[q+1]|0x20 == 'n' && d[q+2]|0x20 == 'd' {
				if n, _, ok := natural(d, q+3); ok && len(x.ends) < maxMarks {
					x.ends = append(x.ends, mark{n, line, uint32(start)})
				}
			}
		}
		p = nextLine(d, lineEnd(d, q))
	}
	x.calls = slices.Clone(x.programs)
	for _, s := range [][]mark{x.calls, x.labels, x.ends} {
		slices.SortFunc(s, func(a, b mark) int { return cmp.Or(cmp.Compare(a.n, b.n), cmp.Compare(a.off, b.off)) })
	}
	return x
}

// opening is where the first word of a block may stand: behind blanks, a skip
// mark and comments.
func opening(d []byte, p int) int {
	for p < len(d) {
		switch ch := d[p]; {
		case blank[ch]:
			p++
		case ch == '/':
			if p++; p < len(d) && d[p]-'1' < 9 {
				p++
			}
		case ch == '(':
			for depth := 0; p < len(d) && d[p] != '\n' && d[p] != '\r'; p++ {
				if d[p] == '(' {
					depth++
				} else if d[p] == ')' {
					if depth--; depth == 0 {
						p++
						break
					}
				}
			}
		default:
			return p
		}
	}
	return p
}

// natural reads the number of a program or block.
func natural(d []byte, p int) (n int32, q int, ok bool) {
	for p < len(d) && blank[d[p]] {
		p++
	}
	q = p
	for q < len(d) && q < p+9 && d[q]-'0' < 10 {
		n = n*10 + int32(d[q]-'0')
		q++
	}
	return n, q, q > p
}

// program is the first program of a number.
func (x *index) program(n int64) (mark, bool) { return find(x.calls, n, 0, x.data) }

// within is the stretch of the text that the program around an offset fills.
func (x *index) within(off int) (from, to int) {
	i, _ := slices.BinarySearchFunc(x.programs, off, func(m mark, off int) int {
		return cmp.Compare(int(m.off), off+1)
	})
	to = x.data
	if i < len(x.programs) {
		to = int(x.programs[i].off)
	}
	if i > 0 {
		from = int(x.programs[i-1].off)
	}
	return from, to
}

// label finds a numbered block as a control does: onwards from an offset to
// the end of the program, then from its beginning. With local false the whole
// text is searched when the program has none.
func (x *index) label(n int64, off int, local bool) (mark, bool) {
	from, to := x.within(off)
	if m, ok := find(x.labels, n, off+1, to); ok {
		return m, true
	}
	if m, ok := find(x.labels, n, from, to); ok || local {
		return m, ok
	}
	return find(x.labels, n, 0, x.data)
}

// end finds the end of a loop behind an offset, in the same program.
func (x *index) end(n int64, off int) (mark, bool) {
	_, to := x.within(off)
	return find(x.ends, n, off+1, to)
}

// find is the first mark of a number from one offset up to another.
func find(s []mark, n int64, from, to int) (mark, bool) {
	i, _ := slices.BinarySearchFunc(s, from, func(m mark, from int) int {
		return cmp.Or(cmp.Compare(int64(m.n), n), cmp.Compare(int(m.off), from))
	})
	if i < len(s) && int64(s[i].n) == n && int(s[i].off) < to {
		return s[i], true
	}
	return mark{}, false
}
