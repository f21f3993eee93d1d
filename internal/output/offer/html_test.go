package offer

import (
	"bytes"
	"encoding/xml"
	"image/color"
	"io"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"testing"

	"fettle"
	"fettle/internal/output/tongue"
)

// element is a start tag of the page and the text up to the next tag.
type element struct {
	name string
	attr map[string]string
	text string
}

// elements takes a page apart. It is written so that an XML reader takes it too, which
// is stricter than a browser.
func elements(t testing.TB, page []byte) []element {
	t.Helper()
	var out []element
	dec := xml.NewDecoder(bytes.NewReader(page))
	for {
		tok, err := dec.Token()
		if err == io.EOF {
			return out
		}
		if err != nil {
			t.Fatalf("the page is not well formed: %v", err)
		}
		switch k := tok.(type) {
		case xml.StartElement:
			e := element{name: k.Name.Local, attr: map[string]string{}}
			for _, a := range k.Attr {
				e.attr[a.Name.Local] = a.Value
			}
			out = append(out, e)
		case xml.CharData:
			if len(out) > 0 {
				out[len(out)-1].text += string(k)
			}
		}
	}
}

// textOf is all that is read on a page, without its style sheet.
func textOf(els []element) string {
	var b strings.Builder
	for _, e := range els {
		if e.name != "style" {
			b.WriteString(e.text + " ")
		}
	}
	return strings.Join(strings.Fields(b.String()), " ")
}

func htmlOf(t testing.TB, s *Sheet) []byte {
	t.Helper()
	page, err := HTML(s)
	if err != nil {
		t.Fatal(err)
	}
	return page
}

// The page asks nothing of a network, runs nothing, and can be followed without
// pictures. Elements and attributes are those of the HTML standard that fetch or run.
func TestPageStandsAlone(t *testing.T) {
	for n := 1; n <= 3; n++ {
		page := htmlOf(t, sample(t, n))
		els := elements(t, page)
		ids, refs, pictures := map[string]bool{}, []string{}, 0
		for _, e := range els {
			switch e.name {
			case "script", "link", "iframe", "object", "embed", "form", "base", "audio", "video", "source", "svg", "template":
				t.Errorf("%d finishes: there is a <%s>", n, e.name)
			case "img":
				pictures++
				if strings.TrimSpace(e.attr["alt"]) == "" {
					t.Errorf("%d finishes: a picture says nothing to who cannot see it", n)
				}
				if e.attr["width"] == "" || e.attr["height"] == "" {
					t.Errorf("%d finishes: a picture's place is not known before it is there", n)
				}
			case "th":
				if s := e.attr["scope"]; s != "row" && s != "col" {
					t.Errorf("%d finishes: the head %q of the table has the scope %q", n, e.text, s)
				}
			case "html":
				if e.attr["lang"] != "en" {
					t.Errorf("%d finishes: the language is %q", n, e.attr["lang"])
				}
			case "style":
				if regexp.MustCompile(`(?i)url\(|@import|expression|image-set|//`).MatchString(e.text) {
					t.Errorf("%d finishes: the style sheet refers to something", n)
				}
			}
			for k, v := range e.attr {
				switch {
				case k == "src" && regexp.MustCompile(`^data:image/(png|jpeg);base64,[A-Za-z0-9+/]+=*$`).MatchString(v):
				case k == "href" && (strings.HasPrefix(v, "mailto:") || strings.HasPrefix(v, "tel:")):
				case k == "content" && e.attr["http-equiv"] == "Content-Security-Policy":
					if !strings.HasPrefix(v, "default-src 'none'; img-src data:; style-src 'unsafe-inline'") {
						t.Errorf("the policy is %q", v)
					}
				case strings.HasPrefix(k, "on") || k == "style" || k == "srcset" || k == "action" || k == "background" || k == "poster":
					t.Errorf("%d finishes: <%s> has the attribute %s", n, e.name, k)
				case k == "src" || k == "href" || regexp.MustCompile(`(?i)https?:|javascript:|//`).MatchString(v):
					t.Errorf("%d finishes: <%s %s=%q> leads out", n, e.name, k, v[:min(60, len(v))])
				case k == "id":
					if ids[v] {
						t.Errorf("%d finishes: two things have the id %q", n, v)
					}
					ids[v] = true
				case k == "aria-labelledby":
					refs = append(refs, v)
				}
			}
		}
		for _, r := range refs {
			if !ids[r] {
				t.Errorf("%d finishes: a name is to be found at %q, which is not there", n, r)
			}
		}
		if pictures != n+1 {
			t.Errorf("%d finishes: %d pictures", n, pictures)
		}
		if count := func(name string) (k int) {
			for _, e := range els {
				if e.name == name {
					k++
				}
			}
			return k
		}; count("main") != 1 || count("h1") != 1 || count("article") != n {
			t.Errorf("%d finishes: %d mains, %d h1, %d articles", n, count("main"), count("h1"), count("article"))
		}
	}
}

// Names and texts of hostile or careless people come out as text.
func TestHostileText(t *testing.T) {
	for _, bad := range []string{
		`<script>alert(1)</script>`, `"><img src=x onerror=alert(1)>`, `&quot;&lt;b&gt;`, `' onmouseover='x`, `javascript:alert(1)`,
		`</style><script>`, `{{.Head}}`, `]]>`, `<!--`, `https://elsewhere.example/`,
	} {
		s := sample(t, 2)
		s.Part[0] = plain(t, 8, 8, color.White)
		s.Shop, s.Contact, s.Customer, s.Title, s.Number, s.Material, s.Words, s.Reply = bad, bad, bad, bad, bad, bad, bad, bad
		s.Terms = []string{bad}
		s.Part[0].Says = bad
		for i := range s.Choices {
			c := &s.Choices[i]
			c.Title, c.Says, c.Look = bad, bad, bad
			c.Promised, c.NotPromised = []string{bad + " promised"}, []string{bad + " not"}
			c.Pictures[0] = s.Part[0]
			c.Pictures[0].Says = bad
		}
		els := elements(t, htmlOf(t, s))
		found := 0
		for _, e := range els {
			if e.name == "script" || e.name == "b" {
				t.Errorf("%q became a <%s>", bad, e.name)
			}
			for k, v := range e.attr {
				if strings.HasPrefix(k, "on") || k == "href" {
					t.Errorf("%q became the attribute %s=%q", bad, k, v)
				}
			}
			found += strings.Count(e.text, bad)
		}
		if found < 15 {
			t.Errorf("%q stands on the page %d times", bad, found)
		}
	}
}

// Signs that turn the direction of reading, breaks and bytes that are no text are left
// out, on the page and on paper.
func TestCleanText(t *testing.T) {
	for in, want := range map[string]string{
		"a\u202Eb\u2066c": "abc", "a\r\nb\tc": "a b c", "\xff\xfeno": "no", "  two  spaces ": "two spaces", "µ ⌀ ü 漢": "µ ⌀ ü 漢", "a\x00b\x1b[1mc": "a b [1mc",
	} {
		if got := clean(in); got != want {
			t.Errorf("%q became %q, not %q", in, got, want)
		}
	}
}

// A letter that answers is begun with the right address, subject and choice, as another
// reader of RFC 6068 takes it apart; nothing in a title adds a header.
func TestReplyByMail(t *testing.T) {
	s := sample(t, 2)
	s.Title = "Plate & knob? 50% #2 + more\r\nBcc: all@elsewhere.example"
	links := 0
	for _, e := range elements(t, htmlOf(t, s)) {
		if e.attr["href"] == "" {
			continue
		}
		links++
		u, err := url.Parse(e.attr["href"])
		if err != nil || u.Scheme != "mailto" || u.Opaque != "hello@ternlane.example" {
			t.Fatalf("the link is %q (%v)", e.attr["href"], err)
		}
		// RFC 6068 knows no plus for a blank.
		if strings.Contains(u.RawQuery, "+") {
			t.Errorf("there is a plus in %q", u.RawQuery)
		}
		q := u.Query()
		for k := range q {
			if k != "subject" && k != "body" {
				t.Errorf("the letter has the header %q", k)
			}
		}
		subject := q.Get("subject")
		if !strings.Contains(subject, "Plate & knob? 50% #2 + more Bcc: all@elsewhere.example") || strings.ContainsAny(subject, "\r\n") {
			t.Errorf("the subject is %q", subject)
		}
		if links == 2 && (!strings.Contains(subject, "Stonewashed") || q.Get("body") != "We choose B, Stonewashed, 25 pieces.") {
			t.Errorf("the second finish is chosen by %q, %q", subject, q.Get("body"))
		}
	}
	if links != 3 {
		t.Errorf("%d links", links)
	}
	for reply, want := range map[string][]string{
		"hello@ternlane.example":                 {"mailto:", "hello@ternlane.example"},
		"mailto:a.b+c@x.example?bcc=y@x.example": {"mailto:a.b%2Bc@x.example?", "a.b+c@x.example"},
		"+44 (0)20 7946 0000":                    {"tel:+4402079460000", "+44 (0)20 7946 0000"},
		"the counter":                            {"", "the counter"},
		"":                                       {"", "send this back"},
		"javascript:alert(1)":                    {"", "javascript:alert(1)"},
		"a@b@c.example":                          {"", "a@b@c.example"},
	} {
		s.Reply = reply
		els := elements(t, htmlOf(t, s))
		var href string
		for _, e := range els {
			href = first(e.attr["href"], href)
		}
		if !strings.HasPrefix(href, want[0]) || want[0] == "" && href != "" || !strings.Contains(textOf(els), want[1]) || strings.Contains(href, "bcc") {
			t.Errorf("%q: the link is %q", reply, href)
		}
	}
}

// What every choice promises is said once; what only one does stays with it.
func TestSharedPromises(t *testing.T) {
	v, err := viewOf(sample(t, 3))
	if err != nil {
		t.Fatal(err)
	}
	if v.Common == nil || len(v.Common.Promised) != 2 || len(v.Common.Not) != 4 {
		t.Fatalf("shared: %+v", v.Common)
	}
	if len(v.Choices[0].Promised) != 2 || len(v.Choices[0].Not) != 0 || len(v.Choices[1].Not) != 1 {
		t.Errorf("left with the choices: %q, %q, %q", v.Choices[0].Promised, v.Choices[0].Not, v.Choices[1].Not)
	}
	if v, err = viewOf(sample(t, 1)); err != nil || v.Common != nil || len(v.Choices[0].Promised) != 4 {
		t.Errorf("one alone: %+v (%v)", v.Common, err)
	}
}

// Units and currencies are those of the sheet.
func TestFigures(t *testing.T) {
	s := sample(t, 2)
	text := textOf(elements(t, htmlOf(t, s)))
	for _, want := range []string{"44.0 × 70.0 × 11.0 mm", "0.33 µm (0.16–1.3)", "0.08 mm (0.04–0.19)", "USD 62.40 a piece", "USD 1,560.00 for all 25 pieces", "18 September 2026", "4,415.00 in all"} {
		if !strings.Contains(text, want) {
			t.Errorf("%q is not on the page", want)
		}
	}
	s.Display = fettle.Inch
	for i := range s.Choices {
		c := &s.Choices[i]
		c.Each.Value.Currency, c.Price.Value.Currency = "EUR", "EUR"
		for k := range c.Ladder {
			c.Ladder[k].Each.Value.Currency, c.Ladder[k].Price.Value.Currency = "EUR", "EUR"
		}
	}
	text = textOf(elements(t, htmlOf(t, s)))
	// 44 mm are 1.732 in, 0.33 µm 13 µin, 83 µm 3.3 thou.
	for _, want := range []string{"1.73 × 2.76 × 0.43 in", "13 µin (6.3–51)", "0.003 in (0.002–0.007)", "EUR 62.40 a piece", "EUR for a piece, and for all of them."} {
		if !strings.Contains(text, want) {
			t.Errorf("%q is not on the page in inches", want)
		}
	}
	for _, metric := range []string{" mm (", " µm (", "USD"} {
		if strings.Contains(text, metric) {
			t.Errorf("%q is on the page in inches", metric)
		}
	}
	yen := fettle.Amount(7200, "JPY")
	s.Choices, s.Lot = s.Choices[:1], 1
	s.Choices[0].Each.Value, s.Choices[0].Price.Value, s.Choices[0].Ladder = yen, yen, nil
	if text = textOf(elements(t, htmlOf(t, s))); !strings.Contains(text, yen.String()+" for the one piece") || strings.Contains(text, "for all") {
		t.Errorf("one piece for yen is offered as %q", text)
	}
	s.Until = ""
	if text = textOf(elements(t, htmlOf(t, s))); !strings.Contains(text, "names no day") {
		t.Error("an offer without a day says that its prices are fixed")
	}
}

func TestRefusedSheets(t *testing.T) {
	for name, spoil := range map[string]func(*Sheet){
		"no finish":      func(s *Sheet) { s.Choices = nil },
		"seven":          func(s *Sheet) { s.Choices = slices.Repeat(s.Choices, 4)[:7] },
		"no lot":         func(s *Sheet) { s.Lot = 0 },
		"two currencies": func(s *Sheet) { s.Choices[1].Each.Value.Currency = "EUR" },
		"a day":          func(s *Sheet) { s.Until = "13.9.2026" },
		"another day":    func(s *Sheet) { s.Choices[0].Day = "2026-02-30" },
		"units":          func(s *Sheet) { s.Display = "cubits" },
		"picture":        func(s *Sheet) { s.Part[0].Data = s.Part[0].Data[:90] },
		"type":           func(s *Sheet) { s.Part[0].Type = "image/gif" },
		"negative":       func(s *Sheet) { s.Choices[0].Each.Value.Minor = -1 },
		"lot of 0":       func(s *Sheet) { s.Choices[0].Ladder[0].Lot = 0 },
	} {
		s := sample(t, 2)
		spoil(s)
		_, err := HTML(s)
		if fettle.CodeOf(err) != fettle.Invalid || strings.Contains(err.Error(), "\n") {
			t.Errorf("%s: %v", name, err)
		}
	}
	s := sample(t, 1)
	s.Language = "fi"
	if _, err := HTML(s); fettle.CodeOf(err) != fettle.NotFound {
		t.Errorf("a language without sentences: %v", err)
	}
	if _, err := HTML(nil); fettle.CodeOf(err) != fettle.Invalid {
		t.Errorf("no sheet: %v", err)
	}
}

func TestSameBytes(t *testing.T) {
	a, b := htmlOf(t, sample(t, 2)), htmlOf(t, sample(t, 2))
	if !bytes.Equal(a, b) {
		t.Error("the page differs from run to run")
	}
}

// Everything that a person reads comes from the tongue or from the sheet: in a marked
// language, with a sheet of digits, no letter of another source is left.
func TestAllIsSaid(t *testing.T) {
	s := sample(t, 2)
	s.Shop, s.Contact, s.Customer, s.Title, s.Number, s.Material, s.Words, s.Reply = "1", "2", "3", "4", "5", "6", "7", "a@b.example"
	s.Terms, s.Part[0] = []string{"8"}, plain(t, 20, 20, color.White)
	s.Part[0].Says = ""
	for i := range s.Choices {
		c := &s.Choices[i]
		c.Title, c.Look, c.Says, c.Promised, c.NotPromised, c.Pictures[0].Says = "", "", "9", []string{"10"}, []string{"11"}, ""
	}
	v := viewIn(s, tongue.Marked())
	page, err := v.html()
	if err != nil {
		t.Fatal(err)
	}
	els := elements(t, page)
	// The alternative texts are read too.
	all := textOf(els)
	for _, e := range els {
		all += " " + e.attr["alt"]
	}
	rest := tongue.Unmarked(all)
	// What belongs: letters of the choices, currency, units, address.
	rest = regexp.MustCompile(`\b(A|B|USD|mm|a@b\.example)\b|µm`).ReplaceAllString(rest, "")
	if m := regexp.MustCompile(`\pL+`).FindString(rest); m != "" {
		t.Errorf("%q is not said by the tongue: %s", m, rest)
	}
}
