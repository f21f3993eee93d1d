package cavity

import (
	"context"
	"testing"

	"fettle/demo"
	"fettle/internal/trade/stock"
)

// The demo's plate with what is on the shelf, at the cell that CellFor says and
// at ten million points.
func BenchmarkFind(b *testing.B) {
	in := input(b, demo.Escutcheon(demo.Fine).Mesh, 0)
	for _, c := range []struct {
		name string
		cell float64
	}{{"as chosen", 0}, {"10M", 0.247}} {
		b.Run(c.name, func(b *testing.B) {
			in.CellMM, in.Media = c.cell, stock.Shelf().Media
			for b.Loop() {
				v, _, _, err := Find(context.Background(), in)
				if err != nil {
					b.Fatal(err)
				}
				b.ReportMetric(float64(v.Len())/1e6, "Mpoints")
			}
		})
	}
}
