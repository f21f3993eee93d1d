package ply

import (
	"bytes"
	"fmt"

	"fettle/internal/format/intake"
)

// format is how this format is called where the form is not known yet.
const format = "PLY"

// scalar is a type of number in the file.
type scalar uint8

const (
	none scalar = iota
	i8
	u8
	i16
	u16
	i32
	u32
	f32
	f64
)

// scalars are the types by both families of names.
var scalars = map[string]scalar{
	"char": i8, "uchar": u8, "short": i16, "ushort": u16, "int": i32, "uint": u32, "float": f32, "double": f64,
	"int8": i8, "uint8": u8, "int16": i16, "uint16": u16, "int32": i32, "uint32": u32, "float32": f32, "float64": f64,
}

// size is the width of a number in bytes.
func (s scalar) size() int { return [...]int{0, 1, 1, 2, 2, 4, 4, 4, 8}[s] }

// property is one value, or a list of them, of an element.
type property struct {
	name  string
	typ   scalar
	count scalar // of a list's length; none for a single value
}

// element is a kind of record and how many there are.
type element struct {
	name  string
	n     int64
	props []property
}

// fixed is the size of a record in the binary form, and of one with empty
// lists; all is whether it has no lists.
func (e *element) fixed() (size int, all bool) {
	all = true
	for _, p := range e.props {
		if p.count != none {
			size += p.count.size()
			all = false
		} else {
			size += p.typ.size()
		}
	}
	return size, all
}

// form is how the body is written.
type form uint8

const (
	ascii form = iota + 1
	little
	big
)

// head is what stands before the body.
type head struct {
	form     form
	elements []*element
	body     []byte
	line     int // of the body's start
	notes    []string
}

// maxProps bounds what a head may declare.
const maxProps = 1000

// readHead reads up to end_header.
func readHead(data []byte) (*head, error) {
	t := intake.NewText(data)
	fail := func(what string, args ...any) error {
		return &intake.Fault{Format: format, What: fmt.Sprintf(what, args...), Where: t.Where(), Try: "export it again"}
	}
	if string(t.Word()) != "ply" {
		return nil, fail("it does not start with the word ply")
	}
	// The line end that the head uses tells where the body begins: after a lone
	// CR, a byte that looks like LF belongs to the body.
	loneCR := bytes.HasPrefix(data, []byte("ply\r")) && !bytes.HasPrefix(data, []byte("ply\r\n"))
	h := &head{}
	props := 0
	for t.NextLine() {
		switch w := t.Word(); string(w) {
		case "", "comment", "obj_info":
		case "format":
			switch w := t.Word(); string(w) {
			case "ascii":
				h.form = ascii
			case "binary_little_endian":
				h.form = little
			case "binary_big_endian":
				h.form = big
			default:
				return nil, fail("the form %q is not known", intake.Printable(w))
			}
		case "element":
			name := string(t.Word())
			n, ok := intake.ParseInt(t.Word())
			if !ok || n < 0 {
				return nil, fail("the number of %q is not a number", intake.Printable([]byte(name)))
			}
			h.elements = append(h.elements, &element{name: name, n: n})
		case "property":
			if props++; len(h.elements) == 0 || props > maxProps {
				return nil, fail("a property without an element, or too many of them")
			}
			p, ok := readProperty(t)
			if !ok {
				return nil, fail("a property that cannot be understood")
			}
			e := h.elements[len(h.elements)-1]
			e.props = append(e.props, p)
		case "end_header":
			t.Rest()
			h.line = t.Line + 1
			at := t.Pos
			if at < len(data) && data[at] == '\r' {
				at++
				if !loneCR && at < len(data) && data[at] == '\n' {
					at++
				}
			} else if at < len(data) {
				at++
			}
			h.body = data[at:]
			if h.form == 0 {
				return nil, fail("the head does not say in which form the body is")
			}
			return h, nil
		default:
			// Some programs forget the word comment. What follows decides whether
			// the body can be read, so the line is passed over, out loud.
			if props++; props > maxProps {
				return nil, fail("%q is not known in the head", intake.Printable(w))
			}
			h.notes = append(h.notes, fmt.Sprintf("line %d of the head begins with %q, which is not a word of the format; it was taken as a comment", t.Line, intake.Printable(w)))
		}
		if len(h.elements) > maxProps {
			return nil, fail("there are too many kinds of elements")
		}
	}
	return nil, fail("the file ends inside its head")
}

// readProperty reads what follows the word property.
func readProperty(t *intake.Text) (p property, ok bool) {
	w := string(t.Word())
	if w == "list" {
		if p.count = scalars[string(t.Word())]; p.count == none || p.count == f32 || p.count == f64 {
			return p, false
		}
		w = string(t.Word())
	}
	p.typ = scalars[w]
	p.name = string(t.Word())
	return p, p.typ != none && p.name != ""
}
