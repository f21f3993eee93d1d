package offer

import (
	"net/url"
	"regexp"
	"strings"
)

// Where an answer may go by a tap: an address of one person (a strict part of
// RFC 5322), or a telephone number (RFC 3966) with the signs people set in it.
var (
	mailAddress = regexp.MustCompile(`^[A-Za-z0-9._+-]{1,64}@[A-Za-z0-9-]+(\.[A-Za-z0-9-]+)+$`)
	phoneNumber = regexp.MustCompile(`^\+?[0-9][0-9 ()./-]{3,30}$`)
)

// reply says how to answer, and gives each choice its link where there is an address.
func (v *view) reply() {
	t, s := v.t, v.sheet
	a := &v.Answer
	a.Head = t.Say("Your answer")
	where := clean(s.Reply)
	if rest, ok := strings.CutPrefix(where, "mailto:"); ok {
		where, _, _ = strings.Cut(rest, "?")
	}
	where = strings.TrimPrefix(where, "tel:")
	a.Where = where
	switch {
	case mailAddress.MatchString(where):
		for i := range v.Choices {
			c := &v.Choices[i]
			c.Link = mailto(where, t.Say("%s: we choose %s, %s", v.Head, c.Letter, c.Title),
				t.Count(s.Lot, "We choose %[2]s, %[3]s, one piece.", "We choose %[2]s, %[3]s, %[1]d pieces.", c.Letter, c.Title))
			c.LinkSays = t.Say("Choose %s", c.Title)
		}
		a.Href, a.HowLink = mailto(where, t.Say("%s: a question", v.Head), ""), t.Say("Ask a question by e-mail")
		a.Says, a.OnPaper = t.Say("Choosing a finish above begins an e-mail to %s. Or print this page, tick, sign and send it back.", where), t.Say("Tick, sign and send this to %s.", where)
	case phoneNumber.MatchString(where):
		a.Href, a.HowLink = "tel:"+dialled(where), t.Say("Call %s", where)
		a.Says = t.Say("Call %s and name the letter, or tick, sign and send this back.", where)
		a.OnPaper = a.Says
	case where != "":
		a.OnPaper = t.Say("Tick, sign and send this to %s.", where)
	default:
		a.OnPaper = t.Say("Tick, sign and send this back.")
	}
	if a.Says == "" {
		a.Says = a.OnPaper
	}
	for _, c := range v.Choices {
		a.Boxes = append(a.Boxes, fact{c.Letter, c.Title})
	}
	a.Blanks = []string{t.Say("Pieces"), t.Say("Name"), t.Say("Date"), t.Say("Signature")}
}

// mailto is a link that begins a letter (RFC 6068).
func mailto(to, subject, body string) string {
	set := func(s string) string { return strings.ReplaceAll(url.QueryEscape(s), "+", "%20") }
	link := "mailto:" + strings.ReplaceAll(to, "+", "%2B") + "?subject=" + set(subject)
	if body != "" {
		link += "&body=" + set(body)
	}
	return link
}

// dialled is a telephone number as it is dialled.
func dialled(s string) string {
	return strings.Map(func(r rune) rune {
		if r >= '0' && r <= '9' || r == '+' {
			return r
		}
		return -1
	}, s)
}
