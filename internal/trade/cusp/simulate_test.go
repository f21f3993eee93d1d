package cusp

import (
	"math"
	"testing"

	"fettle"
	"fettle/internal/shape/form"
	"fettle/internal/shape/mesh"
	"fettle/internal/shape/relief"
)

// face is a zone that is all of a sheet z(x, y) of 2·half a side.
func face(half float64, n int, z func(x, y float64) float64) (*mesh.Mesh, fettle.Zone) {
	m := form.Sheet(-half, -half, half, half, n, n, z)
	zone := fettle.Zone{ID: "show", Name: "Show face", AreaMM2: 4 * half * half, Up: [3]float64{0, 0, 1}}
	for t := range m.Tri {
		zone.Facets = append(zone.Facets, int32(t))
	}
	return m, zone
}

// TestSimulatedPassesAgreeWithClosedForms compares the measured piece with the
// closed forms of cusps: height h = R − √(R² − s²/4), Ra = 0.2566 h, Rq = 0.298 h
// of parabolic cusps (Qu & Shih, Machining Science and Technology 7 (2003) 281).
// The program has no feed marks to speak of.
func TestSimulatedPassesAgreeWithClosedForms(t *testing.T) {
	if testing.Short() {
		t.Skip("long under the race detector, which other tests of this room feed")
	}
	m, z := face(10, 1, func(x, y float64) float64 { return 0 })
	for _, c := range []struct{ ball, step, want float64 }{{6, 0.2, 1.667130}, {6, 0.25, 2.605644}, {10, 0.3, 2.250506}} {
		cutter := fettle.Cutter{Name: "b", Shape: fettle.Ball, DiameterMM: c.ball, Flutes: 2}
		p, err := Simulate(t.Context(), m, z, cutter, fettle.Pass{StepoverMM: c.step, SpindleRPM: 10000, FeedMMMin: 200}, SimulateOptions{})
		if err != nil {
			t.Fatal(err)
		}
		for name, v := range map[string][2]float64{
			"cusp": {p.CuspUM, c.want}, "Ra": {p.RaUM, ParabolaRa * c.want}, "Sa": {p.SaUM, ParabolaRa * c.want}, "Sq": {p.SqUM, 0.29814 * c.want},
		} {
			most := 0.01
			if name != "cusp" {
				most = 0.03 // the piece holds no whole number of cusps
			}
			if math.Abs(v[0]/v[1]-1) > most {
				t.Errorf("ball %v, step %v: %s %.4f µm, should be %.4f", c.ball, c.step, name, v[0], v[1])
			}
		}
		if p.FacetUM > 1e-6 {
			t.Errorf("a flat has facets of %v µm", p.FacetUM)
		}
		wearsLikeParabolas(t, p, c.step, c.want)
	}
}

// TestSmoothAndAsModelled: on a ball of coarse facets the smooth piece shows the
// cusps of the closed form for a convex face, the modelled one the facets too.
func TestSmoothAndAsModelled(t *testing.T) {
	const rho = 40.0
	m, z := face(8, 12, func(x, y float64) float64 { return math.Sqrt(rho*rho - x*x - y*y) })
	cutter := fettle.Cutter{Name: "b", Shape: fettle.Ball, DiameterMM: 6, Flutes: 2}
	pass := fettle.Pass{StepoverMM: 0.25, SpindleRPM: 10000, FeedMMMin: 400, ToleranceUM: 0.1}
	var opt SimulateOptions
	smooth, err := Simulate(t.Context(), m, z, cutter, pass, opt)
	if err != nil {
		t.Fatal(err)
	}
	// Passes 0.25 mm apart at the tip touch a ball of ρ at 0.25·ρ/(ρ+R).
	h, err := HeightOn(Convex, 3, rho, 0.25*rho/(rho+3))
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(smooth.CuspUM/(1000*h)-1) > 0.03 {
		t.Errorf("cusps of %v µm on a smooth ball, should be %v", smooth.CuspUM, 1000*h)
	}
	opt.AsModelled = true
	rough, err := Simulate(t.Context(), m, z, cutter, pass, opt)
	if err != nil {
		t.Fatal(err)
	}
	// A chord of 1.33 mm on 40 mm stands 5.6 µm off, the diagonal twice that.
	if smooth.FacetUM < 5 || smooth.FacetUM > 15 || rough.SqUM < 1.5*smooth.SqUM {
		t.Errorf("facets of %v µm; Sq %v µm over them and %v µm without", smooth.FacetUM, rough.SqUM, smooth.SqUM)
	}
	facetsAreNoCusps(t, rough, pass.StepoverMM)
}

// TestRolledIsTheSkin holds the closed way of a ball on a quadric against the
// tool lowered onto a fine mesh of it.
func TestRolledIsTheSkin(t *testing.T) {
	q := &quadric{c: [6]float64{0.1, 0.2, -0.3, -0.02, 0.01, 0.015}}
	m, _ := face(6, 300, q.at)
	r := rolled{q, relief.Ball(4)}
	skin, err := relief.NewSkin(t.Context(), m, relief.Model(), r.t, -1, -1, 1, 1)
	if err != nil {
		t.Fatal(err)
	}
	for x := -1.0; x <= 1; x += 0.31 {
		for y := -1.0; y <= 1; y += 0.29 {
			z, gx, gy, ok := r.At(x, y)
			want, wx, wy, _ := skin.At(x, y)
			if !ok || math.Abs(z-want) > 2e-5 || math.Abs(gx-wx) > 3e-3 || math.Abs(gy-wy) > 3e-3 {
				t.Fatalf("at (%v, %v): %v with slopes %v, %v; on the mesh %v, %v, %v", x, y, z, gx, gy, want, wx, wy)
			}
		}
	}
	if _, _, _, ok := (rolled{&quadric{c: [6]float64{0, 0, 0, 0.2, 0, 0.2}}, relief.Ball(4)}).At(0, 0); ok {
		t.Error("a ball of 4 mm rolls in a hollow of 2.5 mm")
	}
}

// TestReach: in a trough of 3 mm radius balls up to that get everywhere, and a
// larger one bridges it: it touches the straight sides and stands over the bottom
// by what two circles leave between them.
func TestReach(t *testing.T) {
	const r = 3.0
	// Sides at 45° that touch a round of 3 mm at the bottom.
	d := r / math.Sqrt2
	z := func(x, _ float64) float64 {
		if x = math.Abs(x); x <= d {
			return r - math.Sqrt(r*r-x*x)
		}
		return r - d + x - d
	}
	m, zone := face(8, 320, z)
	zone.ConcaveMM, zone.SlopeDeg = r, fettle.Quantiles{P50: 45, P95: 45, Max: 45}
	got, err := Reach(t.Context(), m, []fettle.Zone{zone}, []fettle.Cutter{
		{Name: "b4", Shape: fettle.Ball, DiameterMM: 4, Flutes: 2},
		{Name: "b5", Shape: fettle.Ball, DiameterMM: 5, Flutes: 2},
		{Name: "b12", Shape: fettle.Ball, DiameterMM: 12, Flutes: 2},
	})
	if err != nil {
		t.Fatal(err)
	}
	if len(got) != 3 || got[0].Share < 0.995 || got[1].Share < 0.995 {
		t.Fatalf("small balls do not get everywhere: %+v", got)
	}
	// A ball of R touches the sides at ±R/√2; between them, but for a strip where
	// it stands less than 20 µm over the part, it does not get.
	big := got[2]
	bare := 2 * 6 / math.Sqrt2
	area := 2 * (8 - d) * math.Sqrt2 // of the sides over half the length, per mm
	area += r * math.Pi / 2
	most := (2*(6/math.Sqrt2-d)*math.Sqrt2 + r*math.Pi/2) / area
	if miss := 1 - big.Share; miss > most || miss < 0.7*most {
		t.Errorf("the 12 mm ball misses %.3f of the trough, should be up to %.3f (%.2f mm wide)", miss, most, bare)
	}
	// The ball's underside is (√2 − 1)·(R − r) over the bottom; the place where it
	// is lowest lies between cells of 0.25 mm, on sides of 45°.
	if stands := ((math.Sqrt2-1)*6 - (math.Sqrt2-1)*3) * 1000; big.LeftUM > stands+130 || big.LeftUM < stands*0.8 {
		t.Errorf("it leaves %v µm standing, should be up to %v", big.LeftUM, stands)
	}
}

func TestSimulateRefuses(t *testing.T) {
	m, z := face(10, 1, func(x, y float64) float64 { return 0 })
	cutter := fettle.Cutter{Name: "b", Shape: fettle.Ball, DiameterMM: 6, Flutes: 2}
	if _, err := Simulate(t.Context(), m, z, cutter, fettle.Pass{}, SimulateOptions{}); fettle.CodeOf(err) != fettle.Invalid {
		t.Errorf("a pass without a stepover: %v", err)
	}
	pass := fettle.Pass{StepoverMM: 0.2, SpindleRPM: 8000, FeedMMMin: 900}
	small, tiny := face(0.1, 1, func(x, y float64) float64 { return 0 })
	if _, err := Simulate(t.Context(), small, tiny, cutter, pass, SimulateOptions{}); fettle.CodeOf(err) != fettle.NotFound {
		t.Errorf("a zone of 0.2 mm: %v", err)
	}
	z.Facets = nil
	if _, err := Simulate(t.Context(), m, z, cutter, pass, SimulateOptions{}); fettle.CodeOf(err) != fettle.NotFound {
		t.Errorf("a zone without facets: %v", err)
	}
}
