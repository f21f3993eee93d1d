package part21

import (
	"bytes"
	"fmt"
	"strings"

	"fettle/internal/format/intake"
)

// instance is where an instance's record begins: at its keyword, or at the
// bracket of a complex one, which has several types at once.
type instance struct {
	id      uint64
	at      uint32
	kind    kind
	complex bool
}

// span is a piece of the file.
type span struct{ from, to uint32 }

// reader walks once over the bytes.
type reader struct {
	data []byte
	pos  int
	// inst are all instances in the order of the file.
	inst []instance
	// head are the records of the header section, from the keyword on.
	head []uint32
	// uris are the resources of the reference section, without their brackets.
	uris []span
	// sections counts the data sections.
	sections int
	// open is the place after the beginning of a comment that has no end.
	open int
}

// maxDigits is how long the number of an instance may be.
const maxDigits = 18

// What a byte means to the walk over a record; what is 0 it steps over.
const (
	quote = 1 + iota
	opens
	shuts
	ends
	slash
	letter
	hash
)

// plain is what counts in a simple record, mixed in a complex one, where the
// names count too, and linked where references are looked for.
var plain, mixed, linked = func() (p, m, l [256]byte) {
	p['\''], p['('], p[')'], p[';'], p['/'] = quote, opens, shuts, ends, slash
	m = p
	for c := 'A'; c <= 'Z'; c++ {
		m[c], m[c|0x20] = letter, letter
	}
	m['_'], m['!'] = letter, letter
	l['\''], l[';'], l['/'], l['#'] = quote, ends, slash, hash
	return p, m, l
}()

// fault is one at a place in the file.
func (r *reader) fault(at int, what string, args ...any) error {
	return &intake.Fault{Format: format, What: fmt.Sprintf(what, args...), Where: where(r.data, at), Try: again}
}

// cut is the fault of a file that ends too early; inside says in what, and at
// where that began.
func (r *reader) cut(at int, inside string, args ...any) error {
	if r.open > 0 {
		return r.fault(r.open, "the file ends inside a comment")
	}
	return r.fault(at, "the file ends inside "+inside, args...)
}

// blank is the place after blanks, comments and print control directives, from
// i on. Every control character is a blank.
func blank(d []byte, i int) (at, open int) {
	for i < len(d) {
		switch c := d[i]; {
		case c <= ' ':
			i++
		case c == '/' && i+1 < len(d) && d[i+1] == '*':
			j := bytes.Index(d[i+2:], []byte("*/"))
			if j < 0 {
				return len(d), i + 2
			}
			i += j + 4
		case c == '\\' && i+2 < len(d) && (d[i+1] == 'N' || d[i+1] == 'F') && d[i+2] == '\\':
			i += 3
		default:
			return i, 0
		}
	}
	return i, 0
}

// skip steps over what separates tokens.
func (r *reader) skip() {
	if r.pos < len(r.data) && r.data[r.pos] > '/' && r.data[r.pos] != '\\' {
		return
	}
	at, open := blank(r.data, r.pos)
	r.pos = at
	if open > 0 {
		r.open = open
	}
}

// peek is the byte at the present place, 0 at the end.
func (r *reader) peek() byte {
	if r.pos < len(r.data) {
		return r.data[r.pos]
	}
	return 0
}

// inKeyword reports whether a byte can stand in a keyword. Lower case is taken
// too, as some files have it.
func inKeyword(c byte) bool { return words[c] }

var words = func() (t [256]bool) {
	for c := range t {
		t[c] = c|0x20 >= 'a' && c|0x20 <= 'z' || c >= '0' && c <= '9' || c == '_' || c == '!'
	}
	return t
}()

// keyword is the place after the keyword at i.
func keyword(d []byte, i int) int {
	for i < len(d) && inKeyword(d[i]) {
		i++
	}
	return i
}

// begin steps over the first line; false where it is another one.
func (r *reader) begin() bool {
	if bytes.HasPrefix(r.data, []byte("\xEF\xBB\xBF")) {
		r.pos = 3
	}
	r.skip()
	if !bytes.HasPrefix(r.data[r.pos:], []byte(magic)) {
		return false
	}
	r.pos += len(magic)
	return !inKeyword(r.peek())
}

// body walks from i, after the keyword or at the bracket of a complex record, to
// the semicolon that ends the record, and finds the kind of a complex one. bad
// says what is wrong; the file ends too early where it is empty and end is -1.
func (r *reader) body(i int, table *[256]byte) (k kind, end int, bad string) {
	d := r.data
	depth, closed := 0, false
	for i < len(d) {
		switch table[d[i]] {
		case 0:
			for i++; i < len(d) && table[d[i]] == 0; i++ {
			}
		case quote:
			j := bytes.IndexByte(d[i+1:], '\'')
			if j < 0 {
				return k, -1, ""
			}
			i += j + 2
		case opens:
			if closed && depth == 0 {
				return k, -1, "does not end with a semicolon"
			}
			if depth++; depth > intake.MaxDepth {
				return k, -1, fmt.Sprintf("has more than %d brackets inside each other", intake.MaxDepth)
			}
			i++
		case shuts:
			if depth--; depth < 0 {
				return k, -1, "closes a bracket that is not open"
			}
			closed = true
			i++
		case ends:
			if depth > 0 || !closed {
				return k, -1, "leaves a bracket open, or a quote"
			}
			return k, i, ""
		case slash:
			j, open := blank(d, i)
			if open > 0 {
				r.open = open
				return k, -1, ""
			}
			i = max(j, i+1)
		case letter:
			j := keyword(d, i)
			if depth == 1 {
				k = max(k, kindOf(d[i:j]))
			}
			i = max(j, i+1)
		}
	}
	return k, -1, ""
}

// read walks over the whole file.
func (r *reader) read() error {
	if !r.begin() {
		return &intake.Fault{Format: format, What: "it does not begin with " + magic, Try: "export it as STEP, AP203, AP214 or AP242"}
	}
	r.skip()
	if r.peek() == ';' {
		r.pos++
	}
	seen := false
	for {
		r.skip()
		at := r.pos
		word := r.word()
		if r.pos >= len(r.data) {
			// Some programs leave the last line out; what counts is there.
			if r.sections > 0 && r.open == 0 && strings.HasPrefix("END-"+magic, string(word)) {
				return nil
			}
			if r.open == 0 {
				return r.fault(at, "the file ends before its data")
			}
			return r.cut(at, "")
		}
		if string(word) != "HEADER" && !seen {
			return r.fault(at, "there is no header section")
		}
		seen = true
		var err error
		switch string(word) {
		case "HEADER":
			err = r.header(at)
		case "DATA":
			err = r.dataSection(at)
		case "ANCHOR", "REFERENCE", "SIGNATURE":
			err = r.otherSection(at, string(word) == "REFERENCE")
		case "END-" + magic:
			return nil
		default:
			return r.fault(at, "there is text that belongs to no section")
		}
		if err != nil {
			return err
		}
	}
}

// word reads a word at the top of the file, in which minus signs may stand.
func (r *reader) word() []byte {
	from := r.pos
	for r.pos < len(r.data) && (inKeyword(r.data[r.pos]) || r.data[r.pos] == '-') {
		r.pos++
	}
	return r.data[from:r.pos]
}

// semicolon steps over one, with what stands before it.
func (r *reader) semicolon() bool {
	r.skip()
	if r.peek() != ';' {
		return false
	}
	r.pos++
	return true
}

// endsec is the end of each section.
var endsec = []byte("ENDSEC")

// header reads the header section (clause 8).
func (r *reader) header(at int) error {
	if !r.semicolon() {
		return r.fault(at, "the header section does not begin with HEADER;")
	}
	for {
		r.skip()
		from := r.pos
		r.pos = keyword(r.data, from)
		switch {
		case r.pos >= len(r.data):
			return r.cut(from, "its header")
		case bytes.Equal(r.data[from:r.pos], endsec):
			r.semicolon()
			return nil
		case r.pos == from:
			return r.fault(from, "there is text in the header that is no record")
		}
		_, end, bad := r.body(r.pos, &plain)
		if end < 0 {
			if bad == "" {
				return r.cut(from, "its header")
			}
			return r.fault(from, "a record of the header %s", bad)
		}
		r.head = append(r.head, uint32(from))
		r.pos = end + 1
	}
}

// otherSection skips an anchor, reference or signature section (edition 3) and
// notes the resources of a reference section.
func (r *reader) otherSection(at int, references bool) error {
	d := r.data
	for {
		r.skip()
		switch {
		case r.pos >= len(d):
			return r.cut(at, "a section before its data")
		case d[r.pos] == '\'':
			j := bytes.IndexByte(d[r.pos+1:], '\'')
			if j < 0 {
				return r.cut(at, "a section before its data")
			}
			r.pos += j + 2
		case d[r.pos] == '<':
			j := bytes.IndexByte(d[r.pos:], '>')
			if j < 0 {
				return r.cut(at, "a section before its data")
			}
			if references {
				r.uris = append(r.uris, span{uint32(r.pos + 1), uint32(r.pos + j)})
			}
			r.pos += j + 1
		case inKeyword(d[r.pos]):
			word := r.word()
			if bytes.Equal(word, endsec) {
				r.semicolon()
				return nil
			}
		default:
			r.pos++
		}
	}
}
