package closeup

import (
	"encoding/xml"
	"errors"
	"fmt"
	"image"
	"io"
	"math"
	"strconv"
	"strings"
	"testing"

	"fettle"
	"fettle/internal/shape/relief"
)

// Across follows the surface: on one of a formula it is the formula, across any
// lay, with the middle sample in the middle of the map.
func TestAcross(t *testing.T) {
	// A plane and a bowl: a plane is interpolated without error, a bowl to a
	// quarter of its curvature times the cell squared.
	for _, lay := range []float64{0, 90, 30, -45, 170, 400} {
		m := surface(3, 2, 0.01, func(x, y float64) float64 { return 0.02*x - 0.01*y + 0.001*(x*x+y*y) - 3 })
		m.Base = 3
		for _, length := range []float64{0, 1} {
			z, dx, err := Across(m, lay, length)
			if err != nil || dx != 0.01 {
				t.Fatal(dx, err)
			}
			s, c := math.Sincos((lay + 90) * math.Pi / 180)
			if c < -1e-9 || math.Abs(c) < 1e-9 && s < 0 {
				s, c = -s, -c
			}
			for k, got := range z {
				d := float64(k-len(z)/2) * dx
				x, y := 1.49+d*c, 0.99+d*s
				if want := 1000 * (0.02*x - 0.01*y + 0.001*(x*x+y*y)); math.Abs(got-want) > 1e-3 {
					t.Fatalf("lay %g°, sample %d of %d: %.5f µm, want %.5f", lay, k, len(z), got, want)
				}
			}
			full := min(2.98/math.Max(1e-9, math.Abs(c)), 1.98/math.Max(1e-9, math.Abs(s)))
			if length > 0 {
				full = length
			}
			if got := float64(len(z)-1) * dx; got > full+1e-9 || got < full-2*dx-1e-9 {
				t.Errorf("lay %g°: a trace of %.3f mm, want %.3f", lay, got, full)
			}
		}
	}
	// The height of the cusps, s²/8R (the ball's parabola), stands in the trace
	// across, nothing in the one along.
	m := surface(0.6, 3, 0.002, oneWay)
	for lay, want := range map[float64]float64{0: 0.2 * 0.2 / 24 * 1000, 90: 0} {
		z, _, err := Across(m, lay, 0)
		if err != nil {
			t.Fatal(err)
		}
		low, high := math.Inf(1), math.Inf(-1)
		for _, v := range z {
			low, high = min(low, v), max(high, v)
		}
		if math.Abs(high-low-want) > 0.002*want+1e-6 {
			t.Errorf("lay %g°: %.4f µm from lowest to highest, want %.4f", lay, high-low, want)
		}
	}
	for _, bad := range []*relief.Map{nil, relief.NewMap(relief.Grid{W: 1, H: 1, DX: 1, DY: 1})} {
		if _, _, err := Across(bad, 0, 0); fettle.CodeOf(err) != fettle.Invalid {
			t.Errorf("%v", err)
		}
	}
}

// readSVG is what stands in an SVG document: its dashed lines, by dashes, and
// its texts with their place.
func readSVG(t *testing.T, doc []byte) (dashed map[string][][]float64, texts map[string][2]float64, white bool) {
	t.Helper()
	dashed, texts = map[string][][]float64{}, map[string][2]float64{}
	d := xml.NewDecoder(strings.NewReader(string(doc)))
	attr := func(e xml.StartElement, name string) string {
		for _, a := range e.Attr {
			if a.Name.Local == name {
				return a.Value
			}
		}
		return ""
	}
	var at [2]float64
	inText, first := false, true
	for {
		tok, err := d.Token()
		if errors.Is(err, io.EOF) {
			return dashed, texts, white
		}
		if err != nil {
			t.Fatal(err)
		}
		switch e := tok.(type) {
		case xml.StartElement:
			inText = e.Name.Local == "text"
			if inText {
				at[0], _ = strconv.ParseFloat(attr(e, "x"), 64)
				at[1], _ = strconv.ParseFloat(attr(e, "y"), 64)
			}
			if e.Name.Local == "path" {
				if first {
					white = attr(e, "fill") == "#ffffff"
				}
				first = false
				if dash := attr(e, "stroke-dasharray"); dash != "" {
					var p [4]float64
					if _, err := fmt.Sscanf(attr(e, "d"), "M%g %gL%g %g", &p[0], &p[1], &p[2], &p[3]); err != nil {
						t.Fatal(err)
					}
					dashed[dash] = append(dashed[dash], p[:])
				}
			}
		case xml.CharData:
			if inText {
				texts[string(e)] = at
			}
		case xml.EndElement:
			inText = false
		}
	}
}

// The plot can be measured: the Rz lines lie Rz apart at the stated
// exaggeration, the ticks where their numbers say.
func TestProfile(t *testing.T) {
	z := make([]float64, 4000)
	for i := range z {
		z[i] = 7 + 0.8*math.Sin(2*math.Pi*float64(i)/400)
	}
	for _, sys := range []fettle.System{fettle.Metric, fettle.Inch} {
		p, err := Profile(z, 0.001, ProfileOptions{Display: sys, Caption: "A <sine> & more", RaUM: 0.51, RzUM: 1.6, PeakUM: 0.8})
		if err != nil {
			t.Fatal(err)
		}
		dashed, texts, white := readSVG(t, p.SVG())
		if !white {
			t.Error("the drawing does not begin with a white sheet")
		}
		rz := dashed["2 1"]
		if len(rz) != 2 {
			t.Fatalf("%d lines of Rz", len(rz))
		}
		// On paper: 1.6 µm, exaggerated, at the scale along the trace.
		x0, x1 := rz[0][0], rz[0][0]+4*p.PerMM*3.999/4
		scale := (x1 - x0) / 3.999
		if got, want := rz[1][1]-rz[0][1], 1.6e-3*p.Exaggeration*scale; math.Abs(got-want) > 0.003 {
			t.Errorf("the Rz lines lie %.3f mm apart, want %.3f", got, want)
		}
		mean := dashed["5 1 0.6 1"]
		if len(mean) != 1 || math.Abs(mean[0][1]-rz[0][1]-0.8e-3*p.Exaggeration*scale) > 0.003 {
			t.Errorf("the mean line is at %v, the upper Rz line at %v", mean, rz[0])
		}
		want := []string{"Ra 0.51 µm", "Rz 1.6 µm", "mm", "µm", "A <sine> & more", "heights × " + plain(p.Exaggeration)}
		ticks := map[string]float64{"2": x0 + 2*scale, "3": x0 + 3*scale}
		if sys == fettle.Inch {
			want = []string{"Ra 20 µin", "Rz 63 µin", "in", "µin", "A <sine> & more"}
			ticks = map[string]float64{"0.10": x0 + 2.54*scale}
		}
		for _, s := range want {
			if _, ok := texts[s]; !ok {
				t.Errorf("%s: %q is not on the drawing: %v", sys, s, texts)
			}
		}
		for s, x := range ticks {
			if at, ok := texts[s]; !ok || math.Abs(at[0]-x) > 0.003 {
				t.Errorf("%s: the tick %q is at %v, want x %.3f", sys, s, at, x)
			}
		}
		// The trace itself stays between its Rz lines and touches them.
		curve := p.Lines[len(p.Lines)-1].Pts
		low, high := math.Inf(1), math.Inf(-1)
		for _, q := range curve {
			low, high = min(low, q.Y), max(high, q.Y)
		}
		if math.Abs(low-rz[0][1]) > 0.01 || math.Abs(high-rz[1][1]) > 0.01 {
			t.Errorf("the trace runs from %.3f to %.3f, the lines are at %.3f and %.3f", low, high, rz[0][1], rz[1][1])
		}
	}
}

// Without values the trace's own are marked, under the names of the unfiltered
// profile: for a sine of amplitude A, Pa = 2A/π and Pz = 2A.
func TestProfileOwnValues(t *testing.T) {
	z := make([]float64, 10000)
	for i := range z {
		z[i] = 3 * math.Sin(2*math.Pi*float64(i)/400)
	}
	p, err := Profile(z, 0.0005, ProfileOptions{})
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(p.RaUM/(6/math.Pi)-1) > 1e-4 || math.Abs(p.RzUM/6-1) > 1e-4 {
		t.Errorf("Pa %.5f, Pz %.5f, want %.5f and 6", p.RaUM, p.RzUM, 6/math.Pi)
	}
	if _, texts, _ := readSVG(t, p.SVG()); texts["Pa 1.9 µm"] == [2]float64{} || texts["Pz 6.0 µm"] == [2]float64{} {
		t.Errorf("%v", texts)
	}
	// Gaps, a level trace, two points; many points stay a small drawing that
	// keeps the extremes.
	z[5000], z[7000], z[7002], z[1234] = math.NaN(), math.NaN(), math.NaN(), 40
	if p, err = Profile(z, 0.0005, ProfileOptions{RaUM: 1, RzUM: 5}); err != nil {
		t.Fatal(err)
	}
	top, points := math.Inf(1), 0
	for _, l := range p.Lines {
		for _, q := range l.Pts {
			if l.Weight == 0.25 {
				top, points = min(top, q.Y), points+1
			}
		}
	}
	if mean := p.MeanY; math.Abs((mean-top)/p.PerUM-40) > 0.05 || points > 5000 {
		t.Errorf("%d points, the highest %.3f µm over the mean line", points, (mean-top)/p.PerUM)
	}
	for _, z := range [][]float64{{5, 5, 5, 5}, {1, 2}, {math.NaN(), 1, math.NaN(), 4, math.NaN()}} {
		if p, err := Profile(z, 0.1, ProfileOptions{Width: 90, Height: 40}); err != nil || strings.Contains(string(p.SVG()), "NaN") {
			t.Errorf("%v: %v", z, err)
		}
	}
	for name, err := range map[string]error{
		"empty":   second(Profile(nil, 1, ProfileOptions{})),
		"gaps":    second(Profile([]float64{math.NaN(), math.NaN(), 1}, 1, ProfileOptions{})),
		"inf":     second(Profile([]float64{1, math.Inf(1), 1}, 1, ProfileOptions{})),
		"spacing": second(Profile([]float64{1, 2}, 0, ProfileOptions{})),
		"size":    second(Profile([]float64{1, 2}, 1, ProfileOptions{Width: 5})),
		"value":   second(Profile([]float64{1, 2}, 1, ProfileOptions{RzUM: -1})),
	} {
		if fettle.CodeOf(err) != fettle.Invalid {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func second[T any](_ T, err error) error { return err }

// The outlines of the face are read as they are drawn: letters have the
// contours that everyone knows, one outside and one for each counter or mark;
// an em dash is a bar, and the full block U+2588 fills its box.
func TestFace(t *testing.T) {
	for _, f := range faces() {
		for r, want := range map[rune]int{'l': 1, 'O': 2, 'B': 3, 'i': 2, '8': 3, 'é': 3, 'ä': 4, '%': 5, '×': 1, 'µ': 1, '°': 2, ' ': 0} {
			g, ok := f.Glyph[r]
			if got := len(f.Contours(g)); !ok || got != want {
				t.Errorf("%q has %d contours, want %d", r, got, want)
			}
		}
		for _, r := range "0123456789" {
			if f.Width(string(r)) != f.Width("0") {
				t.Errorf("%q is not as wide as 0; columns of numbers would not line up", r)
			}
		}
	}
	// Every outline fills the box that the font file states for its glyph.
	for _, f := range faces() {
		for r := rune(0x21); r < 0x2300; r++ {
			if r >= 0x250 && r < 0x391 || r >= 0x3CA && r < 0x2010 || r >= 0x20D0 && r < 0x2190 {
				continue // marks to be put over others, and alphabets that our texts have no use for
			}
			g, ok := f.Glyph[r]
			k := f.Contours(g)
			if !ok || len(k) == 0 {
				continue
			}
			box, _ := f.Box(g)
			lo, hi := [2]float64{1e9, 1e9}, [2]float64{-1e9, -1e9}
			for _, c := range k {
				for _, p := range c {
					lo[0], lo[1], hi[0], hi[1] = min(lo[0], p.X), min(lo[1], p.Y), max(hi[0], p.X), max(hi[1], p.Y)
				}
			}
			for i, d := range [4]float64{lo[0] - float64(box[0]), lo[1] - float64(box[1]), hi[0] - float64(box[2]), hi[1] - float64(box[3])} {
				if math.Abs(d) > 0.02*f.PerEm {
					t.Errorf("%q (%U): side %d of its box is off by %g units", r, r, i, d)
				}
			}
		}
	}
	// A block of ink is as large on paper as its outline, and stands where it
	// was put.
	g := image.NewGray(image.Rect(0, 0, 100, 100))
	for i := range g.Pix {
		g.Pix[i] = 255
	}
	f := faces()[0]
	box, _ := f.Box(f.Glyph['█'])
	newHand(60).write(g, 20, 70, "█", false, 0)
	sum, first := 0.0, -1.0
	for x := range 100 {
		v := 1 - float64(g.GrayAt(x, 60).Y)/255
		if sum += v; first < 0 && v > 0 {
			first = float64(x) + 1 - v
		}
	}
	k := 60 / f.PerEm
	if want := k * float64(box[2]-box[0]); math.Abs(sum-want) > 0.02 || math.Abs(first-20-k*float64(box[0])) > 0.02 {
		t.Errorf("a full block begins at %.3f and is %.3f px wide, want %.3f and %.3f", first, sum, 20+k*float64(box[0]), want)
	}
	for _, s := range []string{"", "one", "a caption of several words that needs more than three short lines to be said in full", "Unbreakablewordthatiswiderthanaline", "tab\tand\nbreak\x00"} {
		lines := newHand(20).wrap(s, 150, true, 3)
		if len(lines) > 3 || len(lines) == 0 && s != "" {
			t.Errorf("%q: %q", s, lines)
		}
		for _, l := range lines {
			if newHand(20).wide(l, true) > 150+1e-9 || strings.ContainsAny(l, "\t\n\x00") {
				t.Errorf("%q is wider than its line", l)
			}
		}
	}
}

func TestRoundNumbers(t *testing.T) {
	for _, c := range []struct{ v, want float64 }{{0.2, 0.2}, {0.199, 0.1}, {1, 1}, {999, 500}, {5e-5, 5e-5}, {0.0021, 0.002}, {73, 50}} {
		if got := roundDown(c.v, oneTwoFive); got != c.want {
			t.Errorf("below %g: %g, want %g", c.v, got, c.want)
		}
	}
	var texts []string
	for _, k := range ticks(-0.31, 0.62, 4) {
		texts = append(texts, k.text)
	}
	if got := strings.Join(texts, " "); got != "−0.2 0.0 0.2 0.4 0.6" {
		t.Errorf("ticks %s", got)
	}
	for v, want := range map[float64]string{0.5: "0.5", 1200: "1200", 0.30000000000000004: "0.3", -3: "−3", 1e-5: "0.00001"} {
		if got := plain(v); got != want {
			t.Errorf("%g is written %q, want %q", v, got, want)
		}
	}
}
