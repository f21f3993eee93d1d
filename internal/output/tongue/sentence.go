package tongue

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// Stop gives a clause its full stop, unless it has an end of its own.
func (t *Tongue) Stop(s string) string {
	s = strings.TrimSpace(s)
	bare := strings.TrimRight(s, markEnd)
	if bare == "" {
		return s
	}
	if last, _ := utf8.DecodeLastRuneInString(bare); strings.ContainsRune(".!?:…。！？：।", last) {
		return s
	}
	return t.Say("%s.", s)
}

// Start gives a text its capital. A name of the shelf or the survey, such as slot-1,
// keeps its spelling.
func (t *Tongue) Start(s string) string {
	bare := strings.TrimLeft(s, markBegin+markEnd)
	first, _, _ := strings.Cut(bare, " ")
	if bare == "" || strings.ContainsAny(first, "0123456789") {
		return s
	}
	r, n := utf8.DecodeRuneInString(bare)
	up := unicode.ToUpper(r)
	if base := strings.SplitN(t.Tag(), "-", 2)[0]; base == "tr" || base == "az" {
		up = unicode.TurkishCase.ToUpper(r)
	}
	return s[:len(s)-len(bare)] + string(up) + bare[n:]
}

// Sentence gives a text its capital and its full stop.
func (t *Tongue) Sentence(s string) string { return t.Stop(t.Start(strings.TrimSpace(s))) }
