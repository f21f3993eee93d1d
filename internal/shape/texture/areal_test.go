package texture

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"runtime"
	"strings"
	"testing"

	"fettle/internal/shape/relief"

	"github.com/google/go-cmp/cmp"
)

// want holds values by name, each with how far off it may be.
type want map[string][2]float64

func (w want) check(t *testing.T, what string, p Parameters) {
	t.Helper()
	for name, v := range w {
		got, ok := p.Get(name)
		if !ok {
			t.Errorf("%s: no %s in %+v", what, name, p)
		} else if math.Abs(got.Value-v[0]) > v[1] {
			t.Errorf("%s: %s is %.6g %s, not %.6g ± %.2g", what, name, got.Value, got.Unit, v[0], v[1])
		}
	}
}

// Ideal surfaces whose parameters follow by integration: A, h amplitude and
// height, µm; L wavelength, mm.
func TestIdealSurfaces(t *testing.T) {
	const A, h, L, side = 2.0, 3.0, 0.25, 300
	const slope = A / 1000 / L // A/L with both in mm
	for _, c := range []struct {
		name   string
		height func(x, y float64) float64
		want   want
	}{
		{"sine", func(x, y float64) float64 { return A * math.Sin(2*math.Pi*(x+0.0025+L/8)/L) }, want{
			"Sa": {2 * A / math.Pi, 0.001}, "Sq": {A / math.Sqrt2, 0.001}, "Ssk": {0, 1e-3}, "Sku": {1.5, 1e-3},
			"Sz": {2 * A, 0.002}, "Sp": {A, 0.001}, "Sv": {A, 0.001}, "Sdq": {math.Sqrt2 * math.Pi * slope, 1e-5},
			// A sine correlates as a cosine, which falls to 0.2 at acos(0.2)/2π = 0.21795 L;
			// its ridges run along Y.
			"Sal": {0.217953 * L, 0.003 * L}, "Std": {90, 0.3}, "Str": {0.217953 * L / (side * 0.005 / 2), 0.005},
			// Half the squared slope, to second order.
			"Sdr": {100 * math.Pi * math.Pi * slope * slope, 5e-5},
		}},
		{"egg crate", func(x, y float64) float64 {
			return A * math.Sin(2*math.Pi*(x+0.0025+L/8)/L) * math.Sin(2*math.Pi*(y+0.0025+L/8)/L)
		}, want{
			"Sa": {0.405285 * A, 0.001}, "Sq": {A / 2, 0.001}, "Ssk": {0, 1e-3}, "Sku": {2.25, 2e-3}, "Sz": {2 * A, 0.004},
			"Sdq": {math.Sqrt2 * math.Pi * slope, 1e-5},
			// cos·cos falls to 0.2 soonest along the diagonals, where both are √0.2:
			// √2·acos(√0.2)/2π L = 0.24914 L, and along the axes at 0.21795 L.
			"Sal": {0.217953 * L, 0.003 * L}, "Str": {0.217953 / 0.249187, 0.01},
		}},
		{"parabolic cusps", func(x, y float64) float64 {
			u := math.Mod(y+0.0025, L)/L - 0.5
			return h * 4 * u * u
		}, want{
			"Sa": {0.2566001 * h, 0.002}, "Sq": {0.2981424 * h, 0.002}, "Ssk": {0.638877, 5e-3}, "Sku": {2.142857, 0.012},
			"Sz": {h * (0.98*0.98 - 0.02*0.02), 0.001}, "Std": {0, 0.3},
		}},
		{"triangles", func(x, y float64) float64 { return 2 * h * math.Abs(math.Mod(x+0.0025, L)/L-0.5) }, want{
			"Sa": {h / 4, 0.002}, "Sq": {h / 2 / math.Sqrt(3), 0.002}, "Ssk": {0, 1e-3}, "Sku": {1.8, 5e-3},
			// A straight curve is all core.
			"Sk": {h, 0.04}, "Spk": {0, 0.01}, "Svk": {0, 0.01}, "Smr1": {0, 0.5}, "Smr2": {100, 0.5},
		}},
		{"steps", func(x, y float64) float64 {
			if math.Mod(x+0.0025, L) < L/2 {
				return h
			}
			return 0
		}, want{"Sa": {h / 2, 1e-4}, "Sq": {h / 2, 1e-4}, "Ssk": {0, 1e-4}, "Sku": {1, 1e-4}, "Sz": {h, 1e-5}}},
		// A slope that was left on: Sdr and Sdq are those of the plane.
		{"plane", func(x, y float64) float64 { return 1000 * (0.3*x + 0.4*y) }, want{
			"Sdq": {0.5, 1e-5}, "Sdr": {100 * (math.Sqrt(1.25) - 1), 1e-3}}},
	} {
		m := made(side, side, 0.005, 0.005, c.height)
		m.Base = 7
		p, err := Areal(t.Context(), m)
		if err != nil {
			t.Fatal(err)
		}
		c.want.check(t, c.name, p)
		if c.name == "sine" {
			var names []string
			for _, n := range p {
				names = append(names, n.Name)
			}
			if d := cmp.Diff("Sa Sq Sz Sp Sv Ssk Sku Sdq Sdr Sk Spk Svk Smr1 Smr2 Sal Str Std", strings.Join(names, " ")); d != "" {
				t.Error(d)
			}
		}
		// What is missing changes nothing but chance.
		rng := rand.New(rand.NewPCG(1, 1))
		for range 8 {
			x, y := rng.IntN(side), rng.IntN(side)
			for j := max(0, y-9); j < min(side, y+9); j++ {
				for i := max(0, x-9); i < min(side, x+9); i++ {
					m.Z[j*side+i] = float32(math.NaN())
				}
			}
		}
		q, err := Areal(t.Context(), m)
		if err != nil {
			t.Fatal(err)
		}
		loose := want{}
		for name, v := range c.want {
			loose[name] = [2]float64{v[0], v[1] + 0.02*math.Abs(v[0]) + 0.02}
		}
		if c.name == "plane" || c.name == "steps" {
			loose = c.want
			delete(loose, "Ssk")
			delete(loose, "Sa")
			delete(loose, "Sq")
			delete(loose, "Sku")
		}
		if _, ok := loose["Std"]; ok {
			loose["Std"] = [2]float64{c.want["Std"][0], 0.5}
		}
		loose.check(t, c.name+" with holes", q)
	}
}

// The material ratio curve of normally distributed heights is the normal
// quantile. Its flattest 40 % are those from 30 % to 70 %; the least squares
// line there, and what lies beyond it, follow by quadrature of that function.
func TestCoreOfNormalHeights(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 9))
	m := made(900, 900, 0.01, 0.01, func(_, _ float64) float64 { return rng.NormFloat64() })
	p, err := Heights(t.Context(), m)
	if err != nil {
		t.Fatal(err)
	}
	quantile := func(p float64) float64 { return -math.Sqrt2 * math.Erfinv(2*p-1) }
	var sxy, sxx float64
	const n = 100000
	for i := range n {
		x := 0.4 * ((float64(i)+0.5)/n - 0.5)
		sxy += x * quantile(0.5+x)
		sxx += x * x
	}
	top := -sxy / sxx / 2
	beyond := 0.0
	for i := range n {
		beyond += max(0, quantile((float64(i)+0.5)/n)-top) / n
	}
	mr1 := 50 * math.Erfc(top/math.Sqrt2)
	want{
		"Sk": {2 * top, 0.02}, "Smr1": {mr1, 0.3}, "Smr2": {100 - mr1, 0.3},
		"Spk": {2 * beyond / mr1 * 100, 0.01}, "Svk": {2 * beyond / mr1 * 100, 0.01},
		"Sa": {math.Sqrt(2 / math.Pi), 0.003}, "Sq": {1, 0.003}, "Sku": {3, 0.03}, "Ssk": {0, 0.01},
	}.check(t, "normal", p)
}

func TestParametersAsJSON(t *testing.T) {
	p := Parameters{{"Sq", Value{1.5, micro}}, {"Sa", Value{1, micro}}}
	p.add("Ssk", math.NaN(), pure)
	got, err := json.Marshal(p)
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(`{"Sq":{"value":1.5,"unit":"µm"},"Sa":{"value":1,"unit":"µm"}}`, string(got)); d != "" {
		t.Error(d)
	}
	if _, ok := p.Get("Sz"); ok {
		t.Error("a parameter that is not there was found")
	}
}

func TestLay(t *testing.T) {
	for _, deg := range []float64{0, 17.3, 90, 133.7} {
		s, c := math.Sincos(deg * math.Pi / 180)
		// A wave across the lay, and a weaker, shorter one along it.
		m := made(320, 240, 0.01, 0.01, func(x, y float64) float64 {
			across, along := -s*x+c*y, c*x+s*y
			return math.Sin(2*math.Pi*across/0.3) + 0.2*math.Sin(2*math.Pi*along/0.11)
		})
		lay, err := LayOf(t.Context(), m)
		if err != nil {
			t.Fatal(err)
		}
		if off := math.Abs(math.Remainder(lay.Std-deg, 180)); !(off < 0.8) {
			t.Errorf("lay of %g° is given as %.2f°", deg, lay.Std)
		}
		if lay.Str > 0.1 {
			t.Errorf("lay of %g°: Str %.3f", deg, lay.Str)
		}
		peaks, err := Peaks(t.Context(), m, 5)
		if err != nil {
			t.Fatal(err)
		}
		if len(peaks) != 2 {
			t.Errorf("lay of %g°: two waves give %+v", deg, peaks)
			continue
		}
		for i, w := range []Peak{{0.3, deg + 90, 1}, {0.11, deg, 0.2}} {
			g := peaks[i]
			if math.Abs(g.WavelengthMM-w.WavelengthMM) > 0.01*w.WavelengthMM || math.Abs(math.Remainder(g.DirectionDeg-w.DirectionDeg, 180)) > 0.5 ||
				math.Abs(g.AmplitudeUM-w.AmplitudeUM) > 0.04*w.AmplitudeUM {
				t.Errorf("lay of %g°: %+v is given as %+v", deg, w, g)
			}
		}
	}
}

// A wave twenty-five times as long as the cusps over it, both seen: the one
// from the whole map, the others from tiles of it.
func TestPeaksFarApart(t *testing.T) {
	defer func(was int) { tileCells = was }(tileCells)
	tileCells = 170
	m := made(1200, 1050, 0.01, 0.01, func(x, y float64) float64 {
		u := math.Mod(x, 0.1)/0.1 - 0.5
		return 4*u*u + 0.5*math.Sin(2*math.Pi*(0.6*x+0.8*y)/2.5)
	})
	m.Base = 3
	peaks, err := Peaks(t.Context(), m, 8)
	if err != nil {
		t.Fatal(err)
	}
	// The discrete transform of a parabola of ten points: 4/(N·sin(πk/N))².
	wave := func(k float64) float64 { s := 10 * math.Sin(math.Pi*k/10); return 4 / (s * s) }
	find := func(w Peak) {
		for _, g := range peaks {
			if math.Abs(g.WavelengthMM/w.WavelengthMM-1) < 0.03 && math.Abs(math.Remainder(g.DirectionDeg-w.DirectionDeg, 180)) < 2 {
				if math.Abs(g.AmplitudeUM/w.AmplitudeUM-1) > 0.06 {
					t.Errorf("%+v is given as %+v", w, g)
				}
				return
			}
		}
		t.Errorf("no %+v in %+v", w, peaks)
	}
	find(Peak{0.1, 0, wave(1)})
	find(Peak{0.05, 0, wave(2)})
	find(Peak{2.5, 180 / math.Pi * math.Atan2(0.8, 0.6), 0.5})
}

func TestArealIsTheSameOnAnyCores(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 2))
	m := made(161, 122, 0.01, 0.02, func(x, y float64) float64 { return rng.NormFloat64() + math.Sin(30*x) })
	m.Z[777] = float32(math.NaN())
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	one, err := Areal(t.Context(), m)
	if err != nil {
		t.Fatal(err)
	}
	for _, n := range []int{2, 5} {
		runtime.GOMAXPROCS(n)
		got, err := Areal(t.Context(), m)
		if err != nil {
			t.Fatal(err)
		}
		if d := cmp.Diff(one, got); d != "" {
			t.Errorf("%d cores: %s", n, d)
		}
	}
}

func TestMapsWithoutMuch(t *testing.T) {
	nan := float32(math.NaN())
	if _, err := Areal(t.Context(), relief.NewMap(relief.Grid{W: 9, H: 9, DX: 1, DY: 1})); err == nil {
		t.Error("a map without heights has parameters")
	}
	for _, m := range []*relief.Map{
		{Grid: relief.Grid{W: 1, H: 1, DX: 1, DY: 1}, Z: []float32{4}},
		{Grid: relief.Grid{W: 2, H: 2, DX: 1, DY: 1}, Z: []float32{4, nan, nan, nan}},
		made(50, 50, 0.1, 0.1, func(x, y float64) float64 { return 5 }),
		made(500, 2, 0.1, 0.1, func(x, y float64) float64 { return x }),
	} {
		p, err := Areal(t.Context(), m)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := json.Marshal(p); err != nil {
			t.Error(err)
		}
		if sq, ok := p.Get("Sq"); !ok || m.W != 500 && sq.Value > 1e-3 {
			t.Errorf("%+v", p)
		}
	}
}

func BenchmarkAreal24M(b *testing.B) {
	m := relief.NewMap(relief.Grid{W: 6000, H: 4000, DX: 0.01, DY: 0.01})
	rng := rand.New(rand.NewPCG(3, 4))
	for i := range m.Z {
		u := math.Mod(float64(i%6000)+0.5*float64(i/6000), 30)/30 - 0.5
		m.Z[i] = float32(0.002*u*u + 0.0001*rng.NormFloat64())
	}
	b.Run("heights", func(b *testing.B) {
		for b.Loop() {
			if _, err := Heights(b.Context(), m); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("lay", func(b *testing.B) {
		for b.Loop() {
			if _, err := LayOf(b.Context(), m); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("peaks", func(b *testing.B) {
		for b.Loop() {
			if _, err := Peaks(b.Context(), m, 10); err != nil {
				b.Fatal(err)
			}
		}
	})
}
