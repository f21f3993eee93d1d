//go:build outside

package outside

import (
	"context"
	"math"
	"testing"

	"fettle"
	"fettle/internal/work"
)

// The plates of testdata/solids.tcl, written by a native build of the kernel, all
// the way to a survey: every hole is there, with the sizes that it was drawn with
// and not those of its facets.
func TestHolesFromSTEP(t *testing.T) {
	t.Parallel()
	type hole struct {
		kind                fettle.OpeningKind
		form                string
		width, widest, long float64 // a round hole is as long as wide
		x, y                float64 // of the axis at the middle of the plate
		lean                float64 // degrees off the plate's normal
	}
	plates := map[string]struct {
		thick float64
		holes []hole
	}{
		"plate": {6, []hole{
			{fettle.Hole, "", 8, 8, 8, 12, 12, 0},
			{fettle.Hole, "countersunk", 4.5, 9, 4.5, 32, 20, 0},
			{fettle.Hole, "counterbored", 5.5, 10, 5.5, 52, 14, 0},
			{fettle.Slot, "", 6, 6, 18, 66, 30, 0},
		}},
		"odd": {4.7625, []hole{
			{fettle.Hole, "", 6.35, 6.35, 6.35, 11.1, 9.7, 0},
			{fettle.Hole, "countersunk", 3.3, 7, 3.3, 27.3, 20.9, 0},
			{fettle.Hole, "", 4.7625, 4.7625, 4.7625, 47.1, 14.3, 30},
		}},
	}
	for name, p := range plates {
		for _, as := range []string{name, "rational"} {
			if as == "rational" && name != "plate" {
				continue
			}
			part, err := work.LoadPart(context.Background(), work.Model{File: drawnFile(t, as)}, work.PartOptions{}, nil)
			if err != nil {
				t.Errorf("%s: %v", as, err)
				continue
			}
			found := part.Survey.Openings
			for _, o := range found {
				t.Logf("%s: %s %s %q width %.9g, widest %.9g, length %.9g, depth %.9g, at %.6f, axis %.6f, through %v",
					as, o.ID, o.Kind, o.Form, o.WidthMM, o.WidestMM, o.LengthMM, o.DepthMM, o.At, o.Axis, o.Through)
			}
			if len(found) != len(p.holes) {
				t.Errorf("%s: %d openings, want %d", as, len(found), len(p.holes))
			}
			for _, h := range p.holes {
				met := false
				for _, o := range found {
					// where the axis meets the middle of the plate
					s := (p.thick/2 - o.At[2]) / o.Axis[2]
					if math.Hypot(o.At[0]+s*o.Axis[0]-h.x, o.At[1]+s*o.Axis[1]-h.y) > 1e-4 {
						continue
					}
					met = true
					lean := math.Acos(min(math.Abs(o.Axis[2]), 1)) * 180 / math.Pi
					const tight = 1e-6
					if math.Abs(o.WidthMM-h.width) > tight || math.Abs(o.WidestMM-h.widest) > tight || math.Abs(o.LengthMM-h.long) > tight ||
						math.Abs(o.DepthMM-p.thick/math.Cos(h.lean*math.Pi/180)) > tight || o.Kind != h.kind || o.Form != h.form || !o.Through || math.Abs(lean-h.lean) > 1e-4 {
						t.Errorf("%s: %s %q of %.9g, widest %.9g, length %.9g, through %v, leaning %.6g; drawn as %s %q of %g, %g, %g, leaning %g",
							as, o.Kind, o.Form, o.WidthMM, o.WidestMM, o.LengthMM, o.Through, lean, h.kind, h.form, h.width, h.widest, h.long, h.lean)
					}
				}
				if !met {
					t.Errorf("%s: no opening about (%g, %g)", as, h.x, h.y)
				}
			}
		}
	}
}
