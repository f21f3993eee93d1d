package cusp

import (
	"context"
	"math"
	"testing"

	"fettle"
	"fettle/internal/shape/relief"
	"fettle/internal/trade/mark"
)

// wearsLikeParabolas holds a piece of a flat with cusps of h µm to parabolas, which
// circles are to within 1.6 % (Qu & Shih, Machining Science and Technology 7 (2003)
// 281): their mean thickness over level u is (1 − u) − ⅔(1 − u^{3/2}).
func wearsLikeParabolas(t *testing.T, p *Piece, step, h float64) {
	t.Helper()
	if math.Abs(p.CurveHeightUM/h-1) > 0.01 || math.Abs(p.Curve.Mean()-1.0/3) > 0.01 {
		t.Errorf("step %v: height %v µm, mean %v; should be %v and 1/3", step, p.CurveHeightUM, p.Curve.Mean(), h)
	}
	for _, u := range []float64{0.1, 0.3, 0.5, 0.8} {
		want := (1 - u) - (1-math.Pow(u, 1.5))*2/3
		if got := p.Curve.Takes(u); math.Abs(got-want) > 0.01 {
			t.Errorf("step %v: %v heights off leave %v, should be %v", step, got, u, want)
		}
	}
	if got, want := p.Curve.Slope(h, step), 4*h/(math.Sqrt(3)*step); math.Abs(got/want-1) > 0.03 {
		t.Errorf("step %v: rms slope %v mrad, should be %v", step, got, want)
	}
}

// facetsAreNoCusps: over a model's coarse facets the passes of a 6 mm ball keep the
// height that they have on a flat, though the map is several times as high.
func facetsAreNoCusps(t *testing.T, p *Piece, step float64) {
	t.Helper()
	_, all, err := mark.Measured(p.Rough)
	if err != nil {
		t.Fatal(err)
	}
	flat := 1000 * (3 - math.Sqrt(9-step*step/4))
	if all < 2*p.CurveHeightUM || p.CurveHeightUM < 0.9*flat || p.CurveHeightUM > 1.5*flat {
		t.Errorf("cusps of %v µm on facets, %v µm with them; on a flat they are %v µm", p.CurveHeightUM, all, flat)
	}
}

// TestNothingToWear: what a flat end leaves on a flat face.
func TestNothingToWear(t *testing.T) {
	flat := relief.NewMap(relief.Grid{W: 60, H: 60, DX: 0.01, DY: 0.01})
	clear(flat.Z)
	p := &Piece{Rough: flat}
	for _, pass := range []fettle.Pass{{StepoverMM: 0.1}, {StepoverMM: 0.1, Crossed: true}, {StepoverMM: 3}} {
		p.Curve = nil
		if err := p.wear(flat, pass, 0.02); err != nil || p.Curve == nil || p.CurveHeightUM != 0 {
			t.Errorf("%+v: %v µm to wear down; %v", pass, p.CurveHeightUM, err)
		}
	}
}

// TestFeedMarksAreWornToo: cusps across and scallops along of the same height, in
// phase from pass to pass, come to twice the height and two thirds to take off.
func TestFeedMarksAreWornToo(t *testing.T) {
	const step, h = 0.25, 0.002
	m := relief.NewMap(relief.Grid{W: 300, H: 200, DX: 0.008, DY: 0.008})
	wave := func(v float64) float64 { v = v/step - math.Floor(v/step) - 0.5; return 4 * v * v * h }
	for i := range m.Z {
		m.Z[i] = float32(wave(m.X(i%m.W)) + wave(m.Y(i/m.W)))
	}
	p := &Piece{Rough: m}
	if err := p.wear(nil, fettle.Pass{StepoverMM: step}, step); err != nil {
		t.Fatal(err)
	}
	if math.Abs(p.CurveHeightUM/4-1) > 0.08 || math.Abs(p.Curve.Mean()*p.CurveHeightUM/(4.0/3)-1) > 0.08 {
		t.Errorf("%v µm, mean %v", p.CurveHeightUM, p.Curve.Mean()*p.CurveHeightUM)
	}
}

// TestLevelTakesTheMeanOfABox compares with the mean over the cells of a box, edges
// in part, written out; and a pattern of whole periods keeps its shape.
func TestLevelTakesTheMeanOfABox(t *testing.T) {
	m := relief.NewMap(relief.Grid{W: 37, H: 31, DX: 0.01, DY: 0.013})
	for j := range m.H {
		for i := range m.W {
			m.Z[j*m.W+i] = float32(math.Sin(float64(i*i+3*j)) + float64(i*j)/500)
		}
	}
	share := func(d int, cells float64) float64 {
		return math.Max(0, math.Min(1, cells/2-math.Abs(float64(d))+0.5))
	}
	for _, box := range [][2]float64{{0.1, 0.1}, {0.05, 0.13}, {0.0731, 0.0401}, {0, 0.07}} {
		got := level(m, box[0], box[1])
		if got.W >= m.W && box[0] > 0 || got.H >= m.H {
			t.Fatalf("box %v: %d by %d cells", box, got.W, got.H)
		}
		i0, j0 := int(math.Round((got.X0-m.X0)/m.DX)), int(math.Round((got.Y0-m.Y0)/m.DY))
		for j := range got.H {
			for i := range got.W {
				var sum, n float64
				for b := range m.H {
					for a := range m.W {
						w := share(a-i-i0, math.Max(1, box[0]/m.DX)) * share(b-j-j0, box[1]/m.DY)
						sum, n = sum+w*m.At(a, b), n+w
					}
				}
				if want := m.At(i+i0, j+j0) - sum/n; math.Abs(got.At(i, j)-want) > 1e-6 {
					t.Fatalf("box %v, cell %d, %d: %v, should be %v", box, i, j, got.At(i, j), want)
				}
			}
		}
	}
	if got := level(m, 0.3, 0.1); got != m {
		t.Error("a map without room for two boxes was cut")
	}
}

func BenchmarkWear(b *testing.B) {
	m, z := face(10, 1, func(x, y float64) float64 { return 0 })
	cutter := fettle.Cutter{Name: "b", Shape: fettle.Ball, DiameterMM: 6, Flutes: 2}
	pass := fettle.Pass{StepoverMM: 0.25, SpindleRPM: 10000, FeedMMMin: 800}
	p, err := Simulate(context.Background(), m, z, cutter, pass, SimulateOptions{})
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if err := p.wear(p.Rough, pass, 0.2); err != nil {
			b.Fatal(err)
		}
	}
}
