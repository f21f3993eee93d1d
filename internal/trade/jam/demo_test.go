package jam

import (
	"context"
	"testing"

	"fettle"
	"fettle/demo"
	"fettle/internal/shape/bvh"
	"fettle/internal/shape/field"
	"fettle/internal/shape/mesh"
	"fettle/internal/trade/stock"
	"fettle/internal/trade/survey"
)

// The sample escutcheon has two holes of 4 mm, countersunk, a keyhole of 9 and
// 3.6 mm and a wide shallow pocket. What stays where follows from the sizes.
func TestTheSampleEscutcheon(t *testing.T) {
	p := demo.PartsAt(demo.Coarse)[0]
	s, _, err := survey.Of(context.Background(), p.Mesh, mesh.NewTopology(p.Mesh), survey.Options{})
	if err != nil {
		t.Fatal(err)
	}
	f, err := field.Distance(context.Background(), bvh.Build(p.Mesh), field.GridFor(p.Mesh.Box(), 0.32, 3))
	if err != nil {
		t.Fatal(err)
	}
	shelf := stock.Shelf()
	for _, row := range []struct {
		media, opening string
		enters         fettle.Entry
		low, high      float64
	}{
		{"ceramic-general-8", "hole-1", fettle.CannotEnter, 0, 0.03}, // 8 mm over 4
		{"ceramic-general-8", "slot-1", fettle.CanBeHeld, 0.5, 1},    // 8 mm into 9
		{"ceramic-fast-15", "slot-1", fettle.CannotEnter, 0, 0.03},
		{"plastic-cone-15", "hole-2", fettle.CannotEnter, 0.01, 0.03}, // but for its point
		{"porcelain-ball-4", "hole-2", fettle.CanBeHeld, 0.1, 1},      // 4 mm into 4
		{"porcelain-ball-4", "slot-1", fettle.PassesFree, 0.1, 1},     // through the round end, not into the slot
		{"ceramic-fine-2", "hole-1", fettle.PassesFree, 0, 0.15},
		{"steel-pin-1", "hole-1", fettle.PassesFree, 0, 0.1}, // 6 mm long, lengthwise through 4
		{"steel-pin-1", "slot-1", fettle.PassesFree, 0, 0.1},
		{"ceramic-fine-5", "pocket-1", fettle.PassesFree, 0, 0.01},
	} {
		m, err := shelf.MediaNamed(row.media)
		if err != nil {
			t.Fatal(err)
		}
		for _, o := range s.Openings {
			if o.ID != row.opening {
				continue
			}
			if j := judged(t, f, o, m); j.Enters != row.enters || j.Chance.P < row.low || j.Chance.P > row.high {
				t.Errorf("%s: %+v, want %s and %g to %g", row.media, j, row.enters, row.low, row.high)
			}
		}
	}
}

// BenchmarkSearch is one search for the pose of one size of every kind on the
// shelf, at every opening of the sample escutcheon, on one core.
func BenchmarkSearch(b *testing.B) {
	p := demo.PartsAt(demo.Coarse)[0]
	s, _, err := survey.Of(context.Background(), p.Mesh, mesh.NewTopology(p.Mesh), survey.Options{})
	if err != nil {
		b.Fatal(err)
	}
	f, err := field.Distance(context.Background(), bvh.Build(p.Mesh), field.GridFor(p.Mesh.Box(), 0.25, 3))
	if err != nil {
		b.Fatal(err)
	}
	var kinds []kind
	for _, m := range stock.Shelf().Media {
		k, err := kindOf(m)
		if err != nil {
			b.Fatal(err)
		}
		kinds = append(kinds, k)
	}
	n := 0
	for b.Loop() {
		for _, o := range s.Openings {
			for _, k := range kinds {
				k.at(o, f, k.sizeFor(o))
				n++
			}
		}
	}
	b.ReportMetric(float64(b.Elapsed().Microseconds())/float64(n), "µs/judgement")
}
