package part21

import (
	"strings"
	"unicode/utf16"
	"unicode/utf8"
)

const (
	// maxText is how many bytes of a string are read, and maxName how many
	// characters of a name are kept.
	maxText = 4096
	maxName = 255
)

// decode reads what stands between the quotes of a string (clause 6.3.3). Besides
// the control directives it takes what programs really write: UTF-8, or bytes of
// the western code page where it is not that, and backslashes that begin no
// directive. Line breaks are no part of a string.
func decode(raw []byte) string {
	if len(raw) > maxText {
		raw = raw[:maxText]
		for n := 0; n < 3 && len(raw) > 0 && raw[len(raw)-1] >= 0x80; n++ {
			raw = raw[:len(raw)-1] // may be the first half of a character
		}
	}
	isUTF8 := utf8.Valid(raw)
	var b strings.Builder
	page := byte('A')
	for i := 0; i < len(raw); {
		switch c := raw[i]; {
		case c == '\'':
			b.WriteByte(c)
			if i++; i < len(raw) && raw[i] == '\'' {
				i++
			}
		case c == '\\':
			i += directive(&b, raw[i:], &page)
		case c == '\n' || c == '\r':
			i++
		case c < 0x80 || isUTF8:
			b.WriteByte(c)
			i++
		case c < 0xA0:
			b.WriteRune(western[c-0x80])
			i++
		default:
			b.WriteRune(rune(c))
			i++
		}
	}
	return b.String()
}

// directive writes what the control directive at the beginning of s stands for
// and gives its length; page is the part of ISO 8859 that holds.
func directive(b *strings.Builder, s []byte, page *byte) int {
	at := func(i int) byte {
		if i < len(s) {
			return s[i]
		}
		return 0
	}
	switch {
	case at(1) == '\\':
		b.WriteByte('\\')
		return 2
	case (at(1) == 'N' || at(1) == 'F') && at(2) == '\\':
		return 3 // for printing only
	case at(1) == 'S' && at(2) == '\\' && at(3) >= ' ' && at(3) < 0x7f:
		c, n := at(3), 4
		if c == '\'' && at(4) == '\'' {
			n = 5
		}
		if *page == 'A' {
			b.WriteRune(rune(c) + 0x80)
		} else {
			b.WriteRune(pages[*page-'B'][c-' '])
		}
		return n
	case at(1) == 'P' && at(2) >= 'A' && at(2) <= 'I' && at(3) == '\\':
		*page = at(2)
		return 4
	case at(1) == 'X' && at(2) == '\\':
		if r, ok := hex(s, 3, 2); ok {
			b.WriteRune(r)
			return 5
		}
	case at(1) == 'X' && (at(2) == '2' || at(2) == '4') && at(3) == '\\':
		return wide(b, s, int(at(2)-'0')*2)
	}
	b.WriteByte('\\')
	return 1
}

// wide reads characters of n hexadecimal digits each, after \X2\ or \X4\, up to
// \X0\ or to whatever else is no such digit.
func wide(b *strings.Builder, s []byte, n int) int {
	i := 4
	for {
		r, ok := hex(s, i, n)
		if !ok {
			break
		}
		i += n
		if utf16.IsSurrogate(r) {
			// The standard means UCS-2; programs write pairs.
			if low, ok := hex(s, i, n); ok && utf16.DecodeRune(r, low) != utf8.RuneError {
				r = utf16.DecodeRune(r, low)
				i += n
			}
		}
		b.WriteRune(r) // what is no character becomes U+FFFD
	}
	if i+4 <= len(s) && string(s[i:i+4]) == `\X0\` {
		i += 4
	}
	return i
}

// hex reads n hexadecimal digits at i.
func hex(s []byte, i, n int) (r rune, ok bool) {
	if i+n > len(s) {
		return 0, false
	}
	v := uint32(0)
	for _, c := range s[i : i+n] {
		switch {
		case c >= '0' && c <= '9':
			v = v<<4 | uint32(c-'0')
		case c|0x20 >= 'a' && c|0x20 <= 'f':
			v = v<<4 | uint32(c|0x20-'a'+10)
		default:
			return 0, false
		}
	}
	if v > utf8.MaxRune {
		return utf8.RuneError, true
	}
	return rune(v), true
}

// tidy is a text as a name that can be shown: without blanks around it, control
// characters and characters that could not be read, and not endless.
func tidy(s string) string {
	n := 0
	s = strings.Map(func(r rune) rune {
		if r < ' ' || r >= 0x7f && r < 0xa0 || r == utf8.RuneError {
			return -1
		}
		if n++; n > maxName {
			return -1
		}
		return r
	}, strings.TrimSpace(s))
	return strings.TrimSpace(s)
}
