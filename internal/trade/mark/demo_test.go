package mark_test

import (
	"math"
	"runtime"
	"testing"

	"fettle"
	"fettle/demo"
	"fettle/internal/shape/mesh"
	"fettle/internal/shape/relief"
	"fettle/internal/trade/cusp"
	"fettle/internal/trade/mark"
	"fettle/internal/trade/stock"
	"fettle/internal/trade/survey"
)

// TestTheSamplePlateIsWornAsItsMapIs takes the tops off a simulated piece of the
// sample escutcheon, cell by cell, and compares with the curve of the same piece:
// crossed passes, whose crests are no ridges any more.
func TestTheSamplePlateIsWornAsItsMapIs(t *testing.T) {
	part := demo.PartsAt(demo.Coarse)[0]
	s, _, err := survey.Of(t.Context(), part.Mesh, mesh.NewTopology(part.Mesh), survey.Options{})
	if err != nil {
		t.Fatal(err)
	}
	zone := s.Zones[0]
	for _, z := range s.Zones {
		if z.AreaMM2 > zone.AreaMM2 && z.Up == [3]float64{0, 0, 1} {
			zone = z
		}
	}
	shelf := stock.Shelf()
	ball, err := shelf.Cutter("ball-6")
	if err != nil {
		t.Fatal(err)
	}
	for _, crossed := range []bool{false, true} {
		pass := fettle.Pass{StepoverMM: 0.25, SpindleRPM: 10000, FeedMMMin: 800, Crossed: crossed}
		p, err := cusp.Simulate(t.Context(), part.Mesh, zone, ball, pass, cusp.SimulateOptions{Steep: true})
		if err != nil {
			t.Fatal(err)
		}
		c, um, err := mark.Measured(p.Rough)
		if err != nil {
			t.Fatal(err)
		}
		holdToMap(t, p.Rough, c, um)
		if math.Abs(p.CurveHeightUM/um-1) > 0.2 || math.Abs(p.Curve.Mean()-c.Mean()) > 0.05 {
			t.Errorf("crossed %v: %v µm and mean %v; of the whole map %v and %v", crossed, p.CurveHeightUM, p.Curve.Mean(), um, c.Mean())
		}
		// A second set of passes halves what must come off: h/6 instead of h/3.
		if crossed && (c.Mean() < 0.14 || c.Mean() > 0.2) {
			t.Errorf("crossed passes: mean %v of the height", c.Mean())
		}
	}
}

// holdToMap cuts a map at levels between its bounds and holds the curve to it.
func holdToMap(t *testing.T, m *relief.Map, c *mark.Curve, um float64) {
	t.Helper()
	low, n := math.Inf(1), 0.0
	for _, z := range m.Z {
		low, n = math.Min(low, float64(z)), n+1
	}
	h := um / 1000
	read := func(level float64) (off, rq, slope float64) {
		at := low + level*h
		var mean, square float64
		for i, z := range m.Z {
			v := float64(z)
			w := math.Min(v, at)
			off += (v - w) / h / n
			mean += (w - low) / h / n
			square += (w - low) / h * (w - low) / h / n
			if (i+1)%m.W != 0 {
				d := (math.Min(float64(m.Z[i+1]), at) - w) / m.DX
				slope += d * d / n
			}
			if i+m.W < len(m.Z) {
				d := (math.Min(float64(m.Z[i+m.W]), at) - w) / m.DY
				slope += d * d / n
			}
		}
		return off, math.Sqrt(square - mean*mean), math.Sqrt(slope)
	}
	_, _, whole := read(10)
	if got := c.Slope(um, 0); math.Abs(got/(1000*whole)-1) > 0.01 {
		t.Errorf("rms slope %v mrad, should be %v", got, 1000*whole)
	}
	for level := 0.1; level < 0.95; level += 0.1 {
		off, rq, slope := read(level)
		got := c.Left(off)
		// The lowest cell in a thousand is not the valley: levels are a little apart.
		if math.Abs(got.Height-level) > 0.025 || math.Abs(got.Rq-rq) > 0.005 || math.Abs(got.Slope-slope/whole) > 0.03 {
			t.Errorf("cut at %.1f: %+v after %.4f, should be %.4f, %.4f", level, got, off, rq, slope/whole)
		}
	}
}

// TestMeasuredOnAnyCores: the same map gives the same curve, bit for bit.
func TestMeasuredOnAnyCores(t *testing.T) {
	m := relief.NewMap(relief.Grid{W: 300, H: 333, DX: 0.01, DY: 0.01})
	for i := range m.Z {
		m.Z[i] = float32(math.Sin(float64(i)*0.31) + math.Cos(float64(i/m.W)*0.17))
	}
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	a, h, err := mark.Measured(m)
	if err != nil {
		t.Fatal(err)
	}
	runtime.GOMAXPROCS(7)
	b, k, err := mark.Measured(m)
	if err != nil {
		t.Fatal(err)
	}
	if *a != *b || h != k {
		t.Error("curves differ between one core and seven")
	}
}
