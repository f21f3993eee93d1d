package offer

import (
	"bytes"
	"math"
	"strings"
	"testing"

	"fettle"
	"fettle/internal/output/draw"
	"fettle/internal/output/paper"
)

func pagesOf(t testing.TB, s *Sheet, size paper.Size) (*view, []*draw.Drawing) {
	t.Helper()
	v, err := viewOf(s)
	if err != nil {
		t.Fatal(err)
	}
	pages, err := v.pages(size)
	if err != nil {
		t.Fatal(err)
	}
	return v, pages
}

// printed is all text of the pages, blanks between what was set apart.
func printed(pages []*draw.Drawing) string {
	var b strings.Builder
	for _, d := range pages {
		for _, x := range d.Texts {
			b.WriteString(x.S + " ")
		}
	}
	return strings.Join(strings.Fields(b.String()), " ")
}

// Whatever is offered, nothing stands in the margins, no text over another or over a
// picture, pictures keep their shape, and all that the page says the paper says too.
func TestPaper(t *testing.T) {
	many := sample(t, 3)
	many.Choices = append(many.Choices, many.Choices[0], many.Choices[1])
	long := sample(t, 2)
	long.Title = strings.Repeat("Escutcheon plate with a keyhole ", 5)
	long.Choices[0].Title = "Satin-with-a-very-long-name-that-has-no-place-to-break-and-goes-on-and-on"
	long.Words = strings.Repeat("The plate may not look new on an old door.\n", 20)
	long.Choices[1].Pictures = append(long.Choices[1].Pictures, plain(t, 40, 400, color50), plain(t, 400, 40, color50))
	bare := &Sheet{Lot: 1, Choices: []Choice{{}}}
	yen := sample(t, 2)
	for i := range yen.Choices {
		yen.Choices[i].Each, yen.Choices[i].Price = cost(123456789012, "JPY"), cost(9876543210987, "JPY")
		yen.Choices[i].Ladder = nil
	}
	for name, s := range map[string]*Sheet{"one": sample(t, 1), "two": sample(t, 2), "three": sample(t, 3), "five": many, "long": long, "bare": bare, "large sums": yen} {
		for _, size := range []paper.Size{paper.A4, paper.Letter} {
			v, pages := pagesOf(t, s, size)
			if len(pages) < 1 || len(pages) > mostPages {
				t.Errorf("%s on %s: %d pages", name, size.Name, len(pages))
			}
			for i, d := range pages {
				f, _ := d.Bounds(paper.Metric)
				if f.X0 < marginLeft-0.3 || f.X1 > size.W-marginRight+0.3 || f.Y0 < marginTop-0.3 || f.Y1 > size.H-8 {
					t.Errorf("%s on %s, page %d reaches from %.1f to %.1f and from %.1f to %.1f mm", name, size.Name, i+1, f.X0, f.X1, f.Y0, f.Y1)
				}
				overlaps(t, name+" on "+size.Name, d)
			}
			all := printed(pages)
			for _, want := range said(v) {
				if !strings.Contains(squeeze(all), squeeze(paper.Clean(want))) {
					t.Errorf("%s on %s: %q is not printed", name, size.Name, want)
				}
			}
		}
	}
}

// squeeze leaves the blanks out, as a word that is too long is broken.
func squeeze(s string) string { return strings.ReplaceAll(s, " ", "") }

// said are the texts of an offer that the page shows.
func said(v *view) []string {
	out := append([]string{v.Shop, v.Title, v.Lead, v.Fixed, v.Answer.OnPaper}, v.Contact...)
	out = append(append(out, v.Words...), v.Terms...)
	out = append(out, v.Notes...)
	for _, f := range append(append([]fact{}, v.Facts...), v.PartFacts...) {
		out = append(out, f.Label, f.Value)
	}
	cards := v.Choices
	if v.Common != nil {
		cards = append(cards[:len(cards):len(cards)], *v.Common)
	}
	for _, c := range cards {
		out = append(out, c.Title, c.Tag, c.Says, c.Each, c.Unit, c.Lot, c.Day, c.Likely)
		out = append(append(out, c.Promised...), c.Not...)
		for _, f := range c.Facts {
			out = append(out, f.Label, f.Value)
		}
		for _, p := range c.Pictures {
			out = append(out, p.Says, p.Kind)
		}
	}
	if v.Prices != nil {
		out = append(out, v.Prices.Head, v.Prices.Caption)
		for _, r := range v.Prices.Rows {
			out = append(out, r.Lot, r.Note)
			for _, c := range r.Cells {
				out = append(out, c.Label, c.Value)
			}
		}
	}
	return append(out, v.Answer.Blanks...)
}

// overlaps looks for text over text and text over pictures, and for pictures that are
// drawn out of shape.
func overlaps(t *testing.T, name string, d *draw.Drawing) {
	t.Helper()
	var frames []draw.Frame
	for _, x := range d.Texts {
		f := x.Frame(paper.Metric)
		// Ascenders and descenders of lines set close may meet.
		f.Y0, f.Y1 = f.Y0+0.15*x.Size, f.Y1-0.1*x.Size
		for k, g := range frames {
			if f.Overlaps(g) {
				t.Errorf("%s: %q lies over %q", name, x.S, d.Texts[k].S)
			}
		}
		frames = append(frames, f)
	}
	for _, i := range d.Images {
		at := draw.Frame{X0: i.At.X, Y0: i.At.Y, X1: i.At.X + i.W, Y1: i.At.Y + i.H}
		for k, g := range frames {
			if at.Overlaps(g) {
				t.Errorf("%s: %q lies over a picture", name, d.Texts[k].S)
			}
		}
		img, err := read(Picture{Data: i.Data, Type: i.Type}, 5000)
		if err != nil {
			t.Fatal(err)
		}
		is, was := i.W/i.H, float64(img.Rect.Dx())/float64(img.Rect.Dy())
		if math.Abs(is/was-1) > 1e-9 {
			t.Errorf("%s: a picture of %v is drawn %.1f × %.1f mm", name, img.Rect.Size(), i.W, i.H)
		}
	}
}

func TestPaperTooLong(t *testing.T) {
	s := sample(t, 2)
	s.Terms = nil
	for i := range 400 {
		s.Terms = append(s.Terms, "Term "+number(int64(i))+" of an offer that nobody reads to its end, whatever is in it.")
	}
	if _, err := PDF(s, paper.A4); fettle.CodeOf(err) != fettle.Invalid || !strings.Contains(err.Error(), "3 pages") {
		t.Errorf("four hundred terms: %v", err)
	}
	if _, err := PDF(sample(t, 1), paper.Size{Name: "stamp", W: 30, H: 40}); fettle.CodeOf(err) != fettle.Invalid {
		t.Errorf("a stamp: %v", err)
	}
	// Smaller type takes more.
	s.Terms = s.Terms[:80]
	if _, pages := pagesOf(t, s, paper.A4); len(pages) != mostPages {
		t.Errorf("eighty terms take %d pages", len(pages))
	}
}

func TestPaperSameBytes(t *testing.T) {
	a, err := PDF(sample(t, 2), paper.A4)
	if err != nil {
		t.Fatal(err)
	}
	b, err := PDF(sample(t, 2), paper.A4)
	if err != nil || !bytes.Equal(a, b) {
		t.Errorf("the paper differs from run to run (%v)", err)
	}
}
