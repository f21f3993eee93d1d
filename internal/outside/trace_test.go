//go:build outside

package outside

import (
	"bufio"
	"fmt"
	"math"
	"os"
	"testing"

	"fettle/internal/shape/texture"
)

// A real trace of a stylus instrument, levelled and filtered, against the
// parameters in the report that the instrument gave for it. The report was read
// off by hand; three or four digits are all it has.
func TestTraceAgainstInstrument(t *testing.T) {
	path := os.Getenv("FETTLE_TRACE")
	if path == "" {
		t.Skip("NOT COMPARED: the stylus trace is missing; its licence does not say that it may be passed on, so it is not here. " +
			"It stands among the sample profiles of the public project SvenPaterson/SurfaceFinish; name the file with make test TRACE=path, or in FETTLE_TRACE.")
	}
	f, err := os.Open(path)
	if err != nil {
		t.Fatalf("FETTLE_TRACE: %v", err)
	}
	defer f.Close()
	var z []float64 // µm
	var first, last float64
	lines := bufio.NewScanner(f)
	for lines.Scan() {
		var x, v float64 // mm, µm
		if n, _ := fmt.Sscanf(lines.Text(), "%f,%f", &x, &v); n == 2 {
			if z, last = append(z, v), x; len(z) == 1 {
				first = x
			}
		}
	}
	if err := lines.Err(); err != nil {
		t.Fatal(err)
	}
	if len(z) < 1000 || !(last > first) {
		t.Fatalf("FETTLE_TRACE: %d points from %g to %g mm are not the trace", len(z), first, last)
	}
	const cutoff, sections = 0.8, 5
	dx := (last - first) / float64(len(z)-1)
	level, _, err := texture.LevelProfile(z, dx, texture.Form{Shape: texture.Plane})
	if err != nil {
		t.Fatal(err)
	}
	_, rough, err := texture.Filter(level, dx, cutoff, texture.Dropped)
	if err != nil {
		t.Fatal(err)
	}
	p, err := texture.Profile(rough, dx, texture.Sections{LengthMM: cutoff, Count: sections})
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name string
		want float64
	}{
		{"Ra_sections", 0.260}, {"Rq_sections", 0.341}, {"Rp", 0.521}, {"Rv", 1.66}, {"Rz", 2.19}, {"Rt", 2.70},
		{"Rsk_sections", -1.35}, {"Rku_sections", 6.3530}, {"Rq", 0.3427}, {"Rsk", -1.4013},
	} {
		v, ok := p.Get(c.name)
		if !ok {
			t.Errorf("%s is not measured", c.name)
			continue
		}
		off := v.Value/c.want - 1
		if math.IsNaN(off) || math.Abs(off) > 0.005 {
			t.Errorf("%s is %.4f, in the instrument's report %.4f: %+.2f %%", c.name, v.Value, c.want, 100*off)
		}
		t.Logf("%s %.4f, report %.4f: %+.2f %%", c.name, v.Value, c.want, 100*off)
	}
}
