package reach

import (
	"context"
	"errors"
	"math"
	"slices"
	"strings"
	"testing"

	"fettle"
	"fettle/internal/shape/form"

	"gonum.org/v1/gonum/spatial/r2"
)

// Edges of a plate with a hole against its drawing. How far an open square edge
// has gone when an open face has lost h is the shop's rule r = √(4hL) with a
// reach of media of L = 0.3 mm.
func TestEdges(t *testing.T) {
	const d = 4.2
	m := form.Plate(rectangle(30, 20), 6, form.Through(form.Circle(r2.Vec{}, d, 96)))
	r := of(t, part(t, m, 1.5, ball(3), ball(8)))
	want := map[string]float64{
		"outer edge of the show face": 100, "outer edge of the back": 100, "edges within the sides": 24,
		"rim of hole-1 in the show face": math.Pi * d, "rim of hole-1 in the back": math.Pi * d,
	}
	if len(r.Edges) != len(want) {
		t.Fatalf("%d classes of edges: %+v", len(r.Edges), r.Edges)
	}
	for i, e := range r.Edges {
		if l, ok := want[e.Place]; !ok || math.Abs(e.LengthMM-l) > 2e-3*l || math.Abs(e.AngleDeg-90) > 0.1 || e.ID == "" {
			t.Errorf("%s: %.3f mm at %.2f°, drawn %.3f", e.Place, e.LengthMM, e.AngleDeg, l)
		}
		if i > 0 && e.LengthMM > r.Edges[i-1].LengthMM+1e-9 {
			t.Error("edges are not in order of length")
		}
		rim := strings.HasPrefix(e.Place, "rim")
		if (e.Opening == "hole-1") != rim || rim && e.Exposure > 0.9 || !rim && e.Exposure < 0.97 {
			t.Errorf("%s: opening %q, exposure %.3f", e.Place, e.Opening, e.Exposure)
		}
		last := 0.0
		for _, x := range e.Radii {
			if x.RadiusUM <= last {
				t.Errorf("%s does not grow: %+v", e.Place, e.Radii)
			}
			last = x.RadiusUM
			rule := math.Sqrt(4*x.RemovedUM*300) * math.Sqrt(e.Exposure)
			// The rule is that of the first hours; later the edge falls behind it.
			if !rim && (x.RadiusUM > 1.01*rule || x.RadiusUM < 0.97*rule && x.RemovedUM <= 2 || x.RadiusUM < 0.85*rule) {
				t.Errorf("%s: %.1f µm after %.0f µm, by the rule %.1f", e.Place, x.RadiusUM, x.RemovedUM, rule)
			}
			if rim && x.RadiusUM > rule*1.1 {
				t.Errorf("%s: %.1f µm after %.0f µm, an open edge of its exposure %.1f", e.Place, x.RadiusUM, x.RemovedUM, rule)
			}
		}
	}
	if !slices.ContainsFunc(r.Masks, func(m fettle.Mask) bool { return m.Place == "hole-1" && strings.Contains(m.Says, "M5") }) {
		t.Errorf("a hole of %g mm is not told for the core of M5: %+v", d, r.Masks)
	}
	for _, a := range r.Allowances {
		switch a.Place {
		case "hole-1":
			// 6 mm deep and 4.2 mm wide: less than half of the sky, and a hollow.
			if a.Ratio > 0.6 || a.Ratio <= 0 || a.Least > a.Ratio || a.Most < a.Ratio {
				t.Errorf("%+v", a)
			}
		default:
			if a.Ratio < 0.97 || a.Ratio > 1.02 || a.Opening != "" {
				t.Errorf("%+v", a)
			}
		}
	}
	if len(r.Allowances) != 4 {
		t.Errorf("allowances for %d places", len(r.Allowances))
	}
}

// Without media there are no answers for media, but edges and allowances by a
// ball of 4 mm.
func TestNoMedia(t *testing.T) {
	m := form.Plate(rectangle(30, 20), 6, form.Through(form.Circle(r2.Vec{}, 3.8, 48)))
	r := of(t, part(t, m, 2))
	if len(r.Media) != 0 || len(r.Edges) != 5 || len(r.Allowances) != 4 {
		t.Errorf("%d media, %d edges, %d allowances", len(r.Media), len(r.Edges), len(r.Allowances))
	}
	for _, a := range r.Allowances {
		if (a.Place == "hole-1") != (a.Ratio < 0.05) {
			t.Errorf("%+v: the ball does not go into the hole and reaches all else", a)
		}
	}
}

// A step along a block is a sharp inside corner of the outside; a gap that only
// the void knows gives its name to what is left in it.
func TestPlacesOutside(t *testing.T) {
	loop := []r2.Vec{{}, {X: 22}, {X: 22, Y: 8}, {X: 10, Y: 8}, {X: 10, Y: 16}, {Y: 16}}
	in := part(t, form.Plate(loop, 14), 1, ball(4))
	r := of(t, in)
	if l := r.Media[0].Leaves; len(l) != 1 || !strings.Contains(l[0].Place, "inside") || l[0].Opening != "" || math.Abs(l[0].AreaMM2-2*2*14) > 6 {
		t.Errorf("a ball of 4 mm leaves 2 mm on both sides of a corner of 14 mm: %+v", l)
	}
	if len(r.Warnings) != 1 || !strings.Contains(r.Warnings[0], "14 mm") {
		t.Errorf("warnings %q", r.Warnings)
	}

	in.Survey.Openings = append(in.Survey.Openings, fettle.Opening{ID: "gap-1", Kind: fettle.Gap})
	in.Void.Opening = make([]int32, in.Void.Len())
	for i := range in.Void.Opening {
		in.Void.Opening[i] = int32(len(in.Survey.Openings) - 1)
	}
	if l := of(t, in).Media[0].Leaves; len(l) == 0 || l[0].Place != "walls of gap-1" || l[0].Opening != "gap-1" {
		t.Errorf("%+v", l)
	}
}

// A context that has ended ends the work.
func TestCancelled(t *testing.T) {
	in := part(t, form.Box(10, 10, 10), 0.6, ball(4))
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if r, err := Of(ctx, in); !errors.Is(err, context.Canceled) || r != nil {
		t.Errorf("%v, %v", r, err)
	}
}
