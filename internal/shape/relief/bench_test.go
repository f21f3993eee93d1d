package relief

import (
	"math"
	"testing"

	"fettle/internal/shape/form"
	"fettle/internal/shape/mesh"
)

// dome is a face of 60 × 40 mm that bends by 90 mm radius, as triangles about
// size mm across.
func dome(size float64) *mesh.Mesh {
	return form.Sheet(-30, -20, 30, 20, int(60/size), int(60/size), func(x, y float64) float64 {
		return math.Sqrt(90*90-x*x-y*y) - 90
	})
}

// BenchmarkFace is the surface of a face of 60 × 40 mm at 10 µm, from its
// triangles: skin, passes, sweep.
func BenchmarkFace(b *testing.B) {
	g := Cover(-30, -20, 30, 20, 0.01)
	for _, c := range []struct {
		name    string
		size    float64
		r, step float64
	}{
		{"R1.5/step0.1/plane", 60, 1.5, 0.1},
		{"R1.5/step0.1/7k", 1, 1.5, 0.1},
		{"R5/step0.3/7k", 1, 5, 0.3},
		{"R5/step0.3/115k", 0.25, 5, 0.3},
	} {
		m := dome(c.size)
		b.Run(c.name, func(b *testing.B) {
			b.ReportAllocs()
			for range b.N {
				s, err := NewSkin(b.Context(), m, Model(), Ball(c.r), -30, -20, 30, 20)
				if err != nil {
					b.Fatal(err)
				}
				t0 := b.Elapsed()
				list, err := Lay(b.Context(), s, Passes{Step: c.step, Tolerance: 0.001}, -30, -20, 30, 20)
				if err != nil {
					b.Fatal(err)
				}
				t1 := b.Elapsed()
				if _, _, err := Sweep(b.Context(), g, []Tool{Ball(c.r)}, list, Options{NoStock: true}); err != nil {
					b.Fatal(err)
				}
				b.ReportMetric(t0.Seconds(), "skin-s")
				b.ReportMetric((t1 - t0).Seconds(), "lay-s")
				b.ReportMetric((b.Elapsed() - t1).Seconds(), "sweep-s")
				b.ReportMetric(float64(len(list)), "moves")
			}
		})
	}
}

// shortBlocks is a ball of 3 mm radius led over the dome by blocks of 16 µm,
// a million of them.
func shortBlocks() []Move {
	const r, rho, step, along = 3.0, 90.0, 0.15, 0.016
	tip := func(x, y float64) [3]float64 {
		return [3]float64{x, y, math.Sqrt((rho+r)*(rho+r)-x*x-y*y) - rho - r}
	}
	var list []Move
	for y := -20.0; y <= 20; y += step {
		for x := -30.0; x < 30; x += along {
			list = append(list, Move{From: tip(x, y), To: tip(x+along, y)})
		}
	}
	return list
}

// BenchmarkShortBlocks is the sweep of a program of a million short blocks.
func BenchmarkShortBlocks(b *testing.B) {
	list := shortBlocks()
	g := Cover(-30, -20, 30, 20, 0.01)
	b.ReportAllocs()
	for b.Loop() {
		if _, _, err := Sweep(b.Context(), g, []Tool{Ball(3)}, list, Options{NoStock: true, Owner: true}); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(len(list)), "moves")
}
