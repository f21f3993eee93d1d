package paper

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"math"
	"os"
	"os/exec"
	"regexp"
	"slices"
	"strings"
	"testing"

	"fettle"
	"fettle/internal/output/draw"
	"fettle/internal/shape/form"

	"pgregory.net/rapid"
)

func pagesOf(t testing.TB, p *fettle.Plan, opt Options) []*draw.Drawing {
	t.Helper()
	pages, err := Pages(p, nil, opt)
	if err != nil {
		t.Fatal(err)
	}
	return pages
}

// read is a page's texts, a line each.
func read(d *draw.Drawing) string {
	var b strings.Builder
	for _, t := range d.Texts {
		b.WriteString(t.S + "\n")
	}
	return b.String()
}

// flowing is all text with spaces alike, so that wrapped sentences are found.
func flowing(pages []*draw.Drawing) string {
	var all []string
	for _, d := range pages {
		all = append(all, strings.Fields(read(d))...)
	}
	return strings.Join(all, " ")
}

// sound fails when a page holds something outside its margins, or texts that
// run into one another.
func sound(t interface{ Errorf(string, ...any) }, pages []*draw.Drawing, size Size) {
	for n, d := range pages {
		f, ok := d.Bounds(Metric)
		if !ok {
			t.Errorf("page %d is empty", n+1)
			continue
		}
		if f.X0 < 16 || f.Y0 < 8 || f.X1 > size.W-12 || f.Y1 > size.H-8 {
			t.Errorf("page %d of %s reaches to %+v", n+1, size.Name, f)
		}
		frames := make([]draw.Frame, len(d.Texts))
		for i, x := range d.Texts {
			frames[i] = x.Frame(Metric)
			g := frames[i]
			g.X0, g.Y0, g.X1, g.Y1 = g.X0+0.35, g.Y0+0.35, g.X1-0.35, g.Y1-0.35
			for j := range i {
				if g.Overlaps(frames[j]) {
					t.Errorf("page %d of %s: %q and %q overlap", n+1, size.Name, x.S, d.Texts[j].S)
				}
			}
		}
	}
}

func TestSampleIsSound(t *testing.T) {
	m := plate(t)
	for size, sys := range map[Size]fettle.System{A4: fettle.Metric, Letter: fettle.Inch} {
		if testing.Short() && size == A4 {
			continue
		}
		pages, err := Pages(samplePlan(), m, Options{Size: size, Display: sys, Money: true})
		if err != nil {
			t.Fatal(err)
		}
		sound(t, pages, size)
		if len(pages) > 8 {
			t.Errorf("%d pages of %s for seven steps", len(pages), size.Name)
		}
	}
}

// Everything that the job needs stands on the paper.
func TestSampleSays(t *testing.T) {
	p := samplePlan()
	pages := pagesOf(t, p, Options{})
	all := flowing(pages)
	want := []string{
		p.Title, p.Shop, "escutcheon-plate.3mf", "9f2c4e81d07a", p.Material.Title, "Satin", "12 pieces",
		"48.00 × 74.00 × 13.00 mm", "388 g", "119 g", // 14.2 cm³ × 8.41 g/cm³ = 119.4 g
		"ball-6", "0.20 mm", "2 h 50 min", "(2 h 20 min–3 h 35 min)", "P240 on a formed block, wet",
		"Rotary barrel 15 l", "Plastic cones 10 mm, fine", "7.5 l", "21 rpm", "27 % of critical", "1 × 12 parts", "55 %", "10 : 1",
		"slot-1 (slight chance with worn media)", "countersunk Ø 8.40",
		"68.006 mm", // 68 mm and 3.1 µm on each side
		"7.012 mm",  // 7 mm, 8.5 µm in front and 3.1 µm behind
		"4.198 mm",  // 4.2 mm less 1 µm on each side
		"P400 scratches", "35 µm", "40 CFR 403 or the local rule for waste water. Steps 5, 6.", "Page 1 of", p.Brief.Notes,
	}
	for _, st := range p.Route {
		want = append(want, st.Name, sentence(st.Do), sentence(st.Look))
	}
	for _, w := range want {
		if !strings.Contains(all, w) {
			t.Errorf("%q does not stand on the traveler", w)
		}
	}
	if strings.Contains(all, "USD") {
		t.Error("a price stands on a traveler that asked for none")
	}
	if all := flowing(pagesOf(t, p, Options{Money: true})); !strings.Contains(all, "USD 870.00") {
		t.Error("the price that was asked for is missing")
	}
	if inch := flowing(pagesOf(t, p, Options{Display: fettle.Inch})); strings.Contains(inch, " mm") && !strings.Contains(inch, "in") {
		t.Error("millimetres on a traveler in inches")
	}
}

// What is to be made before the parts are run stands in a list of its own, with the
// file it comes from; a plan without any has no such list.
func TestThingsToMakeFirst(t *testing.T) {
	p := samplePlan()
	if strings.Contains(flowing(pagesOf(t, p, Options{})), "Things to make first") {
		t.Error("a plan without solids lists things to make")
	}
	p.Solids = []fettle.Solid{
		{Kind: "block", File: "escutcheon-plate-block-show-1.stl", For: "show-1", VolumeMM3: 15200, Closed: true, Says: "stroke it along X, at most 12 mm to either side; P240 and P400"},
		{Kind: "jaw", File: "escutcheon-plate-jaws.pdf", For: "soft-100", Closed: true, Says: "pocket for the back, 4.00 mm deep, the moving jaw end for end"},
		{Kind: "plug", File: "escutcheon-plate-plug-slot-1.stl", For: "slot-1", VolumeMM3: 710, Says: "press it in from the show side, 12 to print"},
	}
	for size, sys := range map[Size]fettle.System{A4: fettle.Metric, Letter: fettle.Inch} {
		pages := pagesOf(t, p, Options{Size: size, Display: sys})
		sound(t, pages, size)
		all := flowing(pages)
		want := []string{"Things to make first What For File How Made, by Sanding block show-1", "Soft jaws soft-100", "Plug slot-1", "NOT CLOSED: mend it before it is printed. Press it in"}
		if sys == fettle.Inch {
			want = append(want, "0.157 in deep")
		}
		for _, w := range want {
			if !strings.Contains(all, w) {
				t.Errorf("%q does not stand on the traveler", w)
			}
		}
		bare := strings.ReplaceAll(all, " ", "")
		for _, sol := range p.Solids { // a long name is broken over lines
			if !strings.Contains(bare, sol.File) {
				t.Errorf("the file %s is not named", sol.File)
			}
		}
	}
}

// readouts are what the table of a set-up asks for: X−, X+, Y−, Y+, top, under.
func readouts(t *testing.T, pages []*draw.Drawing, setup int) (over, read []string) {
	t.Helper()
	lines := strings.Split(readAll(pages), "\n")
	for range setup {
		at := slices.Index(lines, "Stock edge")
		if at < 0 {
			t.Fatalf("there is no set-up %d", setup)
		}
		lines = lines[at+1:]
	}
	for _, edge := range []string{"X−", "X+", "Y−", "Y+", "Z top", "Z under"} {
		at := slices.Index(lines, edge)
		over, read = append(over, lines[at+1]), append(read, lines[at+2])
		lines = lines[at+1:]
	}
	return over, read
}

func readAll(pages []*draw.Drawing) string {
	var b strings.Builder
	for _, d := range pages {
		b.WriteString(read(d))
	}
	return b.String()
}

// The readout at each edge of a blank, zero in the middle of its top: half its
// size either way, nought on top. Turned over, the show face is made: what is left is
// the part and what was under it.
func TestReadouts(t *testing.T) {
	for sys, want := range map[fettle.System][][]string{
		fettle.Metric: {
			{"3.00 mm", "3.00 mm", "3.00 mm", "3.00 mm", "3.00 mm", "3.00 mm"}, {"−24.00", "+24.00", "−37.00", "+37.00", "0.00", "−13.00"},
			{"3.00 mm", "3.00 mm", "3.00 mm", "3.00 mm", "3.00 mm", "0.00 mm"}, {"−24.00", "+24.00", "−37.00", "+37.00", "0.00", "−10.00"},
		},
		fettle.Inch: {
			{"0.118 in", "0.118 in", "0.118 in", "0.118 in", "0.118 in", "0.118 in"}, {"−0.945", "+0.945", "−1.457", "+1.457", "0.000", "−0.512"},
			{"0.118 in", "0.118 in", "0.118 in", "0.118 in", "0.118 in", "0.000 in"}, {"−0.945", "+0.945", "−1.457", "+1.457", "0.000", "−0.394"},
		},
	} {
		pages := pagesOf(t, samplePlan(), Options{Display: sys})
		for i := range 2 {
			over, read := readouts(t, pages, i+1)
			if !slices.Equal(over, want[2*i]) || !slices.Equal(read, want[2*i+1]) {
				t.Errorf("%s, set-up %d: over %v and read %v, want %v", sys, i+1, over, read, want[2*i:2*i+2])
			}
		}
	}
	// A part that shows its X side lies with X upright.
	p := samplePlan()
	p.Brief.Up = [3]float64{1, 0, 0}
	_, got := readouts(t, pagesOf(t, p, Options{}), 1)
	if want := []string{"−37.00", "+37.00", "−6.50", "+6.50", "0.00", "−48.00"}; !slices.Equal(got, want) {
		t.Errorf("readouts of a part on its side are %v, want %v", got, want)
	}
}

// A step that fits on a page is not cut: its number, its caution and its
// blanks stand together.
func TestStepsStayTogether(t *testing.T) {
	for _, size := range []Size{A4, Letter} {
		p := samplePlan()
		own := len(p.Route)
		for len(p.Route) < 30 {
			p.Route = append(p.Route, p.Route[len(p.Route)%own])
		}
		pages := pagesOf(t, p, Options{Size: size})
		sound(t, pages, size)
		heads, blanks, cautions := 0, 0, 0
		for n, d := range pages {
			s := read(d)
			h, b := 0, strings.Count(s, "Done by\n")
			for _, st := range p.Route[:own] {
				h += strings.Count(s, st.Name+"\n")
			}
			if h != b {
				t.Errorf("page %d of %s has %d steps begun and %d ended", n+1, size.Name, h, b)
			}
			if strings.Contains(s, "(continued)") {
				t.Errorf("page %d of %s continues a step that would have fitted", n+1, size.Name)
			}
			heads, blanks, cautions = heads+h, blanks+b, cautions+strings.Count(s, "CAUTION\n")
		}
		withCaution := 0
		for _, st := range p.Route {
			if st.Caution != "" || st.Kind == fettle.StepWash { // the wash has the plan's caution
				withCaution++
			}
		}
		if heads != 30 || blanks != 30 || cautions != withCaution {
			t.Errorf("%s: %d heads, %d blanks, %d cautions; want 30, 30, %d", size.Name, heads, blanks, cautions, withCaution)
		}
	}
}

// A caution stands in its box on the right, at the height of its step.
func TestCautionBesideItsStep(t *testing.T) {
	p := samplePlan()
	for _, d := range pagesOf(t, p, Options{}) {
		for i, st := range p.Route {
			head := slices.IndexFunc(d.Texts, func(x draw.Text) bool { return x.S == st.Name })
			if head < 0 || len((&traveler{plan: p}).caution(i)) == 0 {
				continue
			}
			found := slices.ContainsFunc(d.Texts, func(x draw.Text) bool {
				dy := x.At.Y - d.Texts[head].At.Y
				return x.S == "CAUTION" && x.At.X > 130 && dy > 0 && dy < 16
			})
			if !found {
				t.Errorf("no caution beside %q", st.Name)
			}
		}
	}
}

// Whatever texts and numbers a plan holds, pages stay whole.
func TestAnyPlanIsSound(t *testing.T) {
	word := rapid.StringMatching(`[a-zµØ]{1,14}|[A-Z0-9_]{30,90}|\x{1F600}|\x{4E2D}\x{6587}`)
	text := rapid.Map(rapid.SliceOfN(word, 0, 120), func(w []string) string { return strings.Join(w, " ") })
	number := rapid.OneOf(rapid.Float64Range(0, 1e4), rapid.SampledFrom([]float64{0, 1e-9, 1e12, math.NaN(), math.Inf(1)}))
	est := rapid.Custom(func(t *rapid.T) fettle.Estimate {
		return fettle.Estimate{Value: number.Draw(t, "v"), Low: number.Draw(t, "lo"), High: number.Draw(t, "hi"), Basis: "test"}
	})
	rapid.Check(t, func(t *rapid.T) {
		p := &fettle.Plan{Title: text.Draw(t, "title"), Shop: text.Draw(t, "shop"), Brief: fettle.Brief{Lot: 3, Notes: text.Draw(t, "notes")}}
		p.Material.Title, p.Survey.File, p.Survey.SHA256 = text.Draw(t, "material"), text.Draw(t, "file"), "ab"
		p.Warnings = []string{text.Draw(t, "warning")}
		for range rapid.IntRange(1, 4).Draw(t, "steps") {
			st := fettle.Step{Name: text.Draw(t, "name"), Kind: fettle.StepTumble, Do: text.Draw(t, "do"), Look: text.Draw(t, "look"), Caution: text.Draw(t, "caution"),
				MinutesAttended: est.Draw(t, "min"), RaUM: est.Draw(t, "ra"), RemovedUM: est.Draw(t, "removed")}
			if rapid.Bool().Draw(t, "charge") {
				st.Charge = &fettle.Charge{Vessel: text.Draw(t, "vessel"), Media: text.Draw(t, "media"), Compound: text.Draw(t, "compound"), WaterL: est.Draw(t, "water"), CompoundML: est.Draw(t, "ml"), Hours: est.Draw(t, "hours"),
					FirstLookH: number.Draw(t, "look after"), MediaL: number.Draw(t, "litres")}
			}
			p.Route = append(p.Route, st)
		}
		size := rapid.SampledFrom([]Size{A4, Letter}).Draw(t, "paper")
		pages, err := Pages(p, nil, Options{Size: size, Display: rapid.SampledFrom([]fettle.System{fettle.Metric, fettle.Inch}).Draw(t, "system")})
		if err != nil {
			t.Fatal(err)
		}
		sound(t, pages, size)
	})
}

// A step longer than a page goes on under its own head.
func TestLongStepIsContinued(t *testing.T) {
	p := samplePlan()
	p.Route = p.Route[:1]
	p.Route[0].Do = strings.Repeat("Rub until it is even. ", 300)
	p.Route[0].Caution = strings.Repeat("Mind the burr. ", 150)
	pages := pagesOf(t, p, Options{})
	sound(t, pages, A4)
	all := flowing(pages)
	if !strings.Contains(all, "(continued)") {
		t.Error("no head is repeated")
	}
	// Counted without the line breaks that the two columns interleave.
	if n := strings.Count(all, "even."); n != 300 {
		t.Errorf("%d of 300 sentences are there", n)
	}
	if n := strings.Count(all, "burr."); n != 150 {
		t.Errorf("%d of 150 sentences of the caution are there", n)
	}
}

func sumOf(t testing.TB) string {
	t.Helper()
	p := samplePlan()
	o := full(p)
	o.Size, o.Money = Letter, true
	b, err := Traveler(p, drawnPlate(t), o)
	if err != nil {
		t.Fatal(err)
	}
	h := sha256.Sum256(b)
	return hex.EncodeToString(h[:])
}

// The same plan gives the same bytes, in this process and in others, where
// maps are walked in another order.
func TestSameBytes(t *testing.T) {
	if os.Getenv("FETTLE_PAPER_SUM") != "" {
		fmt.Printf("sum=%s\n", sumOf(t))
		return
	}
	want := sumOf(t)
	if got := sumOf(t); got != want {
		t.Fatal("made twice, the bytes differ")
	}
	others := 2
	if testing.Short() {
		others = 1
	}
	for range others {
		cmd := exec.Command(os.Args[0], "-test.run=^TestSameBytes$", "-test.count=1", fmt.Sprintf("-test.short=%v", testing.Short()))
		cmd.Env = append(os.Environ(), "FETTLE_PAPER_SUM=1")
		out, err := cmd.Output()
		if err != nil {
			t.Fatal(err)
		}
		m := regexp.MustCompile(`sum=([0-9a-f]{64})`).FindSubmatch(out)
		if m == nil || string(m[1]) != want {
			t.Fatalf("another process wrote other bytes: %s", out)
		}
	}
}

func TestRefusals(t *testing.T) {
	bad := samplePlan()
	bad.Stock.SizeMM[1] = math.NaN()
	broken := form.Box(1, 1, 1)
	broken.Tri[0][0] = 99
	_, err1 := Traveler(nil, nil, Options{})
	_, err2 := Traveler(&fettle.Plan{Title: "x"}, nil, Options{})
	_, err3 := Traveler(bad, nil, Options{})
	_, err4 := Traveler(samplePlan(), broken, Options{})
	_, err5 := Traveler(samplePlan(), nil, Options{Size: Size{"stamp", 20, 30}})
	_, err6 := ParseSize("foolscap")
	for i, err := range []error{err1, err2, err3, err4, err5, err6} {
		if fettle.CodeOf(err) != fettle.Invalid {
			t.Errorf("case %d: %v, want a sentence with code invalid", i+1, err)
		}
	}
	for s, want := range map[string]Size{"": A4, "a4": A4, "A4": A4, "LETTER": Letter, " letter ": Letter} {
		if got, err := ParseSize(s); err != nil || got != want {
			t.Errorf("paper %q is %v, %v", s, got, err)
		}
	}
}
