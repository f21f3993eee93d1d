package finish

import (
	"context"
	"fmt"
	"testing"

	"fettle"
	"fettle/internal/trade/stock"
)

// plate is a survey as of a domed plate of 42 × 68 × 7 mm with a keyhole and
// two screw holes.
func plate() fettle.Survey {
	return fettle.Survey{
		File: "plate.stl", Format: "binary STL", Units: "mm", Triangles: 50000, Bodies: 1, Closed: true,
		VolumeMM3: 14800, AreaMM2: 7600, SizeMM: [3]float64{42, 68, 7}, SharpEdgeMM: 520,
		Openings: []fettle.Opening{
			{ID: "hole-1", Kind: fettle.Hole, Through: true, WidthMM: 4.2, WidestMM: 8.4, LengthMM: 4.2, DepthMM: 5, Form: "countersunk"},
			{ID: "hole-2", Kind: fettle.Hole, Through: true, WidthMM: 4.2, WidestMM: 8.4, LengthMM: 4.2, DepthMM: 5, Form: "countersunk"},
			{ID: "slot-1", Kind: fettle.Slot, Through: true, WidthMM: 4, WidestMM: 9, LengthMM: 18, DepthMM: 4, Form: "keyhole"},
		},
		Corners: []fettle.Corner{{ID: "corner-1", RadiusMM: 1.2, LengthMM: 20, Zone: "openings"}},
		Zones: []fettle.Zone{
			{ID: "show", Name: "Show face", Class: fettle.Show, AreaMM2: 2450, SizeMM: [3]float64{42, 68, 3}, Up: [3]float64{0, 0, 1}, SlopeDeg: fettle.Quantiles{P50: 6, P95: 14, Max: 20}, ConvexMM: 120},
			{ID: "sides", Name: "Sides", Class: fettle.Plain, AreaMM2: 800, SizeMM: [3]float64{42, 68, 4}, SlopeDeg: fettle.Quantiles{P50: 90, P95: 90, Max: 90}},
			{ID: "back", Name: "Back", Class: fettle.Hidden, AreaMM2: 2200, SizeMM: [3]float64{42, 68, 0}, Up: [3]float64{0, 0, -1}},
			{ID: "openings", Name: "Openings", Class: fettle.Hidden, AreaMM2: 900, SizeMM: [3]float64{30, 50, 7}},
		},
	}
}

// planFor is the plan of the plate; plans are remembered, for a search takes a
// second.
func planFor(t *testing.T, material, look string, lot int) *fettle.Plan {
	t.Helper()
	key := fmt.Sprint(material, look, lot)
	if pl, ok := planned[key]; ok {
		return pl
	}
	pl := planAnew(t, material, look, lot)
	planned[key] = pl
	return pl
}

var planned = map[string]*fettle.Plan{}

func planAnew(t *testing.T, material, look string, lot int) *fettle.Plan {
	t.Helper()
	pl, err := Plan(context.Background(), Input{
		Survey: plate(), Shelf: stock.Shelf(), Brief: fettle.Brief{Material: material, Finish: look, Lot: lot, Title: "Plate"},
	})
	if err != nil {
		t.Fatal(err)
	}
	return pl
}

// noContext is for searches that nothing stops.
var noContext = context.Background()

// oneWay is the plan for the least money alone, without the other ways and finishes.
func oneWay(in Input) (*fettle.Plan, error) {
	p, err := newPlanner(noContext, in)
	if err != nil {
		return nil, err
	}
	pl, _, err := p.chosen(noContext, fettle.LeastMoney, 0)
	return pl, err
}
