package grain

import (
	"bytes"
	"context"
	"encoding/binary"
	"math"
	"testing"

	"fettle"
	"fettle/internal/shape/relief"
	"fettle/internal/shape/texture"

	"pgregory.net/rapid"
)

func sum(t interface{ Fatal(...any) }, m *relief.Map) (sq, sdq float64) {
	p, err := texture.Heights(context.Background(), m)
	if err != nil {
		t.Fatal(err)
	}
	v, _ := p.Get("Sq")
	var dx, dy float64
	n := 0
	for j := 1; j < m.H; j++ {
		for i := 1; i < m.W; i++ {
			gx := (m.At(i, j) - m.At(i-1, j)) / m.DX
			gy := (m.At(i, j) - m.At(i, j-1)) / m.DY
			dx, dy = dx+gx*gx, dy+gy*gy
			n++
		}
	}
	return v.Value, math.Sqrt(math.Max(dx, dy) / float64(n))
}

// A Gaussian profile that crosses its mean upwards every λ has an rms slope of
// 2π·Rq/λ (Rice 1944, from the ratio of its second and zeroth spectral moments).
func TestScratchesHaveHeightAndSlope(t *testing.T) {
	for _, lay := range []string{"along the long side", "across the long side"} {
		m := fettle.Mark{Cause: "P320 scratches", WavelengthMM: 0.05, Lay: lay, RqUM: 0.3, Left: 1}
		got, err := Surface(fettle.Step{Marks: []fettle.Mark{m}}, Patch{WideMM: 3, HighMM: 2})
		if err != nil {
			t.Fatal(err)
		}
		sq, slope := sum(t, got)
		if math.Abs(sq-0.3) > 0.01 {
			t.Errorf("%s: Sq is %g µm, wanted 0.3", lay, sq)
		}
		// Differences from cell to cell lose a little of the slope.
		if want := 2 * math.Pi * 0.3e-3 / 0.05; math.Abs(slope/want-1) > 0.15 {
			t.Errorf("%s: the slope is %g, wanted %g", lay, slope, want)
		}
	}
}

// The lay is where the heights change least, and media leave none.
func TestLay(t *testing.T) {
	rough := func(lay string) (x, y float64) {
		m, err := Surface(fettle.Step{Marks: []fettle.Mark{{Cause: "grains", WavelengthMM: 0.06, Lay: lay, RqUM: 1, Left: 1}}}, Patch{WideMM: 3, HighMM: 3})
		if err != nil {
			t.Fatal(err)
		}
		for j := 1; j < m.H; j++ {
			for i := 1; i < m.W; i++ {
				x += math.Abs(m.At(i, j) - m.At(i-1, j))
				y += math.Abs(m.At(i, j) - m.At(i, j-1))
			}
		}
		return x, y
	}
	if x, y := rough("along the long side"); y < 5*x {
		t.Errorf("along: %g along X, %g along Y", x, y)
	}
	if x, y := rough("across the long side"); x < 5*y {
		t.Errorf("across: %g along X, %g along Y", x, y)
	}
	if x, y := rough("none"); math.Abs(x/y-1) > 0.1 {
		t.Errorf("none: %g along X, %g along Y", x, y)
	}
}

// A parabola of height h from crest to crest has Rq = h·√(1/5 − 1/9): the mean of 4u²
// over ±½ is 1/3, that of its square 1/5.
func TestCuspsKeepTheirHeightAndLoseTheirCrests(t *testing.T) {
	const h = 3.0
	mark := fettle.Mark{Cause: "cusps", WavelengthMM: 0.2, Lay: "along X", RqUM: h * math.Sqrt(1.0/5-1.0/9), Left: 1}
	span := func(left float64) float64 {
		mark.Left = left
		m, err := Surface(fettle.Step{Marks: []fettle.Mark{mark}}, Patch{WideMM: 2, HighMM: 2})
		if err != nil {
			t.Fatal(err)
		}
		lo, hi := math.Inf(1), math.Inf(-1)
		for _, z := range m.Z {
			lo, hi = math.Min(lo, float64(z)), math.Max(hi, float64(z))
		}
		return 1000 * (hi - lo)
	}
	if got := span(1); math.Abs(got-h) > 0.1 {
		t.Errorf("%g µm from valley to crest, wanted %g", got, h)
	}
	if got := span(0.4); math.Abs(got-0.4*h) > 0.05 {
		t.Errorf("%g µm left of %g, wanted 0.4 of it", got, h)
	}
}

// What the marks do not make up of the roughness is texture.
func TestTextureMakesUpTheRest(t *testing.T) {
	s := fettle.Step{
		RaUM: fettle.Exactly(0.5, "agreed"), TextureMM: 0.06, TextureLay: "none",
		Marks: []fettle.Mark{{Cause: "P240 scratches", WavelengthMM: 0.08, Lay: "along the long side", RqUM: 0.4, Left: 1}},
	}
	m, err := Surface(s, Patch{WideMM: 3, HighMM: 2})
	if err != nil {
		t.Fatal(err)
	}
	p, err := texture.Heights(t.Context(), m)
	if err != nil {
		t.Fatal(err)
	}
	if v, _ := p.Get("Sa"); math.Abs(v.Value-0.5) > 0.03 {
		t.Errorf("Sa is %g µm, wanted 0.5", v.Value)
	}
}

func TestAnyMarks(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := rapid.OneOf(rapid.Float64Range(0, 3), rapid.SampledFrom([]float64{0, math.NaN(), math.Inf(1), -1}))
		var s fettle.Step
		for range rapid.IntRange(0, 3).Draw(t, "n") {
			s.Marks = append(s.Marks, fettle.Mark{
				Cause:        rapid.SampledFrom([]string{"cusps", "feed marks", "P240 scratches", "media"}).Draw(t, "cause"),
				Lay:          rapid.SampledFrom([]string{"", "none", "along X", "along Y", "crossed", "across the feed", "along the long side"}).Draw(t, "lay"),
				WavelengthMM: f.Draw(t, "wave"), RqUM: f.Draw(t, "rq"), Left: f.Draw(t, "left"),
			})
		}
		p := Patch{WideMM: rapid.Float64Range(0.1, 5).Draw(t, "w"), HighMM: rapid.Float64Range(0.1, 5).Draw(t, "h"), Cells: 100}
		a, err := Surface(s, p)
		if err != nil {
			t.Fatal(err)
		}
		for _, z := range a.Z {
			if math.IsNaN(float64(z)) || math.IsInf(float64(z), 0) {
				t.Fatalf("a height of %g", z)
			}
		}
		b, _ := Surface(s, p)
		var x, y bytes.Buffer
		_ = binary.Write(&x, binary.LittleEndian, a.Z)
		_ = binary.Write(&y, binary.LittleEndian, b.Z)
		if !bytes.Equal(x.Bytes(), y.Bytes()) {
			t.Fatal("two drawings differ")
		}
	})
	if _, err := Surface(fettle.Step{}, Patch{}); fettle.CodeOf(err) != fettle.Invalid {
		t.Errorf("a patch without an extent: %v", err)
	}
}
