package draw

import (
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"
	"testing"

	"fettle"
	"fettle/internal/shape/form"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

// plateOpenings are those of the sample plate.
func plateOpenings() []fettle.Opening {
	screw := fettle.Opening{ID: "hole-1", Kind: fettle.Hole, Through: true, WidthMM: 4.2, WidestMM: 8.4, LengthMM: 4.2, DepthMM: 6, At: [3]float64{0, 26, 6}, Axis: [3]float64{0, 0, 1}, Form: "countersunk"}
	other := screw
	other.ID, other.At = "hole-2", [3]float64{0, -26, 6}
	return []fettle.Opening{screw, other,
		{ID: "slot-1", Kind: fettle.Slot, Through: true, WidthMM: 4, WidestMM: 9, LengthMM: 19.5, DepthMM: 5, At: [3]float64{0, 0, 7}, Axis: [3]float64{0, 0, 1}, Form: "keyhole"},
		{ID: "pocket-1", Kind: fettle.Pocket, WidthMM: 22, LengthMM: 30, DepthMM: 2, At: [3]float64{0, -1, 0}, Axis: [3]float64{0, 0, -1}}}
}

func texts(d *Drawing) string {
	var b strings.Builder
	for _, t := range d.Texts {
		b.WriteString(t.S + "\n")
	}
	return b.String()
}

func TestPanelOfThePlate(t *testing.T) {
	m := escutcheon(t)
	for sys, want := range map[fettle.System][]string{
		fettle.Metric: {"68.00", "42.00", "2 × Ø 4.20 through", "countersunk Ø 8.40", "keyhole, through", "pocket, 2.00 deep", "4.00 × 19.50", "Ra 0.80 µm", "sizes in mm"},
		fettle.Inch:   {"2.677", "1.654", "2 × Ø 0.165 through", "0.157 × 0.768", "sizes in inch"},
	} {
		d, err := Panel(PartView{Mesh: m, Openings: plateOpenings(), Texture: "Ra 0.80 µm"}, PanelOptions{Width: 180, Height: 118, Display: sys})
		if err != nil {
			t.Fatal(err)
		}
		all := texts(d)
		for _, w := range want {
			if !strings.Contains(all, w) {
				t.Errorf("%s: %q does not stand on the panel:\n%s", sys, w, all)
			}
		}
		for _, x := range d.Texts {
			if strings.Contains(x.S, "pocket") && x.At.X < 110 {
				t.Error("the pocket in the back is called out on the front")
			}
		}
		apart(t, d)
	}
}

// apart fails when two texts of a drawing run into each other.
func apart(t interface{ Errorf(string, ...any) }, d *Drawing) {
	for i, a := range d.Texts {
		fa := a.Frame(nil)
		for _, b := range d.Texts[:i] {
			fb := b.Frame(nil)
			fb.X0, fb.Y0, fb.X1, fb.Y1 = fb.X0+0.4, fb.Y0+0.4, fb.X1-0.4, fb.Y1-0.4
			if fa.Overlaps(fb) {
				t.Errorf("%q and %q overlap", a.S, b.S)
			}
		}
	}
}

// Whatever the part's proportions, nothing leaves the panel and no texts
// collide.
func TestPanelHoldsAnyBox(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		side := rapid.Float64Range(-0.3, 2.6)
		x, y, z := math.Pow(10, side.Draw(t, "x")), math.Pow(10, side.Draw(t, "y")), math.Pow(10, side.Draw(t, "z"))
		w, h := rapid.Float64Range(150, 200).Draw(t, "width"), rapid.Float64Range(90, 140).Draw(t, "height")
		sys := rapid.SampledFrom([]fettle.System{fettle.Metric, fettle.Inch}).Draw(t, "system")
		pin := fettle.Opening{Kind: fettle.Hole, WidthMM: x / 4, DepthMM: z / 2, At: [3]float64{0, 0, -z / 2}, Axis: [3]float64{0, 0, -1}}
		p := panel{pv: PartView{Mesh: form.Box(x, y, z), Texture: "Ra 0.8 µm", Openings: []fettle.Opening{pin}}, opt: PanelOptions{Width: w, Height: h, Display: sys}, out: &Drawing{}, depth: 80}
		d, err := p.draw()
		if err != nil {
			t.Fatal(err)
		}
		f, _ := d.Bounds(nil)
		if f.X0 < -0.3 || f.Y0 < -0.3 || f.X1 > w+0.3 || f.Y1 > h+0.3 {
			t.Errorf("box %.2f × %.2f × %.2f leaves the panel of %.0f × %.0f: %v", x, y, z, w, h, f)
		}
		apart(t, d)
	})
}

// Callouts never overlap, stay in their column, and keep the order of their
// features.
func TestCalloutsKeepApart(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(0, 12).Draw(t, "n")
		var notes []Callout
		for i := range n {
			c := Callout{At: Pt{rapid.Float64Range(0, 50).Draw(t, "x"), rapid.Float64Range(0, 80).Draw(t, "y")}, Rim: rapid.Float64Range(0, 4).Draw(t, "rim"),
				Says: []string{fmt.Sprintf("note %d", i)}}
			if rapid.Bool().Draw(t, "two lines") {
				c.Says = append(c.Says, "more")
			}
			notes = append(notes, c)
		}
		d := &Drawing{}
		set := d.Callouts(notes, 60, 0, 80, nil)
		if n <= 7 && set != n { // seven of two lines fit
			t.Fatalf("%d of %d notes were set", set, n)
		}
		apart(t, d)
		for _, x := range d.Texts {
			if f := x.Frame(nil); f.Y0 < -0.5 || f.Y1 > 80.5 || x.At.X != 60 {
				t.Fatalf("%q stands at %v", x.S, f)
			}
		}
	})
}

func TestScaleName(t *testing.T) {
	for k, want := range map[float64]string{1: "1:1", 2: "2:1", 1.5: "1.5:1", 0.5: "1:2", 1 / 1.5: "1:1.5", 0.001: "1:1000"} {
		if got := ScaleName(k); got != want {
			t.Errorf("scale %g is called %q, want %q", k, got, want)
		}
	}
}

// ISO 21920-1: the legs of the symbol stand at 60° to the surface, the long
// one a little over twice the short one.
func TestTextureSymbol(t *testing.T) {
	d := Texture("Ra 0.8", 5, true, nil)
	p := d.Lines[0].Pts
	for _, q := range []Pt{p[0], p[2]} {
		near(t, "angle of a leg", math.Atan2(-q.Y, math.Abs(q.X))*180/math.Pi, 60, 1e-9)
	}
	if r := p[2].Y / p[0].Y; r < 2 || r > 2.3 {
		t.Errorf("the legs are as 1 to %.2f", r)
	}
	if len(d.Lines) != 2 || len(Texture("Ra 0.8", 5, false, nil).Lines) != 1 {
		t.Error("the bar that asks for removal is not as asked")
	}
}

func TestWarningSign(t *testing.T) {
	d := Warning(10)
	f, _ := d.Bounds(nil)
	near(t, "height of the sign", f.H(), 10, 0.6)
	near(t, "width of the sign", f.W(), 10/math.Cos(math.Pi/6), 1.2)
}

// What is written is XML, whatever the text.
func TestSVGIsXML(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := Warning(9)
		d.Circle(0.3, Pt{5, 5}, 3)
		d.Lines = append(d.Lines, Line{Pts: []Pt{{0, 0}, {9, 9}}, Weight: 0.2, Dash: []float64{2, 1}})
		d.Texts = append(d.Texts, Text{S: rapid.String().Draw(t, "text"), Size: 3, Angle: 90, Bold: true, Align: Right})
		dec := xml.NewDecoder(strings.NewReader(string(d.SVG(20, 10, ""))))
		for {
			if _, err := dec.Token(); errors.Is(err, io.EOF) {
				return
			} else if err != nil {
				t.Fatal(err)
			}
		}
	})
}

// The light comes from the upper left: of a pyramid's faces the upper left one
// is the brightest and the lower right one the darkest; paper stays white.
func TestShadeLight(t *testing.T) {
	img, err := Shade(form.Frustum(20, 4, 8, 4), FromAbove(r3.Vec{}), 200)
	if err != nil {
		t.Fatal(err)
	}
	b := img.Bounds()
	at := func(x, y float64) int {
		c := img.RGBAAt(int(x*float64(b.Dx())), int(y*float64(b.Dy())))
		return int(c.R) + int(c.G) + int(c.B)
	}
	ul, ur, ll, lr := at(0.36, 0.36), at(0.64, 0.36), at(0.36, 0.64), at(0.64, 0.64)
	if !(ul > ur && ul > ll && lr < ur && lr < ll) {
		t.Errorf("upper left %d, upper right %d, lower left %d, lower right %d", ul, ur, ll, lr)
	}
	if at(0.01, 0.01) != 3*255 {
		t.Error("the paper is not white")
	}
}
