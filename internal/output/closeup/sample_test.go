package closeup

import (
	"bytes"
	"math"
	"testing"

	"fettle/internal/shape/relief"
)

// surface is a map of wide by high mm with heights in mm from a formula.
func surface(wide, high, cell float64, z func(x, y float64) float64) *relief.Map {
	m := relief.NewMap(relief.Cover(0, 0, wide-cell, high-cell, cell))
	for j := range m.H {
		for i := range m.W {
			m.Z[j*m.W+i] = float32(z(m.X(i), m.Y(j)))
		}
	}
	return m
}

// groove is the height over the lowest point of what a ball of radius r leaves
// with passes s apart, at the distance d from a pass: the parabola of the ball.
func groove(d, s, r float64) float64 {
	d = math.Mod(math.Mod(d+s/2, s)+s, s) - s/2
	return d * d / (2 * r)
}

// oneWay are passes along X: cusps 0.2 mm apart left by a ball of 6 mm.
func oneWay(x, y float64) float64 { return groove(y, 0.2, 3) }

// crossed are the same passes along both axes: the lower of the two is left.
func crossed(x, y float64) float64 { return min(groove(y, 0.2, 3), groove(x, 0.2, 3)) }

func sine(amp, length float64) func(x, y float64) float64 {
	return func(x, y float64) float64 { return amp * math.Sin(2*math.Pi*x/length) }
}

func pngOf(t testing.TB, p *Picture) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := p.PNG(&b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func light(t testing.TB, m *relief.Map, o Options) *Picture {
	t.Helper()
	p, err := Light(m, o)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func deg(v float64) *float64 { return &v }
