package field

import (
	"context"
	"fmt"
	"testing"
)

func BenchmarkSurface(b *testing.B) {
	for _, n := range []int{256, 384} {
		f := filled(n, 1, ball(0.4*float64(n)))
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
