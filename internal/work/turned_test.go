package work

import (
	"math"
	"os"
	"path/filepath"
	"testing"

	"fettle"
	"fettle/demo"
	"fettle/internal/output/solid"
	"fettle/internal/shape/mesh"
	"fettle/internal/trade/stock"

	"gonum.org/v1/gonum/spatial/r3"
)

// A part drawn lying on its side, and far from the origin, is the same part:
// the plan differs only in what names its axes.
func TestPlanDoesNotDependOnHowItWasDrawn(t *testing.T) {
	part := demo.PartsAt(demo.Coarse)[0]
	dir := t.TempDir()
	few := "" // the whole shelf
	if testing.Short() {
		few = filepath.Join(dir, "shelf.json")
		shelf := stock.Shelf()
		shelf.Media = shelf.Media[6:8]
		if err := writeJSON(few, shelf); err != nil {
			t.Fatal(err)
		}
	}
	plan := func(name string, m *mesh.Mesh, up [3]float64) *fettle.Plan {
		t.Helper()
		path := filepath.Join(dir, name)
		f, err := os.Create(path)
		if err != nil {
			t.Fatal(err)
		}
		if err := solid.Write3MF(f, m, name); err != nil {
			t.Fatal(err)
		}
		if err := f.Close(); err != nil {
			t.Fatal(err)
		}
		over := part.Brief
		over.Up = up
		done, err := PlanFile(t.Context(), PlanRequest{Part: Model{File: path}, Over: over, Things: Things{ShelfFile: few}}, nil)
		if err != nil {
			t.Fatal(err)
		}
		return done.Plan
	}
	turned := &mesh.Mesh{Tri: part.Mesh.Tri}
	for _, p := range part.Mesh.Pos { // Z to X, X to Y, Y to Z
		turned.Pos = append(turned.Pos, r3.Vec{X: p.Z + 300, Y: p.X - 200, Z: p.Y + 100})
	}
	a, b := plan("a.3mf", part.Mesh, [3]float64{0, 0, 1}), plan("b.3mf", turned, [3]float64{1, 0, 0})

	if math.Abs(a.Survey.VolumeMM3-b.Survey.VolumeMM3) > 1e-6*a.Survey.VolumeMM3 || len(a.Survey.Openings) != len(b.Survey.Openings) {
		t.Errorf("volume %.4f and %.4f, %d and %d openings", a.Survey.VolumeMM3, b.Survey.VolumeMM3, len(a.Survey.Openings), len(b.Survey.Openings))
	}
	for i, o := range a.Survey.Openings {
		q := b.Survey.Openings[i]
		if o.ID != q.ID || o.Form != q.Form || math.Abs(o.WidthMM-q.WidthMM) > 1e-3 || math.Abs(o.DepthMM-q.DepthMM) > 1e-3 {
			t.Errorf("opening %s: %+v and %+v", o.ID, o, q)
		}
	}
	for i, z := range a.Zones {
		q := b.Zones[i]
		if z.ID != q.ID || math.Abs(z.AreaMM2-q.AreaMM2) > 1e-3*z.AreaMM2 || math.Abs(z.SizeMM[2]-q.SizeMM[2]) > 1e-2 || math.Abs(z.SlopeDeg.P95-q.SlopeDeg.P95) > 0.1 {
			t.Errorf("zone %s: %v %v° and %v %v°", z.ID, z.SizeMM, z.SlopeDeg.P95, q.SizeMM, q.SlopeDeg.P95)
		}
	}
	if len(a.Route) != len(b.Route) {
		t.Fatalf("%d steps and %d", len(a.Route), len(b.Route))
	}
	for i, s := range a.Route {
		if q := b.Route[i]; s.Name != q.Name || math.Abs(s.Cost.Value.Major()-q.Cost.Value.Major()) > 0.01*s.Cost.Value.Major()+0.02 {
			t.Errorf("step %d: %s at %s, and %s at %s", i+1, s.Name, s.Cost.Value, q.Name, q.Cost.Value)
		}
	}
}
