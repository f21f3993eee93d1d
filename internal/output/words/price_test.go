package words

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"fettle"
)

func usd(cents int64) fettle.Cost {
	m := fettle.Money{Minor: cents, Currency: "USD"}
	return fettle.Cost{Value: m, Low: m, High: m}
}

// samplePrice is a price small enough to be added up by hand: 90 once, 60 for 12
// pieces, a margin of a quarter on top.
func samplePrice() fettle.Price {
	pr := fettle.Price{
		Currency: "USD", Rounding: "each line is rounded once",
		Dearest: &fettle.Dearest{Step: "rub P400", Each: usd(500), Share: 0.32, FinishShare: 0.8},
		LotPrice: fettle.LotPrice{
			Lot: 12, Cost: usd(15000), Price: usd(18750), Each: usd(1563), Bottleneck: fettle.Bottleneck{Kind: "person", Days: 0.5, Says: "a person: half a day."},
			Lines: []fettle.PriceLine{
				{Name: "programming", Once: true, Cost: usd(7000), Says: "2 h at the desk"}, {Name: "fixtures", Once: true, Cost: usd(2000)},
				{Name: "stock", Cost: usd(6000), Says: "12 blanks."},
			},
		},
	}
	for _, r := range []struct {
		lot  int
		each int64
		kind string
		name string
		days float64
	}{{1, 11875, "person", "", 0.35}, {10, 1750, "person", "", 0.45}, {100, 738, "vessel", "bowl", 3.2}, {1000, 636, "mill", "", 24}} {
		pr.Ladder = append(pr.Ladder, fettle.LotPrice{Lot: r.lot, Each: usd(r.each), Price: usd(r.each * int64(r.lot)), Bottleneck: fettle.Bottleneck{Kind: r.kind, Name: r.name, Days: r.days}})
	}
	return pr
}

func pricePage(pr fettle.Price) string {
	p := metric.page()
	p.price(pr)
	return p.String()
}

func TestPricePage(t *testing.T) {
	want := `Price of 12 pieces
  - Paid once, for a lot of any size: USD 90.00, which is USD 7.50 on each
    piece.
      Programming: USD 70.00, 2 h at the desk.
      Fixtures: USD 20.00.
  - Paid for every piece: USD 60.00, which is USD 5.00 a piece.
      Stock: USD 60.00, 12 blanks.
  - The lot costs USD 150.00 (150.00–150.00) to make; the price with margin is
    USD 187.50 (187.50–187.50), or USD 15.63 (15.63–15.63) a piece.
  - What costs most is rub P400: USD 5.00 (5.00–5.00) of the price of a piece,
    which is 32 % of it and 80 % of all finishing.
  - The lot waits longest for a person: half a day.
  - Each line is rounded once.

Other lots by the same route
    pieces         a piece     the lot       waits longest for  working days
    1              USD 118.75  USD 118.75    a person           0.35
    10             USD 17.50   USD 175.00    a person           0.45
    12 (this lot)  USD 15.63   USD 187.50    a person           0.5
    100            USD 7.38    USD 738.00    bowl               3.2
    1,000          USD 6.36    USD 6,360.00  the mill           24
  - The days are those that the slowest of person, mill and vessels takes for
    the lot by itself; a promise counts in the rest and what else is in the
    shop.
`
	if diff := cmp.Diff(want, pricePage(samplePrice())); diff != "" {
		t.Error(diff)
	}
}

// A plan that was kept before lines were told apart has its list and no ladder; one
// without a price has no section.
func TestOldPrice(t *testing.T) {
	pr := samplePrice()
	pr.Ladder, pr.Dearest, pr.Rounding, pr.Bottleneck = nil, nil, "", fettle.Bottleneck{}
	for i := range pr.Lines {
		pr.Lines[i].Once = false
	}
	want := `Price of 12 pieces
  - Programming: USD 70.00, 2 h at the desk.
  - Fixtures: USD 20.00.
  - Stock: USD 60.00, 12 blanks.
  - The lot costs USD 150.00 (150.00–150.00) to make; the price with margin is
    USD 187.50 (187.50–187.50), or USD 15.63 (15.63–15.63) a piece.
`
	if diff := cmp.Diff(want, pricePage(pr)); diff != "" {
		t.Error(diff)
	}
	if text := pricePage(fettle.Price{}); text != "" {
		t.Errorf("a price without lines: %q", text)
	}
	// 100 cents on 3 pieces, and half a cent away from zero.
	for _, c := range [][3]int64{{100, 3, 33}, {5, 2, 3}, {-5, 2, -3}, {0, 7, 0}} {
		if got := perPiece(c[0], c[1]); got != c[2] {
			t.Errorf("%d over %d is %d", c[0], c[1], got)
		}
	}
}

// sampleProposal offers what a plan offers, with the customer's answer.
func sampleProposal(pl fettle.Plan) fettle.Proposal {
	o := offerOf(fettle.LeastMoney, 1563, 60, 0.86, "rub P400")
	o.RaUM, o.Says = fettle.Guess(0.5, 0.25, 1, "x"), "even and soft"
	o.Ladder = []fettle.OfferRung{{Lot: 1, Each: usd(11875), Price: usd(11875)}, {Lot: 10, Each: usd(1750), Price: usd(17500)}}
	other := o
	other.Asked, other.Ladder, other.AloneH = false, nil, fettle.Estimate{}
	return fettle.Proposal{Offers: append([]fettle.Offer{o, other}, pl.Offers...), Sent: "2026-12-04", Until: "2027-01-15", Words: "with thanks",
		Answer: &fettle.Answer{Accepted: true, Look: "satin", Day: "2026-12-08", Words: "go ahead"}}
}

func TestOffersPage(t *testing.T) {
	o := sampleProposal(fettle.Plan{})
	want := `Offer sent on 2026-12-04; it holds until 2027-01-15.
The customer chose satin on 2026-12-08.
In the customer's words: go ahead.

Satin, as asked for
  - A piece costs USD 15.63 (15.63–15.63).
  - The lot takes 2 h of a person's time and 30 min of machines that run on
    their own.
  - It is ready about 2.5 days (2.5–2.5) after it is begun.
  - It should come out at Ra 0.50 µm (0.25–1.0); it comes out right the first
    time in 86 lots of 100.
  - One piece by itself costs USD 118.75.
  - A lot of 10 pieces costs USD 175.00, or USD 17.50 a piece.
  - Even and soft.

Satin
  - A piece costs USD 15.63 (15.63–15.63).
  - The lot takes 2 h of a person's time.
  - It is ready about 2.5 days (2.5–2.5) after it is begun.
  - It should come out at Ra 0.50 µm (0.25–1.0); it comes out right the first
    time in 86 lots of 100.
  - Even and soft.

What was written with it
  - with thanks.
`
	if diff := cmp.Diff(want, Offers(o, fettle.Metric)); diff != "" {
		t.Error(diff)
	}
	// 0.5 µm are 19.7 µin.
	if text := Offers(o, fettle.Inch); !strings.Contains(text, "Ra 20 µin (9.8–39)") {
		t.Error(text)
	}
	for want, o := range map[string]fettle.Proposal{
		"This offer was not sent yet.\nThere is no answer yet.\n":           {},
		"Offer sent on 2026-12-04.\nThe customer declined on 2026-12-05.\n": {Sent: "2026-12-04", Answer: &fettle.Answer{Day: "2026-12-05"}},
	} {
		if got := Offers(o, fettle.Metric); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}
