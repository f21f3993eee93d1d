package tongue

import (
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"
)

// verb is a place of a form at which an argument is set in.
type verb struct {
	arg      int  // from 1
	letter   rune // 's', 'd', 'f'; 0 for a verb that breaks off
	from, to int  // bytes of the form
}

// verbs finds the verbs of a form, in the syntax of package fmt: flags, width,
// precision and an index in brackets. A width by "*" takes an argument as well.
func verbs(form string) []verb {
	var out []verb
	next := 1
	for i := 0; i < len(form); i++ {
		if form[i] != '%' {
			continue
		}
		from := i
		i++
		i, next = index(form, skip(form, i, "+-# 0"), next)
		star := func() {
			if i < len(form) && form[i] == '*' {
				out = append(out, verb{next, '*', from, i + 1})
				next++
				i++
			} else {
				i = skip(form, i, "0123456789")
			}
		}
		star()
		if i < len(form) && form[i] == '.' {
			i, next = index(form, i+1, next)
			star()
		}
		i, next = index(form, i, next)
		if i == len(form) {
			return append(out, verb{next, 0, from, i})
		}
		r, n := utf8.DecodeRuneInString(form[i:])
		i += n - 1
		if r == '%' {
			continue
		}
		out = append(out, verb{next, r, from, i + 1})
		next++
	}
	return out
}

func skip(s string, i int, of string) int {
	for i < len(s) && strings.IndexByte(of, s[i]) >= 0 {
		i++
	}
	return i
}

// index reads "[3]" where it stands at i.
func index(s string, i, next int) (at, arg int) {
	if i >= len(s) || s[i] != '[' {
		return i, next
	}
	end := strings.IndexByte(s[i:], ']')
	n := 0
	if end < 0 {
		return i, next
	}
	if _, err := fmt.Sscanf(s[i:i+end+1], "[%d]", &n); err != nil || n < 1 {
		return i, next
	}
	return i + end + 1, n
}

// letters are the verbs of fmt.
const letters = "vTtbcdoOqxXUeEfFgGspw*"

// takes lists what a form takes, each argument once, by its index: "1s", "2d".
func takes(form string) ([]string, error) {
	var out []string
	for _, v := range verbs(form) {
		// A flag of a blank is good Go and a forgotten per cent sign: "5 % of it".
		if v.letter == 0 || !strings.ContainsRune(letters, v.letter) || strings.Contains(form[v.from:v.to], " ") {
			return nil, fmt.Errorf("%q has %q, which is no verb; a per cent sign is doubled", form, form[v.from:v.to])
		}
		out = append(out, fmt.Sprintf("%02d%c", v.arg, v.letter))
	}
	slices.Sort(out)
	return slices.Compact(out), nil
}
