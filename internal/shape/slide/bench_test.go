package slide

import (
	"fmt"
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
)

// A sheet that slides as a whole, and one that has to be broken into cells.
func BenchmarkSplit(b *testing.B) {
	for _, n := range []int{100, 224} {
		for _, s := range []struct {
			name string
			f    func(u, v float64) r3.Vec
		}{
			{"torus", func(u, v float64) r3.Vec { return polar(20+5*math.Cos(2*v), 1.5*u, 5*math.Sin(2*v)) }},
			{"free-form", func(u, v float64) r3.Vec {
				x, y := 60*u, 60*v
				return r3.Vec{X: x, Y: y, Z: 2*math.Sin(x/12)*math.Cos(y/30) + 0.01*x*y}
			}},
		} {
			p := find(sheet(n, n, s.f))
			tris := every(p)
			b.Run(fmt.Sprintf("%s/%d", s.name, len(tris)), func(b *testing.B) {
				for b.Loop() {
					if _, err := Split(b.Context(), p, tris, Options{}); err != nil {
						b.Fatal(err)
					}
				}
			})
		}
	}
}
