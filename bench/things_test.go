package bench

import (
	"bytes"
	"context"
	"encoding/json"
	"math"
	"os/exec"
	"testing"
	"time"

	"fettle"
	"fettle/demo"
	"fettle/internal/shape/mesh"
	"fettle/internal/shape/region"
	"fettle/internal/trade/block"
	"fettle/internal/trade/hold"
	"fettle/internal/trade/plug"
	"fettle/internal/trade/stock"
	"fettle/internal/trade/survey"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// BenchmarkUnion unites two ragged outlines of ten thousand sides each; GEOS does the
// same where shapely is installed.
func BenchmarkUnion(b *testing.B) {
	ragged := func(cx, phase float64) []r2.Vec {
		const n = 10_000
		l := make([]r2.Vec, n)
		for i := range l {
			a := 2 * math.Pi * float64(i) / n
			d := 40 + 3*math.Sin(37*a+phase) + 0.2*math.Sin(1500*a)
			l[i] = r2.Vec{X: cx + d*math.Cos(a), Y: d * math.Sin(a)}
		}
		return l
	}
	loops := [2][]r2.Vec{ragged(0, 0), ragged(5, 1)}
	one, two := region.Of(loops[0]), region.Of(loops[1])
	var ours, area float64
	rounds := 0
	for b.Loop() {
		start := time.Now()
		area = one.Union(two).Area()
		ours += time.Since(start).Seconds()
		rounds++
	}
	ours /= float64(rounds)
	b.ReportMetric(ours*1000, "ms/union")
	var plain [2][][2]float64
	for k, l := range loops {
		for _, p := range l {
			plain[k] = append(plain[k], [2]float64{p.X, p.Y})
		}
	}
	in, err := json.Marshal(plain)
	if err != nil {
		b.Fatal(err)
	}
	if err := exec.Command(python, "-c", "import shapely").Run(); err != nil {
		b.Logf("no shapely here (Debian: python3-shapely), so no ratio")
		return
	}
	var geos struct{ Seconds, Area float64 }
	cmd := exec.Command(python, "testdata/plane.py")
	cmd.Stdin = bytes.NewReader(in)
	if decode(b, cmd, &geos) {
		b.ReportMetric(ours/geos.Seconds, "of-GEOS")
		b.Logf("ours %.0f ms, %.4f mm²; GEOS %.0f ms, %.4f mm²", ours*1000, area, geos.Seconds*1000, geos.Area)
	}
}

// BenchmarkThings makes what a plan of the sample plate asks for: a block for its
// dome, a pocket for its second side, a plug for its keyhole.
func BenchmarkThings(b *testing.B) {
	p := demo.Parts()[0]
	m, _ := mesh.Clean(p.Mesh, mesh.Options{})
	tp := mesh.NewTopology(m)
	ctx := context.Background()
	s, detail, err := survey.Of(ctx, m, tp, survey.Options{Up: r3.Vec{Z: 1}})
	if err != nil {
		b.Fatal(err)
	}
	shelf := stock.Shelf()
	b.Run("block", func(b *testing.B) {
		for b.Loop() {
			if _, err := block.Make(ctx, block.Input{Mesh: m, Survey: s, Detail: detail, Zone: "show", Paper: fettle.Exactly(0.25, "measured"), Grit: "P240"}); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("pocket", func(b *testing.B) {
		for b.Loop() {
			if _, err := hold.Make(ctx, hold.Input{Mesh: m, File: p.FileName, Pairs: shelf.Jaws, Cutters: shelf.Cutters, Down: [3]float64{0, 0, 1}}); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("plug", func(b *testing.B) {
		for b.Loop() {
			if _, err := plug.Make(ctx, plug.Input{Mesh: m, Survey: s, Detail: detail, Opening: "slot-1", Soft: shelf.Softs[0]}); err != nil {
				b.Fatal(err)
			}
		}
	})
}
