// Package tongue keeps what is said apart from how it is said in a language. English
// stands in the code, where its meaning is plain; a second language is a file of
// sentences beside this one, found by the English.
package tongue

import (
	"fmt"

	"fettle"
)

// Tongue is a language in which papers and pages are written.
type Tongue struct {
	tag  string
	says map[string]string // by the English
}

// English is the language of the code.
func English() *Tongue { return &Tongue{tag: "en"} }

// Of finds a language by its BCP 47 tag; empty means English. The error is
// NotFound.
func Of(tag string) (*Tongue, error) {
	if tag == "" || tag == "en" {
		return English(), nil
	}
	return nil, fettle.Errorf(fettle.NotFound, "no sentences are there in the language %q; there is: en", tag)
}

// Tag is the language's BCP 47 tag.
func (t *Tongue) Tag() string { return t.tag }

// Say is a sentence in this language, its arguments set into it as [fmt.Sprintf]
// does. Where the language has no such sentence it is said in English.
func (t *Tongue) Say(english string, args ...any) string {
	s, ok := t.says[english]
	if !ok {
		s = english
	}
	if len(args) == 0 {
		return s
	}
	return fmt.Sprintf(s, args...)
}
