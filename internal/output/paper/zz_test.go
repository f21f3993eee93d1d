package paper

import (
	"os"
	"testing"

	"fettle"
	"fettle/demo"
	"fettle/internal/trade/finish"
	"fettle/internal/trade/stock"
)

func TestZZ(t *testing.T) {
	p := demo.Parts()[0]
	s := fettle.Survey{File: "escutcheon.3mf", SHA256: "0123456789abcdef0123456789abcdef", Format: "3MF", Units: "mm", Triangles: 50000, Bodies: 1, Closed: true,
		VolumeMM3: 14800, AreaMM2: 7600, SizeMM: [3]float64{42, 68, 7}, SharpEdgeMM: 520, Openings: p.Truth.Openings,
		Zones: []fettle.Zone{
			{ID: "show", Name: "Show face", Class: fettle.Show, AreaMM2: 2450, SizeMM: [3]float64{42, 68, 3}, Up: [3]float64{0, 0, 1}, SlopeDeg: fettle.Quantiles{P50: 6, P95: 14, Max: 20}, ConvexMM: 120, ConcaveMM: 6.5},
			{ID: "sides", Name: "Sides", Class: fettle.Plain, AreaMM2: 800, SizeMM: [3]float64{42, 68, 4}, SlopeDeg: fettle.Quantiles{P50: 90, P95: 90, Max: 90}},
			{ID: "back", Name: "Back", Class: fettle.Hidden, AreaMM2: 2200, SizeMM: [3]float64{42, 68, 0}, Up: [3]float64{0, 0, -1}},
			{ID: "openings", Name: "Openings", Class: fettle.Hidden, AreaMM2: 900, SizeMM: [3]float64{30, 50, 7}},
		}}
	p.Brief.Finish = "stonewash"
	pl, err := finish.Plan(t.Context(), finish.Input{Survey: s, Brief: p.Brief, Shelf: stock.Shelf()})
	if err != nil {
		t.Fatal(err)
	}
	pdf, err := Traveler(pl, p.Mesh, Options{Size: A4})
	if err != nil {
		t.Fatal(err)
	}
	os.WriteFile("/tmp/zzp/t.pdf", pdf, 0o644)
}
