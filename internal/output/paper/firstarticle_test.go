package paper

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"strings"
	"testing"
	"unicode"

	"fettle"
	"fettle/internal/output/draw"
	"fettle/internal/output/tongue"
	"fettle/internal/trade/sampling"

	"pgregory.net/rapid"
)

// accepted is the acceptance of the sample plan after a signed-off sample.
func accepted(t testing.TB, p *fettle.Plan, lot int) *fettle.Acceptance {
	t.Helper()
	read := func(k fettle.ReadingKind, vs ...float64) (out []fettle.Reading) {
		for _, v := range vs {
			out = append(out, fettle.Reading{Kind: k, AtH: 1.6, Value: v, Place: "face"})
		}
		return out
	}
	var rs []fettle.Reading
	rs = append(rs, read(fettle.ReadRa, 0.47, 0.52, 0.44)...)
	rs = append(rs, read(fettle.ReadGrade, 5)...)
	rs = append(rs, read(fettle.ReadMarkGone, 1)...)
	rs = append(rs, fettle.Reading{Kind: fettle.ReadGrams, AtH: 1.6, Value: 0.21})
	acc, err := sampling.Accept(sampling.AcceptInput{Plan: p, Day: "2026-03-02", Lot: lot, General: "m",
		Sample: &fettle.Run{ID: "run-2026-02-27-1", Material: "naval brass", Readings: rs}})
	if err != nil {
		t.Fatal(err)
	}
	return &acc
}

func articlePages(t testing.TB, p *fettle.Plan, acc *fettle.Acceptance, size Size) []*draw.Drawing {
	t.Helper()
	pages, err := FirstArticlePages(p, acc, Options{Size: size})
	if err != nil {
		t.Fatal(err)
	}
	return pages
}

func TestFirstArticleSaysWhatWasAgreed(t *testing.T) {
	p := samplePlan()
	acc := accepted(t, p, 150)
	if err := sampling.Record(acc, 1, 42.06); err != nil {
		t.Fatal(err)
	}
	for _, size := range []Size{A4, Letter} {
		pages := articlePages(t, p, acc, size)
		sound(t, pages, size)
		text := flowing(pages)
		for _, want := range []string{
			"Tern Lane Small Metals", "escutcheon-plate.3mf", "9f2c4e81d07a", "2026-03-02", "run-2026-02-27-1",
			"150 pieces look at 13", "code letter E", "42.06 mm", "42.000 ± 0.3", "0.8 µm", "Signature", "hole-2",
		} {
			if !strings.Contains(text, want) {
				t.Errorf("%s: %q is not on the paper", size.Name, want)
			}
		}
		// A row for each piece that is looked at, and no more.
		if !strings.Contains(text, " 12 13 ") || strings.Contains(text, " 13 14 ") {
			t.Errorf("%s: the rows do not end at 13", size.Name)
		}
	}
}

// A lot whose sample has more pieces than rows fit is tallied, with one row for each
// piece up to where it is refused.
func TestFirstArticleTallies(t *testing.T) {
	p := samplePlan()
	acc := accepted(t, p, 5000)
	if acc.Sampling.Size != 200 || acc.Sampling.Reject != 6 {
		t.Fatalf("looks at %d, refuses at %d", acc.Sampling.Size, acc.Sampling.Reject)
	}
	pages := articlePages(t, p, acc, A4)
	sound(t, pages, A4)
	text := flowing(pages)
	for _, want := range []string{"in fives, up to 200", "Stop here: the lot is refused.", "at most 5 fail; at 6"} {
		if !strings.Contains(text, want) {
			t.Errorf("%q is not on the paper", want)
		}
	}
	if len(pages) > 4 {
		t.Errorf("%d pages", len(pages))
	}
}

func TestFirstArticleBeforeASample(t *testing.T) {
	p := samplePlan()
	p.Brief.Display = fettle.Inch
	acc, err := sampling.Accept(sampling.AcceptInput{Plan: p})
	if err != nil {
		t.Fatal(err)
	}
	pages := articlePages(t, p, &acc, Letter)
	sound(t, pages, Letter)
	text := flowing(pages)
	for _, want := range []string{"not signed off", "No sample was signed off yet", "Look at all 12 pieces", "µin", "1.6535 in"} {
		if !strings.Contains(text, want) {
			t.Errorf("%q is not on the paper", want)
		}
	}
	if strings.Contains(text, "µm") || strings.Contains(text, " mm") {
		t.Error("millimetres on a paper in inches")
	}
	if strings.Contains(text, "The signed sample wins") {
		t.Error("the paper speaks of a sample that is not there")
	}
}

// Every sentence comes from the catalog: outside its marks stand only names of the plan,
// numbers and their units.
func TestFirstArticleSpeaksThroughTheTongue(t *testing.T) {
	p := samplePlan()
	for _, lot := range []int{1, 12, 150, 5000} {
		acc := accepted(t, p, lot)
		acc.Notes = nil
		acc.Sampling.Severity = sampling.Tightened
		pages, err := FirstArticlePages(p, acc, Options{Tongue: tongue.Marked()})
		if err != nil {
			t.Fatal(err)
		}
		rest := tongue.Unmarked(flowing(pages))
		for _, name := range []string{p.Shop, p.Title, p.Material.Title, p.Look.Title, p.Survey.File, acc.Sample, "9f2c4e81d07a", "Show face"} {
			rest = strings.ReplaceAll(rest, name, " ")
		}
		for _, w := range strings.Fields(rest) {
			switch w {
			case "mm", "µm", "g", "GU", "Ra", "N", "II", "L", "E":
				continue
			}
			if strings.ContainsFunc(w, unicode.IsLetter) && !strings.ContainsAny(w, "0123456789") {
				t.Errorf("lot of %d: %q does not come from the catalog", lot, w)
			}
		}
	}
}

// What the trade calls the lines of the record is known to the catalog.
func TestFirstArticleKnowsItsLines(t *testing.T) {
	p := samplePlan()
	p.Look.EdgeUM = guess(100, 50, 200)
	for _, gone := range []float64{0, 1} {
		acc, err := sampling.Accept(sampling.AcceptInput{Plan: p, Day: "2026-03-02", Sample: &fettle.Run{Readings: []fettle.Reading{
			{Kind: fettle.ReadRa, Value: 0.5}, {Kind: fettle.ReadRz, Value: 3}, {Kind: fettle.ReadSq, Value: 0.6}, {Kind: fettle.ReadGrade, Value: 5},
			{Kind: fettle.ReadGloss, Value: 60}, {Kind: fettle.ReadMarkGone, Value: gone}}}})
		if err != nil {
			t.Fatal(err)
		}
		for _, l := range acc.First {
			for _, s := range []string{l.What, l.Wanted} {
				if _, ok := articleLines[s]; !ok && (s == l.What || !strings.ContainsAny(s, "0123456789")) {
					t.Errorf("%q has no sentence", s)
				}
			}
		}
	}
	for english, key := range articleLines {
		if english != string(key) {
			t.Errorf("%q stands under %q", key, english)
		}
	}
}

func TestFirstArticleIsTheSameEveryTime(t *testing.T) {
	p := samplePlan()
	a, err := FirstArticle(p, accepted(t, p, 12), Options{})
	if err != nil {
		t.Fatal(err)
	}
	b, err := FirstArticle(p, accepted(t, p, 12), Options{})
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(a, b) {
		t.Error("two papers of one acceptance differ")
	}
	if out := os.Getenv("FETTLE_FIRST_ARTICLE"); out != "" { // to look at
		for _, size := range []Size{A4, Letter} {
			for _, lot := range []int{12, 150, 500, 5000} {
				b, err := FirstArticle(p, accepted(t, p, lot), Options{Size: size})
				if err != nil {
					t.Fatal(err)
				}
				if err := os.WriteFile(fmt.Sprintf("%s/first-%s-%d.pdf", out, size.Name, lot), b, 0o644); err != nil {
					t.Fatal(err)
				}
			}
		}
	}
}

func TestFirstArticleRefuses(t *testing.T) {
	p := samplePlan()
	ok := accepted(t, p, 12)
	none := *ok
	none.Sampling.Size = 0
	for name, c := range map[string]struct {
		plan *fettle.Plan
		acc  *fettle.Acceptance
		size Size
	}{
		"no plan":       {nil, ok, A4},
		"no acceptance": {p, nil, A4},
		"nothing in it": {p, &fettle.Acceptance{}, A4},
		"no sample":     {p, &none, A4},
		"no paper":      {p, ok, Size{"", math.NaN(), 10}},
	} {
		if _, err := FirstArticle(c.plan, c.acc, Options{Size: c.size}); fettle.CodeOf(err) != fettle.Invalid {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// Whatever names and numbers come, texts stay on the paper and apart.
func TestFirstArticleStaysOnThePaper(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := samplePlan()
		p.Title = rapid.StringN(0, 90, -1).Draw(t, "title")
		p.Survey.File = rapid.StringN(0, 90, -1).Draw(t, "file")
		p.Zones[0].Name = rapid.StringN(0, 60, -1).Draw(t, "zone")
		if rapid.Bool().Draw(t, "inch") {
			p.Brief.Display = fettle.Inch
		}
		p.Brief.RaMaxUM = rapid.SampledFrom([]float64{0, 0.1, 0.4, 1.6}).Draw(t, "drawing")
		lot := rapid.SampledFrom([]int{1, 5, 60, 151, 281, 1000, 40000}).Draw(t, "lot")
		acc, err := sampling.Accept(sampling.AcceptInput{Plan: p, Lot: lot, General: rapid.SampledFrom([]string{"", "f", "v"}).Draw(t, "general")})
		if err != nil {
			t.Fatal(err)
		}
		size := rapid.SampledFrom([]Size{A4, Letter}).Draw(t, "size")
		pages, err := FirstArticlePages(p, &acc, Options{Size: size})
		if err != nil {
			t.Fatal(err)
		}
		sound(t, pages, size)
	})
}
