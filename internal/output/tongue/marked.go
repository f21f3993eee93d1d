package tongue

import "strings"

// The marks that stand round what comes from the catalog.
const (
	markBegin = "⟦"
	markEnd   = "⟧"
)

// Marked is a language made from English for tests: the words of every sentence stand
// between ⟦ and ⟧, its arguments outside, so that whatever else stands outside on a
// page does not come from the catalog. [Unmarked] gives that rest.
func Marked() *Tongue {
	t := English()
	t.tag, t.name, t.marked = "en-x-marked", "⟦English⟧", true
	return t
}

// Unmarked is what stands outside the marks of a page, a blank for each thing taken
// out; what is left are data, numbers and words that were forgotten.
func Unmarked(page string) string {
	var b strings.Builder
	for {
		out, rest, found := strings.Cut(page, markBegin)
		b.WriteString(out)
		if !found {
			return b.String()
		}
		b.WriteByte(' ')
		_, page, _ = strings.Cut(rest, markEnd)
	}
}

// mark puts marks round the words of a form, its verbs outside.
func mark(form string) string {
	var b strings.Builder
	words := func(s string) {
		if s != "" {
			b.WriteString(markBegin + s + markEnd)
		}
	}
	at := 0
	for _, v := range verbs(form) {
		if v.letter == '*' { // part of the verb after it
			continue
		}
		words(form[at:v.from])
		b.WriteString(form[v.from:v.to])
		at = v.to
	}
	words(form[at:])
	return b.String()
}
