package bench

import (
	"os"
	"path/filepath"
	"testing"

	"fettle/demo"
	"fettle/internal/output/solid"
	"fettle/internal/work"
)

// BenchmarkPlanDemo measures a cold plan of the demo's plate: model file in,
// plan.json and traveler.pdf out.
func BenchmarkPlanDemo(b *testing.B) {
	part := demo.Parts()[0]
	dir := b.TempDir()
	model := filepath.Join(dir, part.FileName)
	f, err := os.Create(model)
	if err != nil {
		b.Fatal(err)
	}
	if err := solid.Write3MF(f, part.Mesh, part.Title); err != nil {
		b.Fatal(err)
	}
	if err := f.Close(); err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		done, err := work.PlanFile(b.Context(), work.PlanRequest{Part: work.Model{File: model}, Over: part.Brief, Out: filepath.Join(dir, "out"), Paper: "A4"}, nil)
		if err != nil {
			b.Fatal(err)
		}
		if len(done.Plan.Route) == 0 {
			b.Fatal("a plan without a route")
		}
	}
	b.ReportMetric(float64(len(part.Mesh.Tri)), "triangles")
}
