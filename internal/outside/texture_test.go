//go:build outside

package outside

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"fettle/internal/shape/relief"
	"fettle/internal/shape/texture"
)

// Filter and parameters of maps, noisy and regular, whole and with holes,
// against SciPy and NumPy.
func TestTextureAgainstSciPy(t *testing.T) {
	rng := rand.New(rand.NewPCG(21, 22))
	noise := func() float64 { return rng.NormFloat64() }
	cusps := func(u, pitch float64) float64 { f := u/pitch - math.Floor(u/pitch) - 0.5; return 4 * f * f }
	for _, c := range []struct {
		name   string
		dx, dy float64
		holes  bool
		height func(x, y float64) float64 // µm
	}{
		{"noise", 0.01, 0.01, false, func(x, y float64) float64 { return noise() }},
		{"cusps", 0.01, 0.01, false, func(x, y float64) float64 { return 3*cusps(0.8*x+0.6*y, 0.23) + 0.05*noise() }},
		{"crossed cusps with holes", 0.01, 0.01, true, func(x, y float64) float64 {
			return math.Min(3*cusps(x, 0.2), 3*cusps(y, 0.2)) + 0.1*noise()
		}},
		{"waves of oblong cells", 0.008, 0.013, true, func(x, y float64) float64 {
			return 2*math.Sin(13*x+29*y) + math.Sin(41*x-17*y) + 0.3*noise()
		}},
	} {
		m := relief.NewMap(relief.Grid{W: 420, H: 310, DX: c.dx, DY: c.dy})
		for i := range m.Z {
			x, y := m.X(i%m.W), m.Y(i/m.W)
			m.Z[i] = float32(c.height(x, y) / 1000)
		}
		if c.holes {
			for range 12 {
				x, y, r := rng.IntN(m.W), rng.IntN(m.H), 3+rng.IntN(9)
				for j := max(0, y-r); j < min(m.H, y+r); j++ {
					for i := max(0, x-r); i < min(m.W, x+r); i++ {
						m.Z[j*m.W+i] = float32(math.NaN())
					}
				}
			}
		}
		const cutoff = 0.8
		dir := t.TempDir()
		in, out := filepath.Join(dir, "in"), filepath.Join(dir, "out")
		var raw bytes.Buffer
		binary.Write(&raw, binary.LittleEndian, m.Z)
		if err := os.WriteFile(in, raw.Bytes(), 0o600); err != nil {
			t.Fatal(err)
		}
		printed := run(t, "python3-scipy", python, "testdata/texture.py", in,
			fmt.Sprint(m.W), fmt.Sprint(m.H), fmt.Sprint(c.dx), fmt.Sprint(c.dy), fmt.Sprint(cutoff), out)
		var want map[string]float64
		if err := json.Unmarshal(printed, &want); err != nil {
			t.Fatal(err)
		}
		answer, err := os.ReadFile(out)
		if err != nil {
			t.Fatal(err)
		}
		low := make([]float32, len(m.Z))
		if err := binary.Read(bytes.NewReader(answer), binary.LittleEndian, low); err != nil {
			t.Fatal(err)
		}

		got, err := texture.LowPass(t.Context(), m, cutoff, texture.Normalised)
		if err != nil {
			t.Fatal(err)
		}
		p, err := texture.Areal(t.Context(), m)
		if err != nil {
			t.Fatal(err)
		}
		sz, _ := p.Get("Sz")
		worst, seen := 0.0, 0
		for i, v := range low {
			g := got.Base + float64(got.Z[i])
			if (v == v) != (g == g) {
				t.Fatalf("%s: cell %d is %g, SciPy %g", c.name, i, g, v)
			}
			if v == v {
				worst = max(worst, 1000*math.Abs(g-float64(v)))
				seen++
			}
		}
		// The stated error is 3e-4 of an amplitude, here half of Sz at most.
		if worst > 1.5e-4*sz.Value || seen < len(low)/2 {
			t.Errorf("%s: filter is up to %.3g µm from SciPy's over %d cells, Sz %.3g µm", c.name, worst, seen, sz.Value)
		}
		core := want["Sk"]
		for _, n := range p {
			v, ok := want[n.Name]
			if !ok {
				continue // Std: told from the making of the map in the package's own tests
			}
			within := 5e-4 * math.Abs(v)
			switch n.Name {
			case "Ssk", "Sku":
				within = 1e-3
			case "Sk", "Spk", "Svk": // from 20,000 samples of the curve there, from all heights here
				within = 0.005*math.Abs(v) + 0.002*core
			case "Smr1", "Smr2":
				within = 0.2
			case "Sal", "Str": // there over the whole map alike, here weighted towards its middle
				within = 0.06 * v
			}
			if math.Abs(n.Value.Value-v) > within {
				t.Errorf("%s: %s is %.6g %s, NumPy %.6g", c.name, n.Name, n.Value.Value, n.Unit, v)
			}
			delete(want, n.Name)
		}
		if len(want) > 0 {
			t.Errorf("%s: not measured here: %v", c.name, want)
		}
		t.Logf("%s: filter within %.2g µm of SciPy's, Sz %.3g µm", c.name, worst, sz.Value)
	}
}
