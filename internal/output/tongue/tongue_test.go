package tongue

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"fettle"
)

// read reads a language of a test.
func read(t *testing.T, c catalog) *Tongue {
	t.Helper()
	data, err := json.Marshal(c)
	if err != nil {
		t.Fatal(err)
	}
	got, err := Read(data)
	if err != nil {
		t.Fatal(err)
	}
	return got
}

// German and Polish of a few sentences: another order, more plurals.
func german(t *testing.T) *Tongue {
	return read(t, catalog{Tag: "de", Name: "Deutsch",
		Says: map[string]string{
			"%s of media in the %s": "In %[2]s kommen %[1]s Chips", "%s and %s": "%s und %s", "%s or %s": "%s oder %s", "100 %% done": "zu 100 %% fertig", "not yet": "",
		},
		Counts: map[string]map[string]string{"%d loads of %s": {"one": "eine Füllung %[2]s", "other": "%d Füllungen %s"}},
	})
}

func polish(t *testing.T) *Tongue {
	return read(t, catalog{Tag: "pl", Name: "polski",
		Counts: map[string]map[string]string{"%d pieces": {"one": "%d sztuka", "few": "%d sztuki", "many": "%d sztuk", "other": "%d sztuki"}}})
}

func TestSay(t *testing.T) {
	de := german(t)
	var nobody *Tongue
	for _, c := range [][2]string{
		{English().Say("%s of media in the %s", "8.0 l", "bowl"), "8.0 l of media in the bowl"},
		{de.Say("%s of media in the %s", "8.0 l", "bowl"), "In bowl kommen 8.0 l Chips"},
		{nobody.Say("Run %d h.", 3), "Run 3 h."},
		{new(Tongue).Say("100 %% done"), "100 % done"},
		{de.Say("100 %% done"), "zu 100 % fertig"},
		// What is not translated, or empty, is said in English.
		{de.Say("Run %d h.", 3), "Run 3 h."}, {de.Say("not yet"), "not yet"},
		{de.List([]string{"a", "b", "c"}), "a, b und c"}, {de.Either([]string{"a", "b"}), "a oder b"},
		{English().List(nil), "none"}, {English().List([]string{"a"}), "a"}, {English().List([]string{"a", "b"}), "a and b"}, {English().List([]string{"a", "b", "c", "d"}), "a, b, c and d"},
		{Key("Run %d h.").In(de, 4), "Run 4 h."}, {English().Tag() + nobody.Tag() + new(Tongue).Tag(), "enenen"}, {de.Name() + nobody.Name(), "DeutschEnglish"},
	} {
		if c[0] != c[1] {
			t.Errorf("%q, want %q", c[0], c[1])
		}
	}
}

// English and German turn with one; Polish by the last digits, as Unicode's table
// "Language Plural Rules" (CLDR) has it: one 1; few 2–4, 22–24; many 0, 5–21, 25.
func TestCount(t *testing.T) {
	pl, de := polish(t), german(t)
	for n, want := range map[int]string{0: "sztuk", 1: "sztuka", 2: "sztuki", 4: "sztuki", 5: "sztuk", 12: "sztuk", 14: "sztuk", 21: "sztuk", 22: "sztuki", 25: "sztuk", 104: "sztuki", 112: "sztuk"} {
		if got, want := pl.Count(n, "1 piece", "%d pieces"), fmt.Sprintf("%d %s", n, want); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
	for _, c := range [][2]string{
		{de.Count(1, "One load of %[2]s", "%d loads of %s", "cob"), "eine Füllung cob"}, {de.Count(3, "One load of %[2]s", "%d loads of %s", "cob"), "3 Füllungen cob"},
		{English().Count(1, "One load of %[2]s", "%d loads of %s", "cob"), "One load of cob"}, {English().Count(0, "1 load", "%d loads"), "0 loads"},
		{English().Count(1, "1 load", "%d loads"), "1 load"}, {pl.Count(2, "1 load", "%d loads"), "2 loads"}, {(*Tongue)(nil).Count(2, "1 load", "%d loads"), "2 loads"},
		{English().Count(1, "One is 100 %% full", "%d are 100 %% full"), "One is 100 % full"},
	} {
		if c[0] != c[1] {
			t.Errorf("%q, want %q", c[0], c[1])
		}
	}
}

func TestSentence(t *testing.T) {
	tr := read(t, catalog{Tag: "tr", Name: "Türkçe"})
	ja := read(t, catalog{Tag: "ja", Name: "日本語", Says: map[string]string{"%s.": "%s。"}})
	for _, c := range [][2]string{
		{English().Sentence(" ends "), "Ends."}, {English().Sentence("slot-1 is open"), "slot-1 is open."}, {English().Sentence("ends!"), "Ends!"}, {English().Sentence(""), ""},
		{English().Start("über"), "Über"}, {tr.Start("iyi"), "İyi"}, {ja.Stop("よし"), "よし。"}, {ja.Stop("よし。"), "よし。"},
		{Marked().Sentence("ends"), "Ends⟦.⟧"}, {Marked().Sentence(Marked().Say("ends.")), "⟦Ends.⟧"},
	} {
		if c[0] != c[1] {
			t.Errorf("%q, want %q", c[0], c[1])
		}
	}
}

func TestMarked(t *testing.T) {
	m := Marked()
	page := m.Say("Run %s at %.0f rpm", m.Say("about %s", "3 h"), 45.0) + " forgotten " + m.Count(3, "1 load", "%d loads") + m.Say("%*d wide, 5 %%", 4, 7)
	if want := "⟦Run ⟧⟦about ⟧3 h⟦ at ⟧45⟦ rpm⟧ forgotten 3⟦ loads⟧   7⟦ wide, 5 %⟧"; page != want {
		t.Errorf("%q, want %q", page, want)
	}
	if got := strings.Join(strings.Fields(Unmarked(page)), " "); got != "3 h 45 forgotten 3 7" {
		t.Errorf("left: %q", got)
	}
}

func TestOf(t *testing.T) {
	de, pl := german(t), polish(t)
	all := []*Tongue{English(), de, pl}
	for tag, want := range map[string]string{"de": "de", "de-CH": "de", "de-AT-1996": "de", "en-GB": "en", "en-US": "en", "pl-PL": "pl"} {
		if got, err := among(all, tag); err != nil || got.Tag() != want {
			t.Errorf("%s finds %v, %v; want %s", tag, got.Tag(), err, want)
		}
	}
	for _, tag := range []string{"fr", "xx", "nonsense of a tag", "und"} {
		_, err := among(all, tag)
		if fettle.CodeOf(err) != fettle.NotFound || !strings.Contains(err.Error(), "en, de, pl") {
			t.Errorf("%q: %v", tag, err)
		}
	}
	for _, tag := range []string{"", "en", "en-GB"} {
		if got, err := Of(tag); err != nil || got.Tag() != "en" {
			t.Errorf("%q: %v, %v", tag, got, err)
		}
	}
	if _, err := Of("fr"); fettle.CodeOf(err) != fettle.NotFound {
		t.Error(err)
	}
}

// What a translator may get wrong is refused where it is read, with the sentence.
func TestRefused(t *testing.T) {
	one := func(english, own string) string {
		b, _ := json.Marshal(catalog{Tag: "de", Says: map[string]string{english: own}})
		return string(b)
	}
	count := func(forms string) string { return `{"tag":"pl","counts":{"%d of %s":` + forms + `}}` }
	for name, c := range map[string][2]string{
		"lost verb":      {one("%s of %s", "%s"), `takes [01s] where its English "%s of %s" takes [01s 02s]`},
		"other kind":     {one("%d h", "%s h"), "takes [01s]"},
		"third argument": {one("%s of %s", "%[3]s %[1]s"), "takes [01s 03s]"},
		"bare per cent":  {one("%s done", "%s zu 99 % zu"), "a per cent sign is doubled"},
		"breaks off":     {one("%s done", "%s %"), "which is no verb"},
		"no tag":         {`{"says":{}}`, "no BCP 47 tag"},
		"no JSON":        {`{`, "compare it with en.json"},
		"no few":         {count(`{"one":"%d %s","many":"%d %s","other":"%d %s"}`), `no form "few", which 2 asks for`},
		"no category":    {count(`{"single":"%d %s"}`), "no plural category"},
		"lost count":     {count(`{"one":"jeden","few":"%d %s","many":"%d %s","other":"%d %s"}`), "takes []"},
	} {
		_, err := Read([]byte(c[0]))
		if fettle.CodeOf(err) != fettle.Invalid || !strings.Contains(fmt.Sprint(err), c[1]) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// Every language that is here can be read, and none has two files.
func TestLanguages(t *testing.T) {
	all, err := All()
	if err != nil {
		t.Fatal(err)
	}
	var tags []string
	for _, l := range all {
		if l.Name() == "" || slices.Contains(tags, l.Tag()) {
			t.Errorf("language %q has no name or stands twice", l.Tag())
		}
		tags = append(tags, l.Tag())
	}
}

// What fmt makes of a form and what verbs finds in it agree: a form given arguments of
// the right kinds holds no complaint of fmt's.
func TestVerbsAsFmt(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		parts := rapid.SliceOfN(rapid.SampledFrom([]string{"%s", "%d", "%5.1f", "%-8s", "%+d", "%[2]s", "%[1]d", "%.*f", "%*d", "%%", " of ", "ä%%b", "%q", "[3]"}), 0, 6).Draw(t, "parts")
		form := strings.Join(parts, "")
		var args []any
		kinds := map[int]rune{}
		for _, v := range verbs(form) {
			if was, ok := kinds[v.arg]; ok && was != v.letter {
				return // one argument as two kinds
			}
			kinds[v.arg] = v.letter
			for len(args) < v.arg {
				args = append(args, 0)
			}
			switch v.letter {
			case 's', 'q':
				args[v.arg-1] = "x"
			case 'f':
				args[v.arg-1] = 1.5
			default:
				args[v.arg-1] = 2
			}
		}
		if got := fmt.Sprintf(form, args...); strings.Contains(got, "%!") {
			t.Fatalf("%q with %v is %q", form, args, got)
		}
	})
}
