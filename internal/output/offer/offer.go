// Package offer makes what goes to the customer: finishes side by side, with pictures,
// prices and days, as one page for a browser ([HTML]) and on paper ([PDF]). Both say
// the same. What a shop may promise of a finish, and what it may not, follows from the
// plan's numbers ([Promises]).
//
// The page holds everything that it shows: nothing is asked of a network, and no script
// runs. Pictures are written anew, no larger than they are shown, which also leaves out
// what a camera wrote into them. The bytes depend on nothing but the sheet.
package offer

import (
	"math"
	"strings"

	"fettle"
	"fettle/internal/output/paper"
)

// Picture is a picture of the part or of a finish.
type Picture struct {
	Data  []byte
	Type  string // "image/png" or "image/jpeg"
	Says  string // what it shows: the text in its stead, and the caption
	Photo bool   // taken of a thing, not worked out
}

// Choice is one finish that the customer may take.
type Choice struct {
	Look, Title string
	Says        string // what it looks like
	Asked       bool   // what the customer asked for
	Each, Price fettle.Cost
	// Ladder is what other lots would cost.
	Ladder []fettle.OfferRung
	// RaUM and EdgeUM are expected: roughness on the show face, radius of the edges.
	RaUM, EdgeUM fettle.Estimate
	// Day is promised, Likely when it is ready if all goes as it mostly does: RFC 3339
	// full-date or a time, of which the day is shown; empty where it is not known.
	Day, Likely string
	// Promised and NotPromised are whole sentences. Those that all choices share are
	// shown once.
	Promised, NotPromised []string
	Pictures              []Picture // the first is shown large
}

// Sheet is an offer to a customer.
type Sheet struct {
	Shop, Contact, Customer string
	Title                   string // the job's
	Number                  string // of the offer
	Material                string
	SizeMM                  [3]float64
	Lot                     int
	// Day is that of the offer, Until the last on which its prices hold: RFC 3339
	// full-date, or empty.
	Day, Until string
	Words      string // the owner's own, to the customer
	Part       []Picture
	Choices    []Choice
	Terms      []string
	Display    fettle.System
	Language   string // BCP 47; empty means English
	// Reply is where the answer goes: an e-mail address, with "mailto:" or without, a
	// telephone number, or any words; empty for none.
	Reply string
}

// mostChoices is how many finishes a page can show side by side.
const mostChoices = 6

// HTML is the offer as one file for a browser, below 3 MB. The error is Invalid where
// the sheet cannot be shown, NotFound for a language without sentences.
func HTML(s *Sheet) ([]byte, error) {
	v, err := viewOf(s)
	if err != nil {
		return nil, err
	}
	return v.html()
}

// PDF is the offer on paper, one to three pages, with a line to sign. Errors are those
// of [HTML].
func PDF(s *Sheet, size paper.Size) ([]byte, error) {
	v, err := viewOf(s)
	if err != nil {
		return nil, err
	}
	pages, err := v.pages(size)
	if err != nil {
		return nil, err
	}
	return paper.PDF(pages, size.W, size.H, v.Head)
}

// check says what keeps the sheet from being shown.
func (s *Sheet) check() error {
	switch {
	case s == nil || len(s.Choices) == 0:
		return fettle.Errorf(fettle.Invalid, "the offer holds no finish to choose; plan the part with at least one")
	case len(s.Choices) > mostChoices:
		return fettle.Errorf(fettle.Invalid, "the offer holds %d finishes, which nobody compares at a glance; offer at most %d", len(s.Choices), mostChoices)
	case s.Lot < 1:
		return fettle.Errorf(fettle.Invalid, "the offer is for %d pieces; give a lot of one or more", s.Lot)
	}
	if _, err := fettle.ParseSystem(string(s.Display)); err != nil {
		return err
	}
	for _, mm := range s.SizeMM {
		if math.IsNaN(mm) || math.IsInf(mm, 0) || mm < 0 {
			return fettle.Errorf(fettle.Invalid, "a size of the part is %g mm, which cannot be; survey it again", mm)
		}
	}
	days := []string{s.Day, s.Until}
	currency := ""
	for _, c := range s.Choices {
		days = append(days, c.Day, c.Likely)
		amounts := []fettle.Money{c.Each.Value, c.Price.Value}
		for _, r := range c.Ladder {
			if r.Lot < 1 {
				return fettle.Errorf(fettle.Invalid, "the finish %q has a price for a lot of %d; give lots of one or more", c.Title, r.Lot)
			}
			amounts = append(amounts, r.Each.Value, r.Price.Value)
		}
		for _, m := range amounts {
			switch {
			case m.Minor == 0:
			case m.Minor < 0 || m.Currency == "":
				return fettle.Errorf(fettle.Invalid, "the finish %q has a price of %d hundredths of %q; give an amount above zero and its currency", c.Title, m.Minor, m.Currency)
			case currency != "" && m.Currency != currency:
				return fettle.Errorf(fettle.Invalid, "the offer mixes prices in %s and %s; give all in one currency", currency, m.Currency)
			default:
				currency = m.Currency
			}
		}
	}
	for _, d := range days {
		if _, ok := dateOf(d); d != "" && !ok {
			return fettle.Errorf(fettle.Invalid, "the day %q is not one; write it as 2026-03-31", d)
		}
	}
	return nil
}

// clean makes a person's text safe to set in a line: breaks and control characters
// become spaces, marks that turn the direction of what follows are left out, and so are
// bytes that are no text.
func clean(s string) string {
	s = strings.Map(func(r rune) rune {
		switch {
		case r < 0x20 || r >= 0x7F && r < 0xA0 || r == 0x2028 || r == 0x2029:
			return ' '
		case r >= 0x202A && r <= 0x202E || r >= 0x2066 && r <= 0x2069 || r == 0xFEFF:
			return -1
		}
		return r
	}, strings.ToValidUTF8(s, ""))
	return strings.Join(strings.Fields(s), " ")
}

// paragraphs are the cleaned lines of a longer text, without the empty ones.
func paragraphs(s string) []string {
	var out []string
	for _, p := range strings.FieldsFunc(s, func(r rune) bool { return r == '\n' || r == '\r' }) {
		if p = clean(p); p != "" {
			out = append(out, p)
		}
	}
	return out
}
