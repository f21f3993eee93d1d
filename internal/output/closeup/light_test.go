package closeup

import (
	"bytes"
	"fmt"
	"image"
	"math"
	"math/cmplx"
	"runtime"
	"testing"

	"fettle"
	"fettle/internal/shape/relief"
)

// levels are the tones of a picture's surface, row after row.
func levels(p *Picture) (tone []float64, w, h int) {
	w, h = p.Area.Dx(), p.Area.Dy()
	for j := range h {
		for i := range w {
			tone = append(tone, float64(p.ColorIndexAt(p.Area.Min.X+i, p.Area.Min.Y+j)))
		}
	}
	return tone, w, h
}

// spreadOf is the standard deviation of tones.
func spreadOf(tone []float64) float64 {
	sum, sq := 0.0, 0.0
	for _, v := range tone {
		sum += v
		sq += v * v
	}
	n := float64(len(tone))
	return math.Sqrt(max(0, sq/n-sum*sum/n/n))
}

// A plane sends the same light from everywhere, however it is tilted and
// however much the contrast is raised.
func TestPlane(t *testing.T) {
	for _, tilt := range [][2]float64{{0, 0}, {0.05, -0.02}, {-0.1, 0.3}} {
		m := surface(4, 3, 0.01, func(x, y float64) float64 { return tilt[0]*x + tilt[1]*y })
		tone, _, _ := levels(light(t, m, Options{Width: 400, Height: 300}))
		for k, v := range tone {
			// A level of tone is what float32 heights of a tilted plane round to.
			if math.Abs(v-tone[0]) > 1 || v < rampLen/2-2 || v > rampLen/2+2 {
				t.Fatalf("tilt %v: pixel %d has tone %g, the first %g; a plane is one middle tone", tilt, k, v, tone[0])
			}
		}
	}
}

// The law of reflection: on a ball the brightest place is where the normal
// halves the angle between lamp and eye, at that normal's x and y times the
// radius.
func TestHighlightOnBall(t *testing.T) {
	const radius = 10.0
	for _, c := range []struct{ from, high float64 }{{135, 30}, {20, 45}, {250, 20}, {0, 60}} {
		m := surface(18, 18, 0.05, func(x, y float64) float64 {
			x, y = x-9, y-9
			return math.Sqrt(max(0, radius*radius-x*x-y*y))
		})
		p := light(t, m, Options{Width: 600, Height: 600, Bare: true, FromDeg: deg(c.from), HighDeg: c.high, Contrast: 1})
		tone, w, _ := levels(p)
		best := 0.0
		for _, v := range tone {
			best = max(best, v)
		}
		sx, sy, n := 0.0, 0.0, 0.0
		for k, v := range tone {
			if v == best {
				sx, sy, n = sx+float64(k%w)+0.5, sy+float64(k/w)+0.5, n+1
			}
		}
		// The middle of the map is at 9 mm less half a cell.
		gotX, gotY := p.X0+sx/n/p.PxPerMM-9, p.Y1-sy/n/p.PxPerMM-9
		// Straight up and the lamp, halved.
		a, e := c.from*math.Pi/180, c.high*math.Pi/180
		lx, ly, lz := math.Cos(a)*math.Cos(e), math.Sin(a)*math.Cos(e), math.Sin(e)+1
		norm := math.Sqrt(lx*lx + ly*ly + lz*lz)
		wantX, wantY := radius*lx/norm, radius*ly/norm
		if d := math.Hypot(gotX-wantX, gotY-wantY); d > 0.12 {
			t.Errorf("lamp from %g°, %g° high: brightest at (%.2f, %.2f) mm, the normal halves lamp and eye at (%.2f, %.2f)", c.from, c.high, gotX, gotY, wantX, wantY)
		}
	}
}

// period is the period of a row of tones in pixels: the frequency at which its
// Fourier sum is greatest, searched around a guess.
func period(row []float64, guess float64) float64 {
	mean := 0.0
	for _, v := range row {
		mean += v / float64(len(row))
	}
	best, at := 0.0, 0.0
	for k := -400; k <= 400; k++ {
		p := guess * (1 + float64(k)/4000)
		sum := complex(0, 0)
		for i, v := range row {
			hann := 0.5 - 0.5*math.Cos(2*math.Pi*(float64(i)+0.5)/float64(len(row)))
			sum += complex((v-mean)*hann, 0) * cmplx.Exp(complex(0, -2*math.Pi*float64(i)/p))
		}
		if a := cmplx.Abs(sum); a > best {
			best, at = a, p
		}
	}
	return at
}

// The picture is at scale: a sine of the surface has as many pixels as its
// length times the scale, along both axes and for cells that are larger,
// smaller and not square.
func TestTrueScale(t *testing.T) {
	for _, c := range []struct {
		cell, length, wide float64
		width              int
	}{{0.004, 0.11, 2.5, 900}, {0.02, 0.31, 4, 1000}, {0.002, 0.13, 3.1, 500}} {
		m := surface(4.2, 0.9, c.cell, sine(0.0004, c.length))
		p := light(t, m, Options{Width: c.width, Height: c.width / 6, WideMM: c.wide, FromDeg: deg(180)})
		if want := float64(c.width) / c.wide; math.Abs(p.PxPerMM-want) > 1e-9*want {
			t.Errorf("scale %g px/mm, want %g", p.PxPerMM, want)
		}
		tone, w, h := levels(p)
		want := c.length * p.PxPerMM
		if got := period(tone[h/2*w:(h/2+1)*w], want); math.Abs(got/want-1) > 1e-3 {
			t.Errorf("cell %g: period %.3f px, want %.3f", c.cell, got, want)
		}
	}
	// Up the picture, cells twice as wide as high.
	m := relief.NewMap(relief.Grid{W: 300, H: 600, DX: 0.01, DY: 0.005})
	for k := range m.Z {
		m.Z[k] = float32(sine(0.0004, 0.21)(m.Y(k/m.W), 0))
	}
	p := light(t, m, Options{Width: 800, Height: 800, Bare: true, FromDeg: deg(90)})
	tone, w, h := levels(p)
	var column []float64
	for j := range h {
		column = append(column, tone[j*w+w/2])
	}
	want := 0.21 * p.PxPerMM
	if got := period(column, want); math.Abs(got/want-1) > 1e-3 {
		t.Errorf("upwards: period %.3f px, want %.3f", got, want)
	}
}

// The scale bar is as long as its label says, to a thirtieth of a pixel, and
// one of 1, 2, 5 in the shop's unit.
func TestScaleBar(t *testing.T) {
	m := surface(4, 3, 0.01, oneWay)
	for _, sys := range []fettle.System{fettle.Metric, fettle.Inch} {
		for _, wide := range []float64{3.9, 2.7, 1.234, 0.31} {
			p := light(t, m, Options{Width: 800, Height: 160, WideMM: wide, Display: sys})
			sum := 0.0
			for x := range p.BarAt.X + int(p.BarMM*p.PxPerMM) + 3 {
				r, _, _, _ := p.At(x, p.BarAt.Y+1).RGBA()
				sum += 1 - float64(r)/0xffff
			}
			if want := p.BarMM * p.PxPerMM; math.Abs(sum-want) > 1./30 {
				t.Errorf("%s, %g mm across: the bar is %.3f px long, want %.3f", sys, wide, sum, want)
			}
			unit := p.BarMM
			if sys == fettle.Inch {
				unit /= 25.4
			}
			lead := unit / math.Pow(10, math.Floor(math.Log10(unit)+1e-9))
			if math.Abs(lead-1)*math.Abs(lead-2)*math.Abs(lead-5) > 1e-6 {
				t.Errorf("%s: a bar of %g", sys, unit)
			}
		}
	}
	for _, c := range []struct {
		most  float64
		sys   fettle.System
		mm    float64
		label string
	}{
		{0.73, fettle.Metric, 0.5, "0.5 mm"}, {0.2, fettle.Metric, 0.2, "0.2 mm"}, {12, fettle.Metric, 10, "10 mm"},
		{0.0071, fettle.Metric, 0.005, "5 µm"}, {0.7, fettle.Inch, 0.508, "0.02 in"}, {0.02, fettle.Inch, 0.0127, "500 µin"},
	} {
		if mm, label := barLength(c.most, c.sys); math.Abs(mm-c.mm) > 1e-12 || label != c.label {
			t.Errorf("room for %g mm, %s: %g mm %q, want %g %q", c.most, c.sys, mm, label, c.mm, c.label)
		}
	}
}

// Light along the lay hides it; light across shows it. Without a direction it is
// thrown across.
func TestLay(t *testing.T) {
	m := surface(1.6, 1.6, 0.005, oneWay) // lay along X
	show := func(o Options) float64 {
		o.Width, o.Height, o.Bare = 200, 200, true
		tone, _, _ := levels(light(t, m, o))
		return spreadOf(tone)
	}
	across := show(Options{FromDeg: deg(90), Contrast: 6})
	along := show(Options{FromDeg: deg(0), Contrast: 6})
	if across < 20 || along > across/40 {
		t.Errorf("tones spread by %.2f under light across the lay, %.2f along it", across, along)
	}
	for lay, from := range map[float64]float64{0: 90, 90: 180, 45: 135, 135: 225, -20: 70, 200: 110} {
		p := light(t, m, Options{Width: 64, Height: 64, LayDeg: &lay})
		if math.Abs(p.FromDeg-from) > 1e-9 {
			t.Errorf("lay %g°: light from %g°, want %g°", lay, p.FromDeg, from)
		}
	}
}

// At contrast 1 the picture's lightness follows the cube root of the surface's
// light (OKLab), to first order in its changes; at contrast c, c times as much.
func TestContrastIsTrue(t *testing.T) {
	for _, c := range []float64{1, 3} {
		l := newLamp(180, 12)
		at := func(p float64) float64 { return l.light(p, 0) / l.light(0, 0) }
		for _, p := range []float64{-0.02, -0.01, 0.01, 0.02} {
			k := shadeOf(at(p), 1, c)
			got := (midTone + toneReach*(2*float64(k)/(rampLen-1)-1)) / midTone
			want := 1 + c*(math.Cbrt(at(p))-1)
			if math.Abs(got-want) > 0.10*math.Abs(want-1)+0.004 {
				t.Errorf("contrast %g, slope %g: lightness changes by %.4f, want %.4f", c, p, got-1, want-1)
			}
		}
	}
}

// A pixel that holds many cells shows the mean of their light, not the light of
// their mean.
func TestManyCellsToAPixel(t *testing.T) {
	// Grooves 0.05 mm apart, pixels of 0.05 mm, cells of 0.001 mm.
	m := surface(0.6, 0.6, 0.001, func(x, y float64) float64 { return groove(y, 0.05, 0.3) })
	l := newLamp(90, 12)
	v, err := look(m.Grid, 10, 10, 0.5, nil)
	if err != nil {
		t.Fatal(err)
	}
	mean := 0.0
	const n = 10000
	for k := range n {
		d := (float64(k)+0.5)/n*0.05 - 0.025
		mean += l.light(0, d/0.3) / n
	}
	for _, got := range v.light(m, l) {
		if math.Abs(float64(got)/mean-1) > 0.01 {
			t.Fatalf("a pixel's light is %g, the mean over a groove %g (that of a level facet %g)", got, mean, l.light(0, 0))
		}
	}
}

// The shadow of a wall is as long as the wall is high over the tangent of the
// lamp's height, from every side.
func TestShadow(t *testing.T) {
	const high, elevation = 0.1, 15.0
	want := high / math.Tan(elevation*math.Pi/180)
	for _, from := range []float64{0, 30, 90, 135, 180, 200, 270, 315} {
		s, c := math.Sincos(from * math.Pi / 180)
		m := surface(3, 3, 0.01, func(x, y float64) float64 {
			if (x-1.5)*c+(y-1.5)*s > 0.3 {
				return high
			}
			return 0
		})
		p := light(t, m, Options{Width: 400, Height: 400, Bare: true, FromDeg: &from, HighDeg: elevation, Shadows: true, Contrast: 2})
		// Walk from the wall away from the lamp.
		dark := 0.0
		for d := 0.0; d < 1.5; d += 0.001 {
			x, y := 1.5+(0.29-d)*c, 1.5+(0.29-d)*s
			i, j := int((x-p.X0)*p.PxPerMM), int((p.Y1-y)*p.PxPerMM)
			if image.Pt(i, j).In(p.Area) && p.ColorIndexAt(i, j) < rampLen/3 {
				dark += 0.001
			}
		}
		if math.Abs(dark+0.01-want) > 0.03 {
			t.Errorf("light from %g°: the shadow is %.3f mm long, want %.3f", from, dark+0.01, want)
		}
	}
}

// The same bytes for any number of cores.
func TestSameBytes(t *testing.T) {
	m := surface(1.2, 0.9, 0.004, crossed)
	for k := range 500 {
		m.Z[(k*7919)%len(m.Z)] = float32(math.NaN())
	}
	make3 := func() []byte {
		var b bytes.Buffer
		b.Write(pngOf(t, light(t, m, Options{Width: 300, Height: 240, Shadows: true, Caption: "Crossed"})))
		p, err := Colour(m, HeightOptions{Options: Options{Width: 200, Height: 150}, Signed: true})
		if err != nil {
			t.Fatal(err)
		}
		b.Write(pngOf(t, p))
		p, _, err = Strip([]Panel{{m, "one"}, {m, "two"}}, Options{Width: 150, Height: 120}, false)
		if err != nil {
			t.Fatal(err)
		}
		b.Write(pngOf(t, p))
		return b.Bytes()
	}
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0))
	var first []byte
	for _, n := range []int{1, 2, 7} {
		runtime.GOMAXPROCS(n)
		if got := make3(); first == nil {
			first = got
		} else if !bytes.Equal(first, got) {
			t.Errorf("%d cores give other bytes than one", n)
		}
	}
}

func BenchmarkLight(b *testing.B) {
	for _, side := range []int{1000, 4000} {
		m := surface(4, 4, 4/float64(side), crossed)
		b.Run(fmt.Sprintf("%dx%d", side, side), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				p, err := Light(m, Options{Width: 1000, Height: 700, Caption: "Crossed", Tint: Brass})
				if err != nil {
					b.Fatal(err)
				}
				pngOf(b, p)
			}
		})
	}
}
