package intake

import (
	"strconv"

	"fettle/internal/shape/mesh"
)

// maxCoordinate is the largest coordinate that readers take.
const maxCoordinate = mesh.MaxCoordinate

// Text walks over a text file word by word or line by line. Lines may end with
// LF, CR or both.
type Text struct {
	Data []byte
	Pos  int
	Line int // of Pos, from 1
	// Joined lets a backslash at the end of a line join it to the next.
	Joined bool
	// Comment starts a comment that runs to the end of the line; 0 for none.
	Comment byte
}

// NewText starts at the beginning of data.
func NewText(data []byte) *Text { return &Text{Data: data, Line: 1} }

// Where is the present line as a person says it.
func (t *Text) Where() string { return "line " + strconv.Itoa(t.Line) }

// newline steps over one line end at Pos, if there is one.
func (t *Text) newline() bool {
	if t.Pos >= len(t.Data) {
		return false
	}
	switch t.Data[t.Pos] {
	case '\n':
		t.Pos++
	case '\r':
		t.Pos++
		if t.Pos < len(t.Data) && t.Data[t.Pos] == '\n' {
			t.Pos++
		}
	default:
		return false
	}
	t.Line++
	return true
}

// Word is the next word on the same line, nil at its end.
func (t *Text) Word() []byte {
	d := t.Data
	for t.Pos < len(d) {
		c := d[t.Pos]
		switch {
		case c == '\n' || c == '\r':
			return nil
		case c <= ' ':
			t.Pos++
		case c == '\\' && t.Joined && t.Pos+1 < len(d) && (d[t.Pos+1] == '\n' || d[t.Pos+1] == '\r'):
			t.Pos++
			t.newline()
		case c == t.Comment && c != 0:
			t.skip()
			return nil
		default:
			from := t.Pos
			for t.Pos < len(d) && d[t.Pos] > ' ' && (d[t.Pos] != t.Comment || t.Comment == 0) {
				if t.Joined && d[t.Pos] == '\\' && t.Pos+1 < len(d) && (d[t.Pos+1] == '\n' || d[t.Pos+1] == '\r') {
					break
				}
				t.Pos++
			}
			return d[from:t.Pos]
		}
	}
	return nil
}

// Next is the next word on this line or a later one, nil at the end of the
// file.
func (t *Text) Next() []byte {
	for {
		if w := t.Word(); w != nil {
			return w
		}
		if !t.newline() {
			return nil
		}
	}
}

// skip goes to the end of the line, before its line end.
func (t *Text) skip() {
	for t.Pos < len(t.Data) && t.Data[t.Pos] != '\n' && t.Data[t.Pos] != '\r' {
		t.Pos++
	}
}

// NextLine goes to the start of the next line; false at the end of the file. A
// joined line counts as one.
func (t *Text) NextLine() bool {
	if t.Joined {
		for t.Word() != nil {
		}
	}
	t.skip()
	return t.newline()
}

// Rest is what is left of the line, without blanks around it.
func (t *Text) Rest() []byte {
	from := t.Pos
	t.skip()
	s := t.Data[from:t.Pos]
	for len(s) > 0 && s[0] <= ' ' {
		s = s[1:]
	}
	for len(s) > 0 && s[len(s)-1] <= ' ' {
		s = s[:len(s)-1]
	}
	return s
}

// lower is the lower case of an ASCII letter.
func lower(c byte) byte {
	if c >= 'A' && c <= 'Z' {
		c += 'a' - 'A'
	}
	return c
}

// Is reports whether a word is the given lower-case word in any case.
func Is(word []byte, want string) bool {
	if len(word) != len(want) {
		return false
	}
	for i, c := range word {
		if lower(c) != want[i] {
			return false
		}
	}
	return true
}

// Printable cuts a name from a file down to what can be shown: no control
// characters, valid UTF-8, at most 80 characters.
func Printable(s []byte) string {
	out := make([]rune, 0, 80)
	for _, r := range string(s) {
		if len(out) == 80 {
			break
		}
		if r >= ' ' && r != 0x7f && r != '\uFFFD' {
			out = append(out, r)
		}
	}
	return string(out)
}
