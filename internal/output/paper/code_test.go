package paper

import (
	"image"
	"image/color"
	"math"
	"slices"
	"strings"
	"testing"

	goqr "github.com/piglig/go-qr"
	"pgregory.net/rapid"

	"fettle"
	"fettle/internal/output/draw"
)

// codesOn are the frames of the codes on each page, with their borders: where the
// rectangles of a step's code stand one after the other.
func codesOn(tr *traveler) map[int][]draw.Frame {
	out := map[int][]draw.Frame{}
	for n, d := range tr.sheet.pages {
		for k := 0; k < len(d.Fills); k++ {
			for _, c := range tr.codes {
				if f, ok := c.at(d.Fills[k:]); ok {
					out[n] = append(out[n], f)
					k += len(c.rects) - 1
					break
				}
			}
		}
	}
	return out
}

// at is the frame of a code whose rectangles fills begins with.
func (c code) at(fills []draw.Fill) (f draw.Frame, ok bool) {
	if len(fills) < len(c.rects) {
		return f, false
	}
	for i, r := range c.rects {
		p := fills[i].Pts
		if len(p) != 4 || fills[i].Shade != 0 {
			return f, false
		}
		x, y := p[0].X-c.module*r[0], p[0].Y-c.module*r[1]
		if i == 0 {
			f = draw.Frame{X0: x, Y0: y, X1: x + c.side(), Y1: y + c.side()}
		}
		if math.Abs(x-f.X0)+math.Abs(y-f.Y0) > 1e-6 || math.Abs(p[2].X-p[0].X-c.module*r[2])+math.Abs(p[2].Y-p[0].Y-c.module*r[3]) > 1e-6 {
			return f, false
		}
	}
	return f, true
}

func making(t testing.TB, p *fettle.Plan, o Options) *traveler {
	t.Helper()
	tr, err := travelerOf(p, nil, o)
	if err != nil {
		t.Fatal(err)
	}
	return tr
}

// A code drawn as its rectangles is read back, whatever it holds; its border is four
// modules of white, its modules are large enough for a phone, and no two of its
// rectangles overlap (ISO/IEC 18004).
func TestCodesAreRead(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.OneOf(rapid.Map(rapid.IntRange(0, 300), func(n int) string { return "http://shop.local/run/" + strings.Repeat("a7-", n/3) }),
			rapid.StringMatching(`[ -~]{1,120}`), rapid.StringMatching(`[ -~äß中文µ]{1,60}`)).Draw(t, "text")
		c, err := newCode(text)
		if err != nil {
			t.Fatal(err)
		}
		if c.module < codeModule || c.side() > codeMost {
			t.Fatalf("modules of %.2f mm, a side of %.1f mm", c.module, c.side())
		}
		const px = 4
		im := image.NewGray(image.Rect(0, 0, c.n*px, c.n*px))
		for i := range im.Pix {
			im.Pix[i] = 255
		}
		for _, r := range c.rects {
			if r[0] < codeQuiet || r[1] < codeQuiet || r[0]+r[2] > float64(c.n-codeQuiet) || r[1]+r[3] > float64(c.n-codeQuiet) {
				t.Fatalf("rectangle %v stands in the border of %d modules", r, c.n)
			}
			for y := int(r[1] * px); y < int((r[1]+r[3])*px); y++ {
				for x := int(r[0] * px); x < int((r[0]+r[2])*px); x++ {
					if im.GrayAt(x, y).Y == 0 {
						t.Fatalf("rectangle %v overlaps another", r)
					}
					im.SetGray(x, y, color.Gray{})
				}
			}
		}
		got, err := goqr.Decode(im)
		if err != nil || got != text {
			t.Fatalf("%q is read as %q: %v", text, got, err)
		}
	})
}

// Every step has its code, at the right edge, with words beside it, and no crease of a
// folded page runs through it.
func TestCodesOffTheCreases(t *testing.T) {
	for _, size := range []Size{A4, Letter} {
		for _, more := range []int{0, 1, 3, 32} {
			p := samplePlan()
			for i := range more {
				p.Route = append(p.Route, p.Route[(3*i)%8])
			}
			p.Route[1].Do = strings.Repeat("Take the burr off every edge. ", 7*more)
			tr := making(t, p, Options{Size: size, Link: linked})
			found := 0
			for n, frames := range codesOn(tr) {
				for _, f := range frames {
					found++
					for _, crease := range []float64{size.H / 2, size.H / 3, 2 * size.H / 3} {
						if f.Y0 < crease && crease < f.Y1 {
							t.Errorf("%s, page %d: the crease at %.1f runs through the code %v", size.Name, n+1, crease, f)
						}
					}
					if f.X0 < size.W/2 {
						t.Errorf("%s, page %d: the middle crease runs through the code %v", size.Name, n+1, f)
					}
					near := slices.ContainsFunc(tr.sheet.pages[n].Texts, func(x draw.Text) bool {
						return strings.HasPrefix(x.S, "Scan to open step") && x.At.Y > f.Y0-2 && x.At.Y < f.Y1
					})
					if !near {
						t.Errorf("%s, page %d: no words stand beside the code %v", size.Name, n+1, f)
					}
					for _, x := range tr.sheet.pages[n].Texts {
						if x.Frame(Metric).Overlaps(f) {
							t.Errorf("%s, page %d: %q stands in a code", size.Name, n+1, x.S)
						}
					}
				}
			}
			if found != len(p.Route) {
				t.Errorf("%s: %d codes for %d steps", size.Name, found, len(p.Route))
			}
		}
	}
}

// Without a page to open a code names the step; what is too long is shortened, and an
// address that is too long is refused.
func TestWhatCodesHold(t *testing.T) {
	p := samplePlan()
	tr := making(t, p, Options{Link: func(i int) string { return []string{"", "http://a.b/1"}[min(1, i)] }})
	if want := "Escutcheon plate, front door, model 9f2c4e81d07a, step 1: Last pass over the show face with a 6 mm ball"; tr.codes[0].text != want || tr.codes[0].url {
		t.Errorf("the code holds %q, want %q", tr.codes[0].text, want)
	}
	if tr.codes[1].text != "http://a.b/1" || !tr.codes[1].url {
		t.Errorf("the code holds %q", tr.codes[1].text)
	}
	p.Title, p.Route[0].Name = strings.Repeat("Tür ", 90), strings.Repeat("中文", 300)
	if c := making(t, p, Options{}).codes[0]; c.side() > codeMost || !strings.Contains(c.text, "9f2c4e81d07a, step 1: 中文") {
		t.Errorf("long names give a code of %.0f mm with %q", c.side(), c.text)
	}
	_, err := Traveler(p, nil, Options{Link: func(int) string { return "http://a.b/" + strings.Repeat("x", 2000) }})
	if fettle.CodeOf(err) != fettle.Invalid || !strings.Contains(err.Error(), "step 1") {
		t.Errorf("an address of 2000 bytes: %v", err)
	}
}
