package words

import (
	"strings"
	"testing"

	"fettle"
)

func offerOf(aim fettle.Aim, cents int64, readyH, chance float64, steps ...string) fettle.Offer {
	each := fettle.Money{Minor: cents, Currency: "USD"}
	return fettle.Offer{Look: "satin", Title: "Satin", Asked: true, Aim: aim, Meets: true, Chance: chance, Steps: steps,
		Each: fettle.Cost{Value: each, Low: each, High: each}, ReadyH: fettle.Exactly(readyH, "clock"),
		AttendedH: fettle.Exactly(2, "hand"), AloneH: fettle.Exactly(0.5, "bowl")}
}

// Ways that a shop would not tell apart share a row, and steps that several share
// are said once.
func TestWaysSideBySide(t *testing.T) {
	cut := []string{"pass ball-10", "pass bull-12-r2", "pass bull-12-r2", "deburr", "rub P400"}
	pl := fettle.Plan{Meets: true, Search: fettle.Search{Ways: 1234567, Proved: true}, Offers: []fettle.Offer{
		offerOf(fettle.LeastMoney, 5000, 10, 0.8, cut...),
		offerOf(fettle.Soonest, 5010, 10.05, 0.805, cut...),
		offerOf(fettle.Surest, 5500, 12, 0.95, cut...),
	}}
	var p page
	p.ways(pl)
	text := p.String()
	for _, want := range []string{"least money, soonest  USD 50.00", "surest                USD 55.00", "80 in 100", "30 min",
		"Least money, soonest and surest (with other stepovers or hours): pass", "1,234,567 beginnings of routes"} {
		if !strings.Contains(strings.Join(strings.Fields(text), " "), strings.Join(strings.Fields(want), " ")) {
			t.Errorf("no %q in\n%s", want, text)
		}
	}
	if n := strings.Count(text, "rub P400"); n != 1 {
		t.Errorf("the same steps are said %d times:\n%s", n, text)
	}
	if n := strings.Count(text, "bull-12-r2"); n != 1 {
		t.Errorf("two sides with one cutter are said %d times:\n%s", n, text)
	}

	if strings.Contains(text, "one round") {
		t.Errorf("rounds are spoken of where nothing asks for it:\n%s", text)
	}
	pl.Offers[1] = offerOf(fettle.Soonest, 5200, 11, 0.95, cut...)
	p = page{}
	p.ways(pl)
	if text := p.String(); !strings.Contains(text, "Money and hours are those of one round") {
		t.Errorf("a soonest way that is later is not explained:\n%s", text)
	}

	pl.Offers[1] = offerOf(fettle.Soonest, 5010, 10.05, 0.805, cut...)
	pl.Offers[2] = offerOf(fettle.Surest, 5000, 10, 0.8, cut...)
	p = page{}
	p.ways(pl)
	if text := p.String(); !strings.Contains(text, "One route has the least money, the soonest day and the surest look") || strings.Contains(text, "a piece") {
		t.Errorf("one route for all:\n%s", text)
	}
}

// A no says what is missing once, in a section of its own, and which rules stood
// in the way.
func TestNoSaysWhatIsMissing(t *testing.T) {
	pl := planOf(t, fettle.Metric)
	pl.Meets = false
	pl.Missing = []string{"no media here goes below Ra 0.3 µm", "fine cob would do it"}
	pl.Verdict = "no: it comes out at Ra 0.4 µm; " + strings.Join(pl.Missing, "; ")
	pl.Rules = []fettle.Rule{{ID: "grit-step", Cut: 3}, {ID: "mop-last"}, {ID: "no-jams", Cut: 2, SetAside: true}}
	text := strings.Join(strings.Fields(Plan(*pl)), " ")
	for _, want := range []string{"No: it comes out at Ra 0.4 µm. ", "What is missing", "- Fine cob would do it.", "that closed ways: grit-step; the option --set-aside", "Rules set aside: no-jams."} {
		if !strings.Contains(text, want) {
			t.Errorf("no %q in %s", want, text)
		}
	}
	if n := strings.Count(strings.ToLower(text), "fine cob"); n != 1 {
		t.Errorf("what is missing is said %d times", n)
	}
}

// Plans with the shop's own numbers say how many they are.
func TestRestsOnTheLog(t *testing.T) {
	in := func(name, basis string) fettle.Input {
		return fettle.Input{Name: name, Value: fettle.Guess(1, 0.5, 2, basis)}
	}
	pl := fettle.Plan{Accounts: []fettle.Account{
		{Inputs: []fettle.Input{in("limit", "shop log (n = 5)"), in("burrs", fettle.BasisGuess)}},
		{Inputs: []fettle.Input{in("limit", "shop log (n = 5)"), in("removal", "starting guess, shifted by the shop log of its kin (n = 5)")}},
	}}
	if got := metric.rests(pl); !strings.HasPrefix(got, "This shop's log bears on 2 of the 3 uncertain numbers") {
		t.Error(got)
	}
	if got := metric.rests(fettle.Plan{}); !strings.Contains(got, "starting guesses") {
		t.Error(got)
	}
}

func TestEnds(t *testing.T) {
	for _, c := range [][3]string{
		{"38 min", "67 min", "38–67 min"}, {"34 min", "12 h", "34 min–12 h"}, {"2 h 30 min", "3 h 30 min", "2 h 30 min–3 h 30 min"},
		{"0.54 fl oz", "2.7 fl oz", "0.54–2.7 fl oz"}, {"1", "2", "1–2"},
	} {
		if got := ends(c[0], c[1]); got != c[2] {
			t.Errorf("%q to %q: %q, want %q", c[0], c[1], got, c[2])
		}
	}
}
