package offer

import (
	"slices"
	"strings"
	"time"

	"fettle"
	"fettle/internal/output/tongue"
)

// view is an offer put into words, before it is known where they will stand. The page
// and the paper are both made from it, so that they say the same.
type view struct {
	Lang, Head string // of the document
	Shop       string
	Contact    []string
	Facts      []fact // of the offer
	Title      string
	Lead       string
	Words      []string
	PartHead   string
	PartFacts  []fact
	Part       []shown
	Choices    []card
	ChoiceHead string
	Notes      []string // on the numbers of the choices
	Common     *card    // what holds for all choices; nil where nothing does
	Prices     *prices
	Fixed      string
	TermsHead  string
	Terms      []string
	Answer     answer
	Page       func(n, of int) string

	sheet *Sheet
	t     *tongue.Tongue
}

// fact is a name and what stands beside it.
type fact struct{ Label, Value string }

// shown is a picture and what is written under it. Data and Type are there once it is
// known how much room there is.
type shown struct {
	Says, Kind string
	// From is the picture as it came; wide is how wide it is ever shown, CSS pixels.
	From    Picture
	wide    int
	Encoded encoded
}

// card is one choice.
type card struct {
	Letter, Title, Tag, Says string
	Each, Unit, Lot          string
	DayLabel, Day, Likely    string
	Facts                    []fact
	PromisedHead, NotHead    string
	Promised, Not            []string
	Pictures                 []shown
	Link, LinkSays           string
	Level                    int // of the headings of what is promised
}

// prices is the table of lots against choices.
type prices struct {
	Head, Caption, LotHead string
	Choices                []fact // letter and title
	Rows                   []priceRow
}

type priceRow struct {
	Lot   string
	Asked bool
	Note  string
	Cells []fact // a piece, the lot
}

// answer is the line to sign.
type answer struct {
	Head           string
	Says, OnPaper  string // how to answer: at a screen, on paper
	Boxes          []fact // letter and title
	Blanks         []string
	Where, HowLink string
	Href           string
}

// viewOf checks a sheet and puts it into words.
func viewOf(s *Sheet) (*view, error) {
	if err := s.check(); err != nil {
		return nil, err
	}
	t, err := tongue.Of(s.Language)
	if err != nil {
		return nil, err
	}
	return viewIn(s, t), nil
}

// viewIn puts a sheet that was checked into the words of a language.
func viewIn(s *Sheet, t *tongue.Tongue) *view {
	v := &view{sheet: s, t: t, Lang: t.Tag(), Shop: clean(s.Shop), Contact: paragraphs(s.Contact), Words: paragraphs(s.Words)}
	v.Title = first(clean(s.Title), t.Say("Your part"))
	v.Head = t.Say("Offer: %s", v.Title)
	if n := clean(s.Number); n != "" {
		v.Head = t.Say("Offer %s: %s", n, v.Title)
		v.Facts = append(v.Facts, fact{t.Say("Offer"), n})
	}
	for _, f := range []fact{{t.Say("For"), clean(s.Customer)}, {t.Say("Made on"), day(t, s.Day)}, {t.Say("Holds until"), day(t, s.Until)}} {
		if f.Value != "" {
			v.Facts = append(v.Facts, f)
		}
	}
	v.Lead = lead(t, len(s.Choices))
	v.part()
	v.ChoiceHead = t.Say("The finishes")
	if len(s.Choices) == 1 {
		v.ChoiceHead = t.Say("The finish")
	}
	for i := range s.Choices {
		v.Choices = append(v.Choices, v.card(i))
	}
	v.notes()
	v.share()
	v.ladder()
	v.fixed()
	if v.Terms = cleaned(s.Terms); len(v.Terms) > 0 {
		v.TermsHead = t.Say("Terms")
	}
	v.reply()
	v.Page = func(n, of int) string { return t.Say("Page %d of %d", n, of) }
	return v
}

func lead(t *tongue.Tongue, n int) string {
	switch n {
	case 1:
		return t.Say("One finish, with its price and its day.")
	case 2:
		return t.Say("Two finishes to choose from, each with its price and its day.")
	case 3:
		return t.Say("Three finishes to choose from, each with its price and its day.")
	}
	return t.Count(n, "One finish, with its price and its day.", "%d finishes to choose from, each with its price and its day.")
}

// part is what is known of the part itself.
func (v *view) part() {
	s, t := v.sheet, v.t
	v.PartHead = t.Say("The part")
	if m := clean(s.Material); m != "" {
		v.PartFacts = append(v.PartFacts, fact{t.Say("Material"), m})
	}
	if s.SizeMM[0] > 0 && s.SizeMM[1] > 0 && s.SizeMM[2] > 0 {
		v.PartFacts = append(v.PartFacts, fact{t.Say("Size"), size(s.Display, s.SizeMM)})
	}
	v.PartFacts = append(v.PartFacts, fact{t.Say("Pieces"), number(int64(s.Lot))})
	v.Part = v.shown(s.Part, 760, t.Say("The part."))
}

// shown are pictures with their words. The first is shown up to wide CSS pixels wide,
// the others half as wide.
func (v *view) shown(pictures []Picture, wide int, otherwise string) []shown {
	var out []shown
	for i, p := range pictures {
		kind := v.t.Say("Worked out by computer, not a photograph.")
		if p.Photo {
			kind = v.t.Say("Photograph.")
		}
		if i == 1 {
			wide = max(300, wide/2)
		}
		out = append(out, shown{Says: first(clean(p.Says), otherwise), Kind: kind, From: p, wide: wide})
	}
	return out
}

// card is choice i in words.
func (v *view) card(i int) card {
	s, t, c := v.sheet, v.t, &v.sheet.Choices[i]
	k := card{
		Letter: string(rune('A' + i)), Title: first(clean(c.Title), first(clean(c.Look), t.Say("Finish"))), Says: clean(c.Says),
		PromisedHead: t.Say("Promised"), NotHead: t.Say("Not promised"),
		Level: 4, Promised: cleaned(c.Promised), Not: cleaned(c.NotPromised),
	}
	if c.Asked {
		k.Tag = t.Say("What you asked for")
	}
	switch {
	case c.Each.Value.Minor == 0:
		k.Each = t.Say("Price on asking")
	case s.Lot == 1:
		k.Each, k.Unit = amount(c.Each.Value), t.Say("for the one piece")
	default:
		k.Each, k.Unit = amount(c.Each.Value), t.Say("a piece")
		if c.Price.Value.Minor != 0 {
			k.Lot = t.Count(s.Lot, "%[2]s for the one piece", "%[2]s for all %[1]d pieces", amount(c.Price.Value))
		}
	}
	k.DayLabel, k.Day = t.Say("Promised for"), day(t, c.Day)
	if c.Day == "" {
		k.Day = t.Say("the day we name when you have chosen")
	}
	if likely, ok := dateOf(c.Likely); ok && (c.Day == "" || likely.Format(time.DateOnly) < c.Day) {
		k.Likely = t.Say("If all goes as it mostly does, it is ready on %s.", day(t, c.Likely))
	}
	if e := c.RaUM; given(e) {
		k.Facts = append(k.Facts, fact{t.Say("Roughness expected, Ra"), s.Display.Range(e)})
	}
	if e := c.EdgeUM; given(e) {
		k.Facts = append(k.Facts, fact{t.Say("Edges expected, radius"), lengthRange(s.Display, e.Scale(1e-3))})
	}
	wide := 380
	switch len(s.Choices) {
	case 1:
		wide = 700
	case 2, 4:
		wide = 560
	}
	k.Pictures = v.shown(c.Pictures, wide, t.Say("The finish %s.", k.Title))
	return k
}

// notes say how the numbers of the choices are to be read.
func (v *view) notes() {
	t := v.t
	ra, edge := false, false
	for i := range v.sheet.Choices {
		ra = ra || given(v.sheet.Choices[i].RaUM)
		edge = edge || given(v.sheet.Choices[i].EdgeUM)
	}
	if ra {
		v.Notes = append(v.Notes, t.Say("Ra is the mean height of the fine ups and downs of a surface: the smaller it is, the smoother the face."))
	}
	if ra || edge {
		v.Notes = append(v.Notes, t.Say("What is expected is an estimate; eight in ten should fall between the two numbers in brackets."))
	}
}

// share takes out of the choices what is promised, or not, with every one of them.
func (v *view) share() {
	if len(v.Choices) < 2 {
		return
	}
	take := func(of func(*card) *[]string) []string {
		var all []string
		for _, says := range *of(&v.Choices[0]) {
			if !slices.ContainsFunc(v.Choices, func(c card) bool { return !slices.Contains(*of(&c), says) }) {
				all = append(all, says)
			}
		}
		for i := range v.Choices {
			list := of(&v.Choices[i])
			*list = slices.DeleteFunc(slices.Clone(*list), func(says string) bool { return slices.Contains(all, says) })
		}
		return all
	}
	c := card{Title: v.t.Say("Whichever you choose"), Level: 3, PromisedHead: v.Choices[0].PromisedHead, NotHead: v.Choices[0].NotHead}
	c.Promised = take(func(c *card) *[]string { return &c.Promised })
	c.Not = take(func(c *card) *[]string { return &c.Not })
	if len(c.Promised)+len(c.Not) > 0 {
		v.Common = &c
	}
}

// fixed says how long the prices hold.
func (v *view) fixed() {
	t := v.t
	priced := slices.ContainsFunc(v.sheet.Choices, func(c Choice) bool { return c.Each.Value.Minor != 0 })
	switch {
	case !priced:
	case v.sheet.Until != "":
		v.Fixed = t.Say("These prices are fixed for an order that reaches us by %s.", day(t, v.sheet.Until))
	default:
		v.Fixed = t.Say("This offer names no day up to which its prices are fixed; please ask before you count on them.")
	}
}

func cleaned(list []string) []string {
	var out []string
	for _, s := range list {
		if s = clean(s); s != "" && !slices.Contains(out, s) {
			out = append(out, s)
		}
	}
	return out
}

// first gives s, or other where s is empty.
func first(s, other string) string {
	if strings.TrimSpace(s) == "" {
		return other
	}
	return s
}

// given reports whether an estimate says anything.
func given(e fettle.Estimate) bool {
	e.Basis = "asked"
	return e.Valid() && e.Value > 0
}
