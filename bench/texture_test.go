package bench

import (
	"encoding/binary"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"testing"
	"time"

	"fettle/internal/shape/relief"
	"fettle/internal/shape/texture"
)

// BenchmarkTexture24M filters a map of 6000 by 4000 cells of 10 µm with a
// cut-off of 0.8 mm and measures it, on all cores. SciPy filters by the Fourier
// transform on as many, and NumPy measures heights and slopes; Sal, Str and Std
// have no counterpart there and are told apart.
func BenchmarkTexture24M(b *testing.B) {
	const w, h = 6000, 4000
	m := relief.NewMap(relief.Grid{W: w, H: h, DX: 0.01, DY: 0.01})
	rng := rand.New(rand.NewPCG(5, 7))
	for i := range m.Z {
		u := math.Mod(float64(i%w)+0.4*float64(i/w), 30)/30 - 0.5
		m.Z[i] = float32(0.004*u*u + 0.0002*rng.NormFloat64())
	}
	dir := b.TempDir()
	in, out := filepath.Join(dir, "in"), filepath.Join(dir, "out")
	raw := make([]byte, 0, 4*len(m.Z))
	for _, v := range m.Z {
		raw = binary.LittleEndian.AppendUint32(raw, math.Float32bits(v))
	}
	if err := os.WriteFile(in, raw, 0o600); err != nil {
		b.Fatal(err)
	}
	raw = nil

	// The best of the turns, as SciPy's is: what else the machine does then
	// weighs on both alike.
	filter, parameters, lay := math.Inf(1), math.Inf(1), math.Inf(1)
	var low *relief.Map
	var p texture.Parameters
	lap := func(best *float64, do func() error) {
		start := time.Now()
		if err := do(); err != nil {
			b.Fatal(err)
		}
		*best = min(*best, time.Since(start).Seconds())
	}
	for b.Loop() {
		lap(&filter, func() (err error) {
			low, err = texture.LowPass(b.Context(), m, 0.8, texture.Normalised)
			return err
		})
		lap(&parameters, func() (err error) {
			p, err = texture.Heights(b.Context(), m)
			return err
		})
		lap(&lay, func() error {
			_, err := texture.LayOf(b.Context(), m)
			return err
		})
	}
	b.Logf("%d cells on %d cores: filter %.3f s, heights and slopes %.3f s, lay %.3f s", m.Cells(), runtime.GOMAXPROCS(0), filter, parameters, lay)
	b.ReportMetric(filter, "s/filter")
	b.ReportMetric(parameters, "s/parameters")
	b.ReportMetric(lay, "s/lay")

	if err := exec.Command(python, "-c", "import scipy").Run(); err != nil {
		b.Logf("no SciPy here (Debian: python3-scipy), so no ratio")
		return
	}
	var v struct {
		FFT        float64 `json:"fft_s"`
		Direct     float64 `json:"direct_s"`
		Parameters float64 `json:"parameters_s"`
		Sa         float64 `json:"sa"`
		Sq         float64 `json:"sq"`
		Sdq        float64 `json:"sdq"`
	}
	decode(b, exec.Command(python, "testdata/texture.py", in, out), &v)
	for name, want := range map[string]float64{"Sa": 1000 * v.Sa, "Sq": 1000 * v.Sq} {
		if got, _ := p.Get(name); math.Abs(got.Value-want) > 1e-4*want {
			b.Errorf("%s is %g µm here, %g for NumPy", name, got.Value, want)
		}
	}
	theirs, err := os.ReadFile(out)
	if err != nil {
		b.Fatal(err)
	}
	worst := 0.0
	for j := 100; j < h-100; j++ { // the ends are told differently
		for i := 100; i < w-100; i++ {
			z := math.Float32frombits(binary.LittleEndian.Uint32(theirs[4*(j*w+i):]))
			worst = max(worst, math.Abs(low.Base+float64(low.Z[j*w+i])-float64(z)))
		}
	}
	sz, _ := p.Get("Sz")
	if !(1000*worst < 1.5e-4*sz.Value) {
		b.Errorf("the filters differ by up to %g µm of Sz %g µm", 1000*worst, sz.Value)
	}
	b.Logf("SciPy: filter by transform %.3f s, by convolution %.3f s, parameters %.3f s; the filters differ by up to %.2g µm of Sz %.3g µm",
		v.FFT, v.Direct, v.Parameters, 1000*worst, sz.Value)
	b.ReportMetric(v.FFT, "scipy-s/filter")
	b.ReportMetric(v.Parameters, "scipy-s/parameters")
	b.ReportMetric(filter/min(v.FFT, v.Direct), "ratio-filter")
	b.ReportMetric(parameters/v.Parameters, "ratio-parameters")
}
