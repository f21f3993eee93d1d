package threemf

import (
	"bytes"
	"fmt"
	"strconv"
	"strings"
	"unicode/utf8"

	"fettle/internal/format/intake"
)

// token is what the scanner stopped at.
type token uint8

const (
	done token = iota // the end of the text, or an error
	open
	shut
)

// scanner walks over the tags of an XML text that is whole in memory. It knows
// as much of XML as model files use: no document type, so no entities of the
// file's own, and only UTF-8. Names and values are slices of the text.
type scanner struct {
	d     []byte
	i     int
	part  string   // the name of the text, for messages
	stack [][]byte // open elements
	intag bool     // attributes of the last opened element are still to come
	empty bool     // the last opened element closed itself
	name  []byte   // of the element opened or shut last
	err   error
}

// newScanner starts at the beginning of d.
func newScanner(part string, d []byte) *scanner {
	s := &scanner{part: part}
	if bytes.HasPrefix(d, []byte("\xfe\xff")) || bytes.HasPrefix(d, []byte("\xff\xfe")) || bytes.IndexByte(d[:min(len(d), 64)], 0) >= 0 {
		s.fail("its text is not in UTF-8")
	}
	s.d = bytes.TrimPrefix(d, []byte("\xef\xbb\xbf"))
	return s
}

// fail keeps the first error.
func (s *scanner) fail(what string, args ...any) {
	if s.err == nil {
		s.err = &intake.Fault{Format: format, What: fmt.Sprintf(what, args...),
			Where: s.part + ", byte " + strconv.Itoa(s.i), Try: "export it again"}
	}
}

// next goes to the next tag.
func (s *scanner) next() token {
	for s.intag {
		if s.err != nil {
			return done
		}
		s.attr()
	}
	if s.err != nil {
		return done
	}
	if s.empty {
		s.empty = false
		return s.pop(s.name)
	}
	for {
		k := bytes.IndexByte(s.d[s.i:], '<')
		if k < 0 {
			if len(s.stack) > 0 {
				s.fail("it ends inside the element %q", intake.Printable(s.stack[len(s.stack)-1]))
			}
			return done
		}
		s.i += k + 1
		rest := s.d[s.i:]
		switch {
		case len(rest) == 0:
			s.fail("it ends inside a tag")
			return done
		case rest[0] == '/':
			k := bytes.IndexByte(rest, '>')
			if k < 0 {
				s.fail("it ends inside a tag")
				return done
			}
			s.i += k + 1
			return s.pop(bytes.TrimRight(rest[1:k], " \t\r\n"))
		case rest[0] == '?':
			s.jump("?>")
		case bytes.HasPrefix(rest, []byte("!--")):
			s.i += 3
			s.jump("-->")
		case bytes.HasPrefix(rest, []byte("![CDATA[")):
			s.jump("]]>")
		case rest[0] == '!':
			s.fail("it declares a document type or entities, which a model never needs")
		default:
			return s.push()
		}
		if s.err != nil {
			return done
		}
	}
}

// jump goes behind the next mark.
func (s *scanner) jump(mark string) {
	k := bytes.Index(s.d[s.i:], []byte(mark))
	if k < 0 {
		s.fail("it ends before %q", mark)
		return
	}
	s.i += k + len(mark)
}

// nameEnd is where the name that starts at i ends.
func (s *scanner) nameEnd(i int) int {
	for i < len(s.d) && s.d[i] > ' ' && s.d[i] != '>' && s.d[i] != '/' && s.d[i] != '=' && s.d[i] != '<' {
		i++
	}
	return i
}

// push opens an element.
func (s *scanner) push() token {
	to := s.nameEnd(s.i)
	s.name = s.d[s.i:to]
	if len(s.name) == 0 {
		s.fail("a tag without a name")
		return done
	}
	if len(s.stack) >= intake.MaxDepth {
		s.fail("its elements are nested more than %d deep", intake.MaxDepth)
		return done
	}
	s.stack = append(s.stack, s.name)
	s.i, s.intag = to, true
	return open
}

// pop shuts an element.
func (s *scanner) pop(name []byte) token {
	n := len(s.stack)
	if n == 0 || !bytes.Equal(s.stack[n-1], name) {
		s.fail("the element %q ends where it is not open", intake.Printable(name))
		return done
	}
	s.name = s.stack[n-1]
	s.stack = s.stack[:n-1]
	return shut
}

// attr is the next attribute of the element that was just opened; ok is false
// behind the last.
func (s *scanner) attr() (name, value []byte, ok bool) {
	if !s.intag || s.err != nil {
		return nil, nil, false
	}
	d, i := s.d, s.i
	for i < len(d) && d[i] <= ' ' {
		i++
	}
	s.i = i
	if i >= len(d) {
		s.fail("it ends inside a tag")
		return nil, nil, false
	}
	switch d[i] {
	case '>':
		s.i, s.intag = i+1, false
		return nil, nil, false
	case '/':
		if i+1 >= len(d) || d[i+1] != '>' {
			s.fail("a stray / in a tag")
			return nil, nil, false
		}
		s.i, s.intag, s.empty = i+2, false, true
		return nil, nil, false
	}
	to := s.nameEnd(i)
	name = d[i:to]
	i = to
	for i < len(d) && d[i] <= ' ' {
		i++
	}
	if i < len(d) && d[i] == '=' && len(name) > 0 {
		for i++; i < len(d) && d[i] <= ' '; i++ {
		}
		if i < len(d) && (d[i] == '"' || d[i] == '\'') {
			q := d[i]
			i++
			for from := i; i < len(d); i++ {
				if d[i] == q {
					s.i = i + 1
					return name, d[from:i], true
				}
				if d[i] == '<' {
					break
				}
			}
		}
	}
	s.fail("an attribute that cannot be understood")
	return nil, nil, false
}

// leave goes to the end of the element that was just opened.
func (s *scanner) leave() {
	for depth := len(s.stack); ; {
		switch s.next() {
		case done:
			return
		case shut:
			if len(s.stack) < depth {
				return
			}
		}
	}
}

// local splits a name into its prefix and the rest.
func local(name []byte) (prefix, rest []byte) {
	if k := bytes.IndexByte(name, ':'); k >= 0 {
		return name[:k], name[k+1:]
	}
	return nil, name
}

// plain is a value with the entities that XML itself defines put in place.
func plain(v []byte) string {
	if bytes.IndexByte(v, '&') < 0 {
		return string(v)
	}
	var b strings.Builder
	for len(v) > 0 {
		k := bytes.IndexByte(v, ';')
		if v[0] != '&' || k < 0 || k > 10 {
			b.WriteByte(v[0])
			v = v[1:]
			continue
		}
		e := string(v[1:k])
		v = v[k+1:]
		switch e {
		case "lt":
			b.WriteByte('<')
		case "gt":
			b.WriteByte('>')
		case "amp":
			b.WriteByte('&')
		case "quot":
			b.WriteByte('"')
		case "apos":
			b.WriteByte('\'')
		default:
			b.WriteRune(character(e))
		}
	}
	return b.String()
}

// character is the one that #65 or #x41 names.
func character(e string) rune {
	if !strings.HasPrefix(e, "#") {
		return utf8.RuneError
	}
	base, e := 10, e[1:]
	if strings.HasPrefix(e, "x") {
		base, e = 16, e[1:]
	}
	n, err := strconv.ParseUint(e, base, 32)
	if err != nil || n > utf8.MaxRune {
		return utf8.RuneError
	}
	return rune(n)
}
