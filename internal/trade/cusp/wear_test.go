package cusp

import (
	"context"
	"math"
	"testing"

	"fettle"
	"fettle/internal/shape/relief"
	"fettle/internal/trade/mark"
)

// TestSimulatedCuspsWearLikeParabolas: passes of a ball over a flat leave parabolic
// cusps to within 1.6 % (Qu & Shih, Machining Science and Technology 7 (2003) 281),
// whose mean thickness down to level u is (1 − u) − ⅔(1 − u^{3/2}).
func TestSimulatedCuspsWearLikeParabolas(t *testing.T) {
	m, z := face(10, 1, func(x, y float64) float64 { return 0 })
	cutter := fettle.Cutter{Name: "b", Shape: fettle.Ball, DiameterMM: 6, Flutes: 2}
	for _, step := range []float64{0.08, 0.2, 0.3} {
		p, err := Simulate(t.Context(), m, z, cutter, fettle.Pass{StepoverMM: step, SpindleRPM: 10000, FeedMMMin: 200}, SimulateOptions{})
		if err != nil {
			t.Fatal(err)
		}
		h := 1000 * (3 - math.Sqrt(9-step*step/4))
		if math.Abs(p.CurveHeightUM/h-1) > 0.015 || math.Abs(p.Curve.Mean()-1.0/3) > 0.01 {
			t.Errorf("step %v: height %v µm, mean %v; should be %v and 1/3", step, p.CurveHeightUM, p.Curve.Mean(), h)
		}
		for _, u := range []float64{0.1, 0.3, 0.5, 0.8} {
			want := (1 - u) - (1-math.Pow(u, 1.5))*2/3
			if got := p.Curve.Takes(u); math.Abs(got-want) > 0.012 {
				t.Errorf("step %v: %v heights off leave %v, should be %v", step, got, u, want)
			}
		}
		if got, want := p.Curve.Slope(h, step), 4*h/(math.Sqrt(3)*step); math.Abs(got/want-1) > 0.03 {
			t.Errorf("step %v: rms slope %v mrad, should be %v", step, got, want)
		}
	}
}

// TestAFlatEndLeavesNothingToWear: an end mill on a flat face.
func TestAFlatEndLeavesNothingToWear(t *testing.T) {
	m, z := face(10, 1, func(x, y float64) float64 { return 0 })
	cutter := fettle.Cutter{Name: "e", Shape: fettle.Flat, DiameterMM: 6, Flutes: 2}
	p, err := Simulate(t.Context(), m, z, cutter, fettle.Pass{StepoverMM: 2, SpindleRPM: 10000, FeedMMMin: 400}, SimulateOptions{})
	if err != nil {
		t.Fatal(err)
	}
	if p.Curve == nil || p.CurveHeightUM > 1e-4 {
		t.Errorf("%v µm to wear down", p.CurveHeightUM)
	}
}

// TestFacetsAreNoCusps: over a model's coarse facets the pattern of the passes keeps
// its own height, though the map with the facets on it is several times as high.
func TestFacetsAreNoCusps(t *testing.T) {
	const rho = 40.0
	m, z := face(8, 12, func(x, y float64) float64 { return math.Sqrt(rho*rho - x*x - y*y) })
	cutter := fettle.Cutter{Name: "b", Shape: fettle.Ball, DiameterMM: 6, Flutes: 2}
	pass := fettle.Pass{StepoverMM: 0.25, SpindleRPM: 10000, FeedMMMin: 400, ToleranceUM: 0.1}
	p, err := Simulate(t.Context(), m, z, cutter, pass, SimulateOptions{AsModelled: true})
	if err != nil {
		t.Fatal(err)
	}
	_, all, err := mark.Measured(p.Rough)
	if err != nil {
		t.Fatal(err)
	}
	flat := 1000 * (3 - math.Sqrt(9-pass.StepoverMM*pass.StepoverMM/4)) // on each facet
	if all < 2*p.CurveHeightUM || p.CurveHeightUM < 0.9*flat || p.CurveHeightUM > 1.5*flat {
		t.Errorf("cusps of %v µm on facets, %v µm with them; on a flat they are %v µm", p.CurveHeightUM, all, flat)
	}
}

// TestLevelTakesTheMeanOfABox compares with the mean over the cells of a box, edges
// in part, written out; and a pattern of whole periods keeps its shape.
func TestLevelTakesTheMeanOfABox(t *testing.T) {
	m := relief.NewMap(relief.Grid{W: 61, H: 47, DX: 0.01, DY: 0.013})
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
	if got := level(m, 0.4, 0.1); got != m {
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
