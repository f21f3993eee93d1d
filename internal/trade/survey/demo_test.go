package survey

import (
	"math"
	"strings"
	"testing"

	"fettle"
	"fettle/demo"

	"gonum.org/v1/gonum/spatial/r3"
)

// The sample parts against their drawings: every opening, and nothing else but
// the groove of the knob, which the drawing counts as part of its outside.
func TestSampleParts(t *testing.T) {
	if testing.Short() {
		t.Skip("long under the race detector, which other tests of this room feed")
	}
	for _, f := range []demo.Fineness{demo.Coarse, demo.Fine} {
		for _, p := range demo.PartsAt(f) {
			ups := []r3.Vec{{Z: 1}, {}} // asked, and proposed
			if f == demo.Fine {
				ups = ups[1:]
			}
			for _, up := range ups {
				s, d := survey(t, p.Mesh, up)
				if r3.Dot(d.Up, r3.Vec{Z: 1}) < 0.999 {
					t.Errorf("%s: up is %v, drawn towards +Z", p.ID, d.Up)
				}
				if f == demo.Fine {
					zonesOfSample(t, p, s, d)
				}
				var got []fettle.Opening
				for _, o := range s.Openings {
					if o.Form != "groove" {
						got = append(got, o)
					} else if math.Abs(o.WidthMM-1.2) > 1e-3 || math.Abs(o.DepthMM-0.9) > 1e-3 {
						t.Errorf("%s: groove %.3f wide, %.3f deep, drawn 1.2 and 0.9", p.ID, o.WidthMM, o.DepthMM)
					}
				}
				if len(got) != len(p.Truth.Openings) {
					t.Errorf("%s: %d openings, drawn %d", p.ID, len(got), len(p.Truth.Openings))
					continue
				}
				for i, w := range p.Truth.Openings {
					g := got[i]
					if g.ID != w.ID || g.Kind != w.Kind || g.Form != w.Form || g.Through != w.Through {
						t.Errorf("%s: %s %s %q through %v, drawn %s %s %q %v", p.ID, g.ID, g.Kind, g.Form, g.Through, w.ID, w.Kind, w.Form, w.Through)
					}
					near := func(what string, got, want, tol float64) {
						if math.Abs(got-want) > tol {
							t.Errorf("%s at %g mm: %s: %s %.4f, drawn %.4f", p.ID, f.ChordMM, g.ID, what, got, want)
						}
					}
					tol := p.Truth.ToleranceMM
					near("width", g.WidthMM, w.WidthMM, 1e-3*w.WidthMM)
					near("widest", g.WidestMM, w.WidestMM, 0.01*w.WidestMM)
					near("length", g.LengthMM, w.LengthMM, 1e-3*w.LengthMM)
					near("depth", g.DepthMM, w.DepthMM, tol)
					near("inside radius", g.InsideMM, w.InsideMM, 1e-3)
					for k := range 3 {
						near("place", g.At[k], w.At[k], tol)
						near("axis", g.Axis[k], w.Axis[k], 1e-4)
					}
				}
			}
		}
	}
}

// zonesOfSample is what a machinist would say of a sample part's zones and
// corners.
func zonesOfSample(t *testing.T, p demo.Part, s fettle.Survey, d *Detail) {
	zones := checkZones(t, p.Mesh.Tri, s, d)
	if got := strings.Join(zones, " "); got != "show sides back openings" {
		t.Errorf("%s: zones %s", p.ID, got)
	}
	show := s.Zones[0]
	switch p.ID {
	case "escutcheon":
		// The outline's ellipse less the keyhole's and the screws' mouths; the dome
		// adds a little.
		flat := math.Pi*21*34 - 2*math.Pi*3.6*3.6 - (math.Pi*4.5*4.5 + 3.6*10.5)
		if show.AreaMM2 < flat || show.AreaMM2 > 1.03*flat {
			t.Errorf("show face %.0f mm², about %.0f in plan", show.AreaMM2, flat)
		}
		// The cove is the tightest hollow: across the short way its second
		// derivative is 2·cove/21², 1/7 mm.
		if show.ConcaveMM < 6 || show.ConcaveMM > 8 {
			t.Errorf("the cove's radius is told as %.2f", show.ConcaveMM)
		}
		if show.SharpInside || show.InsideCornerMM != 0 {
			t.Error("there is no inside corner on the show face")
		}
		var floor, upright int
		for _, c := range s.Corners {
			switch {
			case c.RadiusMM == 0 && c.Opening == "pocket-1" && math.Abs(c.AngleDeg-90) < 0.1:
				floor++
				// The rounded rectangle of 22 × 32 with radius 1.2.
				if want := 2*(22+32) - (8-2*math.Pi)*1.2; math.Abs(c.LengthMM-want) > 0.02 {
					t.Errorf("the pocket's floor edge is %.3f mm, drawn %.3f", c.LengthMM, want)
				}
			case math.Abs(c.RadiusMM-1.2) < 1e-6 && math.Abs(c.AngleDeg-90) < 0.1 && math.Abs(c.LengthMM-2.5) < 0.01:
				upright++
			default:
				t.Errorf("unexpected %+v", c)
			}
		}
		if floor != 1 || upright != 4 {
			t.Errorf("%d floor edges and %d rounded corners, drawn 1 and 4", floor, upright)
		}
	case "knob":
		// All of the show face lies on the rounded head: its crown of radius 30 and
		// the edge of 2.5.
		if math.Abs(show.ConvexMM-2.5) > 0.05 || show.ConcaveMM != 0 {
			t.Errorf("bulges down to %.3f, hollows to %.3f, drawn 2.5 and none", show.ConvexMM, show.ConcaveMM)
		}
	case "pull":
		if !strings.Contains(strings.Join(s.Warnings, " "), "slot-1 is thin and deep") {
			t.Errorf("nothing said of the thin slot: %q", s.Warnings)
		}
	}
}

// checkZones holds what is true of any survey: every facet is in exactly one
// zone, areas add up, numbers are finite and classes set.
func checkZones(t testing.TB, tris [][3]uint32, s fettle.Survey, d *Detail) (ids []string) {
	t.Helper()
	seen := make([]int, len(tris))
	sum := 0.0
	for i, z := range s.Zones {
		ids = append(ids, z.ID)
		sum += z.AreaMM2
		if z.Count != len(z.Facets) || z.Class == "" || z.Name == "" || z.Why == "" || len(z.Faces) == 0 {
			t.Errorf("zone %s is half filled: %+v", z.ID, z)
		}
		for k, f := range z.Facets {
			seen[f]++
			if d.Zone[f] != int32(i) || k > 0 && z.Facets[k-1] >= f {
				t.Fatalf("zone %s: facet %d is out of place", z.ID, f)
			}
		}
		n := math.Hypot(math.Hypot(z.Up[0], z.Up[1]), z.Up[2])
		if math.Abs(n-1) > 1e-9 || z.SlopeDeg.P50 > z.SlopeDeg.P95 || z.SlopeDeg.P95 > z.SlopeDeg.Max {
			t.Errorf("zone %s: up %v, slope %v", z.ID, z.Up, z.SlopeDeg)
		}
	}
	for f, n := range seen {
		if n != 1 {
			t.Fatalf("facet %d is in %d zones", f, n)
		}
	}
	area := 0.0
	for _, f := range s.Faces {
		area += f.AreaMM2
	}
	if math.Abs(sum-area) > 1e-9*area {
		t.Errorf("zones have %.6f mm², faces %.6f", sum, area)
	}
	return ids
}
