package texture

import (
	"math"
	"math/rand/v2"
	"runtime"
	"testing"

	"fettle/internal/shape/relief"
)

// made is a map of heights in µm, cells of dx by dy mm.
func made(w, h int, dx, dy float64, height func(x, y float64) float64) *relief.Map {
	m := relief.NewMap(relief.Grid{W: w, H: h, DX: dx, DY: dy})
	for j := range h {
		for i := range w {
			m.Z[j*w+i] = float32(height(m.X(i), m.Y(j)) / 1000)
		}
	}
	return m
}

// Transmission of a sine by the filter of ISO 16610-21, λ/λc against the share
// let through: 2^−(λc/λ)², worked out to six digits apart from this code.
var transmissions = [][2]float64{
	{0.3, 0.000452}, {0.5, 0.062500}, {0.7, 0.243026}, {0.8, 0.338564}, {1, 0.500000}, {1.25, 0.641713},
	{1.5, 0.734867}, {2, 0.840896}, {3, 0.925875}, {5, 0.972655}, {10, 0.993092},
}

func TestTransmissionOfMaps(t *testing.T) {
	ctx := t.Context()
	for _, cells := range []float64{12, 25, 40, 80, 333} {
		dx := 0.8 / cells
		for _, row := range transmissions {
			wave := row[0] * 0.8
			n := int(12 * cells)
			// Along x, then along y: each amplitude is told from the middle of the map.
			for _, turned := range []bool{false, true} {
				w, h := n, 5
				if turned {
					w, h = h, n
				}
				m := made(w, h, dx, dx, func(x, y float64) float64 {
					if turned {
						x = y
					}
					return math.Cos(2 * math.Pi * x / wave)
				})
				low, err := LowPass(ctx, m, 0.8, Normalised)
				if err != nil {
					t.Fatal(err)
				}
				high, err := HighPass(ctx, m, 0.8, Normalised)
				if err != nil {
					t.Fatal(err)
				}
				for i := n / 4; i < 3*n/4; i++ {
					at := i + 2*w
					if turned {
						at = i*w + 2
					}
					full := 1000 * float64(m.Z[at])
					if got, want := 1000*(low.Base+float64(low.Z[at])), row[1]*full; math.Abs(got-want) > 3e-4 {
						t.Fatalf("cut-off of %g cells, wave of %g cut-offs: %.6f passes where %.6f of %.6f should", cells, row[0], got, want, full)
					}
					if got, want := 1000*float64(high.Z[at]), (1-row[1])*full; math.Abs(got-want) > 3e-4 {
						t.Fatalf("cut-off of %g cells, wave of %g cut-offs: %.6f is left where %.6f should be", cells, row[0], got, want)
					}
				}
			}
		}
	}
}

// exactly is the definition, cell by cell, in double precision: the mean of the
// present cells weighted by the Gaussian.
func exactly(m *relief.Map, cutoff float64) []float64 {
	w, h := m.W, m.H
	sx, sy := sigmaRatio*cutoff/m.DX, sigmaRatio*cutoff/m.DY
	pass := func(v []float64, n, step, lines, skip int, s float64) {
		out, weight := make([]float64, n), make([]float64, n)
		for i := range n {
			weight[i] = math.Exp(-float64(i*i) / (2 * s * s))
		}
		for l := range lines {
			for i := range n {
				out[i] = 0
				for j := range n {
					out[i] += weight[max(i-j, j-i)] * v[l*skip+j*step]
				}
			}
			for i := range n {
				v[l*skip+i*step] = out[i]
			}
		}
	}
	num, den := make([]float64, w*h), make([]float64, w*h)
	for i, z := range m.Z {
		if z == z {
			num[i], den[i] = m.Base+float64(z), 1
		}
	}
	for _, v := range [][]float64{num, den} {
		pass(v, w, 1, h, w, sx)
		pass(v, h, w, w, 1, sy)
	}
	for i := range num {
		num[i] /= den[i]
	}
	return num
}

func TestFilterAgainstDefinition(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for _, c := range []struct {
		name   string
		w, h   int
		dx, dy float64
		holes  bool
	}{
		{"whole", 133, 101, 0.01, 0.01, false},
		{"holes", 133, 101, 0.01, 0.01, true},
		{"oblong cells", 100, 120, 0.02, 0.005, true},
		{"few rows", 300, 3, 0.01, 0.01, true},
		{"one row", 300, 1, 0.01, 0.01, false},
	} {
		m := relief.NewMap(relief.Grid{W: c.w, H: c.h, DX: c.dx, DY: c.dy})
		m.Base = 5
		for i := range m.Z {
			x, y := m.X(i%c.w), m.Y(i/c.w)
			m.Z[i] = float32(0.001*rng.NormFloat64() + 0.01*math.Sin(3*x+5*y) + 0.02*x)
			if c.holes && (rng.IntN(10) == 0 || math.Hypot(x-0.5, y-0.3) < 0.15) {
				m.Z[i] = float32(math.NaN())
			}
		}
		for _, cutoff := range []float64{0.05, 0.25, 0.3, 0.8} {
			want := exactly(m, cutoff)
			low, err := LowPass(t.Context(), m, cutoff, Normalised)
			if err != nil {
				t.Fatal(err)
			}
			high, err := HighPass(t.Context(), m, cutoff, Normalised)
			if err != nil {
				t.Fatal(err)
			}
			worst := 0.0
			for i, v := range m.Z {
				if v != v {
					if low.Z[i] == low.Z[i] || high.Z[i] == high.Z[i] {
						t.Fatalf("%s: a missing cell was filled", c.name)
					}
					continue
				}
				got := low.Base + float64(low.Z[i])
				worst = max(worst, math.Abs(got-want[i]), math.Abs(float64(v)+5-want[i]-float64(high.Z[i])))
			}
			t.Logf("%s, cut-off %g mm: within %.3f nm of the definition", c.name, cutoff, 1e6*worst)
			// The waves are 10 µm high, the noise 1 µm, the slope 20 µm in a mm.
			if !(worst < 1.5e-6) {
				t.Errorf("%s, cut-off %g mm: %.3f nm from the definition", c.name, cutoff, 1e6*worst)
			}
		}
	}
}

func TestDroppedEnds(t *testing.T) {
	m := made(300, 200, 0.01, 0.01, func(x, y float64) float64 { return math.Sin(9*x) * math.Cos(8*y) })
	all, err := HighPass(t.Context(), m, 0.8, Normalised)
	if err != nil {
		t.Fatal(err)
	}
	got, err := HighPass(t.Context(), m, 0.8, Dropped)
	if err != nil {
		t.Fatal(err)
	}
	if got.W != 220 || got.H != 120 || math.Abs(got.X0-0.4) > 1e-12 || math.Abs(got.Y0-0.4) > 1e-12 {
		t.Fatalf("%+v is left of %+v", got.Grid, m.Grid)
	}
	if got.Z[0] != all.Z[40*300+40] || got.Z[len(got.Z)-1] != all.Z[159*300+259] {
		t.Error("the middle is not what it was")
	}
	if _, err := HighPass(t.Context(), m, 2.5, Dropped); err == nil {
		t.Error("a map shorter than its run-in was filtered")
	}
}

func TestFilterIsTheSameOnAnyCores(t *testing.T) {
	m := made(331, 207, 0.01, 0.01, func(x, y float64) float64 { return math.Sin(19*x) * math.Cos(8*y) })
	m.Z[5000] = float32(math.NaN())
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	one, err := HighPass(t.Context(), m, 0.8, Normalised)
	if err != nil {
		t.Fatal(err)
	}
	for _, n := range []int{2, 5} {
		runtime.GOMAXPROCS(n)
		got, err := HighPass(t.Context(), m, 0.8, Normalised)
		if err != nil {
			t.Fatal(err)
		}
		for i := range got.Z {
			if math.Float32bits(got.Z[i]) != math.Float32bits(one.Z[i]) {
				t.Fatalf("cell %d is %g with %d cores and %g with one", i, got.Z[i], n, one.Z[i])
			}
		}
	}
}

func BenchmarkFilter24M(b *testing.B) {
	m := relief.NewMap(relief.Grid{W: 6000, H: 4000, DX: 0.01, DY: 0.01})
	rng := rand.New(rand.NewPCG(3, 4))
	for i := range m.Z {
		m.Z[i] = rng.Float32()
	}
	for _, c := range []struct {
		name string
		hole bool
	}{{"whole", false}, {"holes", true}} {
		b.Run(c.name, func(b *testing.B) {
			if c.hole {
				m.Z[12345678] = float32(math.NaN())
			}
			for b.Loop() {
				if _, err := HighPass(b.Context(), m, 0.8, Normalised); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
