// Package tongue keeps what is said apart from how it is said in a language. English
// stands in the code, where its meaning is plain; a second language is a file of
// sentences in lang, found by the English.
//
// Two calls serve nearly always: [Tongue.Say] for a sentence and [Tongue.Count] for
// one that turns with a number. Whole sentences are keys, never halves of them: where
// the words of a sentence stand is the language's own affair. Numbers with their units
// come as arguments, ready made by [fettle.System], and look alike in every language:
// a point before the decimals, as the shop's tools show it.
package tongue

import (
	"fmt"
	"strings"

	"golang.org/x/text/feature/plural"
	"golang.org/x/text/language"
)

// Tongue is a language in which papers and pages are written. The zero value is
// English, and so is nil.
type Tongue struct {
	tag    string
	name   string
	lang   language.Tag
	says   map[string]string            // by the English
	counts map[string]map[string]string // by the English for many, by CLDR category
	marked bool
}

// English is the language of the code.
func English() *Tongue { return &Tongue{tag: "en", name: "English", lang: language.English} }

// Tag is the language's BCP 47 tag.
func (t *Tongue) Tag() string {
	if t == nil || t.tag == "" {
		return "en"
	}
	return t.tag
}

// Name is what the language calls itself.
func (t *Tongue) Name() string {
	if t == nil || t.name == "" {
		return "English"
	}
	return t.name
}

// Key is an English sentence that stands in a table and is said later.
type Key string

// In is the sentence in a language.
func (k Key) In(t *Tongue, args ...any) string { return t.set(t.own(string(k)), args) }

// Say is a sentence in this language, its arguments set into it as [fmt.Sprintf]
// does. Where the language has no such sentence it is said in English.
//
// The English is a literal, so that the catalog can be gathered from the code; a per
// cent sign in it is doubled.
func (t *Tongue) Say(english string, args ...any) string { return t.set(t.own(english), args) }

// own is this language's form of an English one.
func (t *Tongue) own(english string) string {
	if t == nil {
		return english
	}
	if s, ok := t.says[english]; ok {
		return s
	}
	return english
}

// set sets arguments into a form.
func (t *Tongue) set(form string, args []any) string {
	if t != nil && t.marked {
		form = mark(form)
	}
	if len(args) == 0 {
		return strings.ReplaceAll(form, "%%", "%")
	}
	return fmt.Sprintf(form, args...)
}

// Count is a sentence that turns with a number: one where there is one, many for any
// other, in a language with more forms the one that its rule asks for (the cardinal
// plurals of Unicode CLDR). The number is the first argument of each form, args follow
// it; a form that does without the number takes the others by index:
//
//	Count(n, "One load of %[2]s.", "%d loads of %s.", media)
//
// English for many is the key, so that it must not stand beside two forms for one.
func (t *Tongue) Count(n int, one, many string, args ...any) string {
	form := many
	if n == 1 {
		form = one
	}
	if t != nil {
		if forms, ok := t.counts[many]; ok {
			form = forms[t.category(n)]
		}
	}
	if len(verbs(form)) == 0 {
		return t.set(form, nil)
	}
	return t.set(form, append([]any{n}, args...))
}

// categories are the names of CLDR's plural categories.
var categories = map[plural.Form]string{
	plural.Zero: "zero", plural.One: "one", plural.Two: "two", plural.Few: "few", plural.Many: "many", plural.Other: "other",
}

// category is that of a whole number in this language.
func (t *Tongue) category(n int) string {
	return categories[plural.Cardinal.MatchPlural(t.lang, max(n, -n)%10_000_000, 0, 0, 0, 0)]
}

// List joins words as the language does: "a, b and c"; "none" where there are none.
func (t *Tongue) List(words []string) string {
	all, last := t.most(words)
	if last == "" {
		return all
	}
	return t.Say("%s and %s", all, last)
}

// Either joins words of which one holds: "a, b or c".
func (t *Tongue) Either(words []string) string {
	all, last := t.most(words)
	if last == "" {
		return all
	}
	return t.Say("%s or %s", all, last)
}

// most joins all words but the last.
func (t *Tongue) most(words []string) (all, last string) {
	switch len(words) {
	case 0:
		return t.Say("none"), ""
	case 1:
		return words[0], ""
	}
	all = words[0]
	for _, w := range words[1 : len(words)-1] {
		all = t.Say("%s, %s", all, w)
	}
	return all, words[len(words)-1]
}
