package tongue

import (
	"embed"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"slices"
	"strings"
	"sync"

	"golang.org/x/text/language"

	"fettle"
)

// catalog is a language as it stands in its file.
type catalog struct {
	Tag  string            `json:"tag"`
	Name string            `json:"name"`
	Says map[string]string `json:"says"`
	// Counts hold the sentences that turn with a number, by the English for many and
	// by CLDR category ("one", "few", "other").
	Counts map[string]map[string]string `json:"counts"`
	// Where names the files in which a sentence stands; it is for the translator.
	Where map[string]string `json:"where,omitempty"`
}

//go:embed lang/*.json
var files embed.FS

// tongues are the languages of the files, English first, and what finds one of them
// by a tag.
var tongues = sync.OnceValues(func() ([]*Tongue, error) {
	all := []*Tongue{English()}
	entries, err := fs.ReadDir(files, "lang")
	if err != nil {
		return nil, err
	}
	for _, e := range entries {
		if e.Name() == "en.json" { // what translators start from
			continue
		}
		data, err := files.ReadFile("lang/" + e.Name())
		if err != nil {
			return nil, err
		}
		t, err := Read(data)
		if err != nil {
			return nil, fmt.Errorf("lang/%s: %w", e.Name(), err)
		}
		all = append(all, t)
	}
	return all, nil
})

// All lists the languages that there are, English first.
func All() ([]*Tongue, error) {
	all, err := tongues()
	return slices.Clone(all), err
}

// Of finds the language closest to a BCP 47 tag ("de-CH" finds "de"); empty means
// English. The error is NotFound and names what there is.
func Of(tag string) (*Tongue, error) {
	if tag == "" || tag == "en" {
		return English(), nil
	}
	all, err := tongues()
	if err != nil {
		return nil, err
	}
	return among(all, tag)
}

// among finds the closest of several languages.
func among(all []*Tongue, tag string) (*Tongue, error) {
	var tags []language.Tag
	var names []string
	for _, t := range all {
		tags, names = append(tags, t.lang), append(names, t.tag)
	}
	if want, err := language.Parse(tag); err == nil {
		if _, i, sure := language.NewMatcher(tags).Match(want); sure >= language.High {
			return all[i], nil
		}
	}
	return nil, fettle.Errorf(fettle.NotFound, "no sentences are there in the language %q; there is: %s", tag, strings.Join(names, ", "))
}

// Read reads a language from its file's text. A sentence that is empty counts as not
// translated. The error, Invalid, names a sentence that takes other arguments than its
// English, or a plural form that the language needs and that is missing.
func Read(data []byte) (*Tongue, error) {
	var c catalog
	if err := json.Unmarshal(data, &c); err != nil {
		return nil, fettle.Errorf(fettle.Invalid, "the catalog is no JSON as it should be: %w; compare it with en.json", err)
	}
	lang, err := language.Parse(c.Tag)
	if err != nil || c.Tag == "" {
		return nil, fettle.Errorf(fettle.Invalid, "the catalog's tag %q is no BCP 47 tag; write one such as \"de\"", c.Tag)
	}
	t := &Tongue{tag: c.Tag, name: c.Name, lang: lang, says: map[string]string{}, counts: map[string]map[string]string{}}
	var bad []error
	for _, english := range slices.Sorted(maps.Keys(c.Says)) {
		if s := c.Says[english]; s != "" {
			t.says[english] = s
			bad = append(bad, alike(english, s))
		}
	}
	for _, english := range slices.Sorted(maps.Keys(c.Counts)) {
		forms := c.Counts[english]
		if empty(forms) {
			continue
		}
		t.counts[english] = forms
		bad = append(bad, t.countable(english, forms))
	}
	if err := errors.Join(bad...); err != nil {
		return nil, fettle.Errorf(fettle.Invalid, "the catalog %q is not whole: %w", c.Tag, err)
	}
	return t, nil
}

// empty reports whether nothing of a counted sentence was translated.
func empty(forms map[string]string) bool {
	for _, s := range forms {
		if s != "" {
			return false
		}
	}
	return true
}

// alike checks that a translation takes what the English takes.
func alike(english, own string) error {
	want, err := takes(english)
	if err != nil {
		return err
	}
	got, err := takes(own)
	if err != nil {
		return err
	}
	if !slices.Equal(got, want) {
		return fmt.Errorf("%q takes %v where its English %q takes %v", own, got, english, want)
	}
	return nil
}

// countable checks that a counted sentence has each form that the language's numbers
// ask for, and that each takes what the English takes; the number may be left out.
func (t *Tongue) countable(english string, forms map[string]string) error {
	want, err := takes(english)
	if err != nil {
		return err
	}
	names := slices.Collect(maps.Values(categories))
	for _, name := range slices.Sorted(maps.Keys(forms)) {
		if !slices.Contains(names, name) {
			return fmt.Errorf("%q has a form %q, which is no plural category of CLDR", english, name)
		}
		got, err := takes(forms[name])
		if err != nil {
			return err
		}
		less := slices.DeleteFunc(slices.Clone(want), func(s string) bool { return strings.HasPrefix(s, "01") })
		if !slices.Equal(got, want) && !slices.Equal(got, less) {
			return fmt.Errorf("%q takes %v where its English %q takes %v", forms[name], got, english, want)
		}
	}
	for n := range 202 {
		if n > 200 {
			n = 1_000_000
		}
		if c := t.category(n); forms[c] == "" {
			return fmt.Errorf("%q has no form %q, which %d asks for in this language", english, c, n)
		}
	}
	return nil
}
