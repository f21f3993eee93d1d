package reach

import (
	"context"
	"testing"

	"fettle/demo"
	"fettle/internal/trade/stock"
)

// BenchmarkOf is all media on the shelf on the demo's parts.
func BenchmarkOf(b *testing.B) {
	for _, p := range demo.Parts() {
		b.Run(p.ID, func(b *testing.B) {
			in := part(b, p.Mesh, 0.4, stock.Shelf().Media...)
			var facets int
			for b.Loop() {
				r, err := Of(context.Background(), in)
				if err != nil {
					b.Fatal(err)
				}
				facets = len(r.Skin.Tri)
			}
			b.ReportMetric(float64(facets), "facets")
		})
	}
}
