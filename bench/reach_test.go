package bench

import (
	"testing"
	"time"

	"fettle/demo"
	"fettle/internal/shape/mesh"
	"fettle/internal/trade/cavity"
	"fettle/internal/trade/jam"
	"fettle/internal/trade/reach"
	"fettle/internal/trade/stock"
	"fettle/internal/trade/survey"

	"gonum.org/v1/gonum/spatial/r3"
)

// BenchmarkReachDemo measures what a plan asks about media on the demo's plate,
// for all media on the shelf: the void, where each touches the part, and every
// opening by pose.
func BenchmarkReachDemo(b *testing.B) {
	part := demo.Parts()[0]
	media := stock.Shelf().Media
	m, _ := mesh.Clean(part.Mesh, mesh.Options{})
	s, detail, err := survey.Of(b.Context(), m, mesh.NewTopology(m), survey.Options{Up: r3.Vec{Z: 1}})
	if err != nil {
		b.Fatal(err)
	}
	var void, touch, pose float64
	rounds, points, judged := 0, 0, 0
	b.ReportAllocs()
	for b.Loop() {
		start := time.Now()
		v, openings, _, err := cavity.Find(b.Context(), cavity.Input{Mesh: m, Tree: detail.Tree, Survey: s, Detail: detail, Media: media})
		if err != nil {
			b.Fatal(err)
		}
		void += time.Since(start).Seconds()
		start = time.Now()
		found := s
		found.Openings = openings
		if _, err := reach.Of(b.Context(), reach.Input{Mesh: m, Survey: found, Detail: detail, Void: v, Media: media}); err != nil {
			b.Fatal(err)
		}
		touch += time.Since(start).Seconds()
		start = time.Now()
		jams, err := jam.Judge(b.Context(), openings, v.Field, media)
		if err != nil {
			b.Fatal(err)
		}
		pose += time.Since(start).Seconds()
		rounds, points, judged = rounds+1, v.Len(), len(jams)
	}
	k := 1 / float64(rounds)
	b.ReportMetric(k*void, "s/void")
	b.ReportMetric(k*touch, "s/touch")
	b.ReportMetric(k*pose, "s/pose")
	b.Logf("%.1f million points: void %.2f s, where %d kinds of media touch %.2f s, %d judgements %.2f s", float64(points)/1e6, k*void, len(media), k*touch, judged, k*pose)
}
