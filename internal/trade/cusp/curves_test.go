package cusp

import (
	"context"
	"math"
	"strings"
	"testing"

	"fettle"

	"pgregory.net/rapid"
)

func exactly(v float64) fettle.Estimate { return fettle.Exactly(v, "test") }

// slowMill caps every feed, so that cutters compare by path alone.
func slowMill() fettle.Machine {
	return fettle.Machine{
		Name: "mill", MaxRPM: 1e5, MaxFeedMMMin: 1000,
		AccelXY: exactly(0.4), AccelZ: exactly(0.4), BlocksPerS: exactly(1e6),
	}
}

func metal() fettle.Material {
	return fettle.Material{Name: "metal", CutSpeed: exactly(150), FeedPerTooth: exactly(0.035)}
}

func ball(d float64) fettle.Cutter {
	return fettle.Cutter{Name: "ball", Shape: fettle.Ball, DiameterMM: d, CornerMM: d / 2, Flutes: 2, ReachMM: 30, FluteMM: 10}
}

func dome() fettle.Zone {
	return fettle.Zone{
		ID: "show", AreaMM2: 2500, SizeMM: [3]float64{60, 40, 3},
		SlopeDeg: fettle.Quantiles{P50: 8, P95: 18, Max: 25}, ConvexMM: 60,
	}
}

// Worked by hand: 100 mm/s and 1000 mm/s² take 0.1 s and 5 mm to get to speed.
func TestMovesByHand(t *testing.T) {
	near(t, "long", MoveSeconds(100, 6000, 1000), 1.1, 1e-12)
	near(t, "just to speed", MoveSeconds(10, 6000, 1000), 0.2, 1e-12)
	near(t, "triangle", MoveSeconds(2.5, 6000, 1000), 0.1, 1e-12)
	near(t, "none", MoveSeconds(0, 6000, 1000), 0, 0)
	near(t, "no limit", MoveSeconds(100, 6000, 0), 1, 1e-12)
	// 90°, 0.01 mm: radius 0.01·0.70711/0.29289 = 0.024142 mm, 4.9135 mm/s.
	near(t, "corner", CornerFeed(math.Pi/2, 0.01, 1000), 294.81, 0.01)
	near(t, "reversal", CornerFeed(math.Pi, 0.01, 1000), 0, 0)
	if !math.IsInf(CornerFeed(0, 0.01, 1000), 1) {
		t.Error("a straight path has a corner")
	}
	// √(400·5) = 44.72 mm/s; a 0.2 mm chord at 100 blocks/s is 20 mm/s.
	near(t, "curve", CurveFeed(6000, 5, 400, 0, 0), 2683.28, 0.01)
	near(t, "blocks", CurveFeed(6000, 5, 400, 0.2, 100), 1200, 1e-9)
	near(t, "free", CurveFeed(6000, 0, 400, 0, 100), 6000, 0)
	near(t, "flat ground", SlopeAccel(400, 250, 0), 400, 1e-9)
	near(t, "45°", SlopeAccel(400, 250, math.Pi/4), 250*math.Sqrt2, 1e-9)
	near(t, "straight up", SlopeAccel(400, 250, math.Pi/2), 250, 1e-9)
}

// The arc through a corner of a faceted path, cut by the facets' own
// tolerance, is the arc that was faceted.
func TestFacetCornersRunAsFastAsTheirArc(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rho := rapid.Float64Range(1, 100).Draw(t, "rho")
		f, err := ChordFacet(rho, 1e-4*rho)
		if err != nil {
			t.Fatal(err)
		}
		corner, arc := CornerFeed(f.Turn, 1e-4*rho, 400), CurveFeed(1e9, rho, 400, 0, 0)
		if math.Abs(corner/arc-1) > 1e-3 {
			t.Fatalf("corner %g mm/min, arc %g", corner, arc)
		}
	})
}

// Worked by hand: 60 × 40 mm, 0.2 mm apart, 1000 mm/min and 400 mm/s². 200
// passes of 60/16.667 + 16.667/400 s, 199 steps of 2√(0.2/400) s, 4 s to get
// there and away.
func TestMinutesByHand(t *testing.T) {
	z := fettle.Zone{ID: "top", AreaMM2: 2400, SizeMM: [3]float64{60, 40, 0}}
	s, err := newSetup(z, ball(6), metal(), slowMill(), Options{})
	if err != nil {
		t.Fatal(err)
	}
	want := (200*(3.6+16.6666667/400) + 199*2*math.Sqrt(0.2/400) + 4) / 60
	near(t, "minutes", s.minutes(0.2), want, 1e-6)
	near(t, "cusp", s.point(0.2).CuspUM, 1.667130, 6e-7)
	s.opt.Crossed = true
	near(t, "crossed", s.minutes(0.2), 2*want, 1e-6)
	near(t, "crossed Sa", s.point(0.2).RaUM, 1.667130*crossedSa, 0.01)
}

// At one cusp height and one feed the path, and so the time, goes as 1/√R.
func TestBiggerBallsSaveTheRootOfTheirRadius(t *testing.T) {
	z := fettle.Zone{ID: "top", AreaMM2: 4e4, SizeMM: [3]float64{200, 200, 0}}
	mill := slowMill()
	mill.AccelXY, mill.AccelZ = exactly(1e4), exactly(1e4)
	path := func(d float64) float64 {
		s, err := newSetup(z, ball(d), metal(), mill, Options{ApproachS: 1e-9})
		if err != nil {
			t.Fatal(err)
		}
		step, err := s.stepFor(0.0005)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "feed is the mill's", s.pathFeed, 1000, 1e-9)
		return s.minutes(step)
	}
	near(t, "2 against 8", path(2)/path(8), 2, 0.02)
	near(t, "3 against 12", path(3)/path(12), 2, 0.02)
	near(t, "4 against 10", path(4)/path(10), math.Sqrt(2.5), 0.02)
}

func TestSpeedsFollowTheEffectiveDiameter(t *testing.T) {
	mill := slowMill()
	mill.MaxFeedMMMin = 1e6
	level := fettle.Zone{ID: "top", AreaMM2: 2400, SizeMM: [3]float64{60, 40, 0}}
	s, err := newSetup(level, ball(6), metal(), mill, Options{DepthMM: 0.1})
	if err != nil {
		t.Fatal(err)
	}
	// A 6 mm ball 0.1 mm deep cuts with 1.53623 mm: 150 m/min are 31080 rpm.
	near(t, "rpm", s.rpm, 150000/(math.Pi*1.53623), 1)
	near(t, "feed", s.feed, s.rpm*0.07, 1e-6)
	mill.MaxRPM = 10000
	s, _ = newSetup(level, ball(3), metal(), mill, Options{DepthMM: 0.1})
	near(t, "capped", s.rpm, 10000, 0)
	near(t, "scaled tooth", s.tooth, 0.0175, 1e-12)
	mill.MaxFeedMMMin = 100
	s, _ = newSetup(level, ball(3), metal(), mill, Options{})
	near(t, "tooth under a capped feed", s.tooth, 100.0/(2*s.rpm), 1e-12)
}

func TestCurvesFallAndRise(t *testing.T) {
	hollow := dome()
	hollow.ID, hollow.ConvexMM, hollow.ConcaveMM = "dish", 0, 4.5
	curves, err := Curves(context.Background(), []fettle.Zone{dome(), hollow}, []fettle.Cutter{ball(3), ball(10)}, metal(), slowMill(), Options{})
	if err != nil {
		t.Fatal(err)
	}
	if len(curves) != 4 || curves[0].Zone != "show" || curves[3].Zone != "dish" {
		t.Fatalf("%d curves in another order", len(curves))
	}
	for _, c := range curves {
		if len(c.Points) < 8 || c.Why == "" {
			t.Fatalf("curve %+v is too thin", c)
		}
		for i, p := range c.Points[1:] {
			q := c.Points[i]
			if p.StepoverMM >= q.StepoverMM || p.CuspUM >= q.CuspUM || p.RaUM >= q.RaUM || p.Minutes <= q.Minutes {
				t.Errorf("%s: %+v after %+v", c.Zone, p, q)
			}
		}
	}
	if !curves[2].Fits || curves[2].Reach != 1 {
		t.Errorf("a 3 mm ball does not fit a hollow of 4.5 mm: %+v", curves[2])
	}
	if curves[3].Fits || curves[3].Reach >= 1 || !strings.Contains(curves[3].Why, "hollow of 4.5 mm") {
		t.Errorf("a 10 mm ball fits a hollow of 4.5 mm: %+v", curves[3])
	}
	done, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := Curves(done, []fettle.Zone{dome()}, []fettle.Cutter{ball(3)}, metal(), slowMill(), Options{}); err == nil {
		t.Error("a cancelled context is ignored")
	}
}

// The worst height is that of the surface step on the bulge.
func TestCurvesStateTheWorstPlace(t *testing.T) {
	z := dome()
	s, err := newSetup(z, ball(6), metal(), slowMill(), Options{})
	if err != nil {
		t.Fatal(err)
	}
	want, _ := HeightOn(Convex, 3, 60, 0.2/math.Cos(18*math.Pi/180))
	near(t, "height", s.point(0.2).CuspUM, want*1000, 1e-9)
	// Steep zones are taken in levels: no more than √2.
	z.SlopeDeg.P95 = 85
	s, _ = newSetup(z, ball(6), metal(), slowMill(), Options{})
	near(t, "steep", s.lean, math.Sqrt2, 1e-12)
}

func shelf() []fettle.Cutter {
	var out []fettle.Cutter
	for _, d := range []float64{1, 2, 3, 4, 6, 8, 10, 12} {
		out = append(out, ball(d))
	}
	bull := fettle.Cutter{Name: "bull", Shape: fettle.Bull, DiameterMM: 10, CornerMM: 1, Flutes: 4, ReachMM: 30, FluteMM: 20}
	flat := fettle.Cutter{Name: "flat", Shape: fettle.Flat, DiameterMM: 10, Flutes: 3, ReachMM: 30, FluteMM: 20}
	return append(out, bull, flat)
}

func TestChooseTakesTheBiggestBallThatReaches(t *testing.T) {
	got, err := Choose(dome(), shelf(), metal(), slowMill(), 1, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if got.Cutter.DiameterMM != 12 || got.Cutter.Shape != fettle.Ball || !got.Fits {
		t.Errorf("chose %+v for an open dome", got.Cutter)
	}
	z := dome()
	z.ConcaveMM = 5
	got, err = Choose(z, shelf(), metal(), slowMill(), 1, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if got.Cutter.DiameterMM != 8 {
		t.Errorf("chose %g mm for a hollow of 5 mm radius: a 10 mm ball would rub its whole width", got.Cutter.DiameterMM)
	}
	all := strings.Join(got.Why, "\n")
	if !strings.Contains(all, "a 4 mm ball takes 1.4 × as long for the same cusp") {
		t.Errorf("no word on a smaller ball: %s", all)
	}
	if !strings.Contains(all, "not the 10 mm ball") {
		t.Errorf("no word on the bigger ball: %s", all)
	}
	if len(got.Others) != len(shelf())-1 {
		t.Errorf("%d others", len(got.Others))
	}
}

func TestChooseKeepsItsTarget(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		z := dome()
		z.ConvexMM = rapid.SampledFrom([]float64{0, 0.4, 3, 20, 300}).Draw(t, "convex")
		z.ConcaveMM = rapid.SampledFrom([]float64{0, 0.7, 3.3, 50}).Draw(t, "concave")
		z.SlopeDeg.P95 = rapid.Float64Range(z.SlopeDeg.P50, 90).Draw(t, "slope")
		target := rapid.Float64Range(0.05, 30).Draw(t, "target")
		got, err := Choose(z, shelf(), metal(), slowMill(), target, Options{})
		if err != nil {
			t.Fatal(err)
		}
		if got.Pass.CuspUM > target*(1+1e-9) || got.Pass.CuspUM < 0.89*target {
			t.Fatalf("asked for %g µm, got %g", target, got.Pass.CuspUM)
		}
		if got.Fits && z.ConcaveMM > 0 && got.Cutter.NoseMM() >= z.ConcaveMM {
			t.Fatalf("a nose of %g does not enter %g", got.Cutter.NoseMM(), z.ConcaveMM)
		}
		if !(got.Minutes > 0) || math.IsInf(got.Minutes, 0) {
			t.Fatalf("%g minutes", got.Minutes)
		}
	})
}

func TestLevelFacesAndWallsHaveNoCusps(t *testing.T) {
	level := fettle.Zone{ID: "back", AreaMM2: 2400, SizeMM: [3]float64{60, 40, 0}}
	got, err := Choose(level, shelf(), metal(), slowMill(), 1, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if got.Cutter.Shape == fettle.Ball || got.Pass.CuspUM != 0 || got.RaUM <= 0 {
		t.Errorf("a level face: %+v", got)
	}
	wall := fettle.Zone{ID: "sides", AreaMM2: 1400, SizeMM: [3]float64{60, 40, 7}, SlopeDeg: fettle.Quantiles{P50: 90, P95: 90, Max: 90}, ConvexMM: 6}
	got, err = Choose(wall, shelf(), metal(), slowMill(), 1, Options{})
	if err != nil {
		t.Fatal(err)
	}
	// 200 mm round at 1000 mm/min: 12 s and the approach.
	if got.Cutter.Shape == fettle.Ball || got.Pass.CuspUM != 0 {
		t.Errorf("a wall: %+v", got)
	}
	if got.Minutes*60 < 14 || got.Minutes*60 > 20 {
		t.Errorf("a wall of 200 mm takes %g s", got.Minutes*60)
	}
}

func TestWhereNothingFitsTheFinestIsNamed(t *testing.T) {
	z := dome()
	z.InsideCornerMM = 0.2
	got, err := Choose(z, shelf(), metal(), slowMill(), 1, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if got.Fits || got.Cutter.DiameterMM != 1 || !strings.Contains(got.Why[0], "nothing on the shelf gets everywhere") {
		t.Errorf("for a corner of 0.2 mm: %v, %v", got.Cutter, got.Why)
	}
	z = dome()
	z.SizeMM[2] = 60
	got, err = Choose(z, shelf(), metal(), slowMill(), 1, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if got.Fits || !strings.Contains(strings.Join(got.Why, " "), "holder") {
		t.Errorf("60 mm deep with 30 mm of reach: %v", got.Why)
	}
}

func TestChoosingFromNonsenseIsRefused(t *testing.T) {
	flat := shelf()[9]
	for name, f := range map[string]func() error{
		"empty":  func() error { _, err := Choose(dome(), nil, metal(), slowMill(), 1, Options{}); return err },
		"target": func() error { _, err := Choose(dome(), shelf(), metal(), slowMill(), 0, Options{}); return err },
		"NaN target": func() error {
			_, err := Choose(dome(), shelf(), metal(), slowMill(), math.NaN(), Options{})
			return err
		},
		"metal": func() error {
			_, err := Choose(dome(), shelf(), fettle.Material{}, slowMill(), 1, Options{})
			return err
		},
		"mill": func() error { _, err := Choose(dome(), shelf(), metal(), fettle.Machine{}, 1, Options{}); return err },
		"zone": func() error { _, err := Choose(fettle.Zone{}, shelf(), metal(), slowMill(), 1, Options{}); return err },
		"cutter": func() error {
			_, err := Choose(dome(), []fettle.Cutter{{}}, metal(), slowMill(), 1, Options{})
			return err
		},
		"only square": func() error {
			_, err := Choose(dome(), []fettle.Cutter{flat}, metal(), slowMill(), 1, Options{})
			return err
		},
	} {
		if c := fettle.CodeOf(f()); c != fettle.Invalid && c != fettle.NotFound {
			t.Errorf("%s: code %q", name, c)
		}
	}
}

func TestAPassIsTheOneThatWasChosen(t *testing.T) {
	z := dome()
	got, err := Choose(z, shelf(), metal(), slowMill(), 2, Options{ToleranceUM: 10})
	if err != nil {
		t.Fatal(err)
	}
	pass, minutes, err := PassAt(z, got.Cutter, metal(), slowMill(), got.Pass.StepoverMM, Options{ToleranceUM: 10})
	if err != nil {
		t.Fatal(err)
	}
	if pass != got.Pass || minutes != got.Minutes {
		t.Errorf("chose %+v in %g min, asked again %+v in %g", got.Pass, got.Minutes, pass, minutes)
	}
	// A bulge of 60 mm to 10 µm, by 2·acos(1 − e/rho): derived exactly.
	near(t, "turn", pass.FacetDeg, 2*math.Acos(1-0.01/60)*180/math.Pi, 1e-6)
	if _, _, err := PassAt(z, ball(3), metal(), slowMill(), 4, Options{}); fettle.CodeOf(err) != fettle.Invalid {
		t.Errorf("passes that do not meet: %v", err)
	}
}
