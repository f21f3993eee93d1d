package field

import (
	"context"
	"math"
	"testing"

	"pgregory.net/rapid"
)

// The power distance on small grids, thin ones among them, against every
// centre; without one nothing changes.
func TestPowerAgainstAllPairs(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g, mask := drawMask(t)
		g.Cell = rapid.SampledFrom([]float64{1, 0.3}).Draw(t, "cell")
		height := make([]float32, g.Len())
		var centres []int
		for i := range height {
			height[i] = NoCentre
			if mask[i] {
				height[i] = float32(-rapid.Float64Range(0, 30).Draw(t, "r²"))
				centres = append(centres, i)
			}
		}
		got := append([]float32(nil), height...)
		if err := Power(context.Background(), got, g); err != nil {
			t.Fatal(err)
		}
		for i := 0; i < len(got); i += 1 + len(got)/300 {
			v := got[i]
			x, y, z := g.Split(i)
			want := math.Inf(1)
			for _, c := range centres {
				a, b, d := g.Split(c)
				way := float64((x-a)*(x-a)+(y-b)*(y-b)+(z-d)*(z-d)) * g.Cell * g.Cell
				want = min(want, float64(height[c])+way)
			}
			if len(centres) == 0 {
				want = float64(NoCentre)
			}
			if math.Abs(float64(v)-want) > 1e-4*max(1, math.Abs(want)) {
				t.Fatalf("cell %d of %v: %g, want %g", i, g.N, v, want)
			}
		}
	})
}
