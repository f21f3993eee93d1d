package field

import (
	"context"
	"fmt"
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
)

func BenchmarkSurface(b *testing.B) {
	for _, n := range []int{256, 384} {
		r := 0.4 * float64(n)
		f := filled(n, 1, func(p r3.Vec) float64 { return math.Sqrt(r3.Norm2(p)) - r })
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			for b.Loop() {
				m, err := Surface(context.Background(), f, 0, SurfaceOptions{})
				if err != nil || len(m.Tri) == 0 {
					b.Fatal(err, len(m.Tri))
				}
			}
		})
	}
}
