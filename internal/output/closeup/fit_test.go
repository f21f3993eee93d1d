package closeup

import (
	"bytes"
	"math"
	"testing"

	"fettle"
)

// face is a grid of places on a face of 40 × 20 mm, with a deviation from a formula.
func faceOf(step float64, dev func(x, y float64) float64) (pts [][2]float64, um []float64) {
	for y := -10.0; y <= 10+1e-9; y += step {
		for x := -20.0; x <= 20+1e-9; x += step {
			pts = append(pts, [2]float64{x, y})
			um = append(um, dev(x, y))
		}
	}
	return pts, um
}

// A face that stands off at one end and digs in at the other: colours run from blue
// over light to brown in even steps, blue is dotted, and the place that is not over
// the patch is hatched.
func TestFitMap(t *testing.T) {
	pts, dev := faceOf(1, func(x, y float64) float64 { return x })
	over := make([]bool, len(pts))
	for i, p := range pts {
		over[i] = !(p[0] > 8 && p[1] > 3)
	}
	p, err := FitMap(pts, dev, over, 20, Options{Width: 800, Height: 560, Caption: "show-1: fit of the block"})
	if err != nil {
		t.Fatal(err)
	}
	if p.LowUM != -20 || p.HighUM != 20 {
		t.Errorf("the scale runs from %g to %g µm", p.LowUM, p.HighUM)
	}
	pixel := func(x, y float64) (int, int) {
		return p.Area.Min.X + int((x-p.X0)*p.PxPerMM), p.Area.Min.Y + int((p.Y1-y)*p.PxPerMM)
	}
	// On the ramp the value goes by the index alone: sample where it was given.
	for _, x := range []float64{-15, -10, -5, 0, 5, 10, 15} {
		i, j := pixel(x, -6)
		best := math.Inf(1)
		for dj := -4; dj <= 4; dj++ { // past dots
			if c := p.ColorIndexAt(i, j+dj); c < rampLen {
				um := (float64(c)/(rampLen-1)*2 - 1) * 20
				best = min(best, math.Abs(um-x))
			}
		}
		if best > 1 {
			t.Errorf("at %g mm the colour is %.1f µm off", x, best)
		}
	}
	ramp, hatched := 0, 0
	for dj := range 20 {
		for di := range 20 {
			i, j := pixel(14, 7)
			if p.ColorIndexAt(i+di-10, j+dj-10) < rampLen {
				ramp++
			} else {
				hatched++
			}
		}
	}
	if ramp > 0 || hatched == 0 {
		t.Errorf("what is not over the patch has %d coloured pixels", ramp)
	}
	again, err := FitMap(pts, dev, over, 20, Options{Width: 800, Height: 560, Caption: "show-1: fit of the block"})
	if err != nil || !bytes.Equal(pngOf(t, p), pngOf(t, again)) {
		t.Error("made twice, the maps differ")
	}
}

// Scattered places show what a grid of them shows.
func TestFitMapOfScatteredPlaces(t *testing.T) {
	dev := func(x, y float64) float64 { return 6*math.Sin(x/8) - 0.2*y }
	pts, um := faceOf(0.5, dev)
	for i := range pts { // moved about by up to a fifth of a millimetre, as by a rule
		pts[i][0] += 0.2 * math.Sin(float64(7*i))
		pts[i][1] += 0.2 * math.Cos(float64(11*i))
		um[i] = dev(pts[i][0], pts[i][1])
	}
	m, ok := gridded(pts, um, nil)
	if !ok {
		t.Fatal("no map")
	}
	worst := 0.0
	for j := 3; j < m.H-3; j++ {
		for i := 3; i < m.W-3; i++ {
			worst = max(worst, math.Abs(1000*float64(m.Z[j*m.W+i])-dev(m.X(i), m.Y(j))))
		}
	}
	// The slope is at most 0.8 µm a mm and neighbours lie within a millimetre.
	if worst > 0.25 {
		t.Errorf("the map strays by %.2f µm from what was measured", worst)
	}
}

func TestFitMapRefuses(t *testing.T) {
	one := [][2]float64{{0, 0}}
	for name, err := range map[string]error{
		"lists that differ": second(FitMap(one, nil, nil, 0, Options{})),
		"nothing over it":   second(FitMap(one, []float64{1}, []bool{false}, 0, Options{})),
		"no number":         second(FitMap(one, []float64{math.NaN()}, nil, 0, Options{})),
		"no place":          second(FitMap([][2]float64{{math.Inf(1), 0}}, []float64{1}, nil, 0, Options{})),
		"nothing":           second(FitMap(nil, nil, nil, 0, Options{})),
		"no limit":          second(FitMap(one, []float64{1}, nil, math.NaN(), Options{})),
	} {
		if fettle.CodeOf(err) != fettle.Invalid {
			t.Errorf("%s: %v, want a sentence with code invalid", name, err)
		}
	}
	// A face that lies as it should is not shown as one that is off by a nanometre.
	if p, err := FitMap([][2]float64{{0, 0}, {1, 0}, {0, 1}, {1, 1}}, []float64{1e-4, 0, -1e-4, 0}, nil, 0, Options{}); err != nil || p.HighUM != 1 {
		t.Errorf("the scale ends at %g µm, %v", p.HighUM, err)
	}
	// A row of places is a narrow map, not a fault.
	if _, err := FitMap([][2]float64{{0, 0}, {1, 0}, {2, 0}}, []float64{1, -1, 2}, nil, 0, Options{}); err != nil {
		t.Errorf("a row of places: %v", err)
	}
}
