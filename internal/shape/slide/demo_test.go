package slide

import (
	"math"
	"testing"

	"fettle/demo"
	"fettle/internal/shape/mesh"
	"fettle/internal/trade/survey"

	"gonum.org/v1/gonum/spatial/r3"
)

// zone divides a zone of a sample part.
func zone(t *testing.T, part demo.Part, id string) ([]Patch, float64) {
	t.Helper()
	m, _ := mesh.Clean(part.Mesh, mesh.Options{})
	s, d, err := survey.Of(t.Context(), m, mesh.NewTopology(m), survey.Options{Up: r3.Vec{Z: 1}})
	if err != nil {
		t.Fatal(err)
	}
	for _, z := range s.Zones {
		if z.ID == id {
			return split(t, d.Patches, z.Facets, Options{}), z.AreaMM2
		}
	}
	t.Fatalf("%s has no zone %s", part.ID, id)
	return nil, 0
}

// The escutcheon's dome, as drawn −3.55 s² over an ellipse of 42 × 68 mm, has the
// radii 62 and 163 mm at its top. It rolls the long way about an axis across, about
// as deep as the larger radius, nearly enough for a stroke; the level land round it
// is a plane.
func TestEscutcheonRolls(t *testing.T) {
	if testing.Short() {
		t.Skip("the fine mesh takes seconds")
	}
	ps, area := zone(t, demo.Escutcheon(demo.Fine), "show")
	dome := ps[0]
	if dome.Kind != Revolved || dome.Area < 0.65*area {
		t.Fatalf("largest is %s, %.0f of %.0f mm²", dome.Kind, dome.Area, area)
	}
	m := dome.Motions[0]
	if d := between(m.Axis, r3.Vec{X: 1}); d > 0.05 {
		t.Errorf("rolls about an axis %g rad off across", d)
	}
	if depth := dome.Centroid.Z - m.At.Z; math.Abs(depth-163) > 12 {
		t.Errorf("axis is %.0f mm deep", depth)
	}
	land := false
	for _, p := range ps {
		land = land || p.Kind == Plane && math.Abs(p.Normal.Z-1) < 1e-9
	}
	if !land {
		t.Errorf("the land is no plane of its own: %v", shares(ps))
	}
}

// The pull was carried along a straight core: its top slides along X on both sides
// of the slot, and its ends turn about the ends of the core.
func TestPullSlides(t *testing.T) {
	if testing.Short() {
		t.Skip("the fine mesh takes seconds")
	}
	ps, area := zone(t, demo.Pull(demo.Fine), "show")
	along := 0.0
	for _, p := range ps {
		for _, m := range p.Motions {
			if !m.Turns && between(m.Axis, r3.Vec{X: 1}) < 1e-6 {
				along += p.Area
				break
			}
		}
	}
	if along < 0.85*area {
		t.Errorf("%.0f of %.0f mm² slide along the pull", along, area)
	}
	ps, _ = zone(t, demo.Pull(demo.Fine), "sides")
	ends := 0
	for _, p := range ps {
		if p.Kind == Revolved && between(p.Motions[0].Axis, r3.Vec{Z: 1}) < 0.01 && math.Abs(math.Abs(p.Motions[0].At.X)-32) < 0.1 {
			ends++
		}
	}
	if ends != 2 {
		t.Errorf("%d ends turn about the ends of the core: %v", ends, shares(ps))
	}
}

// A turned part turns about its axis, all over.
func TestKnobTurns(t *testing.T) {
	if testing.Short() {
		t.Skip("the fine mesh takes seconds")
	}
	for _, id := range []string{"show", "sides"} {
		ps, area := zone(t, demo.Knob(demo.Fine), id)
		turns := 0.0
		for _, p := range ps {
			for _, m := range p.Motions {
				if m.Turns && m.Pitch == 0 && between(m.Axis, r3.Vec{Z: 1}) < 1e-3 && math.Hypot(m.At.X, m.At.Y) < 1e-2 {
					turns += p.Area
					break
				}
			}
		}
		if turns < 0.999*area {
			t.Errorf("%s: %.1f of %.1f mm² turn about the axis: %v", id, turns, area, shares(ps))
		}
	}
}
