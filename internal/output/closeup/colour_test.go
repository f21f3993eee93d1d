package closeup

import (
	"image"
	"image/color"
	"math"
	"testing"

	"fettle"
	"fettle/internal/shape/relief"
)

// lab is a colour in OKLab (Ottosson 2020), from sRGB (IEC 61966-2-1) forwards,
// with the published forward matrices, where the package goes backwards.
func lab(r, g, b float64) [3]float64 {
	l := math.Cbrt(0.4122214708*r + 0.5363325363*g + 0.0514459929*b)
	m := math.Cbrt(0.2119034982*r + 0.6806995451*g + 0.1073969566*b)
	s := math.Cbrt(0.0883024619*r + 0.2817188376*g + 0.6299787005*b)
	return [3]float64{
		0.2104542553*l + 0.7936177850*m - 0.0040720468*s,
		1.9779984951*l - 2.4285922050*m + 0.4505937099*s,
		0.0259040371*l + 0.7827717662*m - 0.8086757660*s,
	}
}

func decode(v uint8) float64 {
	x := float64(v) / 255
	if x <= 0.04045 {
		return x / 12.92
	}
	return math.Pow((x+0.055)/1.055, 2.4)
}

// eye is how a colour looks to an eye. The matrices are those of Machado,
// Oliveira and Fernandes (IEEE Trans. Vis. Comput. Graph. 15 (2009) 1291) for
// the full lack of one kind of cone, on linear RGB.
type eye [3][3]float64

var eyes = map[string]eye{
	"full": {{1, 0, 0}, {0, 1, 0}, {0, 0, 1}},
	"no L": {{0.152286, 1.052583, -0.204868}, {0.114503, 0.786281, 0.099216}, {-0.003882, -0.048116, 1.051998}},
	"no M": {{0.367322, 0.860646, -0.227968}, {0.280085, 0.672501, 0.047413}, {-0.011820, 0.042940, 0.968881}},
	"grey": {{0.2126, 0.7152, 0.0722}, {0.2126, 0.7152, 0.0722}, {0.2126, 0.7152, 0.0722}},
}

func (e eye) see(c color.NRGBA) [3]float64 {
	in := [3]float64{decode(c.R), decode(c.G), decode(c.B)}
	var out [3]float64
	for k := range out {
		for n := range in {
			out[k] += e[k][n] * in[n]
		}
		out[k] = min(1, max(0, out[k]))
	}
	return lab(out[0], out[1], out[2])
}

func apart(a, b [3]float64) float64 {
	return math.Sqrt((a[0]-b[0])*(a[0]-b[0]) + (a[1]-b[1])*(a[1]-b[1]) + (a[2]-b[2])*(a[2]-b[2]))
}

// Equal steps of height look equal, and nothing depends on telling red from
// green: lightness alone rises evenly for every eye.
func TestHeightColours(t *testing.T) {
	const n = 20
	for name, e := range eyes {
		least, most, light := math.Inf(1), 0.0, 0.0
		for k := range n {
			a, b := e.see(heightRamp(float64(k)/n)), e.see(heightRamp(float64(k+1)/n))
			d := apart(a, b)
			least, most = min(least, d), max(most, d)
			if k == 0 || b[0]-a[0] < light {
				light = b[0] - a[0]
			}
		}
		if light < 0.4*0.62/n || most > 2.2*least {
			t.Errorf("%s: steps of colour from %.4f to %.4f, the least step of lightness %.4f", name, least, most, light)
		}
	}
	for name, e := range eyes {
		for k := 1; k <= 10; k++ {
			s := float64(k) / 10
			zero, a, b := e.see(signedRamp(0.5)), e.see(signedRamp(0.5-s/2)), e.see(signedRamp(0.5+s/2))
			// Below and above are as far from zero, and, but for an eye without
			// colours (the dots are for it), apart from each other.
			if x, y := apart(zero, a), apart(zero, b); x < 0.4*s || x/y < 0.7 || x/y > 1.4 {
				t.Errorf("%s: at %.1f of the scale %.3f below and %.3f above zero", name, s, x, y)
			}
			if name != "grey" && apart(a, b) < 0.12*s {
				t.Errorf("%s: ±%.1f are only %.3f apart", name, s, apart(a, b))
			}
		}
	}
}

// A tint colours and leaves the tones as they are: in black and white all metals
// print alike.
func TestTintsKeepTones(t *testing.T) {
	grey := tone(Grey)
	for _, tint := range []Tint{Brass, Aluminium, Titanium, Steel, ""} {
		pal := tone(tint)
		if len(pal) > 256 {
			t.Fatalf("%d colours", len(pal))
		}
		for k := range rampLen {
			a, b := eyes["full"].see(pal[k].(color.NRGBA)), eyes["full"].see(grey[k].(color.NRGBA))
			if math.Abs(a[0]-b[0]) > 0.006 {
				t.Errorf("%q: tone %d has lightness %.4f, grey %.4f", tint, k, a[0], b[0])
			}
		}
	}
	for class, want := range map[fettle.HardnessClass]Tint{fettle.ClassBrass: Brass, fettle.ClassTitanium: Titanium, fettle.ClassHardened: Steel, "": Grey} {
		if got := TintOf(class); got != want {
			t.Errorf("%q is shown as %q, want %q", class, got, want)
		}
	}
}

// Heights have the colour that the printed scale gives them; what is below zero
// is dotted and nothing else is.
func TestHeightsOnScale(t *testing.T) {
	// A ramp from −20 to +30 µm about a base of 5 mm.
	m := surface(4, 3, 0.01, func(x, y float64) float64 { return x/4*0.05 - 0.02 - 5 })
	m.Base = 5
	p, err := Colour(m, HeightOptions{Options: Options{Width: 500, Height: 100, Bare: true}, Signed: true, LowUM: -20, HighUM: 40})
	if err != nil {
		t.Fatal(err)
	}
	dotted := 0
	for i := range 500 {
		x := p.X0 + (float64(i)+0.5)/p.PxPerMM
		z := x/4*50 - 20
		want := 0.5 + z/80
		if z < 0 {
			want = 0.5 + z/40
		}
		for j := range 100 {
			got := p.ColorIndexAt(i, j)
			if got >= rampLen {
				dotted++
				if z > -1 {
					t.Fatalf("a dot at %.2f µm", z)
				}
				continue
			}
			if math.Abs(float64(got)/(rampLen-1)-want) > 2./rampLen {
				t.Fatalf("%.2f µm has colour %d, want %.1f", z, got, want*(rampLen-1))
			}
		}
	}
	if dotted < 500 {
		t.Errorf("%d dots below zero", dotted)
	}
	// Plain heights count from the lowest; the ends are round.
	p, err = Colour(m, HeightOptions{Options: Options{Whole: true, Width: 500, Height: 900}})
	if err != nil {
		t.Fatal(err)
	}
	if p.LowUM != 0 || p.HighUM != 50 {
		t.Errorf("the scale runs from %g to %g µm, want 0 to 50", p.LowUM, p.HighUM)
	}
	if r := float64(p.Area.Dx()) / float64(p.Area.Dy()); math.Abs(r-4./3) > 0.01 {
		t.Errorf("the whole map is shown %v", p.Area)
	}
	if p, err = Colour(m, HeightOptions{Options: Options{Width: 300, Height: 250}, Signed: true}); err != nil || p.LowUM != -p.HighUM || p.HighUM != 30 {
		t.Errorf("a signed scale from %g to %g µm (%v), want ±30", p.LowUM, p.HighUM, err)
	}
}

// What is missing is hatched, whatever shape it has, and never crashes.
func TestMissing(t *testing.T) {
	nan := float32(math.NaN())
	m := surface(3, 2, 0.01, func(x, y float64) float64 {
		if math.Hypot(x-1.5, y-1) < 0.5 {
			return math.NaN()
		}
		return oneWay(x, y)
	})
	p := light(t, m, Options{Width: 480, Height: 360, Caption: "A hole"})
	inside, outside := 0, 0
	tone, w, _ := levels(p)
	for k, v := range tone {
		x, y := p.X0+(float64(k%w)+0.5)/p.PxPerMM, p.Y1-(float64(k/w)+0.5)/p.PxPerMM
		switch r := math.Hypot(x-1.5, y-1); {
		case r < 0.48 && v < rampLen:
			inside++
		case r > 0.52 && v >= rampLen:
			outside++
		}
	}
	if inside+outside > 0 {
		t.Errorf("%d pixels of the hole are metal, %d beside it hatched", inside, outside)
	}
	if want := math.Pi * 0.25 * p.PxPerMM * p.PxPerMM / float64(len(tone)); math.Abs(p.Missing/want-1) > 0.03 {
		t.Errorf("%.4f missing, want %.4f", p.Missing, want)
	}
	for _, g := range []relief.Grid{{W: 1, H: 1, DX: 1, DY: 1}, {W: 40, H: 1, DX: 0.1, DY: 0.1}, {W: 1, H: 40, DX: 0.1, DY: 0.2}, {W: 30, H: 30, DX: 0.1, DY: 0.1}} {
		m := relief.NewMap(g)
		for k := range m.Z {
			if m.Z[k] = float32(k%5) * 1e-3; k%3 == 1 {
				m.Z[k] = nan
			}
		}
		for _, o := range []Options{{}, {Shadows: true, FromDeg: deg(0)}, {Bare: true}, {WideMM: 30}, {WideMM: 0.01, Middle: &[2]float64{0, 0}}} {
			o.Width, o.Height = 160, 120
			if p, err := Light(m, o); err != nil || len(pngOf(t, p)) == 0 {
				t.Errorf("%+v, %+v: %v", g, o, err)
			}
			if _, err := Colour(m, HeightOptions{Options: o}); err != nil {
				t.Errorf("%+v, %+v: %v", g, o, err)
			}
		}
	}
}

func TestRefusals(t *testing.T) {
	m := surface(3, 2, 0.01, oneWay)
	void := relief.NewMap(m.Grid)
	flat := &relief.Map{Grid: relief.Grid{W: 2, H: 2}, Z: make([]float32, 4)}
	for name, c := range map[string]struct {
		m *relief.Map
		o Options
	}{
		"no map": {nil, Options{}}, "no heights": {void, Options{}}, "no spacing": {flat, Options{}},
		"cut short": {&relief.Map{Grid: m.Grid, Z: m.Z[:10]}, Options{}},
		"too small": {m, Options{Width: 10}}, "too large": {m, Options{Height: 1 << 20}},
		"lamp below": {m, Options{HighDeg: -3}}, "no direction": {m, Options{FromDeg: deg(math.NaN())}},
		"elsewhere": {m, Options{Middle: &[2]float64{500, 0}}}, "contrast": {m, Options{Contrast: -1}}, "width": {m, Options{WideMM: math.NaN()}},
	} {
		if _, err := Light(c.m, c.o); fettle.CodeOf(err) != fettle.Invalid {
			t.Errorf("%s: %v", name, err)
		}
		if _, _, err := Strip([]Panel{{c.m, ""}}, c.o, false); fettle.CodeOf(err) != fettle.Invalid && name != "elsewhere" {
			t.Errorf("a strip, %s: %v", name, err)
		}
	}
	if _, err := Colour(m, HeightOptions{LowUM: 3, HighUM: 1}); fettle.CodeOf(err) != fettle.Invalid {
		t.Errorf("a scale the wrong way round: %v", err)
	}
}

// The panels of a strip share scale, lamp and exposure: the same surface looks
// the same beside any other, and a smoother one smoother by as much as it is.
func TestStrip(t *testing.T) {
	rough := surface(2.2, 2.2, 0.004, oneWay)
	smooth := surface(2, 2.5, 0.005, func(x, y float64) float64 { return oneWay(x, y) / 10 })
	for _, down := range []bool{false, true} {
		p, areas, err := Strip([]Panel{{rough, "After cutting"}, {smooth, "After the barrel"}, {rough, ""}, {smooth, ""}}, Options{Width: 200, Height: 180, LayDeg: deg(0)}, down)
		if err != nil {
			t.Fatal(err)
		}
		if len(areas) != 4 || math.Abs(p.PxPerMM-100) > 1e-6 { // 2 mm, the narrower, on 200 px
			t.Fatalf("%d panels at %g px/mm", len(areas), p.PxPerMM)
		}
		var spread [4]float64
		for k, a := range areas {
			if a.Dx() != 200 || a.Dy() != 180 || !a.In(p.Bounds()) || k > 0 && a.Overlaps(areas[k-1]) {
				t.Errorf("panel %d at %v of %v", k, a, p.Bounds())
			}
			q := &Picture{Paletted: p.Paletted, Area: a}
			tone, _, _ := levels(q)
			spread[k] = spreadOf(tone)
		}
		alone, _, err := Strip([]Panel{{rough, ""}}, Options{Width: 200, Height: 180, LayDeg: deg(0), WideMM: 2}, down)
		if err != nil || alone.Contrast != p.Contrast {
			t.Errorf("contrast %g, want that of the roughest alone (%v)", p.Contrast, err)
		}
		if spread[0] != spread[2] || spread[0] < 20 || spread[1] > spread[0]/5 || spread[1] < spread[0]/20 {
			t.Errorf("tones spread by %.2f: want the first and last alike, the second about a tenth", spread)
		}
		// The caption is there: black ink under the first panel.
		under := image.Rect(areas[0].Min.X, areas[0].Max.Y, areas[0].Max.X, areas[0].Max.Y+20)
		dark := 0
		for j := under.Min.Y; j < under.Max.Y; j++ {
			for i := under.Min.X; i < under.Max.X; i++ {
				if p.ColorIndexAt(i, j) < firstInk+10 && p.ColorIndexAt(i, j) >= firstInk {
					dark++
				}
			}
		}
		if dark < 50 {
			t.Errorf("%d dark pixels of lettering", dark)
		}
	}
}
