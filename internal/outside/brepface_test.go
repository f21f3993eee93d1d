//go:build outside

package outside

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"io"
	"math"
	"strings"
	"testing"

	"fettle"
	"fettle/internal/shape/mesh"
	"fettle/internal/trade/survey"

	"gonum.org/v1/gonum/spatial/r3"
)

// brepPart is what testdata/brepface.py gives of a part.
type brepPart struct {
	Name  string
	Steps float64 // of its mesher to a full turn
	Pos   [][3]float64
	Tri   [][3]uint32
	Face  []int32
	Faces map[int32]struct {
		Kind  string
		Bends [2]float64 // principal curvatures at one place, in 1/mm
	}
}

// Solids made and meshed by an independent kernel: every face is told as the
// kernel has it, with its radius, and openings and inside corners are those of the
// drawing, the same however coarse the mesh.
func TestNamedFacesAgainstGmsh(t *testing.T) {
	const near = 1e-6
	out := run(t, "python3-gmsh", python, "testdata/brepface.py", "8", "16", "40")
	dec := json.NewDecoder(bytes.NewReader(out))
	parts := 0
	for {
		var p brepPart
		if err := dec.Decode(&p); errors.Is(err, io.EOF) {
			break
		} else if err != nil {
			t.Fatal(err)
		}
		parts++
		m := &mesh.Mesh{Tri: p.Tri, Face: p.Face}
		for _, q := range p.Pos {
			m.Pos = append(m.Pos, r3.Vec{X: q[0], Y: q[1], Z: q[2]})
		}
		m, repairs := mesh.Clean(m, mesh.Options{})
		s, d, err := survey.Of(context.Background(), m, mesh.NewTopology(m), survey.Options{Up: r3.Vec{Z: 1}})
		if err != nil {
			t.Fatal(err)
		}
		t.Logf("%s in %g steps: %d triangles, %d repairs, %d faces, %d openings, %d corners", p.Name, p.Steps, len(m.Tri), len(repairs), len(s.Faces), len(s.Openings), len(s.Corners))
		for id, f := range p.Faces {
			for i := range m.Tri {
				if m.Face[i] != id {
					continue
				}
				g := s.Faces[d.Patches.Face[i]]
				tightest := math.Max(math.Abs(f.Bends[0]), math.Abs(f.Bends[1]))
				if string(g.Kind) != strings.ToLower(f.Kind) {
					t.Errorf("%s, %g steps: face %d is a %s, told as %s", p.Name, p.Steps, id, f.Kind, g.Kind)
				} else if g.Kind != fettle.ConeFace && g.Kind != fettle.PlaneFace && math.Abs(g.RadiusMM-1/tightest) > near {
					t.Errorf("%s, %g steps: %s of radius %.9f, told as %.9f", p.Name, p.Steps, f.Kind, 1/tightest, g.RadiusMM)
				}
				break
			}
		}
		type size struct{ width, widest, length, depth float64 }
		// A bore of 3 mm from a cylinder of radius 8 into one of 4, along a line through
		// both axes: the mean of √(64 − 2.25 cos²) is 8·2/π·E(m = 2.25/64).
		mean := func(r float64) float64 {
			sum := 0.0
			for i := range 720 {
				x := 1.5 * math.Cos(math.Pi*float64(i)/360)
				sum += math.Sqrt(r*r-x*x) / 720
			}
			return sum
		}
		across := mean(8) - mean(4)
		want := map[string][]size{
			"plate":  {{8, 9, 8, 8}, {6, 10, 6, 8}},
			"boss":   {{8, 8, 8, 13}, {3, 3, 3, across}, {3, 3, 3, across}},
			"pocket": {{16, 16, 24, 7}},
		}[p.Name]
		if p.Name != "ball" && len(s.Openings) != len(want) {
			t.Errorf("%s, %g steps: %d openings", p.Name, p.Steps, len(s.Openings))
			continue
		}
		for i, w := range want {
			o := s.Openings[i]
			if g := (size{o.WidthMM, o.WidestMM, o.LengthMM, o.DepthMM}); math.Abs(g.width-w.width)+math.Abs(g.widest-w.widest)+
				math.Abs(g.length-w.length)+math.Abs(g.depth-w.depth) > 4*near {
				t.Errorf("%s, %g steps: %s is %.9f, drawn %.9f", p.Name, p.Steps, o.ID, g, w)
			}
		}
		if p.Name != "pocket" {
			continue
		}
		// Straight fillets of 0.8 between corners of 3, the corners' own by Pappus, and
		// the upright corners above them.
		ring := math.Pi / 2 * (2.2 + 0.8*2/math.Pi)
		lengths := []float64{18, 18, 10, 10, ring, ring, ring, ring, 6.2, 6.2, 6.2, 6.2}
		if len(s.Corners) != len(lengths) {
			t.Errorf("pocket, %g steps: %d corners", p.Steps, len(s.Corners))
			continue
		}
		for i, c := range s.Corners {
			radius := 0.8
			if i >= 8 {
				radius = 3
			}
			if math.Abs(c.RadiusMM-radius) > near || math.Abs(c.LengthMM-lengths[i]) > near || math.Abs(c.AngleDeg-90) > near {
				t.Errorf("pocket, %g steps: corner of radius %.9f, %.9f long, %.9f°; drawn %v, %v, 90°", p.Steps, c.RadiusMM, c.LengthMM, c.AngleDeg, radius, lengths[i])
			}
		}
	}
	if parts != 12 {
		t.Errorf("%d parts", parts)
	}
}
